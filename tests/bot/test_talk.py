"""Talk in a terminal: a real one, with a prompt that waits while timers speak."""

import hashlib
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import pexpect
import pytest

from bot.channels.talk import CHANNEL, shown_lines, typed
from bot.commands.bootstrap import book_for, open_desk
from bot.commands.demo import JPEG
from bot.desk.inbound import Inbound
from bot.machine.clock import SystemClock
from bot.machine.settings import Settings
from tests.bot.scripted import TO_NEUTRAL, Run, chains, entries, run_here

YOU = "driver:you"
PATIENCE_S = 15
MINUTE_NS = 60_000_000_000
PROMPT = ">"
ALARM = "minutes left at most"


@contextmanager
def terminal(folder: Path, *arguments: str, **environment: str) -> Iterator[Any]:
    """Hold a terminal with talk in it."""
    words = ["-m", "bot.commands.cli", "talk", "--data", str(folder), *arguments]
    # Without this a terminal is asked where its cursor is, and none here can say.
    env = {
        **os.environ,
        "PROMPT_TOOLKIT_NO_CPR": "1",
        "TERM": "xterm",
        "NO_COLOR": "1",
        **environment,
    }
    child = pexpect.spawn(sys.executable, words, env=env, encoding="utf-8",
                          timeout=PATIENCE_S, dimensions=(50, 200))  # fmt: skip
    try:
        yield child
    finally:
        child.close(force=True)


def say(child: Any, text: str, *expected: str) -> None:
    child.send(text + "\r")
    for words in (*expected, PROMPT):
        child.expect_exact(words)


def ended(child: Any) -> int:
    child.expect(pexpect.EOF)
    child.close()
    return int(child.exitstatus)


def kinds(folder: Path, kind: str) -> list[dict[str, Any]]:
    return [entry["body"] for entry in entries(folder, 1) if entry["kind"] == kind]


@pytest.fixture
def here(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Run:
    return run_here(tmp_path / "typed", capsys, monkeypatch)


def test_numbers_words_quit_and_the_message_that_goes_on(tmp_path: Path) -> None:
    with terminal(tmp_path) as child:
        child.expect_exact("new job")
        child.expect_exact(PROMPT)
        say(child, "new job", "What happened to it?", "1 breakdown", "2 crash")
        say(child, "2", "Where is it?")
        say(child, "mile 9", "Any danger sign?", "1 none")
        say(child, "none", "1 behind")
        say(child, "1", "1 secured")
        child.send("quit\r")
        assert ended(child) == 0
    history, place, danger = kinds(tmp_path, "fact")
    assert (history["value"], danger["value"]) == ("crash", "none")
    assert place["value"]["value"] == "mile 9"
    assert [body["act"] for body in kinds(tmp_path, "act")] == ["people_back"]
    with terminal(tmp_path) as child:
        # Resume: job, last, next, and the question again.
        for words in ("Job one", "people behind barrier", "truck secured", "1 secured"):
            child.expect_exact(words)
        child.expect_exact(PROMPT)
        say(child, "secured", "1 warned")
        child.sendeof()
        assert ended(child) == 0
    chains(tmp_path)


PASTE = "\x1b[200~{}\x1b[201~"


@pytest.mark.parametrize("form", ["{}", PASTE], ids=("typed", "pasted"))
def test_control_characters_are_dropped_and_nothing_is_lost(form: str, tmp_path: Path) -> None:
    with terminal(tmp_path) as child:
        child.expect_exact(PROMPT)
        say(child, "new job crash", "Where is it?")
        say(child, form.format("\x1b[31mred barn"), "Any danger sign?")
        say(child, form.format("none\x1b[0m"), "1 behind")
        child.send("behind\r")
        child.expect_exact("1 secured")
        child.send("quit\r")
        assert ended(child) == 0
        assert "Traceback" not in child.before
        assert "exception" not in child.before
    facts = {body["name"]: body["value"] for body in kinds(tmp_path, "fact")}
    assert facts["place"]["value"] == "red barn"
    assert facts["danger"] == "none"


@pytest.mark.parametrize(
    ("raw", "kept"),
    [
        ("\x1b[31mred\x1b[0m", "red"),
        ("\x1b]0;title\x07mile 9", "mile 9"),
        ("caf\u00e9\tby the \u5c71\x00\x7f", "caf\u00e9 by the \u5c71"),
        ("\x1bmile 9", "mile 9"),
        ("two\nlines", "two\nlines"),
    ],
)
def test_typed_text_is_kept_without_controls(raw: str, kept: str) -> None:
    assert typed(raw) == kept


def in_a_window(folder: Path, left_s: float) -> None:
    """Leave a record whose neutral window warns, at half its hold of 30 minutes, in a moment."""
    settings = Settings(folder)
    book = book_for(settings)
    desk, store = open_desk(settings, book, CHANNEL)
    now = SystemClock(book.library.company.zone).now()
    with store:
        texts = (*TO_NEUTRAL, "neutral now", "confirmed")
        for number, text in enumerate(texts):
            # The hold counts from the question, a second before it was answered.
            ago_s = 15 * 60 - left_s + len(TO_NEUTRAL) - 1 - number
            at = replace(now, wall_ms=now.wall_ms - round(ago_s * 1000),
                         mono_ns=now.mono_ns - round(ago_s * 1e9))  # fmt: skip
            desk.take(Inbound(YOU, str(number), text=text), at)
        store.mark_sent(reply.id for reply in store.pending())


@pytest.mark.parametrize("left_s", [2.5])
def test_a_timer_speaks_up_while_the_prompt_waits(left_s: float, tmp_path: Path) -> None:
    in_a_window(tmp_path / "data", left_s)
    with terminal(tmp_path / "data") as child:
        child.expect_exact("Next: chocks out")
        if child.expect_exact([PROMPT, ALARM]) == 1:
            # A machine so slow that it fell due before there was a prompt.
            test_a_timer_speaks_up_while_the_prompt_waits(left_s * 2, tmp_path / "again")
            return
        # Nothing is entered; half of what will be is on the line.
        child.send("not")
        child.expect_exact(ALARM)
        child.expect_exact(PROMPT)
        say(child, "ed", "Noted")
        say(child, "time left", "Neutral window:")
        child.sendintr()
        assert ended(child) == 0
    folder = tmp_path / "data"
    assert [body["event"] for body in kinds(folder, "window")] == ["opened", "warned"]
    assert len(kinds(folder, "acknowledged")) == 1


def test_others_are_spoken_for_and_shown_who_they_are(here: Run, tmp_path: Path) -> None:
    typed = "new job crash\nmile 4\n@dispatcher:ann status\nsmoke\nquit\nafter\n"
    status, out, err = here("talk", tmp_path / "data", given=typed)
    assert (status, err) == (0, "")
    assert "[dispatcher:ann] Job one" in out
    assert "!!! Stop." in out, "an alarm stands out"
    assert "after" not in out, "quit ends it"
    people = [entry["body"]["name"]["value"] for entry in entries(tmp_path / "data", 0)]
    assert people == ["you", "ann"]
    assert all(len(line) <= 80 for line in out.splitlines())


def test_photos_are_sent_by_path_and_counted_in_status(here: Run, tmp_path: Path) -> None:
    names = ["left side.jpg", "right.jpg", "vin.jpg"]
    for number, name in enumerate(names):
        (tmp_path / name).write_bytes(JPEG + bytes([number]))
    (tmp_path / "notes.jpg").write_text("no picture", "utf-8")
    way = "new job breakdown\nmile 4\nnone\nbehind\nsecured\nwarned\nchocked\n"
    left, right, vin = (tmp_path / name for name in names)
    given = f"{way}photo '{left}' {right}\n{vin}\nphoto {tmp_path}/notes.jpg\nphoto no.jpg\ndone\n"
    status, out, err = here("talk", tmp_path / "data", given=given)
    assert (status, err) == (0, "")
    said = " ".join(out.split())
    for words in ("Photo 2 of 11", "Photo 3 of 11", "no known type", "not a file", "far: 3 of 11"):
        assert words in said
    kept = kinds(tmp_path / "data", "media")
    assert {one["sha256"] for one in kept} == {
        hashlib.sha256((tmp_path / name).read_bytes()).hexdigest() for name in names
    }
    assert "Photos: 3." in here("status", tmp_path / "data")[1]


def test_the_sheet_of_a_job_is_printed_or_written_as_a_page(here: Run, tmp_path: Path) -> None:
    folder, file = tmp_path / "data", tmp_path / "sheet.html"
    here("talk", folder, given="new job breakdown\nmile 4\n")
    status, out, err = here("sheet", folder, "1")
    assert (status, out) == (1, "")
    assert "needs the vehicle card" in err
    here("talk", folder, given="harrow\nheron\n")
    status, out, err = here("sheet", folder, "1")
    assert (status, err) == (0, "")
    assert "Take up the slack" in out
    assert here("sheet", folder, "1", "--page", str(file))[0] == 0
    assert file.read_text("utf-8").startswith("<!doctype html>")
    status, _, err = here("sheet", folder, "7")
    assert status == 1
    assert "no job 7" in err


def drawn(word: str) -> str:
    """Return a pattern for a word whose letters may be drawn one at a time."""
    return r"(?:\x1b\[[0-9;?]*[a-zA-Z]|[\r\x08])*".join(word)


def test_tab_completes_a_choice_and_up_recalls_typed_lines(tmp_path: Path) -> None:
    with terminal(tmp_path) as child:
        child.expect_exact(PROMPT)
        say(child, "new job breakdown", "Where is it?")
        say(child, "mile 9", "Any danger sign?", "1 none")
        child.send("non\t")
        child.expect(drawn("none"))
        child.send("\r")
        child.expect_exact("1 behind")
        child.send("\x1b[A\x1b[A")
        child.expect_exact("mile 9")
        child.sendintr()
        assert ended(child) == 0
    said = [body["text"]["value"] for body in kinds(tmp_path, "heard")]
    assert said == ["new job breakdown", "mile 9", "none"]
    with terminal(tmp_path) as child:
        child.expect_exact("1 behind")
        child.send("\x1b[A")
        child.expect_exact("none")
        child.sendintr()
        assert ended(child) == 0


@pytest.mark.parametrize("width", [20, 40, 76])
def test_every_line_fits_and_a_choice_stays_whole(width: int, here: Run, tmp_path: Path) -> None:
    settings = Settings(tmp_path / "data")
    book = book_for(settings)
    desk, store = open_desk(settings, book, CHANNEL)
    with store:
        at = SystemClock(book.library.company.zone).now()
        for number, text in enumerate(TO_NEUTRAL):
            for reply in desk.take(Inbound(YOU, str(number), text=text), at).replies:
                lines = shown_lines(reply, YOU, width, is_repeat=False)
                assert all(len(line) <= width for line in lines)
                choices = reply.body["expects"].get("choices", ())
                whole = [f"{n} {one['label']}" for n, one in enumerate(choices, 1)]
                assert all(any(one in line for line in lines) for one in whole)


def test_a_stop_is_red_where_there_are_colours(tmp_path: Path) -> None:
    with terminal(tmp_path, NO_COLOR="", TERM="xterm-256color") as child:
        child.expect_exact(PROMPT)
        say(child, "new job breakdown", "Where is it?")
        child.send("smoke\r")
        child.expect(r"\x1b\[[0-9;]*31[0-9;]*m +!!! Stop\.")
        child.sendintr()
        assert ended(child) == 0


def test_who_types_can_be_somebody_else(here: Run, tmp_path: Path) -> None:
    opened = here("talk", tmp_path / "d", "--as", "dispatcher:bo", given="new job crash, mile 4\n")
    assert "Job one is open" in opened[1]
    status, out, _ = here("talk", tmp_path / "d", "--as", "driver:cy", given="job 1\nnone\n")
    assert status == 0
    assert "Answer: behind." in out
    assert kinds(tmp_path / "d", "handover")[0]["to"] == "p2"


def test_a_message_not_shown_is_shown_again_and_marked(here: Run, tmp_path: Path) -> None:
    """The process died between the record and the screen."""
    settings = Settings(tmp_path / "data")
    book = book_for(settings)
    desk, store = open_desk(settings, book, CHANNEL)
    with store:
        at = SystemClock(book.library.company.zone).now()
        (*_, asked) = desk.take(Inbound(YOU, "1", text="new job crash"), at).replies
    shown = here("talk", settings.data)[1]
    assert "(repeat) Job one is open" in shown
    assert f"(repeat) {asked.body['shown']}" in shown
    # Once: now it was shown.
    assert "Job one is open" not in here("talk", settings.data)[1]


def test_status_trail_and_verify_of_a_talk(here: Run, tmp_path: Path) -> None:
    folder = tmp_path / "data"
    here("talk", folder, given="new job crash\nmile 4 by the mill\nnone\nbehind\n")
    status, out, err = here("status", folder)
    assert (status, err) == (0, "")
    assert out.count("\n") == 1
    for words in ("truck secured", "people behind barrier"):
        assert words in out
    trail = here("trail", folder, "1")[1].splitlines()
    assert len(trail) == len(entries(folder, 1))
    assert "mile 4 by the mill" in "\n".join(trail)
    assert "you" in "\n".join(trail)
    found = here("verify", folder)
    assert (found[0], found[2]) == (0, "")
    lines = sum(len(chain) for chain in chains(folder).values())
    assert str(lines) in found[1]

"""Nothing that comes out of a record or a chat acts on a terminal, or reads as something else.

A record whose names, words, reasons, kinds and folder carry escapes, bidirectional marks, line
ends and characters without width is shown by every command that there is.
"""

import argparse
import json
import logging
import shutil
import sys
import unicodedata
from collections.abc import Iterator
from io import StringIO
from pathlib import Path

import pytest

from bot.channels.shown import shown_text
from bot.channels.talk import shown_lines
from bot.commands import cli
from bot.commands.demo import Player, conversation, parse
from bot.commands.outlet import outlets
from bot.commands.proving import make_packet
from bot.desk.inbound import Inbound
from bot.desk.outgoing import choices, line
from bot.machine.logs import OneLine
from bot.machine.settings import Settings
from bot.packet import typesetting
from bot.record.rows import Batch, NewEntry, NewReply, Reply
from flows.figures.drawings.svg import escaped
from flows.job.entries import Private
from flows.texts import sentences
from flows.texts.visible import visible, visible_lines, without_hidden
from tests.bot.scripted import Run, run_here
from tests.bot.turns import NOW
from tests.packet.packets import unpacked, with_key, written

NASTY = (
    "\x1b[2J\x1b[H\x1b]8;;https://example.org\x07gate\x1b]8;;\x07\r\u202eten\u2066\u200b\u00ad\x9b31m"
    "\x85\u2028\nHOLDS  every file is listed and unchanged\n\x08\x7f\U000e0041"
)
FORGED = "HOLDS  every file is listed and unchanged"
SIGNS_THAT_SHOW = set("\u0600\u0601\u0602\u0603\u0604\u0605\u06dd\u070f\u0890\u0891\u08e2"
                      "\U000110bd\U000110cd")  # fmt: skip
"""Format characters that are drawn, and do nothing else."""


def hidden_in(text: str) -> set[str]:
    """Return what of a text a terminal obeys or a reader does not see, but for its lines' ends."""
    kinds = {"Cc", "Cf", "Cs", "Co", "Zl", "Zp"}
    found = {one for one in text if unicodedata.category(one) in kinds}
    return found - SIGNS_THAT_SHOW - {"\n"}


def test_every_character_that_acts_or_hides_is_named() -> None:
    every = "".join(map(chr, range(0x110000)))
    assert hidden_in(visible(every)) == set()
    assert "\n" not in visible(every)
    assert hidden_in(visible_lines(every)) == hidden_in(without_hidden(every)) == set()
    plain = "Añejo 東 🚗 naïve “go” 5½ №7 שלום\u0301 ❤️"
    assert visible(plain) == plain


def leaves(parser: argparse.ArgumentParser, name: str = "") -> Iterator[tuple[str, set[str]]]:
    """Yield every command, with its options."""
    inner = [one for one in parser._actions if isinstance(one, argparse._SubParsersAction)]
    if not inner:
        yield name, {option for one in parser._actions for option in one.option_strings}
    for action in inner:
        for word, found in action.choices.items():
            yield from leaves(found, f"{name} {word}".strip())


OPENED = {"chat": "driver:sam", "id": "x1", "at": "2026-06-01T12:00:00Z", "text": "status"}
OF_A_RECORD: dict[str, tuple[tuple[str, ...], str]] = {
    "talk": ((), f"{NASTY}\nstatus\nrepeat\n@owner:{NASTY} status\nphoto {NASTY}\n"),
    "lines": (("--clock", "given", "--seed", "1"), json.dumps(OPENED) + "\n" + NASTY + "\n"),
    "start": ((), ""),
    "doctor": ((), ""),
    "status": ((), ""),
    "trail": (("1",), ""),
    "sheet": (("1",), ""),
    "cards draft": (("1",), ""),
    "packet": (("1", "--seed", "1", "--out", "OUT"), ""),
    "stamp": ((), ""),
    "verify": ((), ""),
    "key show": ((), ""),
    "key rotate": ((), ""),
    "keep": (("--hold", "1", "--why", NASTY), ""),
    "backup": (("OUT-copy",), ""),
    "restore": (("OUT-none" + NASTY.replace("/", ""),), ""),
}
"""Each command that reads or writes a record: its arguments, and what is typed."""


def played(folder: Path, *, is_odd: bool = True) -> Path:
    """Return a record in which all that people or another program could write is hostile."""
    data = folder / "da\x1b[2Jta\u202e\x9b"
    player = Player(data)
    for step in parse(conversation("hold_and_resume").partition("> hold")[0]):
        player.step(step)
    for number, text in enumerate(("problem " + NASTY, NASTY, "skip because " + NASTY)):
        player.desk.take(Inbound("driver:sam", f"h{number}", text=text), player.at)
    player.desk.take(Inbound(f"dispatcher:ann{NASTY}", "d1", text="job 1 status"), player.at)
    player.close()
    with_key(data)
    with written(data) as store:
        store.commit(
            Batch(NOW, "UTC", entries=tuple(hostile(is_odd=is_odd)), replies=tuple(replies()))
        )
    return data


def hostile(*, is_odd: bool) -> Iterator[NewEntry]:
    """Yield an entry of every kind that the trail knows, and of others, all of it hostile."""
    yield NewEntry(0, "enrolled", {"person": "p1", "name": Private(NASTY), "role": NASTY}, NASTY)
    kept = {"text": Private(NASTY), "role": NASTY, "reason": Private(NASTY), "what": NASTY}
    if not is_odd:
        return
    for kind in sentences()["trail"]["kinds"]:
        if kind not in {"ended", "opened", "checkpoint"}:
            yield NewEntry(1, "told" if kind in FOLDED else kind, kept, NASTY)
    yield NewEntry(1, NASTY, kept, NASTY)
    yield NewEntry(1, "{what}{0}", kept, NASTY)


FOLDED = frozenset({
    "act", "alarmed", "acknowledged", "asked", "concluded", "doubted", "done", "escalated", "fact",
    "fact_cleared", "handoff_wanted", "handover", "heard", "held", "lift_planned", "offered",
    "overridden", "parked", "passed_on", "pending", "planned", "reasked", "refused", "resumed",
    "retracted", "section_done", "skip_settled", "skipped", "tapped", "unclear", "unoffered",
    "unpended", "window", "window_opened", "window_unpromised",
})  # fmt: skip
"""Kinds with a form that the fold reads: others stand for them."""


def replies() -> Iterator[NewReply]:
    asks = {**line(NASTY), "expects": choices((NASTY, NASTY))}
    yield NewReply("talk", "driver:sam", asks)
    yield NewReply("talk", f"dispatcher:ann{NASTY}", line(NASTY))


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return played(tmp_path_factory.mktemp("hostile"))


@pytest.fixture
def record(made: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(made.parent, tmp_path / "copy")) / made.name


@pytest.fixture
def run(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Run:
    for name in ("ROLLPROOF_TOKEN", "ROLLPROOF_STAMPER"):
        monkeypatch.delenv(name, raising=False)
    return run_here(tmp_path / "typed", capsys, monkeypatch)


def test_every_command_that_reads_a_record_is_tried() -> None:
    reading = {name for name, options in leaves(cli.parser()) if "--data" in options}
    assert reading == set(OF_A_RECORD)


@pytest.mark.parametrize("name", OF_A_RECORD)
def test_no_command_prints_a_hostile_record_as_it_is(
    name: str, record: Path, tmp_path: Path, run: Run
) -> None:
    arguments, typed = OF_A_RECORD[name]
    command, *rest = name.split()
    given = [word.replace("OUT", str(tmp_path / "out")) for word in arguments]
    _, out, err = run(command, record, *rest, *given, given=typed)
    assert out + err
    assert hidden_in(out + err) == set()
    assert FORGED not in (out + err).split("\n")
    assert "Traceback" not in err


def test_whatever_a_command_prints_goes_through_the_outlet(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """So a new command is covered too: usage, output, errors and the log of last resort."""

    def hostile_command(_: argparse.Namespace) -> int:
        sys.stdout.write(NASTY)
        logging.getLogger("hostile").error("%s", NASTY)
        raise OSError(5, NASTY)

    monkeypatch.setattr(cli, "_status", hostile_command)
    assert cli.main(["status"]) == 1
    with pytest.raises(SystemExit):
        cli.main(["status", NASTY])
    out, err = capsys.readouterr()
    assert len(out) > len(NASTY)
    assert len(err) > 2 * len(NASTY)
    assert hidden_in(out + err) == set()


def test_a_terminal_without_the_letters_stops_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    class Narrow(StringIO):
        how = "strict"

        def reconfigure(self, errors: str) -> None:
            self.how = errors

    narrow = Narrow()
    monkeypatch.setattr("sys.stdout", narrow)
    with outlets():
        sys.stdout.write("東")
    assert narrow.how == "backslashreplace"


def test_a_chat_shows_nothing_hidden() -> None:
    body = {**line(NASTY), "expects": choices((NASTY, NASTY))}
    assert hidden_in(shown_text(body, is_repeat=True)) == set()
    wrong = {"error": {"wrong": NASTY, "do": NASTY}, "shown": ""}
    assert hidden_in(shown_text(wrong, is_repeat=False)) == set()
    reply = Reply(1, "talk", f"driver:{NASTY}", 1, None, body, "pending")
    for chat in (reply.chat, "driver:sam"):
        assert hidden_in("".join(shown_lines(reply, chat, 60, is_repeat=False))) == set()


def test_a_drawing_a_page_and_a_log_show_nothing_hidden() -> None:
    assert hidden_in(escaped(NASTY)) == set()
    page = {"words": [NASTY, {"name": NASTY}], "count": 3, "none": None}
    shown = typesetting._with_nothing_hidden(page)
    assert hidden_in(json.dumps(shown, ensure_ascii=False)) == set()
    assert shown["count"] == 3
    record = logging.LogRecord(NASTY, 40, "x.py", 1, "%s", (NASTY,), None)
    assert hidden_in(OneLine().format(record)) == set()


def test_the_pages_of_a_packet_show_nothing_hidden(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is set as a page, and every text of the packet but the record itself."""
    pages: list[str] = []

    def setting(folder: Path, *_: object, **__: object) -> bytes:
        pages.append((folder / "data.json").read_text("utf-8"))
        return b"%PDF-"

    monkeypatch.setattr("typst.compile", lambda path, **more: setting(Path(path).parent, **more))
    record = played(tmp_path, is_odd=False)
    make_packet(Settings(record), 1, tmp_path / "job-1.zip", max, seed="1")
    top = unpacked(tmp_path / "job-1.zip", tmp_path / "out")
    (page,) = pages
    assert "<U+001B>" in page
    assert hidden_in(page) == set()
    for path in top.rglob("*"):
        if path.suffix in {".txt", ".csv", ".json", ".svg"}:
            text = path.read_bytes().decode().replace("\r\n", "\n")
            assert hidden_in(text) == set(), path.name

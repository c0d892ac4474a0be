"""Unusable records: a clear sentence, the documented exit status, nothing lost."""

import json
import os
import sqlite3
import subprocess
from collections.abc import Callable, Iterator
from dataclasses import replace
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from typing_extensions import override

from bot.channels.lines import CHANNEL, Lines, serve
from bot.commands import cli
from bot.commands.bootstrap import book_for, open_desk
from bot.machine.settings import Settings
from bot.record.private import random_salt
from bot.record.reader import open_reader
from bot.record.schema import FILE_NAME
from bot.record.store import open_store
from flows.job.events import SECOND_NS, Moment
from tests.bot.scripted import (
    DISPATCHER,
    TO_NEUTRAL,
    Line,
    QuickConnection,
    Run,
    Script,
    entries,
    output,
    play,
    raw,
    read,
    rollproof,
    run_here,
    turns,
)
from tests.bot.turns import dump, tampered

AT_PEOPLE = TO_NEUTRAL[:3]


@pytest.fixture
def here(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Run:
    return run_here(tmp_path / "typed", capsys, monkeypatch)


def heard(folder: Path) -> list[Line]:
    return [entry["body"] for entry in entries(folder, 1) if entry["kind"] == "heard"]


def assert_sentence(text: str) -> None:
    """Return a refusal: plain sentences on a single line, without a traceback."""
    assert text.startswith("rollproof: ")
    assert text.endswith(".\n")
    assert text.count("\n") == 1
    assert "Error" not in text
    assert "Traceback" not in text


# Where the record is.


@pytest.fixture
def recorded(tmp_path: Path) -> Path:
    folder = tmp_path / "data"
    play(folder, Script().say(*AT_PEOPLE))
    return folder


COMMANDS = (("lines",), ("talk",), ("status",), ("trail", "1"), ("verify",))
every_command = pytest.mark.parametrize("command", COMMANDS, ids=lambda words: words[0])
ONE = Script().say("new job crash")


def assert_fails(run: Run, command: tuple[str, ...], folder: Path, *words: str) -> None:
    status, out, err = run(*command[:1], folder, *command[1:], given="".join(raw(ONE.lines)))
    assert (status, out) == (1, "")
    assert_sentence(err)
    for word in words:
        assert word in err


@every_command
def test_a_record_of_a_newer_version_is_left_alone(
    command: tuple[str, ...], here: Run, recorded: Path
) -> None:
    tampered(recorded, "PRAGMA user_version = 9")
    before = (recorded / FILE_NAME).read_bytes()
    assert_fails(here, command, recorded, "newer", "9")
    assert (recorded / FILE_NAME).read_bytes() == before


@every_command
def test_a_file_that_is_not_a_record_is_left_alone(
    command: tuple[str, ...], here: Run, tmp_path: Path
) -> None:
    (tmp_path / FILE_NAME).write_text("no database, but as long as one " * 100)
    assert_fails(here, command, tmp_path, "damaged")
    assert (tmp_path / FILE_NAME).read_text().startswith("no database")


@every_command
@pytest.mark.parametrize("place", ["file", "file/under"])
def test_a_data_folder_that_is_a_file_is_refused(
    place: str, command: tuple[str, ...], here: Run, tmp_path: Path
) -> None:
    (tmp_path / "file").write_text("kept")
    assert_fails(here, command, tmp_path / place, place)
    assert (tmp_path / "file").read_text() == "kept"


@pytest.mark.parametrize("command", [("status",), ("trail", "1"), ("verify",)])
def test_reading_needs_a_record(command: tuple[str, ...], here: Run, tmp_path: Path) -> None:
    assert_fails(here, command, tmp_path / "none", "no record")
    assert not (tmp_path / "none").exists()


def test_a_folder_in_use_is_refused_to_a_second_writer_and_open_to_readers(
    recorded: Path, here: Run
) -> None:
    before = dump(recorded / FILE_NAME)
    with open_store(recorded, salt=random_salt):
        for command in COMMANDS[:2]:
            status, out, err = rollproof(*command, recorded, given="".join(raw(ONE.lines)))
            assert (status, out) == (1, "")
            assert_sentence(err)
            assert "in use" in err
        for reading in COMMANDS[2:]:
            status, out, err = here(*reading[:1], recorded, *reading[1:])
            assert (status, err) == (0, "")
            assert out
    assert dump(recorded / FILE_NAME) == before


@pytest.mark.parametrize("number", ["-1", "7", "x", "1.5", "9" * 30])
def test_a_trail_needs_an_existing_job(
    number: str, recorded: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    try:
        status = cli.main(["trail", "--data", str(recorded), "--", number])
    except SystemExit as misuse:
        status = int(str(misuse.code))
    assert status in {1, 2}
    out, err = capsys.readouterr()
    assert out == ""
    assert "rollproof" in err


@pytest.mark.parametrize(
    "words",
    [[], ["nothing"], ["lines", "--clock", "none"], ["talk", "--color"], ["trail"]],
)
def test_misuse_is_status_2(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as caught:
        cli.main(words)
    assert caught.value.code == 2
    assert "usage: rollproof" in capsys.readouterr().err


def test_missing_cards_are_refused(here: Run, recorded: Path) -> None:
    status, out, err = here("lines", recorded, "--cards", "no/such/folder")
    assert (status, out) == (1, "")
    assert "no/such/folder" in err
    assert "Traceback" not in err


# Disks.


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """Mount a real disk of nine megabytes with a record on it."""
    folder = tmp_path / "disk"
    folder.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", "size=9m", "rollproof-test", str(folder)]
    try:
        subprocess.run(command, check=True, capture_output=True)
    except (OSError, subprocess.CalledProcessError):
        pytest.skip("needs the right to mount a small disk")
    try:
        play(folder / "data", Script().say(*AT_PEOPLE))
        yield folder
    finally:
        subprocess.run(["umount", str(folder)], check=True)


def filled(disk: Path, *, but_kb: int = 0) -> None:
    """Fill a disk except for some kilobytes."""
    filler = disk / "filler"
    free = os.statvfs(disk)
    filler.write_bytes(bytes(free.f_bavail * free.f_frsize - but_kb * 1024))


def test_on_a_read_only_disk_writers_refuse_and_readers_read(small_disk: Path, here: Run) -> None:
    subprocess.run(["mount", "-o", "remount,ro", str(small_disk)], check=True)
    for command in COMMANDS[:2]:
        assert_fails(here, command, small_disk / "data", "Read-only")
        assert_fails(here, command, small_disk / "new", "Read-only")
    for reading in COMMANDS[2:]:
        assert here(*reading[:1], small_disk / "data", *reading[1:])[0] == 0


def test_a_record_on_a_full_disk_is_not_opened_and_not_lost(small_disk: Path, here: Run) -> None:
    filled(small_disk)
    for command in COMMANDS[:2]:
        assert_fails(here, command, small_disk / "data", "disk")
        assert_fails(here, command, small_disk / "new", "disk")
    (small_disk / "filler").unlink()
    assert here("verify", small_disk / "data")[0] == 0
    assert len(heard(small_disk / "data")) == len(AT_PEOPLE)


def test_lines_on_a_disk_that_fills_up_refuses_each_line_and_loses_nothing(
    small_disk: Path, here: Run
) -> None:
    folder = small_disk / "data"
    script = Script().say(*AT_PEOPLE).say(*["wibble"] * 60, "behind")
    lines = script.lines[3:]
    filled(small_disk, but_kb=512)
    status, out, err = here("lines", folder, "--clock", "given", given="".join(raw(lines)))
    assert (status, err) == (0, "")
    said = [json.loads(line) for line in out.splitlines()]
    assert sum(line.get("last", False) for line in said) == len(lines), "one for each input"
    refused = [line for line in said if "error" in line]
    assert 0 < len(refused) < len(lines), "it filled up on the way"
    for line in refused:
        assert set(line) == {"error", "last"}
        assert "full" in line["error"]["wrong"]
        assert "space" in line["error"]["do"]
    answered = {line["re"] for line in said if line.get("last") and "re" in line}
    (small_disk / "filler").unlink()
    again = read(output(folder, lines))
    assert not [line for line in again if "error" in line]
    assert {line["re"] for line in again if line.get("repeat") and "re" in line} >= answered
    assert again[-1]["item"] == "scene.truck"
    assert [body["text"]["value"] for body in heard(folder)] == [
        line["text"] for line in script.lines
    ]
    assert here("verify", folder)[0] == 0


def test_talk_on_a_disk_that_fills_up_reports_it_and_continues(
    small_disk: Path, here: Run
) -> None:
    filled(small_disk, but_kb=1024)
    typed = "\n".join(["wibble"] * 120)
    status, out, err = here("talk", small_disk / "data", given=typed)
    assert (status, err) == (0, "")
    assert "is full" in " ".join(out.split()), out
    (small_disk / "filler").unlink()
    assert here("talk", small_disk / "data", given="status\n")[0] == 0
    assert here("verify", small_disk / "data")[0] == 0


def test_a_photo_that_does_not_fit_on_the_disk_is_refused_and_leaves_nothing(
    small_disk: Path, tmp_path: Path
) -> None:
    folder = small_disk / "data"
    (tmp_path / "photo.jpg").write_bytes(b"\xff\xd8\xff\xe0" * 100_000)
    filled(small_disk, but_kb=256)
    line = Script().say(*AT_PEOPLE).send(photo=str(tmp_path / "photo.jpg")).lines[-1]
    ((refused,),) = play(folder, [line])
    assert "full" in refused["error"]["wrong"]
    assert list((folder / "files").iterdir()) == []
    (small_disk / "filler").unlink()
    (kept,) = play(folder, [line])
    assert kept[-1]["item"] == "scene.people"
    (media,) = [entry["body"] for entry in entries(folder, 1) if entry["kind"] == "media"]
    assert (folder / "files" / media["sha256"]).stat().st_size == media["size"] == 400_000


class FullFor(QuickConnection):
    """A connection without room for a kind of statement."""

    kind = ""

    @override
    def execute(self, sql: str, parameters: Any = (), /) -> sqlite3.Cursor:
        if self.kind and sql.startswith(self.kind):
            error = sqlite3.OperationalError("database or disk is full")
            error.sqlite_errorcode = sqlite3.SQLITE_FULL
            raise error
        return super().execute(sql, parameters)


def test_a_chat_that_could_not_be_written_silences_nobody(tmp_path: Path) -> None:
    """A dispatcher whose first message did not fit is not enrolled; alarms still go out."""
    opened: list[FullFor] = []
    script = Script().say("new job crash", "mile 4").say("status", chat=DISPATCHER).say("smoke")
    crash, mile, hello, smoke = raw(script.lines)

    def connection(path: Path) -> sqlite3.Connection:
        opened.append(sqlite3.connect(path, factory=FullFor))
        return opened[-1]

    def lines() -> Iterator[str]:
        yield from (crash, mile)
        opened[0].kind = "INSERT INTO chats"
        yield hello
        opened[0].kind = ""
        yield from (smoke, hello)

    found = turns(output(tmp_path, lines(), connection=connection))
    assert "full" in found[2][-1]["error"]["wrong"]
    assert found[3][-1]["acts"] == ["people_away"]
    assert found[4][-1]["chat"] == DISPATCHER
    assert [entry["body"]["role"] for entry in entries(tmp_path, 0)] == ["driver", "dispatcher"]


class Stepping:
    """A clock: at the start, then when a timer is due, then some seconds later at each call."""

    def __init__(self, start: Moment, step_s: int, looked: Callable[[int], None]) -> None:
        self._start, self._step_s, self._looked = start, step_s, looked
        self._looks = 0

    def now(self) -> Moment:
        self._looks += 1
        self._looked(self._looks)
        seconds = 0 if self._looks == 1 else 100 + (self._looks - 2) * self._step_s
        return replace(self._start, mono_ns=self._start.mono_ns + seconds * SECOND_NS)


@pytest.mark.parametrize(("step_s", "fired"), [(1, 0), (3, 1)])
def test_a_timer_that_cannot_be_written_is_tried_again_and_delays_nobody(
    step_s: int, fired: int, tmp_path: Path
) -> None:
    """If it fails when due, that is reported, not as an answer; it fires seconds later."""
    play(tmp_path, Script().say(*AT_PEOPLE))
    with open_reader(tmp_path) as reader:
        start = Moment(0, reader.timers()[0].due_mono_ns, reader.timers()[0].boot)
    opened: list[FullFor] = []

    def connection(path: Path) -> sqlite3.Connection:
        opened.append(sqlite3.connect(path, factory=FullFor))
        return opened[-1]

    def looked(looks: int) -> None:
        # No room from the second call on, when the timer is due, until the input is refused.
        opened[0].kind = "BEGIN" if looks in {2, 3, 4} else ""

    settings, out = Settings(tmp_path), StringIO()
    desk, store = open_desk(settings, book_for(settings), CHANNEL, connection=connection)
    source, sink = os.pipe()
    os.write(sink, json.dumps(ONE.lines[0] | {"id": "q", "text": "status"}).encode() + b"\n")
    os.close(sink)
    with store:
        serve(Lines(desk, store, tmp_path, out), Stepping(start, step_s, looked), source)
    os.close(source)
    said = read(out.getvalue())
    errors = [place for place, line in enumerate(said) if "error" in line]
    assert [said[place].get("last", False) for place in errors] == [False, True]
    assert all("full" in said[place]["error"]["wrong"] for place in errors)
    asked_again = said[errors[-1] + 1 :]
    assert [line["item"] for line in asked_again] == ["scene.people"] * fired
    assert all("re" not in line for line in asked_again)

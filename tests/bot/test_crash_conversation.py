"""A crash at any SQL statement of a whole conversation: it goes on as if nothing had been.

The process dies at statement N, another one picks up, and the message in hand is sent again
under its id. What is left must then be the disk of the undisturbed run, byte for byte, in
every table. In CI: every N of the short conversation, every eleventh of the long one. Every
fifth of those also goes on to the end and is compared there; since the rest follows from the
disk alone, that adds no case, only a check of this reasoning. `-m slow` takes every N of the
long one, and every eleventh of the recorded ones, to the end.
"""

import shutil
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from io import StringIO
from itertools import count
from pathlib import Path

import pytest

from bot.channels.lines import CHANNEL, Lines, serve_given
from bot.commands.bootstrap import book_for, open_desk, scripted
from bot.commands.demo import names
from bot.desk.desk import Desk
from bot.machine.clock import GivenClock
from bot.machine.settings import Settings
from bot.record.reach import check_head
from bot.record.reader import open_reader
from bot.record.schema import FILE_NAME, Connect
from bot.record.store import Store
from tests.bot.crash_script import long, recorded, short
from tests.bot.crashing import Crash, CrashingConnection, image
from tests.bot.scripted import Line, QuickConnection, Script, assert_timers, quick, raw, read
from tests.bot.turns import dump

STRIDE = 23


class QuickCrash(QuickConnection, CrashingConnection):
    """Counts what it is asked, and does not wait for the disk."""


def quick_crash(path: Path) -> sqlite3.Connection:
    path.touch(0o600)
    return sqlite3.connect(path, factory=QuickCrash)


@dataclass(frozen=True)
class Whole:
    """A conversation that nothing disturbed: its script, output and disk, input by input."""

    script: Script
    folder: Path
    lines: list[Line]
    statements: list[int]

    def before(self, place: int) -> Path:
        """Return the disk as it was before an input."""
        return self.folder / str(place)

    def rows(self, place: int) -> dict[str, list[tuple[object, ...]]]:
        """Return every table as it was before an input."""
        return dump(self.before(place) / FILE_NAME)

    @property
    def end(self) -> dict[str, list[tuple[object, ...]]]:
        return self.rows(len(self.statements))

    def points(self, stride: int) -> Iterator[tuple[int, int]]:
        """Yield the places to die at: an input, and a statement of its own."""
        points = [(place, n) for place, most in enumerate(self.statements)
                  for n in range(1, most + 2)]  # fmt: skip
        # The last of each input is after its last statement: it is answered, then dies.
        yield from points[::stride]


def served(folder: Path, lines: list[Line], out: StringIO, *, stop_at: int = 0) -> QuickCrash:
    """Serve lines with a connection that may die; leave the disk as it is then in folder/dead."""
    desk, store = opened(folder, quick_crash)
    conn = store._db.conn
    assert isinstance(conn, QuickCrash)
    conn.arm(stop_at)
    try:
        serve(desk, store, folder, lines, out)
    except Crash:
        assert conn.dead
    image(folder, folder / "dead")
    store.close()
    return conn


def opened(folder: Path, connection: Connect) -> tuple[Desk, Store]:
    settings = Settings(folder)
    secrets = scripted("1")
    return open_desk(settings, book_for(settings), CHANNEL, secrets=secrets, connection=connection)


def serve(desk: Desk, store: Store, folder: Path, lines: list[Line], out: StringIO) -> None:
    clock = GivenClock(desk._book.library.company.zone)
    serve_given(Lines(desk, store, folder, out), clock, raw(lines))


def gone_on(folder: Path, lines: list[Line]) -> list[Line]:
    """Pick up what a dead process left, and send it lines; return what it says."""
    out = StringIO()
    desk, store = opened(folder, quick)
    with store:
        serve(desk, store, folder, lines, out)
    return read(out.getvalue())


def undisturbed(script: Script, folder: Path) -> Whole:
    """Play a conversation, each input in a process of its own, and keep every disk."""
    out, statements = StringIO(), []
    (folder / "0").mkdir()
    for place, line in enumerate(script.lines):
        work = folder / "work"
        shutil.copytree(folder / str(place), work)
        statements.append(len(served(work, [line], out).statements))
        shutil.move(work / "dead", folder / str(place + 1))
        shutil.rmtree(work)
    return Whole(script, folder, read(out.getvalue()), statements)


def said(line: Line) -> Line:
    return {name: value for name, value in line.items() if name != "repeat"}


def assert_recognisable(whole: Whole, sent: list[Line], out: list[Line]) -> None:
    """Every reply came at least once; each that came again has its first number and says so."""
    known = {(line["chat"], line["seq"]): said(line) for line in whole.lines}
    seen: set[tuple[str, int]] = set()
    for line in out:
        key = (line["chat"], line["seq"])
        assert said(line) == known[key]
        assert line.get("repeat", key not in seen), f"{key} came again and does not say so"
        seen.add(key)
    ids = {line["id"] for line in sent}
    assert {key for key, line in known.items() if line.get("re") in ids} <= seen


def assert_whole(folder: Path) -> None:
    """The record holds: chains, no message left over, every timer that the jobs want."""
    with open_reader(folder) as reader:
        assert reader.verify() == []
        # The head is in the transaction of the entries: it covers them, never more or less.
        assert check_head(reader).covered == reader.sizes()
        assert reader.unfinished() == []
        assert reader.pending() == []
    assert_timers(folder)


def crash_at(whole: Whole, place: int, stop_at: int, folder: Path, *, inputs: int | None) -> None:
    """Die in one input, pick up, send it again, and go on for some inputs or to the end."""
    shutil.copytree(whole.before(place), folder)
    out = StringIO()
    lines = whole.script.lines[place:][:inputs]
    conn = served(folder, lines[:1], out, stop_at=stop_at)
    assert conn.dead == (stop_at <= whole.statements[place])
    again = gone_on(folder / "dead", lines)
    assert_recognisable(whole, lines, [*read(out.getvalue()), *again])
    assert_whole(folder / "dead")
    wanted = whole.rows(place + len(lines))
    assert dump(folder / "dead" / FILE_NAME) == wanted, f"input {place}, statement {stop_at}"


@dataclass(frozen=True)
class Part:
    """One of so many parts that the places to die at are dealt out to, in turn."""

    number: int
    of: int

    def __str__(self) -> str:
        return f"{self.number} of {self.of}"


ALL_AT_ONCE = Part(0, 1)


def parts(of: int) -> list[Part]:
    return [Part(number, of) for number in range(of)]


def crash_everywhere(
    whole: Whole, folder: Path, *, stride: int, to_end: int, part: Part = ALL_AT_ONCE
) -> None:
    """Crash at every `stride`th statement; go on to the end after every `to_end`th of those."""
    for number, (place, stop_at) in enumerate(whole.points(stride)):
        if number % part.of != part.number:
            continue
        inputs = None if number % to_end == 0 else 1
        crash_at(whole, place, stop_at, folder / f"{place}-{stop_at}", inputs=inputs)


@pytest.fixture(scope="module")
def short_one(tmp_path_factory: pytest.TempPathFactory) -> Whole:
    return undisturbed(short(), tmp_path_factory.mktemp("short"))


@pytest.fixture(scope="module")
def long_one(tmp_path_factory: pytest.TempPathFactory) -> Whole:
    return undisturbed(long(), tmp_path_factory.mktemp("long"))


def test_the_conversations_hold_what_a_crash_could_spoil(short_one: Whole) -> None:
    rows = short_one.end["journal"]
    kinds = {kind for kind in ("window", "pending", "held", "escalated", "media", "handover")
             if any(f'"kind":"{kind}"' in str(row[2]) for row in rows)}  # fmt: skip
    assert len(kinds) == 6
    assert sum(short_one.statements) > 300
    assert {line["chat"] for line in short_one.lines} == {"driver:sam", "dispatcher:ann"}


@pytest.mark.parametrize("part", parts(4), ids=str)
def test_a_crash_at_any_statement_of_a_short_conversation(
    part: Part, short_one: Whole, tmp_path: Path
) -> None:
    crash_everywhere(short_one, tmp_path, stride=1, to_end=5, part=part)


@pytest.mark.parametrize("part", parts(2), ids=str)
def test_a_crash_at_some_statements_of_a_long_conversation(
    part: Part, long_one: Whole, tmp_path: Path
) -> None:
    crash_everywhere(long_one, tmp_path, stride=STRIDE, to_end=5, part=part)


@pytest.mark.slow
def test_a_crash_at_any_statement_of_a_long_conversation(long_one: Whole, tmp_path: Path) -> None:
    crash_everywhere(long_one, tmp_path, stride=1, to_end=1)


@pytest.mark.slow
@pytest.mark.parametrize("name", names())
def test_a_crash_at_some_statements_of_a_recorded_conversation(name: str, tmp_path: Path) -> None:
    (tmp_path / "whole").mkdir()
    whole = undisturbed(recorded(name), tmp_path / "whole")
    crash_everywhere(whole, tmp_path, stride=STRIDE, to_end=1)


def received_only(whole: Whole, place: int, folder: Path) -> int:
    """Return the first statement at which a crash leaves an input received and not applied."""
    for stop_at in count(1):
        work = folder / f"look-{stop_at}"
        shutil.copytree(whole.before(place), work)
        served(work, whole.script.lines[place : place + 1], StringIO(), stop_at=stop_at)
        with open_reader(work / "dead") as reader:
            if reader.unfinished():
                return stop_at
    raise AssertionError


def test_a_crash_while_a_crash_is_picked_up(short_one: Whole, tmp_path: Path) -> None:
    """The process that finds a message, and timers due before it, dies at any statement too."""
    lines = short_one.script.lines
    place = max(i for i, line in enumerate(lines) if line.get("tick"))
    received = received_only(short_one, place, tmp_path)
    for stop_at in count(1):
        folder, out = tmp_path / str(stop_at), StringIO()
        shutil.copytree(short_one.before(place), folder)
        served(folder, lines[place : place + 1], out, stop_at=received)
        second = served(folder / "dead", lines[place : place + 1], out, stop_at=stop_at)
        again = gone_on(folder / "dead" / "dead", lines[place:])
        assert_recognisable(short_one, lines[place:], [*read(out.getvalue()), *again])
        assert dump(folder / "dead" / "dead" / FILE_NAME) == short_one.end
        if not second.dead:
            assert stop_at > short_one.statements[place] // 2
            return

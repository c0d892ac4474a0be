"""Scripts for the lines channel: how they are written, sent, and what comes back."""

import json
import os
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import cache
from io import StringIO
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from typing_extensions import override

from bot.channels.lines import CHANNEL, Lines, serve_given
from bot.commands import cli
from bot.commands.bootstrap import book_for, open_desk, scripted
from bot.commands.demo import JPEG, UNIT_S, Step
from bot.desk.given_jobs import GivenJobs
from bot.desk.replaying import rebuilt
from bot.desk.watch import UNHEARD, WATCHES, Watch
from bot.machine.clock import GivenClock
from bot.machine.settings import Settings
from bot.record.keys import private_pem, scripted_signer
from bot.record.reader import open_reader
from bot.record.schema import Connect
from flows.job.state import Job
from flows.routine.carry import CARRY, Routine
from flows.turn.timers import timers_for

Line = dict[str, Any]

DRIVER = "driver:sam"
DISPATCHER = "dispatcher:ann"
START = datetime(2026, 6, 1, 12, tzinfo=UTC)
PACE_S = 5
PHOTOS = TemporaryDirectory(prefix="rollproof-photos-")


class QuickConnection(sqlite3.Connection):
    """Does not wait for the disk, which only a loss of power could tell from one that does."""

    @override
    def execute(self, sql: str, parameters: Any = (), /) -> sqlite3.Cursor:
        return super().execute(sql.replace("synchronous = FULL", "synchronous = OFF"), parameters)


def quick(path: Path) -> sqlite3.Connection:
    os.close(os.open(path, os.O_RDWR | os.O_CREAT, 0o600))
    return sqlite3.connect(path, factory=QuickConnection)


def rfc3339(when: datetime) -> str:
    return when.isoformat(timespec="milliseconds").replace("+00:00", "Z")


@dataclass
class Script:
    """Lines in, each five seconds after the one before it, under ids of their own."""

    now: datetime = START
    lines: list[Line] = field(default_factory=list)

    def say(self, *texts: str, chat: str = DRIVER, **more: object) -> "Script":
        for text in texts:
            self.send(chat, text=text, **more)
        return self

    def send(self, chat: str = DRIVER, *, after_s: float = PACE_S, **more: object) -> "Script":
        self.now += timedelta(seconds=after_s)
        line = {"chat": chat, "id": f"m{len(self.lines) + 1}", "at": rfc3339(self.now)}
        self.lines.append({**line, **more})
        return self

    def wait(self, seconds: float, chat: str = DRIVER) -> "Script":
        return self.send(chat, after_s=seconds, tick=True)


@cache
def photo(number: int) -> str:
    """Return the path of a photo that nobody looks at, one of its own for each number."""
    path = Path(PHOTOS.name) / f"{number}.jpg"
    path.write_bytes(JPEG + str(number).encode())
    return str(path)


def script_of(steps: Iterable[Step]) -> Script:
    """Write a recorded conversation as lines; a reboot is a new boot id in the next line."""
    script = Script()
    for step in steps:
        if step.kind == ">":
            script.say(step.text, chat=step.chat)
        elif step.kind == "+":
            for number in range(int(step.text.split()[0])):
                script.send(step.chat, photo=photo(number))
        elif step.kind == "~" and step.text[:-1].isdecimal():
            script.wait(int(step.text[:-1]) * UNIT_S[step.text[-1]])
    return script


def raw(lines: Iterable[Line | str]) -> Iterator[str]:
    """Yield lines as they are sent; text is sent as it is."""
    for line in lines:
        yield (line if isinstance(line, str) else json.dumps(line)).removesuffix("\n") + "\n"


def output(
    folder: Path,
    lines: Iterable[Line | str],
    *,
    seed: str = "1",
    connection: Connect = quick,
    out: StringIO | None = None,
    routine: Routine = CARRY,
    cards: Path | None = None,
) -> str:
    """Serve lines in this process, as `rollproof lines --clock given` does; return its output."""
    settings = Settings(folder, cards)
    book = book_for(settings, routine)
    found = StringIO() if out is None else out
    secrets = scripted(seed)
    desk, store = open_desk(settings, book, CHANNEL, secrets=secrets, connection=connection)
    with store:
        clock = GivenClock(book.library.company.zone)
        serve_given(Lines(desk, store, folder, found), clock, raw(lines))
    return found.getvalue()


def rollproof(
    command: str, folder: Path, *arguments: str, given: str | bytes = ""
) -> tuple[int, str, str]:
    """Run one command as a process of its own; return its status, output and errors."""
    words = [sys.executable, "-m", "bot.commands.cli", command, *arguments, "--data", str(folder)]
    data = given.encode("utf-8", "surrogatepass") if isinstance(given, str) else given
    done = subprocess.run(words, input=data, capture_output=True, check=False)
    return done.returncode, done.stdout.decode(), done.stderr.decode()


Run = Callable[..., tuple[int, str, str]]


def run_here(
    typed: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Run:
    """Return what runs a command in this process: quick, and the same but for the process."""

    def run(command: str, folder: Path, *arguments: str, given: str = "") -> tuple[int, str, str]:
        typed.write_bytes(given.encode("utf-8", "surrogatepass"))
        with typed.open(encoding="utf-8") as source:
            monkeypatch.setattr("sys.stdin", source)
            status = cli.main([command, *arguments, "--data", str(folder)])
        return status, *capsys.readouterr()

    return run


def read(text: str) -> list[Line]:
    return [json.loads(line) for line in text.splitlines()]


def turns(text: str) -> list[list[Line]]:
    """Group output by input: each ends with the line that says it is the last."""
    found: list[list[Line]] = [[]]
    for line in read(text):
        found[-1].append(line)
        if line.get("last"):
            found.append([])
    assert found.pop() == [], "lines after the last one"
    return found


def play(folder: Path, script: Script | Iterable[Line | str], **more: Any) -> list[list[Line]]:
    lines = script.lines if isinstance(script, Script) else list(script)
    found = turns(output(folder, lines, **more))
    with_key(folder)
    assert len(found) == len(lines), "one last line for every input"
    return found


def with_key(data: Path, seed: str = "1") -> Settings:
    """Put the key of a scripted record beside it."""
    chosen = Settings(data)
    if data.is_dir() and os.access(data.parent, os.W_OK):
        chosen.key_file.write_text(private_pem(scripted_signer(seed)._seed))
        chosen.key_file.chmod(0o600)
    return chosen


def chains(folder: Path) -> dict[int, list[str]]:
    """Read every chain as written."""
    with open_reader(folder) as reader:
        assert reader.verify() == []
        return {job: reader.lines(job) for job in reader.heads()}


def entries(folder: Path, job: int) -> list[Line]:
    with open_reader(folder) as reader:
        return reader.entries(job)


PLACE = (
    "mile 9, goes to the county yard, they take it, ordered by police, planned tow, "
    "owner at home, plate KTR 4821"
)
"""Where it is, and all that a dispatcher's opening says of where it goes."""

TO_NEUTRAL = (
    "new job breakdown", PLACE, "none", "behind", "secured", "warned", "chocked",
    "too dark", "level", "nose", "harrow", "heron", "yes", "not in", "all roll",
    "understood", "hooked", "away", "tight", "on", "go",
)  # fmt: skip
"""From the opening of a job to the question that asks for neutral."""

TO_ROAD = (
    "confirmed", "chocks out", "away", "go", "on deck", "parked", "strapped", "strapped",
    "strapped", "strapped", "slack", "firm", "too dark",
)  # fmt: skip
"""From neutral to the pause before the road."""
TO_CLOSE = (
    *TO_ROAD, "go", "parked", "at the drop", "secured", "level", "on", "understood", "hooked",
    "away", "tight", "straps off", "chocked", "go", "neutral now", "confirmed", "chocks out",
    "away", "go", "off deck", "parked", "chocked", "slack", "line off", "too dark", "no vin",
    "as picked up", "handed over", "county yard", "yes", "close",
)  # fmt: skip
"""From neutral to the closed job."""


def assert_timers(folder: Path) -> None:
    """Every job has the timers that its state wants, the desk's among them, and no other."""
    book = book_for(Settings(folder))
    with open_reader(folder) as reader:
        watch = Watch(GivenJobs(reader), book.library.company)
        for ref in reader.jobs():
            job = rebuilt(Job(ref, book), reader.entries(ref))
            timers = [t for t in reader.timers(ref) if t.name not in WATCHES]
            known = [(t.name, t.generation, t.due_mono_ns, t.boot) for t in timers]
            assert known == sorted(
                (t.name, t.generation, t.due_ns, t.boot) for t in timers_for(job)
            )
            watched = [t for t in reader.timers(ref) if t.name in WATCHES - {UNHEARD}]
            by_clock = watch.by_the_clock(job)
            assert [(t.name, t.payload["since_ms"]) for t in watched] == (
                [] if by_clock is None else [(by_clock.name, by_clock.since_ms)]
            )

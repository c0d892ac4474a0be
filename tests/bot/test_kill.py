"""Real kills, with the real clock: nothing acknowledged is lost, nothing applied twice.

A driver that answers by what each line expects carries jobs to their end, while the process
is killed at seeded points: while it starts, before it has read a line, while it writes, after
it has answered. What was not answered is sent again under its id. Twenty times in CI, two
hundred with `-m slow`.
"""

import json
import os
import random
import select
import signal
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.bot.scripted import (
    DRIVER,
    PLACE,
    TO_CLOSE,
    TO_NEUTRAL,
    Line,
    Script,
    assert_timers,
    chains,
    entries,
    play,
    rfc3339,
    rollproof,
)

TOO_LONG_S = 20
# What this driver answers where the answer is not the word that the line expects.
ANSWERS = {
    "open.history": "breakdown", "open.place": PLACE, "scene.danger": "none",
    "scene.photos": "too dark", "secure.photos": "too dark", "drop.photos": "too dark",
    "scene.slope": "level", "scene.facing": "nose",
    "vehicle.powertrain": "harrow",
    "margin.truck": "heron", "access.wakes": "it wakes",
    "cord.state": "not in", "attach.wheels": "all roll",
    "neutral.ready": "on", "neutral.select": "neutral now", "close.seal": "close",
    "destination.where": "county yard", "destination.takes": "yes",
    "destination.asked_by": "police", "destination.emergency": "planned",
    "destination.owner": "at home", "rolling.wait": "parked", "road.where": "at the drop",
    "drop.slope": "level", "drop.ready": "on", "drop.select": "neutral now",
    "destination.plate": "KTR 4821", "drop.vin": "no vin",
    "drop.condition": "as picked up", "drop.key": "handed over", "drop.received": "county yard",
}  # fmt: skip


class Process:
    """One life of `rollproof lines`, and the whole lines that it wrote."""

    def __init__(self, folder: Path) -> None:
        command = [sys.executable, "-m", "bot.commands.cli", "lines", "--data", str(folder)]
        self._popen = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE
        )
        self._left = b""

    def send(self, line: Line) -> None:
        assert self._popen.stdin is not None
        self._popen.stdin.write(json.dumps(line).encode() + b"\n")
        self._popen.stdin.flush()

    def lines(self, wait_s: float) -> list[Line]:
        """Return the whole lines written by now, or first are within a time."""
        assert self._popen.stdout is not None
        source = self._popen.stdout.fileno()
        whole: list[bytes] = []
        # A long answer may arrive in pieces: a piece is no line yet, and no silence either.
        while not whole and select.select([source], [], [], wait_s)[0]:
            piece = os.read(source, 1 << 20)
            if not piece:
                break
            *whole, self._left = (self._left + piece).split(b"\n")
        return [json.loads(line) for line in whole]

    def end(self, how: signal.Signals | None) -> tuple[int, list[Line], str]:
        """Kill it, or let its input end; return status, last lines and errors."""
        if how is not None:
            self._popen.send_signal(how)
        out, err = self._popen.communicate(timeout=TOO_LONG_S)
        whole = (self._left + out).split(b"\n")[:-1]
        return self._popen.returncode, [json.loads(line) for line in whole], err.decode()


@dataclass
class Driver:
    """Says what the newest question expects, and again what was not answered."""

    folder: Path
    heard: list[Line] = field(default_factory=list)
    sent: list[Line] = field(default_factory=list)
    in_hand: Line | None = None
    stamp: datetime = field(default_factory=lambda: datetime.now(UTC))

    def __post_init__(self) -> None:
        self.process = Process(self.folder)

    def take(self, lines: list[Line]) -> None:
        self.heard += lines
        for line in lines:
            if self.in_hand and line.get("re") == self.in_hand["id"] and line.get("last"):
                self.in_hand = None

    def send(self) -> None:
        """Send the message in hand again, or the next one."""
        if self.in_hand is None:
            # Unique to the millisecond, so that each can be found in the record.
            self.stamp = max(datetime.now(UTC), self.stamp + timedelta(milliseconds=1))
            self.in_hand = {"chat": DRIVER, "id": f"m{len(self.sent) + 1}",
                            "at": rfc3339(self.stamp), "text": self.words()}  # fmt: skip
            self.sent.append(self.in_hand)
        self.process.send(self.in_hand)

    def words(self) -> str:
        asked = self.question()
        if asked is None:
            return "new job"
        if asked["item"] == "drop.received" and asked["expects"]["kind"] == "yes_no":
            return "yes"
        return ANSWERS.get(asked["item"]) or str(asked["expects"]["words"][0])

    def question(self) -> Line | None:
        """Return the newest line that expects something; None when no job is open."""
        closing = {line["id"] for line in self.sent if line["text"] == "close"}
        for line in reversed(self.heard):
            if line["expects"]["kind"] != "nothing" or line.get("item") == "rolling.wait":
                return line
            if line.get("re") in closing:
                return None
        return None

    def answered(self) -> None:
        """Send, and wait for the last line of it."""
        self.send()
        while self.in_hand is not None:
            lines = self.process.lines(TOO_LONG_S)
            assert lines, "no answer"
            self.take(lines)

    def killed(self, after_s: float) -> None:
        """Kill the process after a time, or once it writes."""
        self.take(self.process.lines(after_s))
        status, lines, err = self.process.end(signal.SIGKILL)
        assert status == -signal.SIGKILL
        assert "Traceback" not in err
        self.take(lines)


def at_the_start(driver: Driver, chance: random.Random) -> None:
    """Die while the process starts, a line already waiting for it."""
    driver.send()
    driver.killed(chance.uniform(0, 0.6))


def at_work(driver: Driver, chance: random.Random) -> None:
    """Die within the milliseconds that a turn takes."""
    driver.answered()
    driver.send()
    driver.killed(chance.uniform(0, 0.012))


def between(driver: Driver, chance: random.Random) -> None:
    """Die after some answers."""
    for _ in range(chance.randint(1, 4)):
        driver.answered()
    driver.killed(0)


WAYS: tuple[Callable[[Driver, random.Random], None], ...] = (
    at_the_start, *(at_work,) * 5, between,
)  # fmt: skip


@pytest.mark.parametrize("kills", [20, pytest.param(200, marks=pytest.mark.slow)])
def test_kills(kills: int, tmp_path: Path) -> None:
    folder, chance = tmp_path / "data", random.Random(1)  # noqa: S311  no secret
    driver = Driver(folder)
    driver.answered()
    for number in range(kills):
        WAYS[number % len(WAYS)](driver, chance)
        assert_timers(folder)
        driver.process = Process(folder)
    while driver.in_hand is not None or driver.question() is not None:
        driver.answered()
    status, rest, err = driver.process.end(None)
    assert (status, err) == (0, "")
    driver.take(rest)

    assert_once(driver)
    assert_recognisable(driver.heard)
    assert_applied(folder, tmp_path / "calm")
    assert rollproof("verify", folder)[0] == 0


def assert_once(driver: Driver) -> None:
    """Each message stands in the record exactly once, in the order in which it was sent."""
    jobs = sorted(set(chains(driver.folder)) - {0})
    found = [(entry["times"]["stamped"], entry["body"]["text"]["value"])
             for job in jobs for entry in entries(driver.folder, job)
             if entry["kind"] == "heard"]  # fmt: skip
    assert found == [(line["at"], line["text"]) for line in driver.sent]
    answered = {line.get("re") for line in driver.heard if line.get("last")}
    assert answered >= {line["id"] for line in driver.sent}


def assert_recognisable(heard: list[Line]) -> None:
    """No number is missing; a line that came again is the same, and says that it is a repeat."""
    seen: dict[int, Line] = {}
    for line in heard:
        bare = {name: value for name, value in line.items() if name != "repeat"}
        if line["seq"] in seen:
            assert line.get("repeat") is True
            assert bare == seen[line["seq"]]
        seen[line["seq"]] = bare
    assert sorted(seen) == list(range(1, len(seen) + 1))


def known(folder: Path, job: int) -> list[tuple[Any, Any]]:
    """Return the acts done and facts given of a job, in order."""
    found = [entry["body"] for entry in entries(folder, job) if entry["kind"] in {"act", "fact"}]
    return [(body.get("act"), body.get("name")) for body in found]


def assert_applied(folder: Path, calm: Path) -> None:
    """Every job went as one does that nothing disturbed."""
    play(calm, Script().say("new job", "breakdown", *TO_NEUTRAL[1:], "neutral now", *TO_CLOSE))
    for job in sorted(set(chains(folder)) - {0}):
        (ended,) = [one for one in entries(folder, job) if one["kind"] == "ended"]
        assert ended["body"]["how"] == "closed"
        assert known(folder, job) == known(calm, 1)

"""A true world for the neutral window, and an interval oracle that knows nothing of ours.

True time runs in whole milliseconds. The driver selects neutral at a true moment and says so
later; the platform stamps the message with its own, right clock, in whole seconds; it reaches
us later still. Our wall clock may be wrong by any step, our boot clock starts at every boot.
"""

import random
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from bot.machine.clock import offsets_at
from flows.job.events import Heard, Moment, Person

DENVER = ZoneInfo("America/Denver")
DRIVER = Person("p1", "driver")
MINUTE_MS = 60_000
HOUR_MS = 60 * MINUTE_MS


@dataclass
class Machine:
    """Our machine: its wall clock is off by a step, its boot clock counts from its boot."""

    booted_ms: int
    boot: str = "b1"
    off_ms: int = 0
    back_ms: int = 0

    def at(self, true_ms: int) -> Moment:
        wall = true_ms + self.off_ms
        mono = (true_ms - self.booted_ms - self.back_ms) * 1_000_000
        return Moment(wall, mono, self.boot, offsets_at(DENVER, wall))

    def true_ms(self, mono_ns: int) -> float:
        return mono_ns / 1_000_000 + self.booted_ms + self.back_ms


@dataclass(frozen=True)
class Told:
    """What the driver says of a moment, and the most it can be too late by [ms]."""

    text: str
    slack_ms: int


Telling = Callable[[int, int], Told]


def bare(_selected: int, _said: int) -> Told:
    return Told("neutral", 0)


def ago(selected: int, said: int) -> Told:
    """Whole minutes, rounded up by a careful driver, so never later than it was."""
    minutes = -(-(said - selected) // MINUTE_MS)
    return Told(f"neutral {minutes} minutes ago", 0)


def roughly_ago(selected: int, said: int) -> Told:
    """Whole minutes rounded down: up to a minute too late, which nobody can know."""
    minutes = (said - selected) // MINUTE_MS
    return Told(f"neutral {minutes} minutes ago", MINUTE_MS)


def by_the_clock(selected: int, _said: int) -> Told:
    """The minute that the driver's watch showed, right and in the company's zone."""
    local = datetime.fromtimestamp(selected / 1000, UTC).astimezone(DENVER)
    return Told(f"neutral at {local:%H:%M}", 0)


@dataclass
class Report:
    """How the driver's message travels: said, stamped, received; all true times [ms]."""

    selected: int
    said: int
    stamped: int
    received: int
    told: Told

    def heard(self, machine: Machine) -> Heard:
        at = machine.at(self.received)
        return Heard(DRIVER, at, self.told.text, stamped_ms=self.stamped // 1000 * 1000)


@dataclass
class Chance:
    """Seeded choices of one history."""

    seed: int
    dice: random.Random = field(init=False)

    def __post_init__(self) -> None:
        self.dice = random.Random(self.seed)  # noqa: S311  no secret

    def ms(self, low_s: float, high_s: float) -> int:
        return int(self.dice.uniform(low_s, high_s) * 1000)


def earliest_true_ms(asked: int, report: Report) -> int:
    """The oracle: the earliest true moment that what is known leaves open [ms].

    The message was composed after its question was asked. Minutes ago count from there; a
    clock's minute began at its full minute; a bare word is not older than its question.
    """
    text = report.told.text
    if "ago" in text:
        minutes = int(text.split()[1])
        return asked - minutes * MINUTE_MS
    if " at " in text:
        return min(asked, report.selected // MINUTE_MS * MINUTE_MS)
    return asked

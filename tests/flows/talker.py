"""A driver to talk with: runs a job through the flows alone, with a clock of its own.

talker = Talker(demo_library())
talker.say("new job breakdown", "mile 9", "none")
talker.wait(90)
talker.replies, talker.job
"""

from functools import cache
from pathlib import Path

from flows.cards.library import Library, library_from
from flows.hearing.prompts import prompt_for
from flows.job.events import SECOND_NS, Event, Heard, Moment, Person, Tick, Told
from flows.job.state import Job
from flows.routine.book import Book
from flows.routine.carry import CARRY
from flows.telling.reply import Reply
from flows.turn.advance import advance, opening
from flows.turn.turning import Timer  # noqa: TC001  a type only, as all of them here

DEMO = Path(__file__).parents[2] / "demo_data"
DRIVER = Person("p1", "driver")
OTHER_DRIVER = Person("p2", "driver")
DISPATCHER = Person("p3", "dispatcher")
OWNER = Person("p4", "owner")

PLACE = (
    "mile 9, goes to the county yard, they take it, ordered by police, planned tow, "
    "owner at home, plate KTR 4821"
)
"""Where it is, and all that a dispatcher's opening says of where it goes."""
TO_MARGIN = (
    "new job breakdown", PLACE, "none", "behind", "secured", "warned", "chocked",
    "too dark", "level", "nose", "harrow", "heron",
)  # fmt: skip
"""From the opening of a job to its margin, which is a go."""
TO_NEUTRAL = (
    *TO_MARGIN, "yes", "not in", "all roll", "understood", "hooked", "away", "tight", "on", "go",
)  # fmt: skip
"""From the opening of a job to the question that asks for neutral."""
TO_FAMILY = (*TO_NEUTRAL[: TO_NEUTRAL.index("harrow")], "electric", "no card")
"""From the opening of a job without a card to the question of its kind."""
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


@cache
def demo_library() -> Library:
    """Return the demonstration's cards, the same ones each time: nothing changes a card."""
    return library_from(
        {str(path.relative_to(DEMO)): path.read_text("utf-8") for path in DEMO.rglob("*.toml")}
    )


class Talker:
    """One job, from its opening on. Its replies so far are in `replies`, the newest last."""

    def __init__(self, library: Library, ref: int = 1) -> None:
        self.job = Job(ref, Book(CARRY, library))
        self.at = Moment(1_780_000_000_000, 3_600 * SECOND_NS, "boot-1", ((0, 0),))
        self.replies: list[Reply] = []
        self.timers: tuple[Timer, ...] = ()

    def say(self, *texts: str, after_s: float = 5, who: Person = DRIVER) -> list[Reply]:
        """Say something after a while, more than once with as much time between."""
        found: list[Reply] = []
        for text in texts:
            found += self.wait(after_s)
            found += self.happens(Heard(who, self.at, text))
        return found

    def tap(self, choice: str, after_s: float = 5, who: Person = DRIVER) -> list[Reply]:
        """Tap a choice by its id, bound to the question that is open."""
        ask = None if self.job.asked is None else self.job.asked.n
        return self.wait(after_s) + self.happens(Heard(who, self.at, tap=choice, ask=ask))

    def tick(self) -> list[Reply]:
        """Let time pass up to the timer that falls due first."""
        first = min(self.timers, key=lambda timer: timer.due_ns)
        self._pass(max(first.due_ns - self.at.mono_ns, 0))
        return self.happens(Tick(first.name, first.generation, self.at))

    def wait(self, seconds: float) -> list[Reply]:
        """Let time pass, with every timer that falls due on the way."""
        until = self.at.mono_ns + int(seconds * SECOND_NS)
        found: list[Reply] = []
        while self.timers and min(timer.due_ns for timer in self.timers) <= until:
            found += self.tick()
        self._pass(until - self.at.mono_ns)
        return found

    def reboot(self) -> list[Reply]:
        """Start the machine again: another boot, a boot-time clock that starts over."""
        self.at = Moment(self.at.wall_ms + 60_000, 60 * SECOND_NS, self.at.boot + "+")
        return self.happens(Told("restarted", self.at))

    def happens(self, event: Event) -> list[Reply]:
        """Let an event happen; return the messages it leads to, in order."""
        opens = self.job.opened is None and isinstance(event, Heard)
        turn = (
            opening(self.job, event, {"ref": self.job.ref})
            if opens and isinstance(event, Heard)
            else advance(self.job, event)
        )
        self.job, self.timers = turn.job, turn.timers
        self.replies += turn.replies
        return list(turn.replies)

    def _pass(self, nanoseconds: int) -> None:
        self.at = Moment(
            self.at.wall_ms + nanoseconds // 1_000_000,
            self.at.mono_ns + nanoseconds,
            self.at.boot,
            self.at.offsets,
        )


def told(*texts: str) -> Talker:
    """Return a driver who has said these, from the opening on."""
    talker = Talker(demo_library())
    talker.say(*texts)
    return talker


def open_item(talker: Talker) -> str:
    """Return the id of the item that is open, empty for none."""
    return getattr(prompt_for(talker.job).item, "id", "")

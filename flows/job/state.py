"""A job: frozen state, and values derived from it. Only `folding.py` makes jobs."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from flows.job.acts import Acts
from flows.job.events import MINUTE_NS, Aboard, Moment
from flows.job.facts import Fact

if TYPE_CHECKING:
    from flows.routine.book import Book
    from flows.routine.items import Item


T = TypeVar("T")

LOOK = "look"
"""The value of a fact that the driver was asked to look at after a first "not sure"."""


@dataclass(frozen=True, slots=True)
class Envelope:
    """The desk's part of an entry, around its body: when, by whom, which number."""

    at: Moment
    by: str
    seq: int


@dataclass(frozen=True, slots=True)
class Asked:
    """The question that is open: which item, its number in the job, and since when.

    `first` is when it was first asked under this number, before an interruption; `detail` is
    the part that can change: a second look, the entry of the value that is read back.
    """

    item: str
    n: int
    at: Moment
    stage: int = 0
    first: Moment | None = None
    detail: str = ""

    def since(self, boot: str) -> Moment:
        """Return the earliest moment of an answer, on the boot clock that times it."""
        return self.first if self.first is not None and self.first.boot == boot else self.at


@dataclass(frozen=True, slots=True)
class Lag:
    """How far one person's messages are stamped behind our boot-time clock, at the least [ms].

    `held_ms` takes a stamp ahead of its receipt as the receipt: one of those does not make every
    later message look old. `least_ms` takes each stamp as it is, for the neutral window, which a
    doubt may only shorten.
    """

    boot: str
    least_ms: int
    held_ms: int

    def or_less(self, other: "Lag | None") -> "Lag":
        """Return the lesser of two lags in the same boot; else this, the newer.

        Examples
        --------
        >>> Lag("b", 900, 900).or_less(Lag("b", -200, 1000)), Lag("b", 5, 5).or_less(None)
        (Lag(boot='b', least_ms=-200, held_ms=900), Lag(boot='b', least_ms=5, held_ms=5))
        """
        if other is None or other.boot != self.boot:
            return self
        return Lag(self.boot, min(self.least_ms, other.least_ms), min(self.held_ms, other.held_ms))


@dataclass(frozen=True, slots=True)
class Window:
    """A neutral window. `hold_min` None promises nothing."""

    serial: int
    earliest_ns: int
    boot: str
    hold_min: int | None
    stage: int = 0
    state: str = "open"
    state_ns: int = 0

    @property
    def is_counted(self) -> bool:
        """It is open, and the card promises a hold that can end."""
        return self.state == "open" and self.hold_min is not None

    @property
    def ends_ns(self) -> int | None:
        """Its latest end, on the boot-time clock [ns]."""
        return None if self.hold_min is None else self.earliest_ns + self.hold_min * MINUTE_NS


@dataclass(frozen=True, slots=True)
class Conclusion:
    """A figure's result and the facts it rests on, as (name, entry) pairs."""

    seq: int
    rests_on: tuple[tuple[str, int], ...]
    result: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Pending:
    """An open exchange that comes before the next item: a read-back, a correction.

    `said` is a weight as it was said, where that was not in pounds. `seq` is the entry that
    opened it, which tells two with different values apart; `by` is who gave it.
    """

    kind: str
    fact: str = ""
    value: Any = None
    item: str = ""
    misses: int = 0
    said: str = ""
    seq: int = -1
    by: str = ""


@dataclass(frozen=True, slots=True)
class Alarm:
    """The newest alarm that nobody has answered."""

    key: str
    at: Moment
    escalates: bool
    within_s: int
    n: int


@dataclass(frozen=True, slots=True)
class Leg:
    """A leg of the way: its number, its start, and how many re-check notes it had."""

    n: int
    since: Moment
    stage: int = 0


@dataclass(frozen=True, slots=True)
class Skip:
    """A critical step left out, why, and whether owner or dispatcher settled it."""

    item: str
    reason: str
    settled_by: str | None = None


@dataclass(frozen=True, slots=True)
class Deferral:
    """An item that was put off, and when."""

    item: str
    at: Moment


@dataclass(frozen=True, slots=True)
class Receipt:
    """A file that was received and whose bytes are not kept yet.

    Its kind, the item it belongs to, and the channel's own name for it.
    """

    kind: str
    item: str
    ref: str = ""


@dataclass(frozen=True, slots=True)
class Unseen:
    """A set of photos that could not be taken, and why."""

    item: str
    reason: str


@dataclass(frozen=True, slots=True)
class Ended:
    """How the job ended: closed, or handed off for a reason."""

    how: str
    reason: str


class derived(Generic[T]):  # noqa: N801  used as a decorator, as `functools.cached_property` is
    """What a job derives of itself on first use: `cached_property`, without its lock."""

    def __init__(self, work: "Callable[[Job], T]") -> None:
        self.work = work
        self.__doc__ = work.__doc__

    def __get__(self, job: "Job", _of: type | None = None) -> T:
        found = job.__dict__[self.work.__name__] = self.work(job)
        return found


@dataclass(frozen=True)
class Job:
    """The state of one job. Derived values are worked out once, on first use."""

    ref: int
    book: "Book"
    facts: Mapping[str, Fact] = field(default_factory=dict)
    acts: Acts = field(default_factory=Acts.initial)
    acted: Mapping[str, Moment] = field(default_factory=dict)
    done: frozenset[str] = frozenset()
    window: Window | None = None
    margin: Conclusion | None = None
    pull: Conclusion | None = None
    lift: Conclusion | None = None
    override: str | None = None
    asked: Asked | None = None
    pending: Pending | None = None
    theirs: Pending | None = None
    """A weight from somebody other than the driver, read back to them."""
    paused: Moment | None = None
    paused_why: str = ""
    skips: tuple[Skip, ...] = ()
    alarm: Alarm | None = None
    last: str = ""
    unclear: int = 0
    unclear_to: tuple[str, int] = ("", 0)
    """Somebody else who was not understood, and how often in a row."""
    at_vehicle: str | None = None
    handoff: str | None = None
    section: str = ""
    ended: Ended | None = None
    leg: Leg | None = None
    opened: Moment | None = None
    danger_at: Moment | None = None
    last_heard: Moment | None = None
    now: Moment | None = None
    asks: int = 0
    seq: int = 0
    lags: Mapping[str, Lag] = field(default_factory=dict)
    """By person, since each has a platform and a clock of their own."""
    last_truck: str | None = None
    receipts: Mapping[int, Receipt] = field(default_factory=dict)
    photos: Mapping[str, int] = field(default_factory=dict)
    unseen: tuple[Unseen, ...] = ()
    deferred: tuple[Deferral, ...] = ()
    unasked: tuple[Moment, ...] = ()
    held_back: Moment | None = None
    aboard: tuple[Aboard, ...] = ()
    aboard_seq: int = -1

    def with_(self, **changes: Any) -> "Job":  # noqa: ANN401 - fields are of several types
        """Return this job with some of its state changed, without its derived values.

        Every entry makes a new job, and `dataclasses.replace` calls the constructor with
        thirty fields each time: this copies them. Where nothing changed that decides which item
        is next, that is kept too.

        Examples
        --------
        >>> job = Job(1, None)
        >>> job.with_(asks=2).asks, job.asks
        (2, 0)
        """
        job = object.__new__(Job)
        state = job.__dict__
        state.update(self.__dict__)
        state.update(changes)
        state.pop("memo", None)
        if not DECIDES_NEXT.isdisjoint(changes):
            for name in _DECIDED:
                state.pop(name, None)
        return job

    def value(self, name: str) -> Any:  # noqa: ANN401 - facts are of several types
        """Return a fact's value, None when it is not known."""
        fact = self.facts.get(name)
        return None if fact is None or fact.value == LOOK else fact.value

    def sure(self, name: str) -> Any:  # noqa: ANN401 - facts are of several types
        """Return a fact's value, None when it is not known or only assumed."""
        fact = self.facts.get(name)
        return None if fact is None or fact.how == "assumed" else self.value(name)

    def looked(self, name: str) -> bool:
        """Say whether the driver was sent to look again."""
        fact = self.facts.get(name)
        return fact is not None and fact.value == LOOK

    def fact_seq(self, name: str) -> int:
        """Return the entry that gave the fact, -1 when it is not known; "aboard" counts as one."""
        if name == "aboard":
            return self.aboard_seq
        fact = self.facts.get(name)
        return -1 if fact is None else fact.seq

    @derived
    def next_item(self) -> "Item | None":
        """The first item, in order, that is wanted and not settled."""
        return next(self.book.routine.open_items(self), None)

    @derived
    def memo(self) -> dict[str, Any]:
        """Values that other modules derive from this job, each under a name of its own."""
        return {}

    @property
    def is_damaged(self) -> bool:
        """It is damaged or flooded, may be, or was released from danger.

        The safety rules have a copy of their own (`flows/rules/world.py`), apart on purpose: they
        judge the answers given here.
        """
        return self.value("history") != "breakdown" or self.acts["danger"] == "released"

    @derived
    def kept(self) -> dict[str, Any]:
        """Values that other modules derive from only the state that decides the next item."""
        return {}

    @derived
    def margin_stands(self) -> bool:
        """The margin was concluded and none of the facts under it has changed since."""
        return self.margin is not None and all(
            self.fact_seq(name) == seq for name, seq in self.margin.rests_on
        )

    @derived
    def pull_stands(self) -> bool:
        """The pull was planned and none of the facts under it has changed since."""
        return self.pull is not None and all(
            self.fact_seq(name) == seq for name, seq in self.pull.rests_on
        )

    @property
    def pull_word(self) -> str | None:
        """The pull's word; None when it is not known or stale."""
        if self.pull is None or not self.pull_stands:
            return None
        return str(self.pull.result["word"])

    @derived
    def lift_stands(self) -> bool:
        """The lift was concluded and none of the facts under it has changed since."""
        return self.lift is not None and all(
            self.fact_seq(name) == seq for name, seq in self.lift.rests_on
        )

    def lift_by(self, by: str) -> str | None:
        """Return the word of the lift by this; None when it is not known or stale."""
        if self.lift is None or not self.lift_stands or self.lift.result["by"] != by:
            return None
        return str(self.lift.result["word"])

    @property
    def verdict(self) -> str | None:
        """The margin's word; None when it is not known or stale."""
        if self.margin is None or not self.margin_stands:
            return None
        return str(self.margin.result["verdict"])


def without_the_road(job: Job, at: Moment) -> dict[str, Any]:
    """Return the alarm and deferred items with the time on the road left out of their clocks."""
    since = job.acted.get("rolling")
    if job.acts["rolling"] != "rolling" or since is None or since.boot != at.boot:
        return {}

    def later(one: Moment) -> Moment:
        rode = at.mono_ns - max(since.mono_ns, one.mono_ns) if one.boot == at.boot else 0
        wall_ms = one.wall_ms + rode // 1_000_000
        return replace(one, mono_ns=one.mono_ns + rode, wall_ms=wall_ms)

    alarm = None if job.alarm is None else replace(job.alarm, at=later(job.alarm.at))
    return {"alarm": alarm, "deferred": tuple(replace(o, at=later(o.at)) for o in job.deferred)}


DECIDES_NEXT = frozenset({"book", "facts", "acts", "done", "window", "margin", "pull", "lift",
                          "override", "skips", "handoff", "deferred", "aboard_seq"})  # fmt: skip
"""The state that decides which item is next: all that an item, or a condition's view, reads."""

FIGURES_STAND = ("lift_stands", "margin_stands", "pull_stands")

_DECIDED = tuple(
    name for name, one in vars(Job).items() if isinstance(one, derived) and name != "memo"
)

"""What conditions look at, and so which act states and facts still matter from an item on."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, reduce
from typing import TYPE_CHECKING

from flows.cards.library import Library
from flows.explore.cards import asked_of_card, few, only_cards
from flows.explore.moves import START
from flows.explore.partial import FACT, Partial, Values, cases
from flows.job.acts import ACTS, ISOLATIONS, NUMBERS, VARIABLES
from flows.job.facts import FACTS, Fact
from flows.job.state import Conclusion, Job, Window
from flows.routine.book import Book
from flows.routine.condition import Condition
from flows.routine.items import Figure, Item, Question

if TYPE_CHECKING:
    from flows.routine.carry import Routine

RULE_ACTS = frozenset({"danger", "charging", *ISOLATIONS, *(f"tag.{n}" for n in NUMBERS)})
RULE_FACTS = frozenset(
    {"danger", "history", "slope", "card", "facing", "lift_end", "wheels", "point_shown"}
)
"""What the rules judge by however far the job has come."""

FREE_FACTS = (
    "history", "slope", "facing", "powertrain", "cord", "cord_tried", "operator_freed",
    "release_freed", "wheels", "goes_under", "point_shown", "ready", "wakes", "key", "unlocked",
    "posts_opened", "twelve_volt", "twelve_volt_kind", "manual_boost", "donor", "woke",
    "takes_it", "stop_at", "second_truck", "lift_end",
)  # fmt: skip
"""Facts whose values conditions tell apart; cards are taken one at a time."""


@dataclass(frozen=True, slots=True)
class Matters:
    """The act states, the facts and the marks of steps that something looks at."""

    acts: frozenset[str] = frozenset()
    facts: frozenset[str] = frozenset()
    marks: frozenset[str] = frozenset()

    def __or__(self, other: "Matters") -> "Matters":
        return Matters(self.acts | other.acts, self.facts | other.facts, self.marks | other.marks)


def fact_values(library: Library, name: str) -> Values:
    """Return the values of a fact that are told apart."""
    if name == "card":
        return frozenset({*(card.id for card in few(library)), "none"})
    if name == "second_truck":
        return frozenset({*(card.id for card in library.wreckers), "none"})
    return frozenset(FACTS[name].values)


@cache
def looked_at(library: Library, condition: Condition) -> Matters:
    """Return what a condition looks at in any state; of a combined one, what its parts look at.

    A part that another part makes idle counts as well: that tells more states apart, never fewer.
    """
    _, parts = condition.made_of
    if parts:
        return reduce(Matters.__or__, (looked_at(library, part) for part in parts))
    among = _undecided(library, condition)
    seen: set[str] = set()
    for job in _kinds(only_cards(library), condition.reads):
        for case in cases(Partial(job, among), condition.holds):
            seen.update(
                name for name, values in case.partial.among.items() if values != among[name]
            )
    facts = condition.reads & FACTS.keys()
    return Matters(frozenset(seen & VARIABLES.keys()), facts, condition.reads - facts)


def _undecided(library: Library, condition: Condition) -> dict[str, Values]:
    """Return every value of every act state, and of each fact that a condition reads."""
    read = sorted(condition.reads & {*FREE_FACTS, "card"})
    facts = {FACT + name: fact_values(library, name) for name in read}
    return {name: frozenset(domain) for name, domain in VARIABLES.items()} | facts


def _kinds(book: Book, reads: frozenset[str]) -> Iterator[Job]:
    """Yield jobs in which everything is known, with each kind of what else is read."""
    facts = {name: Fact("known", "typed", "", 0) for name in FACTS}
    start = START.mono_ns
    windows = (
        None,
        Window(1, start, START.boot, 30),
        Window(1, start, START.boot, 30, 4, "ended"),
    )
    for window in windows if "window" in reads else windows[:1]:
        for verdict in ("go", "no-go") if {"margin", "lift"} & reads else ("go",):
            yield Job(
                1, book, facts=facts, window=window, now=START,
                margin=Conclusion(0, (), {"verdict": verdict}),
                pull=Conclusion(0, (), {"word": "fits"}),
                lift=Conclusion(0, (), {"word": verdict, "by": "second_truck"}),
            )  # fmt: skip


@cache
def of_item(book: Book, item: Item) -> Matters:
    """Return what an item looks at, asks for and does."""
    asked = frozenset({item.fact}) if isinstance(item, Question) else frozenset()
    return _looks(book, item) | Matters(facts=asked, marks=frozenset({item.id}))


@cache
def _looks(book: Book, item: Item) -> Matters:
    """Return what an item looks at and does, but for what only tells that it is settled."""
    section = book.routine.section_of[item.id]
    under = frozenset(item.rests_on) if isinstance(item, Figure) else frozenset()
    own = Matters(frozenset(ACTS[act].variable for act in item.acts), under)
    return own | looked_at(book.library, item.applies) | looked_at(book.library, section.applies)


@cache
def of_first(book: Book) -> Matters:
    """Return what matters always: to the sections that come before everything, and the rules."""
    total = Matters(RULE_ACTS, RULE_FACTS)
    for section in book.routine.sections:
        if section.id in book.routine.first:
            for item in section.items:
                total |= of_item(book, item)
    return total


@cache
def from_items(book: Book) -> dict[str, Matters]:
    """Return, for every item, what matters from it on.

    Whether something is settled already that only a later section asks for does not count: that
    section is explored by itself, entered with it known and with it not known.
    """
    found = {}
    behind = of_first(book)
    for section in reversed(book.routine.sections):
        total = behind
        for item in reversed(section.items):
            total |= of_item(book, item)
            found[item.id] = total
            behind |= _looks(book, item)
    return found


@cache
def of_card(book: Book, item: Item | None) -> tuple[Condition, ...]:
    """Return the conditions of the card that anything from an item on asks for."""
    routine: Routine = book.routine
    order = [one for section in routine.sections for one in section.items]
    left = order[order.index(item) :] if item is not None else []
    first = [one for one in order if routine.section_of[one.id].id in routine.first]
    return asked_of_card((one, routine.section_of[one.id].applies) for one in (*first, *left))


def position(job: Job) -> Item | None:
    """Return the first open item that is not of a section that comes before everything.

    Of a truck on the road: the one that is open once it stands.
    """
    routine: Routine = job.book.routine
    if job.acts["rolling"] == "rolling":
        job = job.with_(acts=job.acts.after("arrives"))
    item = job.next_item
    if item is None or routine.section_of[item.id].id not in routine.first:
        return item
    opened = routine.open_items(job)
    return next((i for i in opened if routine.section_of[i.id].id not in routine.first), None)


def still_matters(book: Book, item: Item | None) -> Matters:
    """Return what matters from an item on, of a job that is there."""
    return of_first(book) if item is None else from_items(book)[item.id]

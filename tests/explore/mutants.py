"""The routine with one thing wrong in it, over and over: what notices, and what does not.

An explorer that finds nothing proves nothing until it has been seen to find something. Each
mutant is judged as the routine is: its items as built, every straight way with the rules, the
end and the written order, ways with a disturbance taken at random, then the section alone from
every act state, or, where those are too many, walks from some.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from flows.explore.partial import Partial, cases
from flows.explore.search import TooManyError, explore
from flows.explore.still_matters import position
from flows.explore.whole import opened, straight_ways
from flows.job.state import Job
from flows.routine.book import Book
from flows.routine.carry import Routine
from flows.routine.items import Gate, Item, Section, Step
from tests.explore.contracts import MOST_STATES, Alone, coming_to
from tests.explore.item_checks import misbuilt
from tests.explore.mutant_paths import wrong_apart
from tests.explore.order_checks import unmet
from tests.explore.walks import LARGE, Draw, Judge, walks
from tests.explore.ways import wrong_on_ways

HUNTED = 75
"""Disturbed ways through the whole, before a section is taken alone."""
HUNTED_FIRST = 300
"""The same for what interrupts, which has no straight ways of its own."""
WALKED = 1_000
"""Walks through a section that has too many act states to take one by one."""
ENDING = frozenset({"danger", "handoff", "close"})
"""Sections in which a job can end: stood down, handed off, closed."""


@dataclass(frozen=True, slots=True)
class Mutant:
    """A routine with one thing wrong: its name says what, its section where."""

    id: str
    section: str
    routine: Routine


def mutants(routine: Routine) -> Iterator[Mutant]:
    """Yield every mutant of a routine, in the order of its items."""
    for section in routine.sections:
        for place, item in enumerate(section.items):
            for name, items in _changes(section, place, item):
                changed = replace(section, items=items)
                sections = tuple(changed if one is section else one for one in routine.sections)
                yield Mutant(name, section.id, Routine(name, sections, routine.first))


def _changes(section: Section, place: int, item: Item) -> Iterator[tuple[str, tuple[Item, ...]]]:
    before, after = section.items[:place], section.items[place + 1 :]
    yield f"drop {item.id}", (*before, *after)
    if after:
        yield f"swap {item.id}, {after[0].id}", (*before, after[0], item, *after[1:])
    for name, changed in _variants(item):
        yield f"{name} {item.id}", (*before, changed, *after)


def _variants(item: Item) -> Iterator[tuple[str, Item]]:
    yield "negate", replace(item, applies=~item.applies)
    if item.critical:
        yield "not critical", replace(item, critical=False)
    if not item.skippable:
        yield "skippable", replace(item, skippable=True)
    if isinstance(item, Step | Gate):
        for act in item.acts:
            kept = tuple(one for one in item.acts if one != act)
            yield f"no {act} in", replace(item, acts=kept)


def killed_by(mutant: Mutant, of: Book, draws: Callable[[], Draw]) -> str | None:
    """Return what notices a mutant of a book's routine, None when nothing does.

    Parameters
    ----------
    mutant, of
        The mutant, and the book of the routine it was made of, which is explored once.
    draws
        Gives what makes every choice, each time the same from the beginning.
    """
    return next(_noticed(mutant, Book(mutant.routine, of.library), of, draws), None)


def _noticed(mutant: Mutant, book: Book, scope: Book, draws: Callable[[], Draw]) -> Iterator[str]:
    """Yield what notices a mutant, what is quick before what is thorough."""
    yield from (f"built: {why}" for why in misbuilt(mutant.routine))
    yield from wrong_apart(book, scope, draws())
    interrupts = mutant.section in book.routine.first
    starts = [opened(book)] if interrupts else entering(book, scope, mutant.section)
    number = HUNTED_FIRST if interrupts else HUNTED
    yield from wrong_on_ways(starts, number, draws(), disturbed=True)
    yield from _alone(book, scope, mutant.section, draws())


def entering(book: Book, scope: Book, section: str) -> list[Job]:
    """Return the states from which straight ways enter a section, or pass it by.

    Up to there a routine in which only that section differs is the same as the one it was made
    of, so that what follows from these is all that can differ on straight ways.

    Parameters
    ----------
    book
        The routine that differs; the states are given as of it.
    scope
        The routine it was made of, whose straight ways are explored.
    section
        In which they differ.
    """
    place = {one.id: n for n, one in enumerate(scope.routine.sections)}

    def behind(job: Job) -> bool:
        item = position(job)
        return item is None or place[scope.routine.section_of[item.id].id] >= place[section]

    graph = straight_ways(scope)
    found = [
        replace(node.state, book=book)
        for node in graph.nodes.values()
        if not behind(node.state) and any(behind(after.state) for _, after in node.leads)
    ]
    return found or [opened(book)]


def _alone(book: Book, scope: Book, section: str, draw: Draw) -> Iterator[str]:
    """Judge the section alone: from every act state, or on walks from some."""
    alone = Alone(book, section, scope)
    if section in LARGE:
        for walk in walks(alone, WALKED, draw, _out_of_order(scope)):
            yield from (f"alone: {why}" for why in walk.faults)
        return
    starts = alone.starts(coming_to(scope, section))
    try:
        graph = explore(alone, starts, 2 * MOST_STATES, first_only=True)
    except TooManyError as error:
        yield f"grows: {error}"
        return
    yield from (f"alone: {breach.why}" for breach in graph.breaches)
    if not graph.nodes:
        yield f"alone: {section} is never entered"
    for node in graph.nodes.values():
        yield from (f"order: {why}" for why in missing(node.state, _out_of_order(scope)))
    if section in ENDING and not any(node.state.job.ended for node in graph.nodes.values()):
        yield f"alone: {section} never ends a job"


def _out_of_order(scope: Book) -> Judge:
    """Return what says of a state that something is asked out of order there.

    A walk begins with any act states, and some leave even the routine itself nothing to ask in
    order. What counts is that it would have asked for something else.
    """

    def judge(job: Job) -> Iterator[str]:
        found = tuple(unmet(job))
        if found and not any(unmet(replace(job, book=scope, asked=None))):
            yield from found

    return judge


def missing(state: Partial, judge: Judge) -> Iterator[str]:
    """Yield what is out of order in any case of a state."""
    for case in cases(state, lambda job: tuple(judge(job))):
        yield from case.result

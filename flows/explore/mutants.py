"""The routine with one thing wrong in it, over and over: what notices, and what does not.

An explorer that finds nothing proves nothing until it has been seen to find something. Each
mutant is judged as the routine is: its items as built, every straight way with the rules, the
end and the written order, then the section alone from every act state.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from flows.book import Book
from flows.cards.library import Library
from flows.explore.contracts import Alone, coming_to
from flows.explore.expected import misbuilt, unmet
from flows.explore.liveness import dead_ends
from flows.explore.search import Graph, TooManyError, explore
from flows.explore.unfixed import Partial, cases
from flows.explore.whole import MOST_STRAIGHT, Whole, opened
from flows.items import Gate, Item, Section, Step
from flows.routine import Routine

if TYPE_CHECKING:
    from flows.job import Job

MOST_DISTURBED = 300_000
MOST_ALONE = 20_000
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


def killed_by(mutant: Mutant, of: Routine, library: Library) -> str | None:
    """Return what notices a mutant of a routine, None when nothing does."""
    built = next(misbuilt(mutant.routine), None)
    if built is not None:
        return f"built: {built}"
    book = Book(mutant.routine, library)
    try:
        found = _whole(book, 0)
        if found is not None:
            return found
        if mutant.section in of.first:
            return _whole(book, 1)
        return _alone(book, Book(of, library), mutant.section)
    except TooManyError as error:
        return f"grows: {error}"


def _whole(book: Book, deep: int) -> str | None:
    """Judge the whole: what interrupts is tried from every straight state, with `deep` 1."""
    most = MOST_DISTURBED if deep else MOST_STRAIGHT
    graph: Graph[Job] = explore(Whole(deep), [opened(book)], most, first_only=True)
    if graph.breaches:
        return f"whole: {graph.breaches[0].why}"
    for node in graph.nodes.values():
        for why in unmet(node.state):
            return f"order: {why}"
    return "whole: no end" if dead_ends(graph) else None


def _alone(book: Book, scope: Book, section: str) -> str | None:
    alone = Alone(book, section, scope)
    graph = explore(alone, alone.starts(coming_to(book, section)), MOST_ALONE, first_only=True)
    if graph.breaches:
        return f"alone: {graph.breaches[0].why}"
    if not graph.nodes:
        return f"alone: {section} is never entered"
    for node in graph.nodes.values():
        for why in missing(node.state):
            return f"order: {why}"
    ends = any(node.state.job.ended for node in graph.nodes.values())
    return None if ends or section not in ENDING else f"alone: {section} never ends a job"


def missing(state: Partial) -> Iterator[str]:
    """Yield what is unmet in any case of a state."""
    for case in cases(state, lambda job: tuple(unmet(job))):
        yield from case.result

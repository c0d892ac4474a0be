"""Where a routine with one thing changed parts from the one it was made of, and all it leads to.

Up to such a state the two are the same, and so they are again in any state of the first's straight
ways in which both ask the same. What lies between is all that there is to judge.
"""

from collections.abc import Hashable, Iterator
from dataclasses import dataclass
from functools import lru_cache

from typing_extensions import override

from flows.explore.liveness import after, reached
from flows.explore.moves import Move
from flows.explore.search import Graph, Node, Step, TooManyError, explore
from flows.explore.state import key
from flows.explore.whole import MOST_STRAIGHT, Whole, straight_ways
from flows.job.state import Job
from flows.routine.book import Book
from flows.routine.items import Item
from tests.explore.order_checks import unmet
from tests.explore.walks import Draw
from tests.explore.ways import wrong_on_ways

HUNTED = 75
"""Straight ways taken at random before every one is."""
ASKED = Move("wait", "[what is asked there is judged]", "nobody", timer="other", generation=-1)
FIGURES = ("margin", "pull", "lift")
"""What is concluded within a turn: the item that comes next is sought before it as well."""


@dataclass(frozen=True, slots=True)
class Sought:
    """A state in which the next item is sought, which one it is, and the node it is reached from.

    `place` is where the item stands in the routine's order.
    """

    state: Job
    item: Item | None
    place: int
    node: Node[Job]


@lru_cache(maxsize=2)
def sought(scope: Book) -> tuple[Sought, ...]:
    """Return every state of the straight ways in which the next item is sought.

    That is each that is reached, and each as it is within a turn, before a figure is concluded.
    """
    places = {id_: place for place, id_ in enumerate(scope.routine.items)}

    def one(state: Job, node: Node[Job]) -> Sought:
        item = state.next_item
        return Sought(state, item, len(places) if item is None else places[item.id], node)

    def of(node: Node[Job]) -> Iterator[Sought]:
        yield one(node.state, node)
        before = {name: getattr(node.state, name) for name in FIGURES}
        for _, then in node.leads:
            if any(getattr(then.state, name) != figure for name, figure in before.items()):
                yield one(then.state.with_(**before), node)

    return tuple(found for node in straight_ways(scope).nodes.values() for found in of(node))


def parting(book: Book, scope: Book) -> Iterator[Node[Job]]:
    """Yield the nodes of a routine's straight ways from which a changed one goes another way.

    Parameters
    ----------
    book
        The changed routine, with the same items by id or some less.
    scope
        The routine it was made of, whose straight ways are explored.
    """
    first = _first_change(book, scope)
    numbers = set()
    for one in sought(scope):
        if one.place < first or one.node.number in numbers:
            continue
        if _next_in(book, one.state, first) is not one.item:
            numbers.add(one.node.number)
            yield one.node


def _next_in(book: Book, job: Job, first: int) -> Item | None:
    """Return the item that is next in another routine, of a job in which none is open before.

    Judged here and now: a job of another book would work out all that this one has worked out.
    """
    if job.deferred:
        return job.with_(book=book).next_item
    left = -first
    for section in book.routine.sections:
        items = section.items[max(0, -left) :]
        left += len(section.items)
        if left > 0 and section.applies.holds(job):
            found = next((item for item in items if item.open(job)), None)
            if found is not None:
                return found
    return None


def _first_change(book: Book, scope: Book) -> int:
    """Return the place of the first item that is not the same: what is before it stays so."""
    old, new = list(scope.routine.items.values()), list(book.routine.items.values())
    return next(
        (n for n, (a, b) in enumerate(zip(old, new, strict=False)) if a is not b), len(new)
    )


class Apart(Whole):
    """The straight ways of a changed routine, until they are again those of the first."""

    def __init__(self, book: Book, scope: Book) -> None:
        super().__init__(0)
        self.scope = scope
        self.known = straight_ways(scope).nodes
        self.parted = {node.number: node.state.with_(book=book) for node in parting(book, scope)}
        self._starts = frozenset(self.key(one) for one in self.parted.values())

    @override
    def steps(self, state: Job, level: int) -> Iterator[Step[Job]]:
        """Yield every step from a state, none from one in which both go on the same way."""
        if wrong := tuple(unmet(state)):
            yield Step(ASKED, state, faults=wrong)
        if self.joined(state) is None:
            yield from super().steps(state, level)

    def joined(self, state: Job) -> Node[Job] | None:
        """Return the first's node that a state goes on as; None where there is none."""
        there = state.with_(book=self.scope)
        if there.next_item is not state.next_item or self.key(state) in self._starts:
            return None
        node = self.known.get(key(there))
        return None if node is None or node.number in self.parted else node


def wrong_apart(book: Book, scope: Book, draw: Draw) -> Iterator[str]:
    """Yield what is wrong where the straight ways of a changed routine are not the first's.

    Some of its ways are taken at random first: most of what is wrong is found there.

    Parameters
    ----------
    book, scope
        As `parting` has them.
    draw
        Makes every choice on those.
    """
    space = Apart(book, scope)
    starts = list(space.parted.values())
    if not starts:
        return
    yield from (f"order: {why}" for state in starts for why in unmet(state))
    yield from wrong_on_ways(starts, HUNTED, draw, disturbed=False)
    try:
        graph = explore(space, starts, MOST_STRAIGHT, first_only=True)
    except TooManyError as error:
        yield f"grows: {error}"
        return
    yield from (f"whole: {breach.why}" for breach in graph.breaches)
    if not graph.breaches:
        yield from _no_end(space, graph)


Place = tuple[str, Hashable]
"""A state of the ways of both together: by its number where they are the first's, or its key."""


def _no_end(space: Apart, graph: Graph[Job]) -> Iterator[str]:
    """Judge where the ways end, those that part and those that do not taken together."""
    back: dict[Place, list[Place]] = {}
    ends: dict[Place, str] = {}
    for place, state, leads in _ways(space, graph):
        for one in leads:
            back.setdefault(one, []).append(place)
        if state.ended is not None:
            ends[place] = state.ended.how
    alive = reached(ends, back)
    if any(("apart", known) not in alive for known in graph.nodes):
        yield "whole: no end"
    opening = next(iter(space.known.values()))
    closed = [place for place, how in ends.items() if how == "closed"]
    if _first(space, opening) not in reached(closed, back):
        yield "whole: no way closes the job"


def _ways(space: Apart, graph: Graph[Job]) -> Iterator[tuple[Place, Job, list[Place]]]:
    """Yield every place of both, its state, and the places it leads to without an override."""
    for node in space.known.values():
        if node.number not in space.parted:
            yield _first(space, node), node.state, [_first(space, one) for one in after(node)]
    for known, node in graph.nodes.items():
        joined = space.joined(node.state)
        apart: list[Place] = [("apart", space.key(one.state)) for one in after(node)]
        yield ("apart", known), node.state, [_first(space, joined)] if joined else apart


def _first(space: Apart, node: Node[Job]) -> Place:
    """Return the place of a node of the first's ways."""
    parted = space.parted.get(node.number)
    return ("first", node.number) if parted is None else ("apart", space.key(parted))

"""Where a changed routine parts from the one it was made of: found for certain, and all of it."""

import random
from collections.abc import Callable

import pytest

from flows.explore.liveness import dead_ends
from flows.explore.search import explore
from flows.explore.whole import MOST_STRAIGHT, explore_whole
from flows.routine.book import Book
from flows.routine.carry import CARRY
from tests.explore.explored import BOOK, straight
from tests.explore.mutant_paths import Apart, parting, wrong_apart
from tests.explore.mutants import Mutant, mutants
from tests.explore.order_checks import unmet

ALL = {mutant.id: mutant for mutant in mutants(CARRY)}


def draw() -> Callable[[int], int]:
    return random.Random(20261126).randrange  # noqa: S311  no secret


def book_of(mutant: Mutant) -> Book:
    return Book(mutant.routine, BOOK.library)


def test_the_routine_itself_never_parts() -> None:
    assert list(parting(BOOK, BOOK)) == []
    assert list(wrong_apart(BOOK, BOOK, draw())) == []


def test_without_an_item_it_parts_wherever_that_was_asked() -> None:
    parted = {node.number for node in parting(book_of(ALL["drop attach.away"]), BOOK)}
    asked = {
        node.number
        for node in straight().nodes.values()
        if node.state.next_item is not None and node.state.next_item.id == "attach.away"
    }
    assert parted == asked != set()


def test_without_a_figure_it_parts_where_that_was_concluded() -> None:
    parted = list(parting(book_of(ALL["drop plan.figure"]), BOOK))
    assert parted
    assert all(any(after.state.pull for _, after in node.leads) for node in parted)


def test_the_other_way_round_it_parts_where_both_are_open() -> None:
    for node in parting(book_of(ALL["swap secure.left_front, secure.right_front"]), BOOK):
        items = {item.id for item in CARRY.open_items(node.state)}
        assert {"secure.left_front", "secure.right_front"} <= items


@pytest.mark.slow
@pytest.mark.parametrize(
    ("id_", "is_wrong"),
    [
        ("swap neutral.chocks_out, neutral.away", False),
        ("swap secure.settle, secure.photos", False),
        ("no on_deck in slide.deck", True),
        ("drop attach.away", True),
        ("negate margin.no_go_tied", True),
    ],
)
def test_it_finds_what_every_straight_way_shows(id_: str, is_wrong: bool) -> None:  # noqa: FBT001  of a table
    """Each mutant explored whole from its opening, by the mechanism that judges the routine."""
    book = book_of(ALL[id_])
    graph = explore_whole(book, 0)
    ends = {node.state.ended.how for node in graph.nodes.values() if node.state.ended}
    wrong = graph.breaches or dead_ends(graph) or "closed" not in ends
    wrong = wrong or any(True for node in graph.nodes.values() for _ in unmet(node.state))
    assert bool(wrong) == is_wrong == any(wrong_apart(book, BOOK, draw()))
    if not is_wrong:
        space = Apart(book, BOOK)
        reached = explore(space, space.parted.values(), MOST_STRAIGHT).nodes
        for node in graph.nodes.values():
            known = space.joined(node.state) is not None
            assert known or space.key(node.state) in reached

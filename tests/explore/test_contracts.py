"""Each section alone, from every act state its entry contract allows, keeps its exit contract."""

import random
from dataclasses import replace

import pytest

from flows.explore.search import trace
from flows.routine.book import Book
from flows.routine.carry import CARRY, Routine
from flows.routine.condition import ALWAYS
from tests.explore.contracts import MOST_STATES, Alone, coming_to, explore_section
from tests.explore.explored import BOOK, straight
from tests.explore.item_checks import misbuilt
from tests.explore.order_checks import unmet
from tests.explore.walks import LARGE, walks

# The three that interrupt are explored with the whole routine, from every straight state.
ALONE = [section.id for section in CARRY.sections if section.id not in CARRY.first]
SEED = 20261126


@pytest.mark.parametrize("section", sorted({*ALONE} - {*LARGE}))
def test_a_section_keeps_its_contract(section: str) -> None:
    graph = explore_section(BOOK, section)
    assert [trace(breach) for breach in graph.breaches] == []
    assert 0 < len(graph.nodes) < MOST_STATES


@pytest.mark.parametrize("number", [100, pytest.param(20_000, marks=pytest.mark.slow)])
@pytest.mark.parametrize("section", sorted(LARGE))
def test_no_walk_through_a_section_breaks_its_contract(section: str, number: int) -> None:
    """From any combination of act states that may enter, with any number of disturbances."""
    walked = list(walks(Alone(BOOK, section), number, random.Random(SEED).randrange))  # noqa: S311
    assert [walk.trace for walk in walked if walk.faults] == []
    assert sum(walk.entered for walk in walked) > 0.9 * number
    assert sum(len(walk.told) for walk in walked) > 2 * number


def test_a_section_is_entered_with_every_word_of_its_figures_and_with_nothing_asked() -> None:
    alone = Alone(BOOK, "plan")
    arrived = next(job for job in coming_to(BOOK, "plan") if job.value("pull_ft") is None)
    entries = list(alone.variants(arrived))
    assert {job.pull_word for job in entries} >= {"fits", "weak", "far", "long"}
    assert {job.value("block") for job in entries} == {None, "yes", "no"}
    drop = Alone(BOOK, "drop")
    known = {job.value("wheels") for job in drop.variants(coming_to(BOOK, "drop")[0])}
    assert None in known != {None}


@pytest.mark.slow
def test_walks_notice_what_is_wrong() -> None:
    """Without asking for the chocks a walk comes to where nothing holds the vehicle."""
    sections = tuple(
        replace(section, items=tuple(i for i in section.items if i.id != "scene.chock"))
        for section in CARRY.sections
    )
    book = Book(Routine("mutant", sections), BOOK.library)
    walked = walks(Alone(book, "scene"), 100, random.Random(SEED).randrange)  # noqa: S311
    assert any("scene is left without" in walk.trace for walk in walked)


def test_the_order_is_the_written_one() -> None:
    """What the routine's description puts before an act stands whenever the act is asked for."""
    assert list(misbuilt(CARRY)) == []
    for node in straight().nodes.values():
        assert list(unmet(node.state)) == []


@pytest.mark.slow
def test_a_contract_that_asks_for_more_is_caught() -> None:
    sections = tuple(
        replace(section, leaves=~ALWAYS) if section.id == "open" else section
        for section in CARRY.sections
    )
    graph = explore_section(Book(Routine("mutant", sections), BOOK.library), "open")
    assert any("open is left without" in breach.why for breach in graph.breaches)

"""Each section alone, from every act state its entry contract allows, keeps its exit contract."""

from dataclasses import replace

import pytest

from bot.bootstrap import read_cards
from flows.book import Book
from flows.conditions import ALWAYS
from flows.explore.contracts import MOST_STATES, explore_section
from flows.explore.expected import misbuilt, unmet
from flows.explore.search import trace
from flows.explore.whole import explore_whole
from flows.routine import CARRY, Routine

BOOK = Book(CARRY, read_cards(None))
# The three that interrupt are explored with the whole routine, from every straight state.
# Not seen to finish since two isolations and the boost came: margin ran into a limit of a minute,
# the others were not tried to their end. They run outside CI until they are.
LONG = {"scene", "margin", "access", "power", "cord", "attach", "neutral"}
SECTIONS = [
    pytest.param(section.id, marks=pytest.mark.slow if section.id in LONG else ())
    for section in CARRY.sections
    if section.id not in CARRY.first
]


@pytest.mark.parametrize("section", SECTIONS)
def test_a_section_keeps_its_contract(section: str) -> None:
    graph = explore_section(BOOK, section)
    assert [trace(breach) for breach in graph.breaches] == []
    assert 0 < len(graph.nodes) < MOST_STATES


def test_the_order_is_the_written_one() -> None:
    """What the routine's description puts before an act stands whenever the act is asked for."""
    assert list(misbuilt(CARRY)) == []
    for node in explore_whole(BOOK, 0).nodes.values():
        assert list(unmet(node.state)) == []


def test_a_contract_that_asks_for_more_is_caught() -> None:
    sections = tuple(
        replace(section, leaves=~ALWAYS) if section.id == "secure" else section
        for section in CARRY.sections
    )
    graph = explore_section(Book(Routine("mutant", sections), BOOK.library), "secure")
    assert any("secure is left without" in breach.why for breach in graph.breaches)

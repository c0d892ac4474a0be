"""The routine explored from its opening: no breach, no dead end; and the explorer can fail."""

import random
from collections.abc import Callable
from dataclasses import replace

import pytest

from flows.explore.liveness import dead_ends
from flows.explore.moves import DRIVER, say
from flows.explore.report import main_report
from flows.explore.search import explore, trace
from flows.explore.where_to_disturb import WIDTHS, Width, chosen
from flows.explore.whole import MOST_STATES, Whole, explore_whole, step
from flows.routine.book import Book
from flows.routine.carry import CARRY, Routine
from flows.routine.items import Item, Section
from tests.explore.__main__ import SEED
from tests.explore.disturbed import Counts, misread, pairs, starts_of
from tests.explore.explored import BOOK, straight
from tests.explore.mutants import entering
from tests.flows.talker import TO_NEUTRAL, told

PAIRS = 150
"""So many jobs disturbed twice take some seconds."""


def test_every_straight_way_holds_and_ends() -> None:
    graph = straight()
    assert [trace(breach) for breach in graph.breaches] == []
    assert dead_ends(graph) == []
    assert 500 < len(graph.nodes) < MOST_STATES["all"]


def without(item_id: str) -> Routine:
    """Return the routine with one item left out."""
    return mutated(lambda item: None if item.id == item_id else item)


def mutated(change: Callable[[Item], Item | None]) -> Routine:
    def section(one: Section) -> Section:
        kept: list[Item] = [new for item in one.items if (new := change(item)) is not None]
        return replace(one, items=tuple(kept))

    return Routine("mutant", tuple(section(one) for one in CARRY.sections))


@pytest.mark.parametrize(
    ("item_id", "rule"),
    [
        ("scene.danger", "S1"),
        ("cord.end_charging", "S3"),
        ("cord.pin_1", "S3"),
        ("cord.close_1", "S4"),
        pytest.param("neutral.confirm", "no end", marks=pytest.mark.slow),
        pytest.param("neutral.away", "S15", marks=pytest.mark.slow),
        ("attach.away", "S15"),
        pytest.param("attach.tension", "no end", marks=pytest.mark.slow),
        pytest.param("secure.left_rear", "S8", marks=pytest.mark.slow),
        ("secure.slacken", "S8"),
    ],
)
def test_a_routine_without_a_safety_step_is_caught(item_id: str, rule: str) -> None:
    """Explored from where the step's section is entered: up to there nothing is different."""
    book = Book(without(item_id), BOOK.library)
    starts = entering(book, BOOK, CARRY.section_of[item_id].id)
    graph = explore(Whole(0), starts, MOST_STATES["all"], first_only=True)
    found = [breach.why for breach in graph.breaches] or dead_ends(graph)
    assert found, f"nothing is wrong without {item_id}"
    if graph.breaches:
        assert "> " in trace(graph.breaches[0])
    if rule != "no end":
        assert any(rule in why for why in found), found[:3]


def test_it_is_caught_from_the_opening_as_well() -> None:
    graph = explore_whole(Book(without("scene.danger"), BOOK.library), 0, first_only=True)
    assert any("S1" in breach.why for breach in graph.breaches)
    assert trace(graph.breaches[0]).count("> ") > 2


def test_jobs_that_are_disturbed_twice_break_nothing() -> None:
    """A sample of what `python -m tests.explore` tries: the same pairs each time."""
    counts, draw = Counts(), random.Random(SEED).randrange  # noqa: S311  no secret
    found = [breach.trace for breach in pairs(starts_of(straight()), PAIRS, draw, counts)]
    assert found == []
    assert counts.jobs == PAIRS
    assert counts.transitions > 5 * PAIRS
    assert len(counts.kinds) > PAIRS // 4


def test_a_disturbance_is_judged_by_the_written_order() -> None:
    """Without the step that chocks it again, neutral is asked for on a line alone."""
    at_slide = told(*TO_NEUTRAL[:-2], "off", "skates", "skates under", "chocks out", "away").job
    moves = (say("claim", "it woke up"), say("answer", "on"))
    for book, found in ((BOOK, False), (Book(without("neutral.chock"), BOOK.library), True)):
        job, wrong = replace(at_slide, book=book, at_vehicle=DRIVER.id), list[str]()
        for move in moves:
            taken = step(job, move, also=misread)
            wrong += taken.faults
            job = taken.states[0]
        assert any(why.startswith("order: neutral.pause") for why in wrong) is found


@pytest.mark.slow
@pytest.mark.parametrize("section", [one.id for one in CARRY.sections])
def test_one_disturbance_in_each_place_of_a_section_breaks_nothing(section: str) -> None:
    """What `rollproof explore --deep 1 --section` does: together, every place there is."""
    graph = explore_whole(BOOK, 1, "places", section)
    assert [trace(breach) for breach in graph.breaches] == []
    assert dead_ends(graph) == []
    assert len(straight().nodes) <= len(graph.nodes) < MOST_STATES["places"]


def test_a_section_that_there_is_not_is_said() -> None:
    text, holds = main_report(1, "places", BOOK.library, section="raod")
    assert not holds
    assert text.startswith("There is no section raod. Sections are: rolling, danger, ")


@pytest.mark.slow
@pytest.mark.parametrize("width", WIDTHS[:2])
def test_one_disturbance_anywhere_breaks_nothing(width: Width) -> None:
    """Corrections, taking back, hold, danger, late claims, ticks, reboots: one, in any state."""
    graph = explore_whole(BOOK, 1, width)
    assert [trace(breach) for breach in graph.breaches] == []
    assert dead_ends(graph) == []
    assert 20_000 < len(graph.nodes) < MOST_STATES[width]


def test_the_straight_states_that_are_disturbed_show_every_place_and_every_value() -> None:
    graph = straight()
    every, values, places = (chosen(graph, width) for width in WIDTHS)
    assert len(every) > len(values) > len(places)
    assert every > values
    assert every > places
    assert {key[0] for key in places} == {key[0] for key in every}  # type: ignore[index]
    shown = {(key[0], fact) for key in values for fact in key[2]}  # type: ignore[index]
    assert shown == {(key[0], fact) for key in every for fact in key[2]}  # type: ignore[index]
    neutral = chosen(graph, "places", "neutral")
    assert neutral < places
    assert {str(key[0]).split(".")[0] for key in neutral} == {"neutral"}  # type: ignore[index]

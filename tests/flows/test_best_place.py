"""The best place on the deck, by hand, where two lines cross and where a length ends the deck."""

import pytest

from flows.figures.limits import Limit
from flows.figures.loads import Line
from flows.figures.verdict import best_position

REAR = Limit("rear axle", "lb", 100, (Line(50, 1),), "")  # 50 + p percent
FRONT = Limit("front axle", "lb", 100, (Line(80, -1),), "")  # 80 - p percent
DECK = Limit("deck length", "in", 140, (Line(100, 1),), "")  # to 40 in


def short(name: str, last_in: int) -> Limit:
    return Limit(name, "in", 100 + last_in, (Line(100, 1),), "")


@pytest.mark.parametrize(
    ("first_in", "roomy_pct", "best"),
    [
        # They cross at 15 in, at 65 percent; at 80 - p = 70 the front axle is roomy from 10 in on.
        (0, 60, 15),
        (6, 60, 15),
        (0, 65, 15),
        (0, 66, 14),
        (0, 70, 10),
        (6, 70, 10),
        (12, 70, 12),
        (20, 60, 20),
    ],
)
def test_as_far_forward_as_is_roomy(first_in: int, roomy_pct: int, best: int) -> None:
    assert best_position([REAR, FRONT, DECK], first_in, roomy_pct) == best


@pytest.mark.parametrize("last_in", [12, 14, 15, 16, 17])
def test_end_of_the_deck_ends_the_positions(last_in: int) -> None:
    crossing = min(last_in, 15)
    assert best_position([REAR, FRONT, short("deck length", last_in)], 0, 60) == crossing
    assert best_position([REAR, FRONT, DECK, short("overall length", last_in)], 0, 60) == crossing


def test_a_length_that_no_place_keeps_does_not_count() -> None:
    assert best_position([REAR, FRONT, DECK, short("overall length", -1)], 0, 60) == 15
    assert best_position([REAR, FRONT, short("deck length", -1)], 0, 60) is None


def test_of_two_inches_beside_the_crossing_the_better_one() -> None:
    """50 + p and 80.4 - p cross at 15.2 in: 65.4 percent at 15, 66 at 16. With 81 - p both are
    used to 66 percent at 15 and at 16 in."""
    front = Limit("front axle", "lb", 100, (Line(804, -10),), "", parts=10)
    assert best_position([REAR, front, DECK], 0, 60) == 15
    alike = Limit("front axle", "lb", 100, (Line(81, -1),), "")
    assert best_position([REAR, alike, DECK], 0, 60) == 15


def test_part_of_a_percent_is_room() -> None:
    """50 + p / 2 and 60 - p / 10 cross at 16.7 in, where 58.4 percent are used; the front axle is
    down to 59 at 10 in."""
    rear = Limit("rear axle", "lb", 100, (Line(500, 5),), "", parts=10)
    front = Limit("front axle", "lb", 100, (Line(600, -1),), "", parts=10)
    assert best_position([rear, front, DECK], 0, 59) == 10
    assert best_position([rear, front, DECK], 0, 58) == 16


def test_limit_the_same_everywhere_moves_nothing() -> None:
    gross = Limit("gross weight", "lb", 100, (Line(90),), "")
    assert best_position([REAR, FRONT, gross, DECK], 0, 70) == 10

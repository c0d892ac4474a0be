"""Nobody said which end is at the headboard: the answer holds for both ends."""

from dataclasses import replace
from fractions import Fraction

import pytest

from bot.commands.bootstrap import read_cards
from bot.commands.figure import Vehicle, loads_of, truck_of
from flows.figures.deck import Load, Truck
from flows.figures.legal import FEDERAL, Legal
from flows.figures.limits import Asked, limits
from flows.figures.loads import worst_corners
from flows.figures.margin import Margin, decide, decide_any
from flows.figures.verdict import ORDER
from flows.reckoning.margin_inputs import legal_of
from flows.routine.book import Book
from flows.routine.carry import CARRY

BOOK = Book(CARRY, read_cards(None))
PCT = BOOK.library.company.close_at_pct
LAW = legal_of(BOOK.library.company)
CARRIERS = [one.id for one in BOOK.library.trucks.values() if one.deck is not None]
VEHICLES = sorted(BOOK.library.vehicles)


def cases(truck: str, vehicle: str, weight: str | None = None) -> tuple[Asked, ...]:
    loads = loads_of(Vehicle(vehicle, weight), BOOK, "--weight")
    return tuple(Asked(truck_of(truck, BOOK).carrier(), load, None, LAW) for load in loads)


def at(asked: Asked, inch: int) -> Margin:
    return decide(Asked(asked.truck, asked.load, None, asked.legal, inch), PCT)


def used(asked: Asked, inch: int) -> Fraction:
    every = limits(asked, worst_corners(asked.load, None))
    return max(one.worst(inch) / one.bound for one in every if one.unit == "lb")


def fits(asked: Asked, inch: int) -> bool:
    every = limits(asked, worst_corners(asked.load, None))
    lengths = (one for one in every if one.unit == "in")
    return inch >= asked.first_in and all(one.worst(inch) <= one.bound for one in lengths)


@pytest.mark.parametrize("weight", [None, "3300 to 3900 lb"])
@pytest.mark.parametrize("vehicle", VEHICLES)
@pytest.mark.parametrize("truck", CARRIERS)
def test_interval_and_best_place_hold_for_both_ends(
    truck: str, vehicle: str, weight: str | None
) -> None:
    both = cases(truck, vehicle, weight)
    m = decide_any(both, PCT)
    alone = [decide(one, PCT) for one in both]
    assert ORDER.index(m.verdict) >= max(ORDER.index(one.verdict) for one in alone)
    if m.position_lo_in is None or m.position_hi_in is None or m.best_in is None:
        assert m.verdict != "go"
        return
    assert m.position_lo_in <= m.best_in <= m.position_hi_in
    for inch in (m.position_lo_in, m.best_in, m.position_hi_in):
        assert [at(one, inch).verdict for one in both] == ["go", "go"]
    for inch in (m.position_lo_in - 1, m.position_hi_in + 1):
        possible = all(fits(one, inch) for one in both)
        assert not possible or {"go"} != {at(one, inch).verdict for one in both}


def test_the_best_place_of_no_go_position_is_least_used_by_either() -> None:
    tried = 0
    for vehicle in VEHICLES:
        both = cases("wren", vehicle)
        m = decide_any(both, PCT)
        inches = [inch for inch in range(150) if all(fits(one, inch) for one in both)]
        if m.verdict == "go" or not inches:
            continue
        tried += 1
        worst = {inch: max(used(one, inch) for one in both) for inch in inches}
        assert worst[m.best_in or 0] == min(worst.values())
        assert max(Fraction(one.load_lb, one.limit_lb) for one in m.limits) >= min(worst.values())
    assert tried >= 4


def test_two_intervals_apart_are_no_go_position() -> None:
    """Each end is a go somewhere, and nowhere both: which end it is has to be known.

    3,000 lb 70 percent in front lie 72 in behind the nose and 122 in behind the tail: 50 in apart.
    Front axle 0.95 x 5,850 - 5,500 = 57.5 lb left, from 199 x (1 - 57.5 / 3,000) = 195.2 in on;
    rear axle 0.95 x 12,700 - 8,900 = 3,165 lb left, to 199 x 3,165 / 3,000 = 209.9 in.
    """
    truck = Truck(5500, 8900, 19500, 5850, 12_700, 199, 60, 300, front_kept_pct=0)
    nose = Load(3000, 3000, 700, 700, 700, 120, 36, 38, nose_first=True)
    both = tuple(
        Asked(truck, load, None, FEDERAL) for load in (nose, replace(nose, nose_first=False))
    )
    alone = [decide(one, 95) for one in both]
    inches = [(one.verdict, one.position_lo_in, one.position_hi_in) for one in alone]
    assert inches == [("go", 64, 77), ("go", 14, 27)]
    m = decide_any(both, 95)
    assert (m.verdict, m.position_lo_in, m.position_hi_in) == ("close", None, None)
    assert (m.less, m.may_decide) == (None, False)
    assert "another_truck" in m.remedies


@pytest.mark.parametrize(
    "law", [Legal(height_in=60), Legal(length_in=300)], ids=["too high", "too long"]
)
def test_a_given_place_is_kept_where_it_is_too_long_or_too_high(law: Legal) -> None:
    asked = cases("heron", "harrow")[0]
    for inch in (47, 60):
        m = decide(Asked(asked.truck, asked.load, None, law, inch), PCT)
        assert (m.verdict, m.best_in, m.drawn_in) == ("no-go", inch, inch)

"""The margin against a second solution, against properties, and against common practice.

The second solution (`tests.flows.balance`) puts every weight where it touches, takes moments about
each axle in whole numbers and sweeps the deck in half inches; a linear solver balances forces and
moments of the same trucks once more.
"""

import json
from dataclasses import replace
from fractions import Fraction
from functools import cache
from typing import Any, TypeVar

import numpy as np
import pytest
from hypothesis import given, settings, strategies as st

import demo_data
from flows.cards.library import library_from
from flows.figures.border import margin_quantities
from flows.figures.limits import Asked, limits
from flows.figures.loads import Corner, loads, parts_of, worst_corners
from flows.figures.margin import Legal, Load, Margin, Truck, margin, to_record
from tests.flows.balance import (
    METRIC,
    POUNDS,
    Case,
    bounds,
    corners,
    in_units,
    is_long_or_high,
    is_possible,
    middle,
    random_cases,
    second_verdict,
    some_case,
    some_load,
    some_truck,
    sweep,
    touching,
)

T = TypeVar("T", Truck, Load)
ORDER = ("go", "close", "no-go")
LIBRARY = library_from(demo_data.card_files())
WREN = LIBRARY.trucks["wren"].carrier()
HERON = LIBRARY.trucks["heron"].carrier()
CASES = random_cases(10_000)
PARTS = 5


@cache
def answers(part: int) -> list[tuple[Case, Margin]]:
    """Return every fifth case with its margin: a process judges these in every way."""
    return [(case, case.answer()) for case in CASES[part::PARTS]]


each_part = pytest.mark.parametrize("part", range(PARTS))


# ---- the second solution ------------------------------------------------------------------


@each_part
def test_verdict_and_positions_agree_with_the_second_solution(part: int) -> None:
    seen = dict.fromkeys(ORDER, 0)
    for case, m in answers(part):
        seen[m.verdict] += 1
        assert m.verdict == second_verdict(case), case
        if m.verdict == "go":
            assert m.position_lo_in is not None
            assert m.position_hi_in is not None
            inches = [int(at) for at in sweep(case, corners(case), 95) if at % 1 == 0]
            assert inches == list(range(m.position_lo_in, m.position_hi_in + 1))
            assert m.best_in in inches
        else:
            assert m.position_lo_in is m.position_hi_in is None
        if m.verdict == "no-go":
            assert sweep(case, middle(case), 100) == []
    assert min(seen.values()) > 1000 / PARTS, seen


@each_part
def test_every_limit_agrees_with_the_second_solution(part: int) -> None:
    """Names, bounds, worst and least loads at the best position, to the pound."""
    named: set[str] = set()
    for case, m in answers(part)[::5] + answers(part)[-200:]:
        if m.best_in is None:
            continue
        found = [bounds(case, corner, 2 * m.best_in) for corner in corners(case)]
        assert {one.name for one in m.limits} == found[0].keys()
        for limit in m.limits:
            loads_ = [Fraction(one[limit.name][0]) / one[limit.name][2] for one in found]
            assert limit.limit_lb == found[0][limit.name][1]
            assert 0 <= limit.load_lb - max(loads_) < 1
            assert 0 <= min(loads_) - limit.least_lb < 1
            assert limit.margin_lb == limit.limit_lb - limit.load_lb
        named |= found[0].keys()
    assert len(named) == 15, named


@each_part
def test_loads_agree_with_a_linear_solver(part: int) -> None:
    """numpy solves forces, moments about the deck's end and the equal load of a tandem's axles
    for every truck at once; the unknowns are the front axle and two rear ones."""
    placed = [(case, m.best_in) for case, m in answers(part) if m.best_in is not None]
    systems, sides, ours = [], [], []
    for case, best in placed:
        truck, corner = case.truck, corners(case)[-1]
        end = truck.headboard_in + truck.deck_length_in
        half = truck.tandem_spacing_in / 2
        first, last = truck.wheelbase_in - half, truck.wheelbase_in + half
        systems.append([[1.0, 1.0, 1.0], [end, end - first, end - last], [0.0, 1.0, -1.0]])
        weights = [(lb / 1000, at / 2) for lb, at in touching(case, corner, 2 * best)]
        moment = sum(lb * (end - at) for lb, at in weights)
        sides.append([[sum(lb for lb, _ in weights)], [moment], [0.0]])
        on = loads(case.truck, case.load, case.lifted, Corner(*corner))
        ours.append(
            [(one.base + one.slope * best) / parts_of(truck) for one in (on.front, on.rear)]
        )
    solved = np.linalg.solve(np.array(systems), np.array(sides))[:, :, 0]
    assert len(placed) > 7000 / PARTS
    assert np.allclose(solved[:, 0], np.array(ours)[:, 0], rtol=0, atol=1e-6)
    assert np.allclose(solved[:, 1] + solved[:, 2], np.array(ours)[:, 1], rtol=0, atol=1e-6)


def test_best_position_is_the_best_whole_inch() -> None:
    """The first inch at which no load that moves with the vehicle is over 85 percent, or where
    the most used one is used least."""
    kinds = {"roomy": 0, "least": 0}
    for case, m in answers(0)[:100] + answers(0)[-150:]:
        if m.best_in is None or m.governing_margin_in is not None:
            continue
        halves = 2 * np.arange(case.room + 2)
        every = [bounds(case, corner, halves) for corner in corners(case)]
        moved = [
            load / (bound * parts)
            for one in every
            for load, bound, parts in one.values()
            if load[0] != load[-1]
        ]
        used = np.max(moved, axis=0)
        inside = [int(at) for at in sweep_lengths(case)]
        roomy = [at for at in inside if used[at] <= 0.85]
        kinds["roomy" if roomy else "least"] += 1
        if roomy:
            assert m.best_in == roomy[0]
        else:
            assert used[m.best_in] <= min(used[inside]) + 1e-12
    assert min(kinds.values()) > 20, kinds


def sweep_lengths(case: Case) -> list[int]:

    inches = np.arange(case.first, case.room + 1)
    return [int(at) for at in inches[~is_long_or_high(case, 2 * inches)]]


def test_a_light_vehicle_is_not_sent_to_the_tail() -> None:
    """By hand, the medium carrier: 9,200 of 13,000 lb are 71 percent of the front axle before
    anything is loaded, 11,600 of 21,000 are 55 of the rear. 3,000 lb further back would ease the
    axle that is used most; at the headboard no axle is over 85 percent, so it stays there."""
    car = Load(3000, 3000, 600, 600, 600, 105, 34, 38, nose_first=True)
    m = margin(HERON, car)
    assert m.limits[0].load_lb * 100 <= 85 * HERON.gawr_front_lb
    assert m.limits[1].load_lb * 100 <= 85 * HERON.gawr_rear_lb
    assert (m.verdict, m.best_in) == ("go", 0)


@pytest.mark.parametrize(
    ("room", "overhang", "first", "last"),
    [
        # Deck 234 in, wheelbase 114: the middle of the far wheels 20 in ahead of its end.
        (20, 36, 0, 64),
        # The near wheels at 14 in would stand in the room for tyre and strap at the headboard.
        (20, 14, 6, 86),
        (0, 14, 0, 106),
    ],
)
def test_wheels_stay_off_both_ends_of_the_deck(
    room: int, overhang: int, first: int, last: int
) -> None:
    strong = Truck(6000, 9000, 60_000, 30_000, 30_000, 199, 88, 234,
                   wheel_room_in=room)  # fmt: skip
    law = Legal(single_lb=60_000, bridge=False)
    m = margin(strong, Load(3000, 3000, 500, 500, 500, 114, overhang, 38, nose_first=True),
               legal=law)  # fmt: skip
    assert (m.position_lo_in, m.position_hi_in) == (first, last)


@pytest.mark.parametrize(("truck_in", "used"), [(None, 104), (96, 104), (105, 105)])
def test_the_cab_may_be_the_highest(truck_in: int | None, used: int) -> None:
    """By hand: deck 38 in and vehicle 66 in are 104."""
    truck = replace(WREN, height_in=truck_in)
    car = Load(3000, 3000, 500, 500, 500, 114, 36, 38, nose_first=True, height_in=66)
    [height] = [one for one in margin(truck, car, legal=Legal(height_in=162)).lengths if one.name
                == "overall height"]  # fmt: skip
    assert height.used_in == used


# ---- common practice ----------------------------------------------------------------------


@pytest.mark.parametrize("weight", [4900, 5000, 5100])
@pytest.mark.parametrize("share", [480, 490, 500])
def test_common_practice_light_carrier_with_five_thousand_pounds(weight: int, share: int) -> None:
    """Common practice, no source: a smaller carrier with about 5,000 lb of vehicle and its own
    gear aboard is at its limit, on the rear axle; electric crossovers sit a little more on the
    rear. "At its limit" is read here as within 2 percent.
    """
    m = margin(WREN, Load(weight, weight, share, share, share, 114, 36, 38, nose_first=True))
    rear = m.limits[1]
    assert m.governing == rear.name == "rear axle"
    assert abs(rear.margin_lb) <= rear.limit_lb * 2 // 100
    assert m.verdict != "go"
    assert margin(HERON, m.load).verdict == "go"


# ---- properties ---------------------------------------------------------------------------


@st.composite
def trucks(draw: st.DrawFn) -> Truck:
    return some_truck(draw(st.randoms(use_true_random=False)))


@st.composite
def vehicles(draw: st.DrawFn) -> Load:
    return some_load(draw(st.randoms(use_true_random=False)))


@st.composite
def cases(draw: st.DrawFn) -> Case:
    return some_case(draw(st.randoms(use_true_random=False)))


def exactly(load: Load) -> Load:
    """The same vehicle with its likely weight and middle share known."""
    mid = load.share_mid_pm
    return replace(load, high_lb=load.likely_lb, share_low_pm=mid, share_high_pm=mid)


def most_used(m: Margin) -> Fraction:
    return max(Fraction(limit.limit_lb - limit.margin_lb, limit.limit_lb) for limit in m.limits)


def named(m: Margin) -> dict[str, int]:
    return {limit.name: limit.load_lb for limit in m.limits}


@given(cases())
def test_axle_loads_sum_to_the_gross_weight(case: Case) -> None:
    known = replace(
        case,
        load=exactly(case.load),
        lifted=exactly(case.lifted) if case.lifted else None,
    )
    m = known.answer()
    if m.limits:
        on = named(m)
        own = case.truck.empty_front_lb + case.truck.empty_rear_lb
        own += sum(one.weight_lb for one in case.truck.aboard if not one.on_ticket)
        hung = on.get("wheel lift rating", 0)
        assert 0 <= own + known.load.likely_lb + hung - on["gross weight"] <= 1
        assert on["front axle"] + on["rear axle"] - on["gross weight"] in (0, 1)  # rounded up
        assert all(limit.load_lb + limit.margin_lb == limit.limit_lb for limit in m.limits)


@given(cases(), st.integers(1, 3000))
def test_a_heavier_vehicle_is_never_better(case: Case, more: int) -> None:
    heavier = replace(case, load=replace(case.load, high_lb=case.load.high_lb + more))
    light, heavy = case.answer(), heavier.answer()
    assert ORDER.index(light.verdict) <= ORDER.index(heavy.verdict) or heavy.exempt != light.exempt
    if light.limits:
        assert light.limits[2].margin_lb - heavy.limits[2].margin_lb == more


@given(trucks(), vehicles(), st.integers(1, 3000))
def test_margins_fall_as_the_weight_rises(truck: Truck, load: Load, more: int) -> None:
    light, heavy = margin(truck, load), margin(truck, replace(load, high_lb=load.high_lb + more))
    if light.limits:
        slack = Fraction(1, min(limit.limit_lb for limit in light.limits))
        roomy = Fraction(85, 100)  # up to here a limit decides nothing, nor does it place
        assert max(most_used(light), roomy) <= max(most_used(heavy), roomy) + slack


@given(cases(), st.integers(1, 100))
def test_less_knowledge_is_never_better(case: Case, wider: int) -> None:
    load = case.load
    vague = replace(
        load,
        share_low_pm=load.share_low_pm - wider,
        share_high_pm=load.share_high_pm + wider,
    )
    known, guessed = case.answer().verdict, replace(case, load=vague).answer().verdict
    assert ORDER.index(known) <= ORDER.index(guessed)


@given(cases(), st.integers(0, 60), st.integers(0, 60))
def test_further_back_never_lightens_the_rear(case: Case, at: int, further: int) -> None:
    asked = Asked(case.truck, case.load, case.lifted, case.legal)
    front, rear, gross, *_ = limits(asked, worst_corners(case.load, case.lifted))
    assert rear.worst(at + further) >= rear.worst(at)
    assert front.worst(at + further) <= front.worst(at)
    assert gross.worst(at + further) == gross.worst(at)


@given(cases(), st.integers(50, 100))
def test_every_margin_is_in_the_record_as_whole_numbers(case: Case, pct: int) -> None:
    record = to_record(case.answer(pct))
    assert json.loads(json.dumps(record)) == record
    assert "." not in json.dumps([record["limits"], record["lengths"], record["less"]])
    inputs: Any = record["inputs"]
    assert all(type(value) is int for value in inputs.values())
    assert inputs["close_at_pct"] == pct
    assert inputs["legal_single_lb"] == case.legal.single_lb
    for number, piece in enumerate(case.truck.aboard, 1):
        assert inputs[f"truck_aboard_{number}_weight_lb"] == piece.weight_lb


@given(cases())
def test_the_exemption_lifts_the_weight_limits_of_the_law_and_nothing_else(case: Case) -> None:
    there = replace(case, legal=replace(case.legal, recovery=True)).answer()
    gone = replace(case, legal=replace(case.legal, recovery=False)).answer()
    lifted = {one.name for one in gone.limits} - {one.name for one in there.limits}
    legal = {"legal front axle", "legal gross", "bridge formula", "legal rear axle"}
    legal |= {"legal tandem", "inner bridge"}
    assert lifted <= legal
    assert [one.name for one in there.lengths] == [one.name for one in gone.lengths]
    assert (there.exempt == "23 USC 127(m)") is bool(lifted) or not there.limits
    assert gone.exempt is None


# ---- units and rounding -------------------------------------------------------------------

WEIGHTS = (
    "empty_front_lb",
    "empty_rear_lb",
    "gvwr_lb",
    "gawr_front_lb",
    "gawr_rear_lb",
    "likely_lb",
)


def by_quantities(case: Case, units: dict[str, Any], pct: int = 100) -> Margin:
    other = None if case.lifted is None else in_units(case.lifted, units)
    return margin_quantities(
        in_units(case.truck, units),
        in_units(case.load, units),
        close_at_pct=pct,
        lifted=other,
        legal=case.legal,
    )


@settings(max_examples=40, deadline=None)  # the first one imports pint
@given(cases())
def test_pounds_and_kilograms_give_the_same_answer(case: Case) -> None:
    known = replace(case, truck=replace(case.truck, front_scaled_lb=case.truck.empty_front_lb))
    assert by_quantities(case, POUNDS) == known.answer(100)
    assert by_quantities(case, METRIC) == known.answer(100)


@settings(max_examples=200)
@given(trucks(), vehicles(), st.sets(st.sampled_from(WEIGHTS)), st.integers(-3, 3))
def test_rounding_never_turns_a_no_go_into_a_go(
    truck: Truck, load: Load, lower: set[str], spare: int
) -> None:
    """The exact truck has some weights half a pound lower, its gross rating within a few pounds
    of what it weighs, and is close only at 100 percent. `is_possible` decides it exactly."""
    known = exactly(load)
    gross = truck.empty_front_lb + truck.empty_rear_lb + known.likely_lb
    near = half_lower(replace(truck, gvwr_lb=gross + spare), lower)
    carried = half_lower(known, lower | ({"high_lb"} if "likely_lb" in lower else set()))
    case = Case(near, carried)
    if not is_possible(case):
        assert by_quantities(case, POUNDS).verdict != "go"


def half_lower(thing: T, names: set[str]) -> T:
    """Lower some weights by half a pound. The dataclasses hold whole pounds only, so the
    fractions are put in behind their back."""
    copy = replace(thing)
    for name in names & set(thing.__slots__):
        object.__setattr__(copy, name, getattr(thing, name) - Fraction(1, 2))
    return copy

"""The margin against a second solution, against properties, and against common practice.

The second solution writes both equilibrium equations of the loaded truck, with moments about the
deck's end instead of an axle, solves them, and sweeps the deck in half inches with whole numbers.
"""

import json
import random
from dataclasses import replace
from fractions import Fraction
from itertools import product
from typing import Any, TypeVar

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import demo_data
from flows.cards.library import library_from
from flows.figures import deck
from flows.figures.margin import Load, Margin, Truck, margin, margin_quantities, to_record
from flows.units import quantity

T = TypeVar("T", Truck, Load)
ORDER = ("go", "close", "no-go")
LIBRARY = library_from(demo_data.card_files())
WREN = LIBRARY.trucks["wren"].carrier()
HERON = LIBRARY.trucks["heron"].carrier()


# ---- the second solution ------------------------------------------------------------------


def end_of_vehicle_to_gravity(load: Load, share_pm: int) -> Fraction:
    """Walk from the end at the headboard to the axle there, then on to the centre of gravity."""
    if load.nose_first:
        return load.front_overhang_in + load.wheelbase_in * (1 - Fraction(share_pm, 1000))
    return load.rear_overhang_in + load.wheelbase_in * Fraction(share_pm, 1000)


def axles(truck: Truck, load: Load, weight: int, share_pm: int, at: Fraction) -> list[Fraction]:
    """Front and rear axle load from two equations: forces, and moments about the deck's end."""
    end = truck.headboard_in + truck.deck_length_in
    place = truck.headboard_in + at + end_of_vehicle_to_gravity(load, share_pm)
    force = Fraction(truck.empty_front_lb + truck.empty_rear_lb + weight)
    moment = (
        truck.empty_front_lb * end
        + truck.empty_rear_lb * (end - truck.wheelbase_in)
        + weight * (end - place)
    )
    # front + rear = force ; front * end + rear * (end - WB) = moment ; by Cramer's rule
    arm_front, arm_rear = end, end - truck.wheelbase_in
    determinant = arm_rear - arm_front
    front = (force * arm_rear - moment) / determinant
    return [front, (moment - force * arm_front) / determinant]


def corners(load: Load) -> list[tuple[int, int]]:
    return list(product((load.likely_lb, load.high_lb), (load.share_low_pm, load.share_high_pm)))


def sweep(truck: Truck, load: Load, cases: list[tuple[int, int]], pct: int) -> list[Fraction]:
    """Every half inch at which no case is over `pct` percent of a limit or lifts the front."""
    near = load.front_overhang_in if load.nose_first else load.rear_overhang_in
    room = truck.deck_length_in - near - load.wheelbase_in
    halves = np.arange(0, 2 * room + 1, dtype=np.int64)
    good = np.ones(len(halves), dtype=bool)
    base = 2000 * truck.wheelbase_in
    for weight, share in cases:
        # in 2000ths of an inch, so that everything is a whole number
        start = int(2000 * (truck.headboard_in + end_of_vehicle_to_gravity(load, share)))
        place = start + 1000 * halves
        rear = truck.empty_rear_lb * base + weight * place
        front = truck.empty_front_lb * base + weight * (base - place)
        gross = truck.empty_front_lb + truck.empty_rear_lb + weight
        good &= 100 * front <= pct * truck.gawr_front_lb * base
        good &= 100 * rear <= pct * truck.gawr_rear_lb * base
        good &= (front >= 0) & (100 * gross <= pct * truck.gvwr_lb)
    return [Fraction(int(half), 2) for half in halves[good]]


def possible(truck: Truck, load: Load) -> bool:
    """Whether any position at all suits the likely weight: exact, by lines through two points."""
    near = load.front_overhang_in if load.nose_first else load.rear_overhang_in
    room = truck.deck_length_in - near - load.wheelbase_in
    gross = truck.empty_front_lb + truck.empty_rear_lb + load.likely_lb
    if room < 0 or gross > truck.gvwr_lb:
        return False
    case = load.likely_lb, load.share_mid_pm
    front_0, rear_0 = axles(truck, load, *case, Fraction(0))
    front_1, rear_1 = axles(truck, load, *case, Fraction(1))
    step = rear_1 - rear_0
    assert front_0 - front_1 == step > 0
    first = max(Fraction(0), (front_0 - truck.gawr_front_lb) / step)
    last = min(Fraction(room), (truck.gawr_rear_lb - rear_0) / step, front_0 / step)
    return first <= last


def second_verdict(truck: Truck, load: Load, pct: int) -> str:
    inches = [at for at in sweep(truck, load, corners(load), pct) if at.denominator == 1]
    if inches:
        return "go"
    return "close" if possible(truck, load) else "no-go"


def some_truck(rng: random.Random) -> Truck:
    front, rear = rng.randint(4500, 9500), rng.randint(6500, 12000)
    axle_front, axle_rear = front + rng.randint(200, 4000), rear + rng.randint(2000, 9000)
    return Truck(
        empty_front_lb=front,
        empty_rear_lb=rear,
        gvwr_lb=rng.randint(front + rear + 2000, axle_front + axle_rear + 500),
        gawr_front_lb=axle_front,
        gawr_rear_lb=axle_rear,
        wheelbase_in=rng.randint(150, 270),
        headboard_in=rng.randint(10, 100),
        deck_length_in=rng.randint(150, 330),
    )


def some_load(rng: random.Random) -> Load:
    likely = rng.randint(2000, 8500)
    low, mid, high = sorted(rng.randint(380, 650) for _ in range(3))
    return Load(
        likely_lb=likely,
        high_lb=likely * rng.randint(100, 125) // 100,
        share_low_pm=low,
        share_mid_pm=mid,
        share_high_pm=high,
        wheelbase_in=rng.randint(90, 170),
        front_overhang_in=rng.randint(25, 45),
        rear_overhang_in=rng.randint(25, 60),
        nose_first=rng.random() < 0.5,
    )


def random_pairs(count: int) -> list[tuple[Truck, Load]]:
    rng = random.Random(20_260_301)  # noqa: S311
    return [(some_truck(rng), some_load(rng)) for _ in range(count)]


PAIRS = random_pairs(2000)


def test_verdict_and_positions_agree_with_the_second_solution() -> None:
    seen = dict.fromkeys(ORDER, 0)
    for truck, load in PAIRS:
        m = margin(truck, load)
        seen[m.verdict] += 1
        assert m.verdict == second_verdict(truck, load, 95), (truck, load)
        if m.verdict == "go":
            assert m.position_lo_in is not None
            assert m.position_hi_in is not None
            inches = [int(at) for at in sweep(truck, load, corners(load), 95) if at % 1 == 0]
            assert inches == list(range(m.position_lo_in, m.position_hi_in + 1))
            assert m.best_in in inches
        else:
            assert m.position_lo_in is m.position_hi_in is None
        if m.verdict == "no-go":
            middle = [(load.likely_lb, load.share_mid_pm)]
            assert sweep(truck, load, middle, 100) == []
    assert min(seen.values()) > 200, seen


def test_loads_agree_with_a_linear_solver() -> None:
    """numpy solves both equations for every truck at once; rounded up they are ours."""
    answers = [(t, v, m) for t, v in PAIRS if (m := margin(t, v)).best_in is not None]
    systems = np.array([[[1.0, 1.0], [0.0, t.wheelbase_in]] for t, _, _ in answers])
    worst = np.zeros((len(answers), 2))
    for heavy, high_share in product((False, True), repeat=2):
        sides = []
        for t, v, m in answers:
            weight = v.high_lb if heavy else v.likely_lb
            share = v.share_high_pm if high_share else v.share_low_pm
            place = t.headboard_in + (m.best_in or 0) + float(end_of_vehicle_to_gravity(v, share))
            moment = t.empty_rear_lb * t.wheelbase_in + weight * place
            sides.append([[t.empty_front_lb + t.empty_rear_lb + weight], [moment]])
        worst = np.maximum(worst, np.linalg.solve(systems, np.array(sides))[:, :, 0])
    ours = np.array([[limit.load_lb for limit in m.limits[:2]] for _, _, m in answers])
    assert len(answers) > 1500
    assert np.all(ours >= worst - 1e-6)
    assert np.all(ours < worst + 1 + 1e-6)


def test_best_position_is_the_best_whole_inch() -> None:
    for truck, load in PAIRS[:150]:
        m = margin(truck, load)
        if m.best_in is None:
            continue

        def used(at: int, truck: Truck = truck, load: Load = load) -> Fraction:
            both = [axles(truck, load, *case, Fraction(at)) for case in corners(load)]
            return max(
                max(front / truck.gawr_front_lb, rear / truck.gawr_rear_lb) for front, rear in both
            )

        near = load.front_overhang_in if load.nose_first else load.rear_overhang_in
        room = truck.deck_length_in - near - load.wheelbase_in
        assert used(m.best_in) == min(used(at) for at in range(room + 1))


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
def loads(draw: st.DrawFn) -> Load:
    return some_load(draw(st.randoms(use_true_random=False)))


def exactly(load: Load) -> Load:
    """The same vehicle with its likely weight and middle share known."""
    mid = load.share_mid_pm
    return replace(load, high_lb=load.likely_lb, share_low_pm=mid, share_high_pm=mid)


def most_used(m: Margin) -> Fraction:
    return max(Fraction(limit.limit_lb - limit.margin_lb, limit.limit_lb) for limit in m.limits)


@given(trucks(), loads())
def test_axle_loads_sum_to_the_gross_weight(truck: Truck, load: Load) -> None:
    m = margin(truck, exactly(load))
    if m.limits:
        front, rear, gross = (limit.load_lb for limit in m.limits)
        assert gross == truck.empty_front_lb + truck.empty_rear_lb + load.likely_lb
        assert front + rear - gross in (0, 1)  # both are rounded up
        assert all(limit.load_lb + limit.margin_lb == limit.limit_lb for limit in m.limits)


@given(trucks(), loads(), st.integers(1, 3000))
def test_a_heavier_vehicle_is_never_better(truck: Truck, load: Load, more: int) -> None:
    light, heavy = margin(truck, load), margin(truck, replace(load, high_lb=load.high_lb + more))
    assert ORDER.index(light.verdict) <= ORDER.index(heavy.verdict)
    if light.limits:
        assert light.limits[2].margin_lb - heavy.limits[2].margin_lb == more
        slack = Fraction(1, min(limit.limit_lb for limit in light.limits))
        assert most_used(light) <= most_used(heavy) + slack


@given(trucks(), loads(), st.integers(1, 100))
def test_less_knowledge_is_never_better(truck: Truck, load: Load, wider: int) -> None:
    vague = replace(
        load,
        share_low_pm=load.share_low_pm - wider,
        share_high_pm=load.share_high_pm + wider,
    )
    known, guessed = margin(truck, load).verdict, margin(truck, vague).verdict
    assert ORDER.index(known) <= ORDER.index(guessed)


@given(trucks(), loads(), st.integers(0, 60), st.integers(0, 60))
def test_further_back_never_lightens_the_rear(
    truck: Truck, load: Load, at: int, further: int
) -> None:
    case = deck.worst_case(truck, load)
    before = deck.worst_loads(truck, case, Fraction(at))
    after = deck.worst_loads(truck, case, Fraction(at + further))
    assert after[1] >= before[1]
    assert after[0] <= before[0]
    assert after[2] == before[2]


@given(trucks(), loads(), st.integers(50, 100))
def test_every_margin_is_in_the_record_as_whole_numbers(
    truck: Truck, load: Load, pct: int
) -> None:
    record = to_record(margin(truck, load, pct))
    assert json.loads(json.dumps(record)) == record
    assert "." not in json.dumps(record["limits"]) + json.dumps(record["inputs"])
    assert record["inputs"]["close_at_pct"] == pct  # type: ignore[index]


WEIGHTS = (
    "empty_front_lb",
    "empty_rear_lb",
    "gvwr_lb",
    "gawr_front_lb",
    "gawr_rear_lb",
    "likely_lb",
)
POUNDS = {"lb": ("pound", 1), "in": ("inch", 1), "pm": ("permille", 1)}
KILOGRAMS = {
    "lb": ("kilogram", Fraction(45_359_237, 100_000_000)),  # exact by definition
    "in": ("centimeter", Fraction(254, 100)),
    "pm": ("percent", Fraction(1, 10)),
}


def by_quantities(truck: Truck, load: Load, units: dict[str, Any]) -> Margin:
    """Put the same truck and load as quantities."""

    def of(thing: Truck | Load) -> dict[str, Any]:
        kinds = {name: name.rsplit("_", 1) for name in thing.__slots__ if name != "nose_first"}
        return {
            stem: quantity(getattr(thing, name) * units[kind][1], units[kind][0])
            for name, (stem, kind) in kinds.items()
        }

    return margin_quantities(of(truck), of(load), nose_first=load.nose_first, close_at_pct=100)


@settings(max_examples=40)
@given(trucks(), loads())
def test_pounds_and_kilograms_give_the_same_answer(truck: Truck, load: Load) -> None:
    assert by_quantities(truck, load, POUNDS) == margin(truck, load, 100)
    assert by_quantities(truck, load, KILOGRAMS) == margin(truck, load, 100)


@settings(max_examples=200)
@given(trucks(), loads(), st.sets(st.sampled_from(WEIGHTS)), st.integers(-3, 3))
def test_rounding_never_turns_a_no_go_into_a_go(
    truck: Truck, load: Load, lower: set[str], spare: int
) -> None:
    """The exact truck has some weights half a pound lower, its gross rating within a few pounds
    of what it weighs, and is close only at 100 percent. `possible` decides it exactly."""
    known = exactly(load)
    gross = truck.empty_front_lb + truck.empty_rear_lb + known.likely_lb
    near = half_lower(replace(truck, gvwr_lb=gross + spare), lower)
    carried = half_lower(known, lower | ({"high_lb"} if "likely_lb" in lower else set()))
    if not possible(near, carried):
        assert by_quantities(near, carried, POUNDS).verdict != "go"


def half_lower(thing: T, names: set[str]) -> T:
    """Lower some weights by half a pound. The dataclasses hold whole pounds only, so the
    fractions are put in behind their back."""
    copy = replace(thing)
    for name in names & set(thing.__slots__):
        object.__setattr__(copy, name, getattr(thing, name) - Fraction(1, 2))
    return copy

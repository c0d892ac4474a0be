"""The front axle on the way up a tilted deck, against a sweep of the way, inch by inch.

No published example was found: the second solution is statics, solved numerically with the true
slope and the true travel of the deck. The model's assumptions are those of its docstring.
"""

import re
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from math import atan, cos, hypot

import numpy as np
import pytest
from hypothesis import assume, given, settings, strategies as st

from flows.errors import OutOfRangeError
from flows.figures.deck import Load, Truck
from flows.figures.loading import ON_GROUND, Ramp, loading, slide_in
from flows.figures.margin import margin

WREN = Truck(5400, 8900, 19500, 7500, 13500, 199, 88, 234, deck_height_in=38)
VEHICLE = Load(5000, 5000, 500, 500, 500, 114, 36, 38, nose_first=True)
STEP = 0.5


def front(truck: Truck, pieces: list[tuple[float, float]]) -> float:
    """Front reaction by two equations, of forces and of moments about the front axle."""
    weights, moments = sum(w for w, _ in pieces), sum(w * x for w, x in pieces)
    return float(np.linalg.solve([[1, 1], [0, truck.wheelbase_in]], [weights, moments])[0])


def on_the_truck(
    on: list[tuple[float, float]], hinge: float, tail: float
) -> list[tuple[float, float]]:
    """What the truck has of loads on a deck whose tail is on the ground: a beam, or all of it."""
    if not on:
        return []
    weight, moment = sum(w for w, _ in on), sum(w * x for w, x in on)
    ahead, ground = np.linalg.solve([[1, 1], [hinge, tail]], [weight, moment])
    return on if ground < 0 else [(float(ahead), hinge)]


def sweep(truck: Truck, ramp: Ramp, load: Load, at: int, share: int) -> Iterator[float]:
    """Every front axle weight on the way: up the slope, then with the deck level, going home."""
    height = truck.deck_height_in or 0
    tilt = ramp.tilt_pct / 100
    hinge = float(truck.headboard_in + truck.deck_length_in)
    tail, travel = hinge + height / tilt, hypot(height, height / tilt)
    slides, middle = float(ramp.slides_lb or 0), truck.headboard_in + truck.deck_length_in / 2
    own = [(truck.own_lb - slides, (truck.own_moment - slides * middle) / (truck.own_lb - slides))]
    near = load.high_lb * load.near_pm(share) / 1000
    place = float(truck.headboard_in + at + load.near_overhang_in)
    level = cos(atan(tilt))
    # Up: the near wheels' way along the deck from its tail, to where they are to stand.
    for up in np.arange(0.0, truck.deck_length_in - at - load.near_overhang_in, STEP):
        axles = [(near, up), (load.high_lb - near, up - load.wheelbase_in)]
        on = [(weight, tail - along * level) for weight, along in axles if along > 0]
        moved = [(slides, middle + travel)]
        yield front(truck, own + moved + on_the_truck(on, hinge, tail))
    for back in np.arange(0.0, travel, STEP):
        there = [(near, place + back), (load.high_lb - near, place + load.wheelbase_in + back)]
        yield front(truck, [*own, (slides, middle + back), *there])


def exact(truck: Truck, ramp: Ramp, load: Load, at: int) -> Fraction:
    steps = {one.formula: one.result for one in loading(truck, ramp, load, at).steps}
    return steps["lightest"]


TRUCKS = st.builds(
    lambda front_, rear, base, head, deck, height: Truck(
        front_, rear, 60_000, 20_000, 40_000, base, head, deck, deck_height_in=height
    ),
    st.integers(3000, 12_000), st.integers(5000, 16_000), st.integers(150, 280),
    st.integers(60, 120), st.integers(200, 360), st.integers(28, 56),
)  # fmt: skip


@st.composite
def vehicles(draw: st.DrawFn) -> Load:
    shares = sorted(draw(st.lists(st.integers(350, 700), min_size=2, max_size=2)))
    high = draw(st.integers(1500, 9000))
    return Load(high, high, shares[0], shares[1], shares[1], draw(st.integers(90, 140)),
                draw(st.integers(24, 48)), draw(st.integers(24, 60)),
                nose_first=draw(st.booleans()))  # fmt: skip


RAMPS = st.builds(Ramp, st.integers(15, 45), st.none() | st.integers(0, 3000))


@given(TRUCKS, RAMPS, vehicles(), st.integers(0, 40))
@settings(max_examples=25, deadline=None)
def test_no_inch_of_the_way_is_lighter_and_one_is_as_light(
    truck: Truck, ramp: Ramp, load: Load, at: int
) -> None:
    assume(at + load.near_overhang_in + load.wheelbase_in + 20 <= truck.deck_length_in)
    found = float(exact(truck, ramp, load, at))
    least = min(
        min(sweep(truck, ramp, load, at, share))
        for share in {load.share_low_pm, load.share_high_pm}
    )
    base, slides = truck.wheelbase_in, ramp.slides_lb or 0
    assert found <= least + 1e-6
    # The model counts the slide up to an inch; the sweep goes in steps. Where the weight passes
    # the hinge before all wheels are up, no place is as light: the figure then stays below.
    hinge = truck.headboard_in + truck.deck_length_in
    run = 100 * (truck.deck_height_in or 0) / ramp.tilt_pct
    assume(run - load.wheelbase_in >= 1)
    assume(hinge > base)
    a_step = load.high_lb * (STEP + 0.01) * max(1, (hinge - base) / run)
    assert found >= least - (a_step + load.high_lb + slides) / base


@given(TRUCKS, RAMPS, vehicles())
@settings(max_examples=60, deadline=None)
def test_it_is_never_heavier_than_in_place_or_empty(truck: Truck, ramp: Ramp, load: Load) -> None:
    assume(load.near_overhang_in + load.wheelbase_in + 20 <= truck.deck_length_in)
    found = loading(truck, ramp, load, 0)
    assert found.amount("lightest") <= found.amount("placed")
    assert found.amount("lightest") <= truck.empty_front_lb
    # In place it is the margin's own front axle, at the same share and weight.
    m = margin(truck, load)
    at = m.drawn_in
    placed = loading(truck, ramp, load, at).amount("placed")
    [limit] = [one for one in m.limits if one.name == "front axle"]
    assert placed <= limit.least_lb <= placed + 1


@given(TRUCKS, RAMPS, vehicles(), st.integers(1, 2000))
@settings(max_examples=40, deadline=None)
def test_more_weight_and_more_that_slides_only_lighten(
    truck: Truck, ramp: Ramp, load: Load, more: int
) -> None:
    heavier = replace(load, high_lb=load.high_lb + more)
    assert exact(truck, ramp, heavier, 0) <= exact(truck, ramp, load, 0)
    known = replace(ramp, slides_lb=(ramp.slides_lb or 0) + more)
    assert exact(truck, known, load, 0) < exact(truck, ramp, load, 0)


def test_with_next_to_nothing_on_a_deck_that_weighs_nothing_it_is_the_empty_axle() -> None:
    light = replace(VEHICLE, likely_lb=1, high_lb=1)
    assert loading(WREN, Ramp(30, 0), light, 0).amount("lightest") == 5399
    assert loading(WREN, Ramp(30), light, 0).amount("share") == 99


def test_front_wheels_that_would_lift_are_over() -> None:
    """By hand: 9,000 x 123 / 199 = 5,562.8 lb off 5,400: 163 over, and none is left."""
    found = loading(WREN, Ramp(30), replace(VEHICLE, high_lb=9000), 0)
    [held] = found.checks
    assert (held.name, held.used, held.bound, held.left) == (ON_GROUND, 5563, 5400, -163)
    assert (found.amount("lightest"), found.amount("share"), found.is_over) == (0, 0, True)


def test_a_flat_ramp_takes_the_weight_further_back_than_the_hinge() -> None:
    """By hand: 15 percent: 38 x 1.0112 / 0.15 = 256.2, 257 in. c + S = 181 + 257 = 438 in, past
    the hinge at 322: 5,400 - 5,000 x (438 - 199) / 199 = -605.03 lb, and the wheels are up."""
    assert exact(WREN, Ramp(15), VEHICLE, 0) == 5400 - Fraction(5000 * 239, 199)
    assert loading(WREN, Ramp(15), VEHICLE, 0).checks[0].left == -606


def test_the_ticket_s_front_weight_counts_as_scaled() -> None:
    """Rounded up for the limits of a go, down for what is left."""
    scaled = replace(WREN, empty_front_lb=5401, front_scaled_lb=5400)
    assert loading(scaled, Ramp(30), VEHICLE, 0).amount("lightest") == 2309


@given(st.integers(10, 80), st.integers(5, 60))
def test_the_slide_is_the_long_side(height: int, tilt: int) -> None:
    long = hypot(height, 100 * height / tilt)
    assert -1e-9 <= slide_in(height, tilt) - long < 1


@pytest.mark.parametrize(
    ("compute", "says"),
    [
        (lambda: loading(replace(WREN, deck_height_in=None), Ramp(30), VEHICLE, 0),
         "truck deck_height_in is not known; allowed: 10 to 80 in, on its card"),
        (lambda: loading(WREN, Ramp(30), VEHICLE, 235),
         "place behind the headboard is 235; allowed: whole in, 0 to 234"),
        (lambda: Ramp(61), "deck tilt is 61; allowed: whole percent, 5 to 60"),
        (lambda: Ramp(30, -1), "what slides with the deck is -1; allowed: whole lb, 0 to 20000"),
        (lambda: slide_in(9, 30), "deck height is 9; allowed: whole in, 10 to 80"),
    ],
)  # fmt: skip
def test_out_of_range_is_refused(compute: object, says: str) -> None:
    with pytest.raises(OutOfRangeError, match=re.escape(says)):
        compute()  # type: ignore[operator]  # one of the rows

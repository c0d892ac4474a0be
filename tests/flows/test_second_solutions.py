"""Each formula of pull and rigging reckoned a second way, where its own test file does not.

Which has its second solution where: block, legs, grades, compounding sheaves, layers by turns and
the lift as a beam in `test_rigging`; ends of straps as vectors in `test_securement`; minutes by
turns and the battery's table in `test_scene_figures`; two axles in `test_statics` and
`test_margin`; the way up the deck in `test_loading`. Distances of devices and storage are the
rule's own numbers and have none.
"""

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from math import atan, cos, radians, sin, sqrt

import numpy as np
import pytest
from hypothesis import assume, given, strategies as st

from flows.figures.deck import Load
from flows.figures.dollies import Dollies, DollyTyres
from flows.figures.lifting import Arm, Lifter, lift
from flows.figures.pull import LOCKED, SUPPLIER, SURFACES, Slope, grade_rule, pull
from flows.figures.rigging import BENDS, bend_pct, leg_factor, rigging, sling_factor
from flows.figures.tiedowns import number_required
from flows.figures.warning import taper
from flows.figures.winch import army_line, layer_pull

WRECKER = Lifter(8600, 11_700, 22_000, 33_000, 190, 84, 9000, 20_000)
DRAWN_IN = replace(WRECKER, retracted=Arm(60, 12_000))
SET = Dollies(4600, DollyTyres(4, 1250, 340))
VEHICLE = Load(5000, 5000, 520, 550, 600, 114, 36, 38, nose_first=True)


@given(st.integers(1, 200_000), st.integers(1, 6))
def test_the_army_s_tackle_sheave_by_sheave(load: int, parts: int) -> None:
    """All parts pull alike, and together they pull the load and what each sheave resists."""
    resists = sum((Fraction(load, 10) for _ in range(parts - 1)), Fraction(load))
    assert army_line(Fraction(load), parts) * parts == resists


@given(st.integers(1000, 30_000), st.integers(64, 400), st.integers(8, 40), st.integers(1, 8),
       st.integers(1, 8))  # fmt: skip
def test_a_layer_is_a_lever(pull_lb: int, drum: int, rope: int, start: int, layer: int) -> None:
    """The drum's torque in pound-inches, from radii wound one rope at a time."""
    radii = [Fraction(drum, 128) + Fraction(rope, 128)]
    for _ in range(1, max(start, layer)):
        radii.append(radii[-1] + Fraction(rope, 64))
    torque = pull_lb * radii[start - 1]
    assert layer_pull(pull_lb, drum, rope, start, layer) * radii[layer - 1] == torque


@given(st.integers(15, 90))
def test_a_sling_chart_is_the_bridle_hung(from_level: int) -> None:
    """Half of a load over its leg's height: by the triangle's sides, and by the bridle's legs."""
    across = cos(radians(from_level))
    assert float(sling_factor(from_level)) == pytest.approx(1 / sqrt(1 - across**2))
    assert float(2 * leg_factor(180 - 2 * from_level)) == pytest.approx(
        float(sling_factor(from_level))
    )


@given(st.sampled_from(sorted(BENDS)), st.fractions(1, 50))
def test_a_bend_takes_the_row_below(kind: str, ratio: Fraction) -> None:
    rows = sorted(BENDS[kind].items())
    at = int(np.searchsorted([float(row) for row, _ in rows], float(ratio), side="right")) - 1
    assert bend_pct(kind, ratio) == rows[at][1]
    assert bend_pct(kind, ratio) <= bend_pct(kind, ratio + 1)


@given(st.integers(61, 1200), st.integers(1, 10_000))
def test_one_more_tie_down_each_ten_feet(length: int, weight: int) -> None:
    """Laid out one by one: two for the first ten feet, then each covers up to ten more."""
    count, covered = 2, 120
    while covered < length:
        count, covered = count + 1, covered + 120
    assert number_required(length, weight) == count
    blocked = sum(1 for start in range(0, length, 120) if start < length)
    assert number_required(length, weight, is_blocked=True) == blocked


@given(st.integers(400, 100_000), st.sampled_from(sorted(SURFACES[SUPPLIER])),
       st.integers(0, 100), st.sampled_from(["none", "half", "most"]))  # fmt: skip
def test_a_pull_is_the_work_of_a_foot(weight: int, surface: str, grade: int, locked: str) -> None:
    """Over a foot of slope: raised against gravity, and dragged against surface and wheels. The
    field rule's sixtieth of a degree takes the place of the rise where it is more."""
    angle = atan(grade / 100)
    raised = weight * sin(angle)
    dragged = weight * float(SURFACES[SUPPLIER][surface] + LOCKED[SUPPLIER][locked])
    found = pull(weight, surface, SUPPLIER, slope=Slope(grade), locked=locked)
    slope = max(raised, weight * float(grade_rule(grade)))
    assert -1e-6 <= found.amount("pull") - (slope + dragged) < 1 + 1e-6


@given(st.integers(1, 50_000))
def test_wider_is_less_on_a_block_and_more_on_a_leg(line: int) -> None:
    found = [rigging(line, deg, deg, []) for deg in range(0, 151, 10)]
    for narrow, wide in pairwise(found):
        assert wide.amount("block") <= narrow.amount("block")
        assert wide.amount("leg") >= narrow.amount("leg")


@given(st.integers(20, 40), st.integers(8, 24))
def test_a_taper_grows_with_the_square_and_then_with_the_speed(speed: int, width: int) -> None:
    """Twice as fast up to 40 mph is four times as long; above, W x S is 60 / S of W S^2 / 60."""
    assume(2 * speed <= 40 or speed >= 23)
    if 2 * speed <= 40:
        long, short = (taper(one, width).steps[0].result for one in (2 * speed, speed))
        assert long == 4 * short
    else:
        fast = taper(2 * speed, width).steps[0].result
        assert fast / Fraction(60, 2 * speed) == Fraction(width * (2 * speed) ** 2, 60)


# ---- the lift -----------------------------------------------------------------------------


@given(st.integers(800, 15_000), st.integers(1, 1000), st.integers(20, 150), st.integers(1, 100))
def test_more_weight_or_reach_never_helps(weight: int, more: int, reach: int, out: int) -> None:
    load = replace(VEHICLE, likely_lb=weight, high_lb=weight)
    near, far = (replace(WRECKER, reach_in=one) for one in (reach, reach + out))
    left = {one.name: one.left for one in lift(near, load, SET).checks}
    for worse in (
        lift(near, replace(load, high_lb=weight + more), SET),
        lift(far, load, SET),
        lift(near, replace(load, share_high_pm=650, share_low_pm=500), SET),
    ):
        assert all(one.left <= left[one.name] for one in worse.checks)


@given(st.integers(800, 15_000), st.integers(300, 700))
def test_either_end_lifted_the_axles_are_the_same(weight: int, share: int) -> None:
    """A share that is known: what hangs one way rolls the other way round."""
    load = replace(VEHICLE, likely_lb=weight, high_lb=weight, share_low_pm=share,
                   share_mid_pm=share, share_high_pm=share)  # fmt: skip
    one, other = lift(WRECKER, load), lift(WRECKER, replace(load, nose_first=False))
    assert one.amount("hung") == other.amount("rolling")
    assert one.amount("rolling") == other.amount("hung")


@given(st.integers(800, 30_000), st.integers(100, 900),
       st.tuples(st.integers(20, 99), st.integers(1, 50)), st.integers(0, 9000),
       st.booleans())  # fmt: skip
def test_drawn_in_no_limit_is_nearer(
    weight: int, share: int, reach: tuple[int, int], more: int, nose: bool  # noqa: FBT001  drawn
) -> None:  # fmt: skip
    """Each limit of the retracted end leaves no less than its own extended, and moves the worst
    nowhere; so what is over as a whole is over extended."""
    load = replace(VEHICLE, likely_lb=weight, high_lb=weight, share_low_pm=share,
                   share_mid_pm=share, share_high_pm=900, nose_first=nose)  # fmt: skip
    truck = replace(WRECKER, reach_in=sum(reach), retracted=Arm(reach[0], 9000 + more))
    found, alone = lift(truck, load, SET), lift(replace(truck, retracted=None), load, SET)
    held = {one.name: one for one in found.checks}
    drawn = {name: one for name, one in held.items() if name.endswith(", retracted")}
    assert len(drawn) == 3
    for name, one in drawn.items():
        extended = held[name.removesuffix(", retracted")]
        assert (one.used <= extended.used, one.bound >= extended.bound) == (True, True)
    assert (found.governing, found.is_over) == (alone.governing, alone.is_over)
    assert found.amounts == alone.amounts


@given(st.integers(800, 40_000), st.integers(100, 900))
def test_retracted_as_a_truck_whose_lift_is_that_short(weight: int, share: int) -> None:
    """The same beam with its end at 60 in, and what is over there: the note another way."""
    load = replace(VEHICLE, likely_lb=weight, high_lb=weight, share_low_pm=share,
                   share_mid_pm=share, share_high_pm=share)  # fmt: skip
    short = lift(replace(WRECKER, reach_in=60, rating_lb=12_000), load, SET)
    found = lift(DRAWN_IN, load, SET)
    held = {one.name: one for one in found.checks}
    for one in short.checks:
        there = held.get(f"{one.name}, retracted", held[one.name])
        assert (there.used, there.bound, there.source) == (one.used, one.bound, one.source)
    assert found.notes == (("fits_retracted",) if found.is_over and not short.is_over else ())


# ---- dollies ------------------------------------------------------------------------------


@given(st.integers(0, 30_000), st.integers(2, 8), st.integers(200, 8000), st.integers(20, 3000),
       st.integers(1, 320_000).map(lambda eighths: Fraction(eighths, 8)))  # fmt: skip
def test_dollies_tyre_by_tyre(
    rating: int, count: int, each: int, own: int, axle: Fraction
) -> None:
    """Each tyre bears an even part of the axle and of the set; the set is over as soon as its
    rating or one tyre is. What it carries is the most at which neither is."""
    one = Dollies(rating, DollyTyres(count, each, own))
    bears = (axle + own) / count
    assert any(check.left < 0 for check in one.checks(axle)) == (axle > rating or bears > each)
    most = Fraction(one.carry_lb)
    if own <= count * each:
        assert most <= rating
        assert (most + own) / count <= each
        assert most + 1 > rating or (most + 1 + own) / count > each
    assert one.carry_lb <= Dollies(rating).carry_lb


@given(st.integers(2, 7), st.integers(200, 7999), st.integers(20, 2999))
def test_more_or_stronger_tyres_never_carry_less(count: int, each: int, own: int) -> None:
    carry = DollyTyres(count, each, own).carry_lb
    assert DollyTyres(count + 1, each, own).carry_lb >= carry
    assert DollyTyres(count, each + 1, own).carry_lb >= carry
    assert DollyTyres(count, each, own + 1).carry_lb <= carry

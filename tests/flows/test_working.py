"""The working adds up to the margin, step by step, and every number in it is named with a unit."""

from dataclasses import replace
from fractions import Fraction
from math import ceil, floor

import pytest

from flows.errors import OutOfRangeError
from flows.figures.margin import Legal, Load, Margin, Piece, Truck, WheelLift, margin
from flows.figures.result import Step
from flows.figures.tyres import tyre_set
from flows.figures.working import working
from tests.flows.balance import random_cases

BOUNDS = {"front_tyres", "rear_tyres", "may_come_off", "outer_bridge", "inner_bridge"}
UNITS = {"lb", "in", "ft", "kg", "pm", "pct", "count", "index"}
PUMP = Piece("pump", 200, 100)
TRUCK = Truck(5500, 8900, 19500, 7500, 13500, 199, 88, 234, aboard=(PUMP,))
CAR = Load(5000, 5000, 500, 500, 500, 114, 36, 38, nose_first=True)


def test_by_hand() -> None:
    """x = 88 + 36 + 57 = 181 in; 5,000 x 181 / 199 = 4,547.74; the pump puts 200 x 100 / 199 =
    100.50 lb on the rear axle: 8,900 + 100.50 + 4,547.74 = 13,548.24 lb, over 13,500."""
    rear = working(margin(TRUCK, CAR))[1]
    assert rear.name == "rear axle"
    steps = {step.formula: step for step in rear.steps}
    assert list(steps) == ["gravity", "rear_own", "rear_of_deck", "rear", "used"]
    assert steps["gravity"].result == 181
    assert [round(float(steps[name].result), 2) for name in list(steps)[1:]] == [
        9000.5,
        4547.74,
        13548.24,
        100.36,
    ]
    assert dict(steps["rear_own"].put_in) == {
        "empty_rear_lb": 8900,
        "wheelbase_in": 199,
        "piece_1_lb": 200,
        "piece_1_in": 100,
    }
    assert dict(steps["used"].put_in)["limit_lb"] == 13_500
    assert steps["used"].source == "truck card"


def test_the_last_steps_are_the_margin() -> None:
    worked = 0
    for case in random_cases(300, seed=7):
        m = case.answer()
        found = {one.name: one.steps for one in working(m)}
        assert list(found) == [one.name for one in (*m.limits, *m.lengths)]
        for limit in m.limits:
            load, used = found[limit.name][-2:]
            if found[limit.name][0].formula in BOUNDS:
                assert floor(found[limit.name][0].result) == limit.limit_lb
            assert ceil(load.result) == limit.load_lb
            assert used.result == 100 * load.result / limit.limit_lb
            assert used.source == limit.source
            worked += 1
        for length in m.lengths:
            *each, used = found[length.name]
            assert max(step.result for step in each) == length.used_in
            assert used.result == Fraction(100 * length.used_in, length.limit_in)
    assert worked > 1800


def test_every_number_has_a_name_with_its_unit() -> None:
    steps: list[Step] = [
        step
        for case in random_cases(60, seed=8)
        for one in working(case.answer())
        for step in one.steps
    ]
    assert {step.unit for step in steps} == {"lb", "in", "pct"}
    for step in steps:
        assert step.put_in
        assert step.source
        assert all(name.rsplit("_", 1)[1] in UNITS for name, _ in step.put_in)


def steps_of(m: Margin, name: str) -> dict[str, Step]:
    [found] = [one for one in working(m) if one.name == name]
    return {step.formula: step for step in found.steps}


def test_tyres_by_hand() -> None:
    """Load index 116 is 1,250 kg (the load index table, read in it): four in pairs carry
    5,000 kg / 0.45359237 = 11,023.1 lb."""
    pairs = tyre_set(120, 116, is_dual=True)
    truck = replace(TRUCK, rear_tyres_lb=11_023, rear_tyre_set=pairs)
    step = steps_of(margin(truck, CAR), "rear tyres")["rear_tyres"]
    assert dict(step.put_in) == {"tyres_count": 4, "each_kg": 1250, "load_index": 116}
    assert step.result == 11_023
    with pytest.raises(OutOfRangeError, match="allowed: 11023 lb, what they carry together"):
        replace(truck, rear_tyres_lb=11_024)


def test_a_bound_that_is_reckoned_is_worked_by_hand() -> None:
    """Half of 5,500 lb; and a tandem 52 in apart at 250 in: 3 axles over 276 in, 23 whole feet.
    500 (23 x 3 / 2 + 36 + 36) = 53,250, an exact half down: 53,000."""
    tandem = replace(TRUCK, rear_axles=2, tandem_spacing_in=52, wheelbase_in=250)
    m = margin(tandem, CAR)
    kept = steps_of(m, "front axle share kept")["may_come_off"]
    assert (kept.result, dict(kept.put_in)) == (2750, {"scaled_lb": 5500, "may_go_pct": 50})
    outer = steps_of(m, "bridge formula")["outer_bridge"]
    assert dict(outer.put_in) == {"long_ft": 23, "axles_count": 3, "gaps_count": 2}
    assert outer.result == 53_000
    # 224 in to the first axle of the tandem: 18 whole feet, 500 (18 x 2 + 24 + 36) = 48,000.
    inner = steps_of(m, "inner bridge")["inner_bridge"]
    assert (inner.result, dict(inner.put_in)["long_ft"]) == (48_000, 18)
    short = replace(tandem, wheelbase_in=120, headboard_in=20, deck_length_in=200)
    assert steps_of(margin(short, CAR), "inner bridge")["short_bridge"].result == 34_000


def test_lengths_by_hand() -> None:
    """36 + 114 + 20 in of deck; 38 + 66 in high beside a cab of 96; 40 in ahead of the axle and
    88 + 188 or 327 behind it."""
    truck = replace(TRUCK, deck_height_in=38, height_in=96, front_end_in=40, rear_end_in=327)
    law = Legal(height_in=162, length_in=540)
    m = margin(truck, replace(CAR, height_in=66), legal=law)
    found = {name: steps_of(m, name) for name in ("deck length", "overall height",
                                                  "overall length")}  # fmt: skip
    at = m.drawn_in
    assert {name: [(key, int(one.result)) for key, one in steps.items()][:-1]
            for name, steps in found.items()} == {
        "deck length": [("deck_used", at + 170)],
        "overall height": [("load_top", 104), ("truck_top", 96)],
        "overall length": [("truck_long", 367), ("load_long", 40 + 88 + at + 188)],
    }  # fmt: skip


@pytest.mark.parametrize("end", ["front", "rear"])
def test_tyres_of_each_end_are_worked(end: str) -> None:
    """Two of 116: 2,500 kg / 0.45359237 = 5,511.6 lb."""
    single = tyre_set(116, None, is_dual=False)
    truck = replace(TRUCK, **{f"{end}_tyres_lb": 5511, f"{end}_tyre_set": single})
    steps = steps_of(margin(truck, CAR), f"{end} tyres")
    step = steps[f"{end}_tyres"]
    assert (step.result, step.unit, step.source) == (5511, "lb", "tyre load index, truck card")
    other = {"front": "rear", "rear": "front"}[end]
    assert f"{other}_tyres" not in steps


@pytest.mark.parametrize(
    ("wheelbase", "formula", "allowed"),
    # 52 in apart, the first axle of the tandem 26 in ahead of its middle. Washington's table: two
    # axles up to 8 ft 34,000 lb, just over 8 ft 38,000.
    [(122, "short_bridge", 34_000), (123, "inner_bridge", 38_000)],
)
def test_eight_feet_are_still_a_tandem(wheelbase: int, formula: str, allowed: int) -> None:
    truck = replace(TRUCK, rear_axles=2, tandem_spacing_in=52, wheelbase_in=wheelbase,
                    headboard_in=20, deck_length_in=200)  # fmt: skip
    law = Legal(sources=(("bridge", "RCW 46.44.041"),))
    m = margin(truck, CAR, legal=law)
    step = steps_of(m, "inner bridge")[formula]
    assert (step.result, step.unit, step.source) == (allowed, "lb", "RCW 46.44.041")
    assert dict(step.put_in)["axles_count"] == 2
    assert steps_of(m, "bridge formula")["outer_bridge"].source == "RCW 46.44.041"


@pytest.mark.parametrize("has_second", [True, False])
def test_the_longest_end_may_be_the_second_vehicle(has_second: bool) -> None:  # noqa: FBT001  a row of the table
    """By hand: 40 in ahead, lift at 300, wheelbase 114 and rear overhang 38: 492 in."""
    truck = replace(TRUCK, front_end_in=40, rear_end_in=327, lift=WheelLift(300, 9000))
    second = CAR if has_second else None
    steps = steps_of(margin(truck, CAR, lifted=second, legal=Legal(length_in=540)),
                     "overall length")  # fmt: skip
    names = ["truck_long", "load_long", *(["lift_long"] if has_second else []), "used"]
    assert list(steps) == names
    if has_second:
        assert steps["lift_long"].result == 492

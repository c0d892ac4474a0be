"""The working adds up to the margin, step by step, and every number in it is named with a unit."""

from fractions import Fraction
from math import ceil

from flows.figures.margin import Load, Piece, Truck, margin
from flows.figures.working import Step, working
from tests.flows.balance import random_cases

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
            assert ceil(load.result) == limit.load_lb
            assert used.result == 100 * load.result / limit.limit_lb
            assert used.source == limit.source
            worked += 1
        for length in m.lengths:
            [step] = found[length.name]
            assert step.result == Fraction(100 * length.used_in, length.limit_in)
    assert worked > 2000


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
        assert all(name.rsplit("_", 1)[1] in {"lb", "in", "pm"} for name, _ in step.put_in)

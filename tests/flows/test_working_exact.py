"""The working of one margin with everything, by hand: each step's numbers, unit and source.

A tandem 50 in apart, a pump of 200 lb half way between the axles, 6,000 lb half and half at the
headboard, and a second vehicle of 4,000 lb with 60 percent of it on the wheel lift.
"""

from dataclasses import replace

import pytest

from flows.figures.deck import Load, Piece, Truck, WheelLift
from flows.figures.legal import Legal
from flows.figures.limits import Asked
from flows.figures.margin import decide
from flows.figures.result import Step
from flows.figures.working import working

GEAR = (Piece("dollies", 340, 200, on_ticket=True), Piece("pump", 200, 100))
TRUCK = Truck(
    9000, 12_000, 40_000, 18_000, 34_000, 200, 80, 300, 2, 50, GEAR, deck_height_in=40,
    height_in=96, front_end_in=30, rear_end_in=390, lift=WheelLift(300, 9000, 20_000),
    gcwr_lb=60_000,
)  # fmt: skip
CAR = Load(6000, 6000, 500, 500, 500, 114, 36, 38, nose_first=True, height_in=66)
SECOND = replace(CAR, likely_lb=4000, high_lb=4000, share_low_pm=600, share_mid_pm=600,
                 share_high_pm=600)  # fmt: skip

CARD, CARDS = "truck card", "truck card, vehicle card or class table"
KEPT, LAW = "trade standard, not law, of the scaled weight", "23 USC 127(a)(2)"
MEANS, STATICS = "definition", "statics, moments about the axles"
BASE, PUMP = {"wheelbase_in": 200}, {"piece_1_lb": 200, "piece_1_in": 100}
OWN = {"front_own_lb": 9100, "rear_own_lb": 12_100}
DECK, LIFT = (
    {"weight_lb": 6000, "behind_front_in": 173},
    {"weight_lb": 2400, "behind_front_in": 300},
)

Row = tuple[dict[str, int], int, str, str]
STEPS: dict[str, Row] = {
    # 80 + 0 + 36 + 57 in.
    "gravity": (
        {"headboard_in": 80, "position_in": 0, "overhang_in": 36, "wheelbase_in": 114,
         "near_share_pm": 500}, 173, "in", STATICS,
    ),
    "hung": ({"weight_lb": 4000, "near_share_pm": 600}, 2400, "lb", MEANS),
    "towed": ({"weight_lb": 4000}, 4000, "lb", MEANS),
    "front_own": ({"empty_front_lb": 9000} | BASE | PUMP, 9100, "lb", STATICS),
    "rear_own": ({"empty_rear_lb": 12_000} | BASE | PUMP, 12_100, "lb", STATICS),
    "front_of_deck": (DECK | BASE, 810, "lb", STATICS),
    "rear_of_deck": (DECK | BASE, 5190, "lb", STATICS),
    "front_of_lift": (LIFT | BASE, -1200, "lb", STATICS),
    "rear_of_lift": (LIFT | BASE, 3600, "lb", STATICS),
    "front": (
        {"front_own_lb": 9100, "front_of_deck_lb": 810, "front_of_lift_lb": -1200}, 8710, "lb",
        MEANS,
    ),
    "rear": (
        {"rear_own_lb": 12_100, "rear_of_deck_lb": 5190, "rear_of_lift_lb": 3600}, 20_890, "lb",
        MEANS,
    ),
    "gross": (OWN | {"weight_lb": 6000, "hung_lb": 2400}, 29_600, "lb", MEANS),
    "combination": (OWN | {"weight_lb": 6000, "second_lb": 4000}, 31_200, "lb", MEANS),
    "first_two": ({"front_lb": 8710, "rear_lb": 20_890}, 19_155, "lb", STATICS),
    "off_front": ({"empty_front_lb": 9000, "front_lb": 8710}, 290, "lb", MEANS),
    "may_come_off": ({"scaled_lb": 9000, "may_go_pct": 50}, 4500, "lb", KEPT),
    # Axles at 175 and 225 in: 18 and 14 whole feet.
    "outer_bridge": ({"long_ft": 18, "axles_count": 3, "gaps_count": 2}, 49_500, "lb", LAW),
    "inner_bridge": ({"long_ft": 14, "axles_count": 2, "gaps_count": 1}, 44_000, "lb", LAW),
    "deck_used": (
        {"position_in": 0, "overhang_in": 36, "wheelbase_in": 114, "room_in": 20}, 170, "in",
        "truck card, room at both ends ours",
    ),
    "load_top": ({"deck_in": 40, "vehicle_in": 66}, 106, "in", CARDS),
    "truck_top": ({"truck_in": 96}, 96, "in", CARD),
    "truck_long": ({"front_end_in": 30, "rear_end_in": 390}, 420, "in", CARD),
    "load_long": (
        {"front_end_in": 30, "headboard_in": 80, "position_in": 0, "vehicle_in": 188}, 298, "in",
        CARDS,
    ),
    "lift_long": (
        {"front_end_in": 30, "lift_in": 300, "wheelbase_in": 114, "overhang_in": 38}, 482, "in",
        CARDS,
    ),
}  # fmt: skip
FRONT = ("gravity", "hung", "front_own", "front_of_deck", "front_of_lift", "front")
REAR = ("gravity", "hung", "rear_own", "rear_of_deck", "rear_of_lift", "rear")
# The steps of each limit, its bound, its unit and where the bound comes from.
LIMITS: dict[str, tuple[tuple[str, ...], int, str, str]] = {
    "front axle": (FRONT, 18_000, "lb", CARD),
    "rear axle": (REAR, 34_000, "lb", CARD),
    "gross weight": (("hung", "gross"), 40_000, "lb", CARD),
    "front axle share kept": (("may_come_off", *FRONT, "off_front"), 4500, "lb", KEPT),
    "wheel lift rating": (("hung",), 9000, "lb", CARD),
    "wheel lift tow rating": (("towed",), 20_000, "lb", CARD),
    "combination weight": (("combination",), 60_000, "lb", CARD),
    "legal front axle": (FRONT, 20_000, "lb", LAW),
    "legal tandem": (REAR, 34_000, "lb", LAW),
    "legal gross": (("combination",), 80_000, "lb", LAW),
    "bridge formula": (("outer_bridge", "hung", "gross"), 49_500, "lb", LAW),
    "inner bridge": (("inner_bridge", *FRONT, *REAR[2:], "first_two"), 44_000, "lb", LAW),
    "deck length": (("deck_used",), 300, "in", "truck card, room at both ends ours"),
    "overall height": (("load_top", "truck_top"), 162, "in", LAW),
    "overall length": (("truck_long", "load_long", "lift_long"), 780, "in", LAW),
}


def worked() -> dict[str, tuple[Step, ...]]:
    law = Legal(height_in=162, length_in=780)
    m = decide(Asked(TRUCK, CAR, SECOND, law, at_in=0), 95)
    return {one.name: one.steps for one in working(m)}


def test_every_limit_is_worked() -> None:
    assert list(worked()) == list(LIMITS)


@pytest.mark.parametrize("limit", LIMITS)
def test_each_step_by_hand(limit: str) -> None:
    names, bound, unit, source = LIMITS[limit]
    *leading, used = worked()[limit]
    assert [one.formula for one in leading] == list(names)
    for one in leading:
        assert (dict(one.put_in), one.result, one.unit, one.source) == STEPS[one.formula]
    load = max(STEPS[name][1] for name in names) if unit == "in" else STEPS[names[-1]][1]
    assert dict(used.put_in) == {f"load_{unit}": load, f"limit_{unit}": bound}
    assert (used.formula, used.unit, used.source) == ("used", "pct", source)
    assert used.result * bound == 100 * load


def test_nothing_aboard_has_no_part_in_it() -> None:
    bare = decide(Asked(replace(TRUCK, aboard=()), CAR, None, Legal()), 95)
    steps = {one.formula: dict(one.put_in) for one in working(bare)[0].steps}
    assert steps["front_own"] == {"empty_front_lb": 9000}
    assert set(steps) == {"gravity", "front_own", "front_of_deck", "front", "used"}
    gross = {one.formula: dict(one.put_in) for one in working(bare)[2].steps}
    assert gross["gross"] == {"front_own_lb": 9000, "rear_own_lb": 12_000, "weight_lb": 6000}
    both = {one.formula: dict(one.put_in) for one in working(bare)[6].steps}
    assert both["combination"] == {"front_own_lb": 9000, "rear_own_lb": 12_000, "weight_lb": 6000}

"""Each figure's whole answer for one case, by hand: inputs, answer, every step.

The record and the page show these names, units and sources; a wrong one says a wrong thing.
"""

import datetime as dt
from dataclasses import replace
from fractions import Fraction
from math import ceil, hypot, isqrt, sqrt

import pytest

from flows.errors import OutOfRangeError
from flows.figures.deck import Load, Truck
from flows.figures.dollies import Dollies
from flows.figures.lifting import Lifter, lift
from flows.figures.loading import Ramp, loading, slide_in
from flows.figures.pull import COMMONWEALTH, TRADE, Slope, pull
from flows.figures.result import Result
from flows.figures.rigging import rigging
from flows.figures.tiedowns import Geometry, Tiedown, number_required, tiedowns
from flows.figures.volts import charge
from flows.figures.warning import devices, storage, taper
from flows.figures.winch import ARMY, Winch, winch
from flows.figures.window import window

TODAY = dt.date(2026, 3, 1)
CARD, KEPT = "truck card", "trade standard, not law, of the scaled weight"
STATICS, MEANS = "statics, moments about the axles", "definition"
CAR = Load(5000, 5000, 520, 550, 600, 114, 36, 38, nose_first=True)
EVEN = Load(5000, 5000, 500, 500, 500, 114, 36, 38, nose_first=True)

StepRow = tuple[str, dict[str, float], float, str, str]


def assert_steps(found: Result, rows: list[StepRow]) -> None:
    assert [(one.formula, one.unit, one.source) for one in found.steps] == [
        (name, unit, source) for name, _, _, unit, source in rows
    ]
    for one, (_, put_in, result, _, _) in zip(found.steps, rows, strict=True):
        assert {name: float(value) for name, value in one.put_in} == pytest.approx(put_in)
        assert float(one.result) == pytest.approx(result)


def amounts(found: Result) -> list[tuple[str, int, str]]:
    return [(one.name, one.value, one.unit) for one in found.amounts]


def checks(found: Result) -> list[tuple[str, int, int, str, str]]:
    return [(one.name, one.used, one.bound, one.unit, one.source) for one in found.checks]


def test_lift() -> None:
    """60 and 52 percent of 5,000 lb; 4,300 x 190 / 84 = 9,726.2; 11,700 + 3,000 x 274 / 190."""
    truck = Lifter(8600, 11_700, 22_000, 33_000, 190, 84, 9000, 20_000)
    found = lift(truck, CAR, Dollies(4600))
    assert (found.figure, found.source) == ("lift", f"{STATICS}, {KEPT}")
    assert found.inputs == (
        ("high_lb", 5000), ("lifted_end", "front"), ("share_low_pm", 520), ("share_high_pm", 600),
        ("truck_front_lb", 8600), ("truck_rear_lb", 11_700), ("truck_gawr_rear_lb", 22_000),
        ("truck_gvwr_lb", 33_000), ("truck_wheelbase_in", 190), ("truck_reach_in", 84),
        ("truck_rating_lb", 9000), ("truck_tow_lb", 20_000), ("dolly_rating_lb", 4600),
    )  # fmt: skip
    assert amounts(found) == [
        ("hung", 3000, "lb"), ("rolling", 2400, "lb"), ("capacity", 9726, "lb"),
    ]  # fmt: skip
    assert checks(found) == [
        ("lift for the front axle share kept", 3000, 9726, "lb", KEPT),
        ("wheel lift rating", 3000, 9000, "lb", CARD),
        ("rear axle", 16_027, 22_000, "lb", CARD),
        ("wheel lift tow rating", 5000, 20_000, "lb", CARD),
        ("gross weight", 23_300, 33_000, "lb", CARD),
        ("dollies under the other axle", 2400, 4600, "lb", "gear card"),
    ]
    places = {"wheelbase_in": 190, "reach_in": 84}
    assert_steps(found, [
        ("hung", {"weight_lb": 5000, "share_pm": 600}, 3000, "lb", MEANS),
        ("rolling", {"weight_lb": 5000, "share_pm": 520}, 2400, "lb", MEANS),
        ("capacity", {"front_lb": 8600, "may_go_pct": 50} | places, 4300 * 190 / 84, "lb", KEPT),
        ("rear", {"rear_lb": 11_700, "hung_lb": 3000} | places, 11_700 + 3000 * 274 / 190, "lb",
         STATICS),
        ("gross", {"own_lb": 20_300, "hung_lb": 3000}, 23_300, "lb", MEANS),
    ])  # fmt: skip


def test_the_lifted_end_is_named() -> None:
    """Tail first: 48 percent hang at most, 60 roll."""
    truck = Lifter(8600, 11_700, 22_000, 33_000, 190, 84, 9000)
    found = lift(truck, replace(CAR, nose_first=False))
    assert dict(found.inputs)["lifted_end"] == "rear"
    assert (found.amount("hung"), found.amount("rolling")) == (2400, 3000)
    assert [one.name for one in found.checks][-2:] == ["rear axle", "gross weight"]


def test_loading() -> None:
    """133 in slid back; hinge 88 + 234, weight 181 + 133 in behind the front axle; 1,900 x 133 /
    199 and 5,000 x 123 / 199 lb come off 5,400; in place 5,000 x 18 / 199 are added."""
    truck = Truck(5400, 8900, 19_500, 7500, 13_500, 199, 88, 234, deck_height_in=38)
    found = loading(truck, Ramp(30, 1900), EVEN, 0)
    model = "hinge at the deck's end, statics, moments about the rear axle"
    assert (found.figure, found.source) == ("loading", model)
    assert found.inputs == (
        ("truck_wheelbase_in", 199), ("truck_headboard_in", 88), ("truck_deck_length_in", 234),
        ("truck_deck_height_in", 38), ("deck_tilt_pct", 30), ("slides_lb", 1900),
        ("high_lb", 5000), ("place_in", 0),
    )  # fmt: skip
    assert dict(loading(truck, Ramp(30), EVEN, 7).inputs)["slides_lb"] == "not known, not counted"
    assert amounts(found) == [
        ("lightest", 1039, "lb"),
        ("share", 19, "pct"),
        ("placed", 5852, "lb"),
    ]
    assert checks(found) == [("front wheels on the ground", 4361, 5400, "lb", model)]
    slid, off = 5400 - 1900 * 133 / 199, 5000 * 123 / 199
    base = {"wheelbase_in": 199}
    assert_steps(found, [
        ("slide", {"deck_height_in": 38, "tilt_pct": 30}, 133, "in", model),
        ("hinge", {"headboard_in": 88, "deck_length_in": 234}, 322, "in", model),
        ("gravity", {"placed_in": 181, "slide_in": 133}, 314, "in", MEANS),
        ("slid", {"at_rest_lb": 5400, "slide_in": 133, "slides_lb": 1900} | base, slid, "lb",
         model),
        ("off", {"weight_lb": 5000, "furthest_in": 322} | base, off, "lb", model),
        ("lightest", {"slid_lb": slid, "off_lb": off}, slid - off, "lb", model),
        ("placed", {"at_rest_lb": 5400, "weight_lb": 5000, "placed_in": 181} | base,
         5400 + 5000 * 18 / 199, "lb", MEANS),
    ])  # fmt: skip


def test_loading_further_back_and_with_nothing_behind_the_axle() -> None:
    """10 in back: 191 in behind the front axle. A short deck, 10 in high at 60 percent, slides 20
    in: 20 + 36 + 57 + 20 = 133 and 170 in, both ahead of the rear axle at 199."""
    truck = Truck(5400, 8900, 19_500, 7500, 13_500, 199, 88, 234, deck_height_in=38)
    back = loading(truck, Ramp(30), EVEN, 10)
    assert back.amount("placed") == 5400 + 201  # 5,000 x 8 / 199
    assert dict(back.steps[3].put_in)["slides_lb"] == 0
    short = replace(truck, headboard_in=20, deck_length_in=150, deck_height_in=10)
    assert loading(short, Ramp(60), EVEN, 0).amount("lightest") == 5400
    # 100 lb on the front wheels, and a weight behind the rear axle: they lift.
    light = replace(truck, empty_front_lb=100, headboard_in=150)
    up = loading(light, Ramp(30), EVEN, 0)
    assert [up.amount(name) for name in ("lightest", "share", "placed")] == [0, 0, 0]


def test_a_deck_always_slides_a_part_of_an_inch_more() -> None:
    """A whole long side of the triangle needs a whole root of 100^2 + t^2, and none is."""
    assert [t for t in range(5, 61) if isqrt(100**2 + t**2) ** 2 == 100**2 + t**2] == []
    for height, tilt in ((10, 5), (10, 60), (38, 30), (80, 5), (80, 60), (41, 13)):
        assert slide_in(height, tilt) == ceil(hypot(height, height * 100 / tilt))


def test_pull() -> None:
    """A seventh, 45 / 60 and two thirds of 4,000 lb; a fifth more: 6,238.1 and 7,485.7 lb."""
    found = pull(4000, "grass", COMMONWEALTH, slope=Slope(100), locked="half")
    rule = "angle over 60, Commonwealth rule"
    assert (found.figure, found.source) == ("pull", f"Commonwealth rule, {rule}")
    assert found.inputs == (
        ("weight_lb", 4000), ("surface", "grass"), ("table", "Commonwealth rule"),
        ("grade_pct", 100), ("locked", "half"),
    )  # fmt: skip
    assert amounts(found) == [("pull", 6239, "lb"), ("pull_with_reserve", 7486, "lb")]
    assert checks(found) == []
    of, total = {"weight_lb": 4000}, 4000 / 7 + 3000 + 8000 / 3
    assert_steps(found, [
        ("surface", of | {"surface_x": 1 / 7}, 4000 / 7, "lb", "Commonwealth rule, grass"),
        ("slope", of | {"exact_x": sqrt(0.5), "rule_x": 0.75}, 3000, "lb", rule),
        ("locked", of | {"locked_x": 2 / 3}, 8000 / 3, "lb", "Commonwealth rule, half"),
        ("pull", {"surface_lb": 4000 / 7, "slope_lb": 3000, "locked_lb": 8000 / 3}, total, "lb",
         "Commonwealth rule"),
        ("reserve", {"pull_lb": total}, 1.2 * total, "lb", "rigging supplier sheet"),
    ])  # fmt: skip
    # Up to 30 degrees the sine is more than a sixtieth for each degree; 20 percent are 11.3.
    assert pull(4000, "hard", TRADE, slope=Slope(20)).source == "trade rule, sine of the angle"
    assert pull(4000, "hard", TRADE, slope=Slope(0)).source == f"trade rule, {rule}"


def test_rigging() -> None:
    """2 cos 30 x 5,000 lb on the block; at 120 degrees each leg bears the whole pull."""
    found = rigging(5000, 60, 120, [
        ("block", "snatch block", 9000), ("leg", "bridle", 5000), ("point", "hook", 4999),
        ("line", "rope", 5001),
    ])  # fmt: skip
    block, leg = "two equal line pulls at an angle", "two legs that share a pull equally"
    assert (found.figure, found.source) == ("rigging", f"{block}, {leg}")
    assert found.inputs == (("line_lb", 5000), ("block_deg", 60), ("bridle_deg", 120))
    assert amounts(found) == [("block", 8661, "lb"), ("leg", 5000, "lb")]
    assert checks(found) == [
        ("snatch block", 8661, 9000, "lb", "tag"), ("bridle", 5000, 5000, "lb", "tag"),
        ("hook", 5000, 4999, "lb", "tag"), ("rope", 5000, 5001, "lb", "tag"),
    ]  # fmt: skip
    assert found.governing is not None
    assert (found.governing.name, found.is_over, found.may_decide) == ("hook", True, False)
    assert_steps(found, [
        ("block", {"line_lb": 5000, "between_deg": 60}, 5000 * sqrt(3), "lb", block),
        ("leg", {"line_lb": 5000, "between_deg": 120}, 5000, "lb", leg),
    ])  # fmt: skip


def test_tiedowns() -> None:
    """60 degrees up and 30 aside: 0.433 along, 0.25 across, 0.866 down. Straps of 3,000 to 3,600
    lb are 13,200 together, 9,600 without the strongest; the weaker two of four, the weakest of
    three, hold sideways with both ends."""
    straps = [Tiedown("strap", (limit,)) for limit in (3400, 3000, 3600, 3200)]
    found = tiedowns(5000, straps, Geometry(60, 30), TODAY)
    half, force = "49 CFR 393.106(d)", "49 CFR 393.102(a)(2)"
    book = "FMCSA handbook on cargo securement, chapter 9"
    assert (found.figure, found.source) == ("tiedowns", f"{half}, {force}, {book}")
    assert found.inputs == (
        ("weight_lb", 5000), ("up_deg", 60), ("aside_deg", 30), ("today", "2026-03-01"),
    )  # fmt: skip
    assert amounts(found) == [
        ("aggregate", 6600, "lb"),
        ("needed", 2500, "lb"),
        ("good", 4, "count"),
    ]
    all_of_them = [
        ("aggregate", 2500, 6600, "lb", half),
        ("forward", 2175, 5715, "lb", force),
        ("rearward", 2500, 5715, "lb", force),
        ("sideways", 1250, 3100, "lb", force),
        ("downward", 1000, 22_863, "lb", "49 CFR 393.102(b)"),
    ]
    bounds = (4800, 4156, 4156, 1500, 16_627)
    one_lost = [
        (f"one strap lost, {name}", used, bound, unit, source)
        for (name, used, _, unit, source), bound in zip(all_of_them, bounds, strict=True)
    ]
    assert checks(found) == all_of_them + one_lost
    of, along = {"weight_lb": 5000}, sqrt(3) / 4
    assert_steps(found, [
        ("aggregate", {"ends_lb": 13_200}, 6600, "lb", half),
        ("needed", of, 2500, "lb", half),
        ("forward_force", of | {"part_x": 0.435}, 2175, "lb", force),
        ("rearward_force", of | {"part_x": 0.5}, 2500, "lb", force),
        ("sideways_force", of | {"part_x": 0.25}, 1250, "lb", force),
        ("along", {"ends_lb": 13_200, "along_x": along}, 13_200 * along, "lb", "statics"),
    ])  # fmt: skip
    short = [*straps[:3], Tiedown("strap", (3200,), is_damaged=True)]
    less = tiedowns(5000, short, Geometry(60, 30), TODAY)
    assert checks(less)[0] == ("straps", 4, 3, "of them", book)
    assert less.amount("good") == 3


@pytest.mark.parametrize(
    ("length", "blocked", "open_"),
    [(60, 1, 1), (61, 1, 2), (120, 1, 2), (121, 2, 3), (240, 2, 3), (241, 3, 4)],
)
def test_number_of_tiedowns_by_length(length: int, blocked: int, open_: int) -> None:
    """49 CFR 393.110: each 10 ft or part of it, the first two held by two unless it is blocked."""
    assert number_required(length, 1100, is_blocked=True) == blocked
    assert number_required(length, 1100) == open_


def test_winch() -> None:
    """One tenth for the sheave: 14,300 / 2 lb. 180 ft stay on the drum, 133 turns of 3.1415 x 226
    / 768 ft are 123 of them: the second layer."""
    found = winch(Winch((8000, 7999), 202, 3200, 24, 200), 13_000, 40, 30, ARMY)
    layers = "torque of the drum, as a maker's table of pull by layer"
    assert (found.figure, found.source) == ("winch", f"US Army, {layers}")
    assert found.inputs == (
        ("pull_lb", 13_000), ("reach_ft", 40), ("distance_ft", 30), ("model", "US Army"),
    )  # fmt: skip
    assert amounts(found) == [
        ("parts", 2, "count"), ("line", 7150, "lb"), ("layer", 2, "count"), ("rope", 80, "ft"),
    ]  # fmt: skip
    assert checks(found) == [("winch on that layer", 7150, 7999, "lb", CARD)]
    reach = {"parts_count": 2, "reach_ft": 40}
    assert_steps(found, [
        ("rope_out", reach, 80, "ft", MEANS),
        ("end_out", reach | {"distance_ft": 30}, 20, "ft", MEANS),
        ("layer", {"rope_ft": 200, "on_drum_ft": 180}, 2, "count", layers),
        ("rating", {"first_lb": 8000, "layer_count": 2}, 7999, "lb", layers),
        ("line", {"pull_lb": 13_000, "parts_count": 2}, 7150, "lb", "US Army"),
    ])  # fmt: skip


@pytest.mark.parametrize(
    ("load", "parts"), [(7999, 1), (8000, 2), (14_545, 2), (14_546, 3), (28_571, 5), (31_999, 6)]
)
def test_the_fewest_parts_that_are_enough(load: int, parts: int) -> None:
    """Less than 8,000 lb on the line: 1.1 loads on 2 parts, 1.2 on 3, 1.4 on 5, 1.5 on 6."""
    strong = Winch((8000, 8000), 202, 3200, 24, 200)
    assert winch(strong, load, 10, 1, ARMY).amount("parts") == parts
    with pytest.raises(OutOfRangeError, match="pull is 32000; allowed: what 6 parts of line pull"):
        winch(strong, 32_000, 10, 1, ARMY)


def test_turns_lie_whole_beside_one_another() -> None:
    """599 of 64 in are room for 24 turns of 24 and a rest: 24 x 3.1415 x 226 / 768 = 22.2 ft."""
    assert [Winch((8000,), 202, 599, 24, 75).layer_at(out) for out in (53, 52)] == [1, 2]


def test_of_a_rope_shorter_than_what_stays_on_the_drum_none_goes_out() -> None:
    short = Winch((8000,), 3200, 3200, 24, 20)  # five turns are 65.9 ft
    assert short.layer_at(0) == 1
    with pytest.raises(OutOfRangeError, match="line out is 1; allowed: whole ft, 0 to 0"):
        short.layer_at(1)


def test_window() -> None:
    """22.2 and 26.9 ft fill two layers: of the 55 ft on the drum at the end six are on the third,
    322 / 226 as fast as the first, and the fourteen before them on the second, 274 / 226."""
    narrow = Winch((8000,), 202, 576, 24, 75)
    found = window(narrow, 1, (40, 20), 10, 30)
    speed = "line speed grows with the radius of the layer"
    assert (found.figure, found.source) == ("window", f"{speed}, half of the hold is ours")
    assert found.inputs == (
        ("parts", 1), ("reach_ft", 40), ("distance_ft", 20), ("speed", "10 ft a minute"),
        ("hold_min", 30),
    )  # fmt: skip
    assert amounts(found) == [("minutes", 2, "min"), ("usable", 15, "min")]
    assert checks(found) == [("half of the hold", 2, 15, "min", "ours")]
    layers = "torque of the drum, as a maker's table of pull by layer"
    assert_steps(found, [
        ("rope", {"parts_count": 1, "distance_ft": 20}, 20, "ft", MEANS),
        ("layers", {"from_count": 2, "to_count": 3}, 3, "count", layers),
        ("minutes", {"speed_ft": 10, "rope_ft": 20}, (6 / 322 + 14 / 274) * 22.6, "min", speed),
    ])  # fmt: skip
    # Half of one minute is no whole minute; it is held against one all the same.
    short = window(narrow, 1, (40, 20), 10, 1)
    assert (short.amount("usable"), short.checks[0].bound) == (0, 1)


def test_devices() -> None:
    """Four paces are 10 ft."""
    found = devices("divided")
    law = "49 CFR 392.22(b)"
    assert (found.figure, found.inputs, found.source) == ("devices", (("road", "divided"),), law)
    assert amounts(found) == [("first", 10, "ft"), ("second", 100, "ft"), ("third", 200, "ft")]
    assert_steps(found, [
        ("paces", {"at_ft": at}, paces, "count", law)
        for at, paces in ((10, 4), (100, 40), (200, 80))
    ])  # fmt: skip


@pytest.mark.parametrize(
    ("speed", "name", "lane"),
    [(30, "lane_slow", 180), (40, "lane_slow", 320), (45, "lane_fast", 540)],
)
def test_taper(speed: int, name: str, lane: int) -> None:
    """12 x 30 x 30 / 60, 12 x 40 x 40 / 60, and 12 x 45 ft."""
    found = taper(speed, 12)
    table = "California MUTCD 2012, table 6H-4(CA)"
    assert (found.figure, found.source) == ("taper", table)
    assert (found.inputs, found.checks) == ((("speed_mph", speed), ("width_ft", 12)), ())
    assert amounts(found) == [
        ("lane", lane, "ft"), ("shift", lane // 2, "ft"), ("shoulder", -(-lane // 3), "ft"),
    ]  # fmt: skip
    assert_steps(found, [
        (name, {"width_ft": 12, "speed_mph": speed}, lane, "ft", table),
        ("shift", {"lane_ft": lane}, lane / 2, "ft", table),
        ("shoulder", {"lane_ft": lane}, lane / 3, "ft", table),
    ])  # fmt: skip


@pytest.mark.parametrize(("nearest", "missing"), [(40, 10), (49, 1), (50, 0), (51, 0), (0, 50)])
def test_storage(nearest: int, missing: int) -> None:
    found = storage(nearest)
    guidance = "NHTSA guidance, as cited in a Washington Senate bill report"
    assert (found.figure, found.source) == ("storage", guidance)
    assert found.inputs == (("nearest_ft", nearest),)
    assert amounts(found) == [("missing", missing, "ft"), ("asked", 50, "ft")]
    put_in = {"asked_ft": 50, "nearest_ft": nearest}
    assert_steps(found, [("missing", put_in, missing, "ft", guidance)])


def test_charge() -> None:
    """At 30 F it reads 0.120 V less than at 80; 12.096 V lie a fifth of the way from 12.060, a
    quarter full, to 12.240, half."""
    found = charge(11_976, 30, "lead-acid")
    table = "battery maker's tables 6 and 7, lead-acid at rest"
    assert (found.figure, found.source) == ("charge", table)
    assert found.inputs == (("read_mV", 11_976), ("temperature_F", 30), ("kind", "lead-acid"))
    assert (amounts(found), found.checks) == ([("percent", 30, "pct")], ())
    assert_steps(found, [
        ("at_80", {"read_mV": 11_976, "more_mV": -120}, 12_096, "mV", table),
        ("percent", {"at_80_mV": 12_096}, 30, "pct", table),
    ])  # fmt: skip


# The table's rows, the pieces between them: 25 percent over 170, 180, 210 and 200 mV.
@pytest.mark.parametrize(
    ("millivolts", "percent"),
    [(0, 0), (11_890, 0), (11_907, Fraction(5, 2)), (12_060, 25), (12_240, 50),
     (12_345, Fraction(125, 2)),
     (12_450, 75), (12_649, Fraction(799, 8)), (12_650, 100), (12_651, 100), (16_000, 100)],
)  # fmt: skip
def test_every_row_of_the_battery_table(millivolts: int, percent: Fraction) -> None:
    assert charge(millivolts, 80, "lead-acid").steps[1].result == percent

"""Limits one by one, by hand: whose law each is, where a place is asked for, what just holds."""

from dataclasses import replace

import pytest

from flows.errors import OutOfRangeError
from flows.figures.deck import Load, Piece, Truck, WheelLift
from flows.figures.legal import FEDERAL, Legal, recovery_exempt
from flows.figures.limits import Asked, Limit, span
from flows.figures.loads import Corner, Line, loads, parts_of
from flows.figures.margin import Margin, decide, margin

# 9,000 + 12,000 lb empty; 6,000 lb half and half at the headboard at x = 80 + 36 + 57 = 173 of
# 200 in: 810 lb on the front axle, 5,190 on the rear. Each inch further back moves 30 lb.
TRUCK = Truck(9000, 12_000, 40_000, 18_000, 25_000, 200, 80, 300)
CAR = Load(6000, 6000, 500, 500, 500, 114, 36, 38, nose_first=True, height_in=66)
OWN = ("single_lb", "tandem_lb", "gross_lb", "bridge", "height_in", "length_in")
STATE = Legal(height_in=162, length_in=780, sources=tuple((one, f"law of {one}") for one in OWN))
SIZED = replace(TRUCK, deck_height_in=40, front_end_in=30, rear_end_in=390)


def sources(m: Margin) -> dict[str, str]:
    return {one.name: one.source for one in (*m.limits, *m.lengths)}


def test_each_legal_limit_names_the_law_of_its_own_field() -> None:
    one = sources(margin(SIZED, CAR, legal=STATE))
    assert one == {
        "front axle": "truck card",
        "rear axle": "truck card",
        "gross weight": "truck card",
        "front axle share kept": "trade standard, not law, of the scaled weight",
        "legal front axle": "law of single_lb",
        "legal rear axle": "law of single_lb",
        "legal gross": "law of gross_lb",
        "bridge formula": "law of bridge",
        "deck length": "truck card, room at both ends ours",
        "overall height": "law of height_in",
        "overall length": "law of length_in",
    }
    tandem = replace(SIZED, rear_axles=2, tandem_spacing_in=50)
    two = sources(margin(tandem, CAR, legal=STATE))
    assert two["legal tandem"] == "law of tandem_lb"
    assert (two["bridge formula"], two["inner bridge"]) == ("law of bridge", "law of bridge")


@pytest.mark.parametrize("unknown", ["front_end_in", "rear_end_in"])
def test_a_length_with_one_end_unknown_is_not_checked(unknown: str) -> None:
    assert "overall length" not in margin(SIZED, CAR, legal=STATE).unchecked
    half = replace(SIZED, **{unknown: None})  # type: ignore[arg-type]  # any name of a field
    assert "overall length" in margin(half, CAR, legal=STATE).unchecked


# Front rating 9,600 lb, close from 9,120 on: 9,000 + 30 (200 - x) is 9,120 at x = 196 in, 23 in
# behind the headboard; 9,600 at 180 in, 7 in behind it.
NARROW = replace(TRUCK, gawr_front_lb=9600)


def test_a_place_that_is_asked_for_is_judged_alone() -> None:
    whole = margin(NARROW, CAR)
    # The law's 20,000 lb on the rear axle, close from 19,000 on: 7,000 / 30 - 173 = 60.3 in.
    assert (whole.verdict, whole.position_lo_in, whole.position_hi_in) == ("go", 23, 60)
    for at, verdict, places in (
        (6, "no-go", (None, None)),
        (7, "close", (None, None)),
        (22, "close", (None, None)),
        (23, "go", (23, 23)),
    ):
        m = decide(Asked(NARROW, CAR, None, FEDERAL, at), 95)
        assert (m.verdict, m.at_in, m.drawn_in) == (verdict, at, at)
        assert (m.position_lo_in, m.position_hi_in) == places
        assert [one.name for one in m.lengths] == ["deck length"]
        assert m.limits[0].load_lb == 9000 + 30 * (27 - at)


def test_the_best_place_is_where_both_ends_are_used_alike() -> None:
    """(9,810 - 30 p) / 9,600 of the front rating and (17,190 + 30 p) / 20,000 of the law's rear
    limit cross at 35.1 in; no place has both below 85 percent. The wheels reach to 35 + 170 in."""
    m = margin(NARROW, replace(CAR, likely_lb=5900))
    assert (m.best_in, m.drawn_in, m.lengths[0].used_in) == (35, 35, 205)
    # 208 of 200 in behind the front axle 5,900 lb are 6,136 of the rear axle, 6,000 lb 6,240.
    assert (m.limits[1].least_lb, m.limits[1].load_lb) == (12_000 + 6136, 12_000 + 6240)


def test_lengths_are_of_the_place_where_it_stands() -> None:
    """The wheels take 36 + 114 + 20 = 170 in of deck from the nearest end on."""
    there = decide(Asked(NARROW, CAR, None, FEDERAL, 23), 95)
    assert (there.lengths[0].used_in, there.deck_short_in) == (193, 0)
    # 250 in behind the headboard they would need 420 of 300 in.
    off = decide(Asked(NARROW, CAR, None, FEDERAL, 250), 95)
    assert (off.verdict, off.governing, off.best_in) == ("no-go", "deck length", None)
    assert (off.drawn_in, off.lengths[0].used_in, off.deck_short_in) == (250, 420, 120)


def test_a_limit_that_just_holds_is_close_and_a_pound_more_is_over() -> None:
    """9,000 + 12,000 + 6,000 = 27,000 lb."""
    full = margin(replace(TRUCK, gvwr_lb=27_000), CAR)
    assert (full.verdict, full.governing, full.governing_margin_lb) == ("close", "gross weight", 0)
    assert full.remedies[0] == "position"
    over = margin(replace(TRUCK, gvwr_lb=26_999), CAR)
    assert (over.verdict, over.governing_margin_lb) == ("no-go", -1)
    assert "position" not in over.remedies


def test_the_exemption_counts_both_vehicles_against_the_truck() -> None:
    """23 USC 127(m): the truck, 21,000 lb, weighs as much as what is disabled, or more."""
    law = Legal(recovery=True)
    heavy = replace(CAR, likely_lb=12_000, high_lb=12_000)
    second = replace(CAR, likely_lb=9000, high_lb=9000)
    assert Asked(TRUCK, heavy, None, law).exempt
    assert Asked(TRUCK, heavy, second, law).exempt
    assert not Asked(TRUCK, heavy, replace(second, high_lb=9001), law).exempt
    assert Asked(TRUCK, replace(CAR, high_lb=21_000), None, law).exempt
    assert not Asked(TRUCK, replace(CAR, high_lb=21_001), None, law).exempt


def test_nothing_weighs_nothing_and_less_is_refused() -> None:
    assert recovery_exempt(Legal(recovery=True), 0, 0)
    with pytest.raises(OutOfRangeError, match=r"^disabled weight is -1; allowed: 0 lb or more"):
        recovery_exempt(Legal(recovery=True), 0, -1)


def test_without_a_second_vehicle_nothing_of_one_is_counted() -> None:
    """27,000 lb in all, held against as much by the law: no pound more."""
    m = margin(TRUCK, CAR, legal=Legal(gross_lb=27_000))
    assert (m.verdict, m.governing, m.governing_margin_lb) == ("close", "legal gross", 0)


def test_half_of_what_moves_to_the_tandem_leaves_the_first_two_axles() -> None:
    """An inch back moves 30 lb from the front axle to the tandem, 15 to its first axle."""
    on = loads(TRUCK, CAR, None, Corner(6000, 500))
    pound = parts_of(TRUCK)
    assert (on.front.slope, on.rear.slope, on.first_two.slope) == (-30 * pound, 30 * pound,
                                                                   -15 * pound)  # fmt: skip
    assert on.first_two.base == (9810 + 17_190 // 2) * pound


def test_what_falls_toward_the_rear_leaves_places_from_some_inch_on() -> None:
    """80 lb less a pound an inch, of 100 lb: 70 percent from 10 in on."""
    front = Limit("front axle", "lb", 100, (Line(80, -1),), "")
    assert list(front.spans(70)) == [(10, None)]
    deck = Limit("deck length", "in", 140, (Line(100, 1),), "")
    assert span([front, deck], 70, 0) == (10, 40)
    assert span([front, deck], 39, 0) is None
    with pytest.raises(ValueError, match=r"^no limit ends the positions; allowed: the deck's len"):
        span([front], 70, 0)


def test_the_record_holds_every_number_that_went_in_by_name() -> None:
    gear = (Piece("dollies", 340, 200), Piece("driver", 190, 20, person=True))
    lift = WheelLift(300, 9000, 20_000)
    m = margin(
        replace(TRUCK, aboard=gear, lift=lift), CAR, 90, lifted=replace(CAR, height_in=None)
    )
    truck = {
        "empty_front_lb": 9000, "empty_rear_lb": 12_000, "gvwr_lb": 40_000,
        "gawr_front_lb": 18_000, "gawr_rear_lb": 25_000, "wheelbase_in": 200, "headboard_in": 80,
        "deck_length_in": 300, "rear_axles": 1, "tandem_spacing_in": 0,
        "aboard_1_weight_lb": 340, "aboard_1_at_in": 200, "aboard_1_on_ticket": 0,
        "aboard_1_person": 0, "aboard_2_weight_lb": 190, "aboard_2_at_in": 20,
        "aboard_2_on_ticket": 0, "aboard_2_person": 1, "lift_at_in": 300, "lift_rating_lb": 9000,
        "lift_tow_lb": 20_000, "front_kept_pct": 50, "wheel_room_in": 20,
    }  # fmt: skip
    car = {
        "likely_lb": 6000, "high_lb": 6000, "share_low_pm": 500, "share_mid_pm": 500,
        "share_high_pm": 500, "wheelbase_in": 114, "front_overhang_in": 36,
        "rear_overhang_in": 38, "nose_first": 1,
    }  # fmt: skip
    law = {"single_lb": 20_000, "tandem_lb": 34_000, "gross_lb": 80_000, "bridge": 1,
           "recovery": 0}  # fmt: skip
    parts = {"truck": truck, "vehicle": car | {"height_in": 66}, "second": car, "legal": law}
    named = {
        f"{part}_{name}": value for part, each in parts.items() for name, value in each.items()
    }
    assert m.inputs == named | {"close_at_pct": 90}

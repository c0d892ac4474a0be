"""The margin at the ends of its range: just fitting, remedies, refusals."""

from dataclasses import fields, replace
from fractions import Fraction
from typing import Any

import pytest

import demo_data
from flows.cards.library import library_from
from flows.errors import OutOfRangeError
from flows.figures.border import margin_quantities, whole
from flows.figures.margin import Legal, Load, Piece, Truck, WheelLift, margin
from flows.figures.units import quantity
from tests.flows.balance import POUNDS, in_units

LIBRARY = library_from(demo_data.card_files())
WREN = LIBRARY.trucks["wren"].carrier()
HERON = LIBRARY.trucks["heron"].carrier()
LOOSE = Legal(single_lb=200_000, gross_lb=200_000, bridge=False)  # nothing but the ratings
CROSSOVER = Load(5000, 5000, 500, 500, 500, 114, 36, 38, nose_first=True)


def test_wheels_that_do_not_fit_the_deck_are_a_no_go() -> None:
    short = replace(HERON, deck_length_in=169)  # 36 + 114 in are needed, and 20 for tyre and strap
    m = margin(short, CROSSOVER)
    assert (m.verdict, m.governing, m.deck_short_in, m.best_in) == (
        "no-go",
        "deck length",
        1,
        None,
    )
    assert m.governing_margin_lb is None
    assert m.remedies == ("another_truck",)
    assert margin(replace(HERON, deck_length_in=170), CROSSOVER).best_in == 0


def test_a_limit_that_is_just_met_is_not_exceeded() -> None:
    """By hand: 12,800 lb empty and 5,000 lb make 17,800; 95 percent of 18,000 is 17,100."""
    truck = Truck(5300, 7500, 17_800, 20_000, 20_000, 200, 80, 300)
    assert margin(truck, CROSSOVER).verdict == "close"
    assert margin(truck, CROSSOVER, 100).verdict == "go"
    assert margin(replace(truck, gvwr_lb=17_799), CROSSOVER, 100).verdict == "no-go"


def test_remedies() -> None:
    """By hand on the light carrier: 88 + 36 + 57 = 181 in puts 4,548 of 5,000 lb on the rear."""
    assert margin(HERON, CROSSOVER).remedies == ()
    assert margin(WREN, CROSSOVER).remedies == ("position", "another_truck")
    vague = replace(CROSSOVER, likely_lb=4000, high_lb=5500)
    assert "weigh_it" in margin(WREN, vague).remedies
    assert "position" not in margin(WREN, vague).remedies
    # Nearly all of the weight over the far axle: the other way round it is over the near one.
    tail_heavy = Load(4200, 4200, 250, 250, 250, 114, 30, 30, nose_first=True)
    assert "nose_other_way" in margin(WREN, tail_heavy).remedies
    assert margin(WREN, replace(tail_heavy, nose_first=False)).verdict == "go"


def test_only_a_close_does_not_decide() -> None:
    answers = [
        margin(WREN, replace(CROSSOVER, likely_lb=w, high_lb=w)) for w in (4000, 5000, 6000)
    ]
    assert [m.verdict for m in answers] == ["go", "close", "no-go"]
    assert [m.may_decide for m in answers] == [True, False, True]


@pytest.mark.parametrize(
    ("field", "value", "allowed"),
    [
        ("high_lb", 0, "1 to 40000"),
        ("likely_lb", 5001, "1 to 5000"),
        ("share_low_pm", 501, "100 to 500"),
        ("share_high_pm", 499, "500 to 900"),
        ("wheelbase_in", 39, "40 to 300"),
        ("wheelbase_in", 114.0, "whole in"),
        ("rear_overhang_in", -1, "0 to 150"),
    ],
)
def test_a_load_out_of_range_cannot_exist(field: str, value: float, allowed: str) -> None:
    with pytest.raises(OutOfRangeError, match=allowed) as caught:
        replace(CROSSOVER, **{field: value})  # type: ignore[arg-type]
    assert f"{field} is {value}" in str(caught.value)


NUMBERS = [
    f.name
    for f in fields(Truck)
    if f.name not in {"aboard", "lift", "front_tyre_set", "rear_tyre_set"}
]


@pytest.mark.parametrize("field", NUMBERS)
def test_a_truck_out_of_range_cannot_exist(field: str) -> None:
    for value in (-1, 1_000_000, True):
        with pytest.raises(OutOfRangeError, match=f"truck {field} is {value}; allowed: whole "):
            replace(HERON, **{field: value})


@pytest.mark.parametrize(
    ("build", "words"),
    [
        (lambda: Piece("x", 10_001, 0), "piece weight_lb is 10001; allowed: whole lb, -10000 to"),
        (lambda: Piece("x", 1, 601), "piece at_in is 601; allowed: whole in, -150 to 600"),
        (lambda: WheelLift(59, 1), "wheel lift at_in is 59; allowed: whole in, 60 to 600"),
        (lambda: WheelLift(60, 0), "wheel lift rating_lb is 0; allowed: whole lb, 1 to"),
        (
            lambda: replace(HERON, rear_axles=2),
            "truck tandem_spacing_in is 0; allowed: whole in, 41 to 96",
        ),
        (lambda: replace(HERON, tandem_spacing_in=50), "allowed: whole in, 0 to 0"),
        (
            lambda: replace(HERON, aboard=(Piece("engine", -9300, 0),)),
            "truck aboard is engine -9300 lb; allowed: pieces that leave weight on both axles",
        ),
        (
            lambda: margin(replace(HERON, lift=None), CROSSOVER, lifted=CROSSOVER),
            "second vehicle is on the wheel lift; allowed: a truck with a wheel lift",
        ),
    ],
)
def test_impossible_pieces_aboard_are_refused(build: Any, words: str) -> None:
    with pytest.raises(OutOfRangeError, match=words):
        build()


@pytest.mark.parametrize("pct", [49, 101])
def test_close_at_out_of_range(pct: int) -> None:
    with pytest.raises(OutOfRangeError, match="50 to 100"):
        margin(HERON, CROSSOVER, pct)


def test_quantities_of_the_wrong_kind_are_refused() -> None:
    with pytest.raises(OutOfRangeError, match="allowed: empty_front, empty_rear, gvwr"):
        margin_quantities({}, {})
    truck = quantities_of(HERON)
    with pytest.raises(OutOfRangeError, match="allowed: empty_front, empty_rear, gvwr"):
        margin_quantities(truck | {"axles": 2}, quantities_of(CROSSOVER))
    with pytest.raises(OutOfRangeError, match="converts to pound"):
        margin_quantities(truck | {"gvwr": quantity(1, "pound_force")}, quantities_of(CROSSOVER))


def quantities_of(thing: Truck | Load) -> dict[str, Any]:
    return in_units(thing, POUNDS)


@pytest.mark.parametrize(
    ("field", "half_a_pound"),
    [
        ("gvwr", Fraction(-1, 2)),
        ("empty_front", Fraction(1, 2)),
        ("empty_rear", Fraction(1, 2)),
        ("high", Fraction(1, 2)),
    ],
)
def test_half_a_pound_over_is_over(field: str, half_a_pound: Fraction) -> None:
    """By hand: 5,300 + 7,500 + 5,000 = 17,800 lb is the gross rating exactly."""
    truck = quantities_of(Truck(5300, 7500, 17_800, 20_000, 20_000, 200, 80, 300))
    load = quantities_of(CROSSOVER)
    assert margin_quantities(truck, load, close_at_pct=100).verdict == "go"
    changed = truck if field in truck else load
    changed[field] = quantity(changed[field].magnitude + half_a_pound, "pound")
    assert margin_quantities(truck, load, close_at_pct=100).verdict != "go"


def test_ranges_are_rounded_outward() -> None:
    load = quantities_of(CROSSOVER) | {
        "likely": quantity(Fraction("4999.6"), "pound"),
        "share_low": quantity(Fraction("48.69"), "percent"),
        "share_high": quantity(Fraction("51.21"), "percent"),
    }
    m = margin_quantities(quantities_of(HERON), load)
    assert (m.load.likely_lb, m.load.share_low_pm, m.load.share_high_pm) == (4999, 486, 513)


@pytest.mark.parametrize("field", ["wheelbase", "headboard"])
def test_a_length_between_two_inches_is_refused(field: str) -> None:
    truck = quantities_of(HERON)
    truck[field] = quantity(Fraction(2001, 10), "inch")
    with pytest.raises(OutOfRangeError, match="a whole number of inch"):
        margin_quantities(truck, quantities_of(CROSSOVER))


def test_a_go_needs_a_whole_inch_to_measure() -> None:
    """By hand: x = 173 + p. Rear 8,000 + 25 x <= 12,342 gives p <= 0.68; front
    5,000 + 5,000 - 25 x <= 5,665 gives p >= 0.4: possible, but at no whole inch.
    """
    truck = Truck(5000, 8000, 30_000, 5665, 12_342, 200, 80, 300)
    m = margin(truck, CROSSOVER, 100)
    assert (m.verdict, m.position_lo_in, m.position_hi_in) == ("close", None, None)
    assert margin(replace(truck, gawr_rear_lb=12_350), CROSSOVER, 100).position_hi_in == 1


def test_front_wheels_stay_on_the_ground() -> None:
    """By hand: x = 173 + p. Front 1,000 + 5,000 - 25 x >= 0 gives p <= 67; at the trade's half
    of 1,000 lb on the front axle p <= 47; 95 percent of what may come off, 475 lb, gives 46."""
    truck = Truck(1000, 8000, 60_000, 60_000, 60_000, 200, 80, 330, front_kept_pct=0)
    assert margin(truck, CROSSOVER, 100, legal=LOOSE).position_hi_in == 67
    half = replace(truck, front_kept_pct=50)
    assert margin(half, CROSSOVER, 100, legal=LOOSE).position_hi_in == 47
    assert margin(half, CROSSOVER, legal=LOOSE).position_hi_in == 46


def test_the_limit_that_is_used_most_governs_not_the_one_with_fewest_pounds_left() -> None:
    """By hand: 3,520 lb at x = 88 + 37 + 43.5 = 168.5 in: front 5,939.5 of 7,500 is 79 percent,
    gross 17,820 of 19,500 is 91 percent, though more pounds are left of it."""
    m = margin(WREN, Load(3520, 3520, 608, 608, 608, 111, 37, 43, nose_first=True))
    assert m.governing == "gross weight"
    assert min(m.limits, key=lambda limit: limit.margin_lb).name == "front axle"


def test_of_two_lengths_that_are_missed_the_worse_one_governs() -> None:
    """By hand: deck 169 in for 170; height 40 + 66 = 106 in of 100."""
    truck = replace(HERON, deck_length_in=169, height_in=None, deck_height_in=40)
    m = margin(truck, replace(CROSSOVER, height_in=66), legal=Legal(height_in=100))
    assert (m.governing, m.governing_margin_in, m.deck_short_in) == ("overall height", -6, 1)
    assert [one.margin_in for one in m.lengths] == [-1, -6]


def test_the_order_of_what_is_aboard_does_not_matter() -> None:
    pieces = (Piece("blocks", 301, 33), Piece("dollies", 523, 177), Piece("tank", -211, 90))
    one, other = replace(WREN, aboard=pieces), replace(WREN, aboard=pieces[::-1])
    assert margin(one, CROSSOVER).limits == margin(other, CROSSOVER).limits


# Half a unit more than a whole number: a limit falls, what loads or lengthens grows.
HALVES = {
    "empty_front": (Fraction("5000.5"), "pound", 5001),
    "empty_rear": (Fraction("8000.5"), "pound", 8001),
    "gvwr": (Fraction("30000.5"), "pound", 30_000),
    "gawr_front": (Fraction("9000.5"), "pound", 9000),
    "gawr_rear": (Fraction("20000.5"), "pound", 20_000),
    "front_tyres": (Fraction("9000.5"), "pound", 9000),
    "rear_tyres": (Fraction("20000.5"), "pound", 20_000),
    "gcwr": (Fraction("40000.5"), "pound", 40_000),
    "front_scaled": (Fraction("5000.5"), "pound", 5000),
    "deck_length": (Fraction("240.5"), "inch", 240),
    "deck_height": (Fraction("40.5"), "inch", 41),
    "height": (Fraction("110.5"), "inch", 111),
    "wheel_room": (Fraction("20.5"), "inch", 21),
    "front_end": (Fraction("30.5"), "inch", 31),
    "rear_end": (Fraction("330.5"), "inch", 331),
}


@pytest.mark.parametrize("field", HALVES)
def test_each_number_of_a_truck_is_rounded_to_the_cautious_side(field: str) -> None:
    value, unit, rounded = HALVES[field]
    heron = replace(HERON, front_tyre_set=None, rear_tyre_set=None)
    truck = whole(Truck, quantities_of(heron) | {field: quantity(value, unit)})
    suffix = "lb" if unit == "pound" else "in"
    assert getattr(truck, f"{field}_{suffix}") == rounded


def test_a_lift_and_a_height_are_rounded_to_the_cautious_side() -> None:
    lift = {
        "at": quantity(300, "inch"),
        "rating": quantity(Fraction("4000.5"), "pound"),
        "tow": quantity(Fraction("7500.5"), "pound"),
    }
    truck = whole(Truck, quantities_of(HERON) | {"lift": lift})
    assert truck.lift == WheelLift(300, 4000, 7500)
    tall = quantities_of(CROSSOVER) | {"height": quantity(Fraction("66.5"), "inch")}
    assert whole(Load, tall).height_in == 67


def test_half_a_pound_of_gear_is_refused() -> None:
    """It loads one axle and lightens the other: it has no cautious side."""
    gear = {"name": "x", "weight": quantity(Fraction(1, 2), "pound"), "at": quantity(1, "inch")}
    with pytest.raises(OutOfRangeError, match="a whole number of pound"):
        whole(Truck, quantities_of(HERON) | {"aboard": (gear,)})

"""Both ends of every range of a figure, and the sentence that refuses a value beyond.

Each range is the one that the figure's own page names; the last number inside is taken, the next
one is refused. In order: what makes it, its name, the unit, the lowest and the highest.
"""

import datetime as dt
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from flows.errors import OutOfRangeError
from flows.figures.deck import Load, Piece, Truck, WheelLift
from flows.figures.dollies import Dollies, DollyTyres
from flows.figures.known_weights import from_stated
from flows.figures.legal import FEDERAL, bridge_limit
from flows.figures.lifting import Arm, Lifter
from flows.figures.limits import Asked
from flows.figures.loading import Ramp, loading, slide_in
from flows.figures.margin import decide, margin
from flows.figures.pull import TRADE, grade_exact, grade_rule, pull
from flows.figures.rigging import bend_pct, block_factor, leg_factor, rigging, sling_factor
from flows.figures.statics import lift_capacity
from flows.figures.tiedowns import (
    Geometry,
    Tiedown,
    default_limit,
    number_required,
    tiedowns,
    vehicle_number,
)
from flows.figures.volts import charge, correction_mv
from flows.figures.warning import devices, storage, taper
from flows.figures.weight import planning
from flows.figures.winch import ARMY, Winch, lead_line_factor, tackle_advantage, winch
from flows.figures.window import window

TODAY = dt.date(2026, 3, 1)
TRUCK = Truck(9200, 11_600, 33_000, 13_000, 21_000, 254, 86, 300)
TANDEM = replace(TRUCK, rear_axles=2, tandem_spacing_in=52)
DECK = replace(TRUCK, deck_height_in=38)
CAR = Load(5000, 5000, 520, 550, 600, 114, 36, 38, nose_first=True)
WRECKER = Lifter(8600, 11_700, 22_000, 33_000, 190, 84, 9000, 20_000)
WINCH = Winch((8000,), 202, 576, 24, 75)
LONG = Winch((100_000,), 3200, 3200, 24, 500)
STRAPS = [Tiedown("strap", (3333,))] * 4
FLAT = Geometry(0, 0)
E = Fraction("0.9")

Make = Callable[[int], object]
Range = tuple[Make, str, str, int, int]


def field(thing: Any, name: str) -> Make:
    return lambda value: replace(thing, **{name: value})


def fields_of(thing: Any, prefix: str, ranges: dict[str, tuple[int, int]]) -> list[Range]:
    """Ranges of a dataclass; the unit ends the field's name."""
    return [
        (field(thing, name), f"{prefix} {name}", name.rsplit("_", 1)[1], low, high)
        for name, (low, high) in ranges.items()
    ]


RANGES: list[Range] = [
    *fields_of(TRUCK, "truck", {
        "gvwr_lb": (1, 80_000), "gawr_front_lb": (1, 80_000), "gawr_rear_lb": (1, 80_000),
        "empty_front_lb": (100, 60_000), "empty_rear_lb": (100, 60_000),
        "wheelbase_in": (60, 400), "headboard_in": (0, 400), "deck_length_in": (1, 480),
        "front_tyres_lb": (1, 120_000), "rear_tyres_lb": (1, 120_000), "gcwr_lb": (1, 200_000),
        "deck_height_in": (10, 80), "height_in": (36, 200), "wheel_room_in": (0, 60),
        "front_end_in": (0, 100), "rear_end_in": (60, 700), "front_kept_pct": (0, 90),
        "front_scaled_lb": (100, 60_000),
    }),
    (lambda n: replace(TANDEM, rear_axles=n) if n != 1 else TRUCK, "truck rear_axles", "axles",
     1, 2),
    *fields_of(TANDEM, "truck", {"tandem_spacing_in": (41, 96)}),
    *fields_of(Piece("x", 1, 1), "piece", {"weight_lb": (-10_000, 10_000), "at_in": (-150, 600)}),
    *fields_of(WheelLift(90, 5000), "wheel lift", {
        "at_in": (60, 600), "rating_lb": (1, 60_000), "tow_lb": (1, 200_000),
    }),
    *fields_of(CAR, "vehicle", {
        "likely_lb": (1, 5000), "wheelbase_in": (40, 300), "front_overhang_in": (0, 150),
        "rear_overhang_in": (0, 150), "height_in": (20, 200),
    }),
    (lambda lb: replace(CAR, likely_lb=1, high_lb=lb), "vehicle high_lb", "lb", 1, 40_000),
    (field(CAR, "share_low_pm"), "vehicle share_low_pm", "per mille", 100, 550),
    (field(CAR, "share_high_pm"), "vehicle share_high_pm", "per mille", 550, 900),
    (lambda pm: replace(CAR, share_low_pm=100, share_mid_pm=pm, share_high_pm=900),
     "vehicle share_mid_pm", "per mille", 100, 900),
    *fields_of(FEDERAL, "legal", {
        "single_lb": (10_000, 200_000), "tandem_lb": (10_000, 200_000),
        "gross_lb": (10_000, 200_000), "height_in": (60, 240), "length_in": (200, 1500),
    }),
    (lambda n: bridge_limit(n, 1200), "axles of a group", "axles", 2, 9),
    # Up to three axles from 24 in on; four and more, 4 feet from one to the next.
    (lambda at: bridge_limit(3, at), "length of a group of axles", "in", 24, 1200),
    (lambda at: bridge_limit(4, at), "length of a group of axles", "in", 144, 1200),
    (lambda pct: margin(TRUCK, CAR, pct), "close_at_pct", "percent", 50, 100),
    (lambda at: decide(Asked(TRUCK, CAR, None, FEDERAL, at), 95), "place behind the headboard",
     "in", 0, 300),
    (lambda lb: planning("suv_compact", None, None).adding(contents_lb=lb), "contents", "lb",
     0, 10_000),
    (lambda lb: planning("suv_compact", None, None).adding(bed_lb=lb), "bed load", "lb",
     0, 10_000),
    *fields_of(WRECKER, "wrecker", {
        "front_lb": (1000, 60_000), "rear_lb": (1000, 60_000), "gawr_rear_lb": (2000, 80_000),
        "gvwr_lb": (2000, 80_000), "wheelbase_in": (60, 400), "reach_in": (20, 300),
        "rating_lb": (500, 60_000), "tow_lb": (1000, 200_000),
    }),
    *fields_of(Arm(60, 9000), "arm", {"reach_in": (20, 300), "rating_lb": (500, 60_000)}),
    (Dollies, "dolly rating", "lb", 0, 30_000),
    (lambda mph: Dollies(1, None, mph), "dolly speed", "mph", 5, 75),
    *fields_of(DollyTyres(4, 1250, 340), "dolly tyres", {
        "each_lb": (200, 8000), "own_lb": (20, 3000),
    }),
    (lambda n: DollyTyres(n, 1250, 340), "dolly tyres count", "tyres", 2, 8),
    (lambda pct: lift_capacity(Fraction(9), Fraction(9), Fraction(9), pct),
     "front axle share kept", "percent", 0, 100),
    (Ramp, "deck tilt", "percent", 5, 60),
    (lambda lb: Ramp(30, lb), "what slides with the deck", "lb", 0, 20_000),
    (lambda at: slide_in(at, 30), "deck height", "in", 10, 80),
    (lambda pct: slide_in(38, pct), "deck tilt", "percent", 5, 60),
    (lambda at: loading(DECK, Ramp(30), CAR, at), "place behind the headboard", "in", 0, 300),
    (grade_exact, "grade", "percent", 0, 100),
    (grade_rule, "grade", "percent", 0, 100),
    (lambda lb: pull(lb, "hard", TRADE), "weight", "lb", 400, 100_000),
    (block_factor, "angle between the lines", "degrees", 0, 180),
    (leg_factor, "angle between the legs", "degrees", 0, 150),
    (sling_factor, "angle from the horizontal", "degrees", 15, 90),
    (lambda lb: rigging(lb, 0, 0, []), "line pull", "lb", 1, 100_000),
    (lambda lb: rigging(1, 0, 0, [("leg", "hook", lb)]), "working load limit of hook", "lb",
     1, 500_000),
    (lambda lb: Tiedown("strap", (5000, lb)), "working load limit of strap", "lb", 1, 100_000),
    (lambda at: number_required(at, 1), "length", "in", 1, 1200),
    (lambda lb: number_required(1, lb), "weight", "lb", 1, 100_000),
    (vehicle_number, "weight", "lb", 1, 100_000),
    (lambda deg: Geometry(deg, 0), "strap up_deg", "degrees", 0, 80),
    (lambda deg: Geometry(0, deg), "strap aside_deg", "degrees", 0, 80),
    (lambda lb: tiedowns(lb, STRAPS, FLAT, TODAY), "weight", "lb", 400, 10_000),
    *fields_of(WINCH, "winch", {
        "drum_64in": (64, 3200), "width_64in": (64, 3200), "rope_64in": (8, 80),
    }),
    (field(WINCH, "rope_length_ft"), "winch rope_length_ft", "ft", 20, 500),
    (lambda lb: replace(WINCH, layers_lb=(8000, lb)), "winch layer", "lb", 1000, 100_000),
    (WINCH.pull_lb, "layer", "layers", 1, 20),
    # 75 ft less five turns of 3.1415 x 226 / 768 ft are 70.4.
    (WINCH.layer_at, "line out", "ft", 0, 70),
    (lambda n: lead_line_factor(n, Fraction(2)), "parts of line", "parts", 1, 20),
    (lambda n: tackle_advantage(n, E), "parts of line", "parts", 1, 20),
    # 500 ft less five turns of 3.1415 x 3,224 / 768 ft are 434: one part reaches no further.
    (lambda lb: winch(LONG, lb, 50, 1, ARMY), "pull", "lb", 1, 200_000),
    (lambda ft: winch(LONG, 1, 50, ft, ARMY), "pull distance", "ft", 1, 50),
    (lambda n: window(LONG, n, (50, 1), 9, 9), "parts of line", "parts", 1, 6),
    (lambda ft: window(LONG, 1, (50, ft), 9, 9), "pull distance", "ft", 1, 50),
    (lambda ft: window(LONG, 1, (50, 1), ft, 9), "line speed", "ft a minute", 1, 100),
    (lambda minutes: window(LONG, 1, (50, 1), 9, minutes), "neutral hold", "minutes", 1, 240),
    (lambda mph: taper(mph, 12), "speed", "mph", 15, 80),
    (lambda ft: taper(45, ft), "width", "ft", 4, 24),
    (storage, "nearest structure or vehicle", "ft", 0, 10_000),
    (correction_mv, "temperature", "F", -40, 140),
    (lambda mv: charge(mv, 80, "lead-acid"), "voltage at rest", "mV", 0, 16_000),
]  # fmt: skip


@pytest.mark.parametrize(
    ("make", "what", "unit", "low", "high"),
    RANGES,
    ids=[f"{number}-{one[1]}" for number, one in enumerate(RANGES)],
)
def test_both_ends_are_taken_and_nothing_beyond(
    make: Make, what: str, unit: str, low: int, high: int
) -> None:
    for outside in (low - 1, high + 1):
        with pytest.raises(OutOfRangeError) as refused:
            make(outside)
        said = f"{what} is {outside}; allowed: whole {unit}, {low} to {high}."
        assert str(refused.value).startswith(said)
    make(low)
    make(high)


MODELS = (
    "US Army, wire rope manual, plain bearings, wire rope manual, roller bearings, "
    "pipeline handbook, plain bearings"
)
TABLES = "rigging supplier sheet, Commonwealth rule, trade rule, US Army, from memory"
REACH = "allowed: whole ft, 1 to 500"
WORDS: list[tuple[Callable[[], object], str]] = [
    (lambda: pull(400, "hard", "mine"), f"table is mine; allowed: {TABLES}"),
    (lambda: pull(400, "ice", TRADE), "surface is ice; allowed: hard, grass, gravel"),
    (lambda: pull(400, "hard", TRADE, locked="all"),
     "locked wheels is all; allowed: none, half, most"),
    (lambda: bend_pct("knot", Fraction(2)), "bend is knot; allowed: sling, sheave"),
    (lambda: bend_pct("sling", E), "bend over rope is 9/10; allowed: 1 or more"),
    (lambda: rigging(1, 0, 0, [("pin", "pin", 1)]),
     "piece of rigging is pin; allowed: line, block, leg, point"),
    (lambda: Tiedown("strap", (1,), "round"),
     "way of the tie-down is round; allowed: direct, same side, other side"),
    (lambda: default_limit("rope", 16), "tie-down is rope; allowed: chain, webbing or wire rope"),
    (lambda: default_limit("chain", 16, 75), "chain grade is 75; allowed: 30, 43, 70, 80, 100"),
    (lambda: default_limit("chain", 28, 80),
     "chain size is 28; allowed: 16, 20, 24, 32, 40 of 64 in"),
    (lambda: default_limit("webbing", 1),
     "webbing size is 1; allowed: 112, 128, 192, 256 of 64 in"),
    (lambda: tiedowns(5000, STRAPS[:3], FLAT, TODAY),
     "wheel straps is 3; allowed: 4, one at each wheel"),
    (lambda: winch(LONG, 1, 9, 9, "mine"), f"sheave model is mine; allowed: {MODELS}"),
    (lambda: winch(Winch((1000,), 3200, 3200, 24, 500), 200_000, 9, 9, ARMY),
     "pull is 200000; allowed: what 6 parts of line pull"),
    (lambda: lead_line_factor(1, Fraction(1)), "sheave factor is 1; allowed: more than 1"),
    (lambda: tackle_advantage(1, Fraction(1)),
     "sheave efficiency is 1; allowed: between 0 and 1"),
    (lambda: tackle_advantage(1, Fraction(0)),
     "sheave efficiency is 0; allowed: between 0 and 1"),
    (lambda: Winch((), 202, 576, 24, 75),
     "winch layer is 0; allowed: whole lb, 1000 to 100000"),
    (lambda: Tiedown("strap", ()),
     "working load limit of strap is 0; allowed: whole lb, 1 to 100000"),
    # No rope is long enough for the furthest reach: only what is beyond it is refused by name.
    (lambda: winch(LONG, 1, 0, 1, ARMY), f"reach is 0; {REACH}"),
    (lambda: winch(LONG, 1, 501, 1, ARMY), f"reach is 501; {REACH}"),
    (lambda: winch(LONG, 1, 500, 1, ARMY), "line out is 500; allowed: whole ft, 0 to 434"),
    (lambda: window(LONG, 1, (0, 1), 9, 9), f"reach is 0; {REACH}"),
    (lambda: window(LONG, 1, (501, 1), 9, 9), f"reach is 501; {REACH}"),
    (lambda: window(LONG, 1, (500, 1), 9, 9), "line out is 500; allowed: whole ft, 0 to 434"),
    (lambda: devices("lane"), "road is lane; allowed: two-way, divided"),
    (lambda: taper(41, 12), "speed is 41; allowed: up to 40 mph, or 45 mph and more"),
    (lambda: taper(44, 12), "speed is 44; allowed: up to 40 mph, or 45 mph and more"),
    (lambda: charge(12_000, 80, "lithium"), "kind of the 12 volt battery is lithium; allowed: "
     "lead-acid"),
    (lambda: replace(WRECKER, retracted=Arm(84, 9000)),
     "retracted.reach_in is 84; allowed: less than 84 inches, the reach extended"),
    (lambda: replace(WRECKER, retracted=Arm(83, 8999)),
     "retracted.rating_lb is 8999; allowed: at least 9000 pounds, the rating extended"),
    (lambda: lift_capacity(E, E, Fraction(0), 50), "overhang is 0; allowed: more than 0"),
    (lambda: from_stated(4000, "steam"),  # type: ignore[arg-type]
     "powertrain is steam; allowed: electric, hybrid, combustion"),
    (lambda: planning("suv_compact", None, "six"),  # type: ignore[arg-type]
     "drive is six; allowed: front, rear, all"),
]  # fmt: skip


@pytest.mark.parametrize(("make", "said"), WORDS, ids=[said.split(";")[0] for _, said in WORDS])
def test_allowed_words_are_listed(make: Callable[[], object], said: str) -> None:
    with pytest.raises(OutOfRangeError) as refused:
        make()
    assert str(refused.value).startswith(f"{said}. ")


def test_the_nearest_reach_is_taken() -> None:
    assert winch(LONG, 1, 1, 1, ARMY).amount("rope") == 1
    assert window(LONG, 1, (1, 1), 9, 9).amount("minutes") == 1

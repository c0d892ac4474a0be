"""Two-axle statics against published examples.

The expected values are rows of ``data/statics.csv``; each row names its source, and its confidence
says whether the answer was read or computed from inputs that were read.
"""

import csv
import re
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, strategies as st

from flows.errors import OutOfRangeError
from flows.figures.legal import Legal
from flows.figures.margin import Load, Truck, WheelLift, margin
from flows.figures.statics import lift_capacity, reactions, split
from flows.figures.units import exact, quantity

DATA = Path(__file__).parent / "data"
ROWS = list(csv.DictReader((DATA / "statics.csv").read_text("utf-8").splitlines()))
KEPT = list(csv.DictReader((DATA / "front_axle_rule.csv").read_text("utf-8").splitlines()))

WREN = (5500, 8900, 19500, 7500, 13500, 199, 88, 234)
ALL = Legal(single_lb=200_000, gross_lb=200_000, bridge=False)  # nothing but the ratings


# In the order of the rows: load, distance behind the front axle, wheelbase, wheels that
# share an axle, half the last printed digit of the answer.
INPUTS = [
    (("5000", "lb"), ("179.8", "in"), ("208", "in"), 1, "0.5"),
    (("5000", "lb"), ("179.8", "in"), ("208", "in"), 1, "0.5"),
    (("100", "lb"), ("133", "in"), ("214", "in"), 1, "0.005"),
    (("100", "lb"), ("133", "in"), ("214", "in"), 1, "0.005"),
    ((961 * Fraction("9.81"), "N"), ("0.615", "m"), ("3.27", "m"), 2, "5"),
    ((961 * Fraction("9.81"), "N"), ("0.615", "m"), ("3.27", "m"), 2, "0.5"),
    ((1800 * Fraction("9.8"), "N"), ("1.05", "m"), ("1.8", "m"), 2, "0.5"),
    ((1800 * Fraction("9.8"), "N"), ("1.05", "m"), ("1.8", "m"), 2, "0.5"),
    (("30", "kN"), ("500", "mm"), ("2800", "mm"), 1, "0.0005"),
    (("30", "kN"), ("1000", "mm"), ("2800", "mm"), 1, "0.0005"),
    (("30", "kN"), ("1500", "mm"), ("2800", "mm"), 1, "0.0005"),
    (("30", "kN"), ("2000", "mm"), ("2800", "mm"), 1, "0.0005"),
    ((9155 * Fraction("9.8"), "N"), ("2.30", "m"), ("2.93", "m"), 1, "0.5"),
    ((9155 * Fraction("9.8"), "N"), ("2.30", "m"), ("2.93", "m"), 1, "0.5"),
    ((1310 * Fraction("9.81"), "N"), ("1.78", "m"), ("3.10", "m"), 2, "0.05"),
    ((1310 * Fraction("9.81"), "N"), ("1.78", "m"), ("3.10", "m"), 2, "0.05"),
]


def test_every_row_is_used() -> None:
    assert len(ROWS) == len(INPUTS) == 16


@pytest.mark.parametrize(
    ("row", "inputs"),
    list(zip(ROWS, INPUTS, strict=True)),
    ids=[f"{n}-{row['source']}-{row['quantity']}" for n, row in enumerate(ROWS)],
)
def test_published_example(row: dict[str, str], inputs: tuple[Any, ...]) -> None:
    load, at, base, wheels, tolerance = inputs
    on = reactions(*(quantity(Fraction(value), unit) for value, unit in (load, at, base)))
    sides = {"front": [on.front], "rear": [on.rear]}.get(
        axle(row["quantity"]), [on.front, on.rear]
    )
    for side, printed in zip(sides, row["expected"].split(" / "), strict=True):
        assert abs(exact(side, row["unit"]) / wheels - Fraction(printed)) <= Fraction(tolerance), (
            row["source"]
        )


def axle(name: str) -> str:
    """Which axle a row asks for; the coursework rows ask for both."""
    return "both" if "/" in name else next(word for word in ("front", "rear") if word in name)


# Source: statics, reference table section 2.3: behind the rear axle the front change is
# -W (x - WB) / WB.
def test_load_behind_the_rear_axle_lightens_the_front() -> None:
    front, rear = split(Fraction(1000), Fraction(250), Fraction(200))
    assert (front, rear) == (Fraction(-250), Fraction(1250))


# The front axle rule. Input numbers in the order front axle, wheelbase, overhang; the tolerance is
# half the last printed digit. Half is common practice ("trade standard"): not seen in any law.


def test_every_front_axle_row_is_used() -> None:
    assert [row["expected"] for row in KEPT] == ["11905", "5823.5", "7250", "0.5"]
    assert float(KEPT[-1]["expected"]) * 100 == Truck(*WREN).front_kept_pct


@pytest.mark.parametrize("row", KEPT[:2], ids=lambda row: row["source"])
def test_most_that_may_be_lifted(row: dict[str, str]) -> None:
    """The blog's page prints 5,284: its own formula gives 5,823.5 (reference page, trap 5)."""
    front, base, overhang = map(Fraction, re.findall(r"=(\d+)", row["inputs"]))
    lift = lift_capacity(front, base, overhang, 50)
    assert abs(lift - Fraction(row["expected"])) <= Fraction("0.5")


def test_weight_left_on_the_front_axle() -> None:
    """Row "moment balance": 14,500 - 11,905.26 x 190 / 312 = 7,250."""
    row = KEPT[2]
    front, lift, base, overhang = map(Fraction, re.findall(r"=([\d.]+)", row["inputs"]))
    left = front + split(lift, base + overhang, base)[0]
    assert abs(left - Fraction(row["expected"])) <= Fraction("0.01")


def test_the_margin_applies_the_same_rule() -> None:
    """The trade article's truck with 11,905 lb on the lift, and with ten more: 7,250 lb may come
    off. What is on the deck weighs a pound."""
    truck = replace(
        Truck(14_500, 20_000, 80_000, 20_000, 60_000, 312, 90, 300, front_scaled_lb=14_500),
        lift=WheelLift(312 + 190, 20_000),
    )
    nothing = Load(1, 1, 500, 500, 500, 100, 50, 50, nose_first=True)
    held = replace(nothing, likely_lb=23_810, high_lb=23_810)  # half of it is lifted
    [kept] = [
        limit
        for limit in margin(truck, nothing, 100, lifted=held, legal=ALL).limits
        if limit.name == "front axle share kept"
    ]
    assert kept.limit_lb == 7250
    assert kept.load_lb == 7250
    assert margin(truck, nothing, 100, lifted=held, legal=ALL).verdict == "go"
    more = replace(held, likely_lb=23_830, high_lb=23_830)
    assert margin(truck, nothing, 100, lifted=more, legal=ALL).verdict == "no-go"


def test_a_share_out_of_range_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match="overhang is 0; allowed: more than 0"):
        lift_capacity(Fraction(1), Fraction(1), Fraction(0), 50)
    with pytest.raises(OutOfRangeError, match="share kept is 101; allowed: whole percent, 0 to"):
        lift_capacity(Fraction(1), Fraction(1), Fraction(1), 101)


lengths = st.fractions(min_value=60, max_value=300, max_denominator=64)
weights = st.fractions(min_value=0, max_value=20_000, max_denominator=10)


@given(weights, st.fractions(min_value=-60, max_value=600, max_denominator=64), lengths)
def test_reactions_carry_the_load_and_no_moment(
    load: Fraction, at: Fraction, base: Fraction
) -> None:
    front, rear = split(load, at, base)
    assert front + rear == load
    about_the_load = front * at - rear * (base - at)
    assert about_the_load == 0


@given(weights, st.fractions(0, 300), st.fractions(0, 100), lengths)
def test_moving_back_never_lightens_the_rear(
    load: Fraction, at: Fraction, further: Fraction, base: Fraction
) -> None:
    assert split(load, at + further, base)[1] >= split(load, at, base)[1]


@pytest.mark.parametrize(
    ("load", "at", "base", "words"),
    [
        (("5", "ft"), ("1", "in"), ("200", "in"), "a mass or a force"),
        (("-1", "lb"), ("1", "in"), ("200", "in"), "0 or more"),
        (("1", "lb"), ("1", "lb"), ("200", "in"), "converts to inch"),
        (("1", "lb"), ("1", "in"), ("0", "in"), "1 to 50 feet"),
        (("1", "lb"), ("401", "in"), ("200", "in"), "two behind it"),
        (("1", "lb"), ("-201", "in"), ("200", "in"), "ahead of the front axle"),
    ],
)
def test_out_of_range_says_what_is_allowed(
    load: tuple[Any, ...], at: tuple[Any, ...], base: tuple[Any, ...], words: str
) -> None:
    with pytest.raises(OutOfRangeError, match=words):
        reactions(*(quantity(Fraction(value), unit) for value, unit in (load, at, base)))


def test_a_pound_of_mass_is_not_a_pound_of_force() -> None:
    on = reactions(quantity(100, "lbf"), quantity(50, "in"), quantity(100, "in"))
    assert exact(on.front, "lbf") == 50
    with pytest.raises(OutOfRangeError, match="converts to pound"):
        exact(on.front, "pound")

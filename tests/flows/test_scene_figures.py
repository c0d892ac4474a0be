"""Battery, distances and the window against published values; `data/scene.csv` has the rows."""

import csv
import re
from collections.abc import Callable
from fractions import Fraction
from math import pi
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, strategies as st

from flows.errors import OutOfRangeError
from flows.figures.result import Result
from flows.figures.volts import charge, correction_mv
from flows.figures.warning import (
    PACES_IN_FT,
    PLACE_WITHIN_MIN,
    STORAGE_FT,
    devices,
    storage,
    taper,
)
from flows.figures.winch import Winch
from flows.figures.window import window

Row = dict[str, str]
TABLE = Path(__file__).parent / "data" / "scene.csv"
ROWS = list(csv.DictReader(TABLE.read_text("utf-8").splitlines()))
NUMBER = re.compile(r"-?[\d.]+")


def numbers(text: str) -> list[float]:
    return [float(one) for one in NUMBER.findall(text)]


def values(result: Result) -> list[float]:
    return [float(one.value) for one in result.amounts]


def at_rest(row: Row) -> list[float]:
    return values(charge(round(1000 * numbers(row["inputs"])[0]), 80, "lead-acid"))


def placed(row: Row) -> list[float]:
    return values(devices("two-way" if row["inputs"].startswith("two") else "divided"))


def tapered(row: Row) -> list[float]:
    speed, width = numbers(row["inputs"])
    return values(taper(int(speed), int(width)))


CHECKS: list[tuple[str, str, Callable[[Row], list[float]]]] = [
    ("state of charge at rest", "", at_rest),
    ("voltmeter temperature", "",
     lambda row: [float(correction_mv(int(numbers(row["inputs"])[0]))) / 1000]),
    ("placement", "two-way", placed),
    ("placement", "divided", placed),
    ("time limit to place", "", lambda _: [PLACE_WITHIN_MIN]),
    ("merging / shifting", "", tapered),
    ("storage separation from", "", lambda _: [STORAGE_FT]),
    ("storage separation metric", "", lambda _: [STORAGE_FT * 0.3048]),
]  # fmt: skip


FULL_READS = {30: 12_530, 80: 12_650, 100: 12_698}
"""What a full battery reads [mV] at a temperature [F]: the maker's own worked examples beside its
tables 6 and 7, read."""


@pytest.mark.parametrize("temperature_f", FULL_READS)
def test_the_sign_of_the_temperature_is_the_one_of_the_sources_examples(
    temperature_f: int,
) -> None:
    reads = FULL_READS[temperature_f]
    assert charge(reads, temperature_f, "lead-acid").amount("percent") == 100
    assert charge(reads - 3, temperature_f, "lead-acid").amount("percent") < 100
    assert reads - correction_mv(temperature_f) == FULL_READS[80]


UNUSED = {
    ("placement", "within"): "a span on the spot, told in words",
    ("paces", ""): "below, by hand",
    ("triangles carried", ""): "gear, no distance",
    ("or fusees", ""): "gear, no distance",
    ("downstream taper", ""): "one length, no figure asks for it",
    ("incident class", ""): "a word for how long it takes, no distance",
}


def is_of(row: Row, quantity: str, inputs: str) -> bool:
    return row["quantity"].startswith(quantity) and row["inputs"].startswith(inputs)


def check_of(row: Row) -> Callable[[Row], list[float]] | None:
    return next((one for *of, one in CHECKS if is_of(row, *of)), None)


def test_every_row_is_used_or_has_a_reason() -> None:
    assert len(ROWS) == 34
    for row in ROWS:
        reasons = [of for of in UNUSED if is_of(row, *of)]
        assert (check_of(row) is None) == bool(reasons), row
    for of in (*UNUSED, *((quantity, inputs) for quantity, inputs, _ in CHECKS)):
        assert any(is_of(row, *of) for row in ROWS), of


@pytest.mark.parametrize(
    "row",
    [row for row in ROWS if check_of(row)],
    ids=lambda row: f"{row['quantity'][:30]}-{row['inputs'][:24]}-{row['confidence']}",
)
def test_published(row: Row) -> None:
    check = check_of(row)
    assert check is not None
    ours = check(row)
    assert ours == pytest.approx(numbers(row["expected"])[: len(ours)], abs=1e-9), row["source"]


def test_paces() -> None:
    """49 CFR 392.22(b) summary: four paces are 10 ft, forty 100 ft."""
    assert (10 * PACES_IN_FT, 100 * PACES_IN_FT) == (4, 40)


@given(st.integers(11_500, 13_000), st.integers(-40, 140))
def test_charge_is_numpy_s_interpolation(millivolts: int, temperature: int) -> None:
    """numpy.interp over the same five rows, the voltage brought to 80 F."""
    at_80 = millivolts - 2.4 * (temperature - 80)
    wanted = np.interp(at_80, [11_890, 12_060, 12_240, 12_450, 12_650], [0, 25, 50, 75, 100])
    ours = charge(millivolts, temperature, "lead-acid").amount("percent")
    assert -1e-6 <= wanted - ours < 1 + 1e-6


@given(st.integers(45, 79), st.integers(4, 23))
def test_faster_and_wider_is_longer(speed: int, width: int) -> None:
    lane = taper(speed, width).amount("lane")
    assert taper(speed + 1, width).amount("lane") > lane
    assert taper(speed, width + 1).amount("lane") > lane
    assert taper(40, width).amount("lane") < lane


@pytest.mark.parametrize(("nearest", "missing"), [(0, 50), (49, 1), (50, 0), (51, 0)])
def test_storage(nearest: int, missing: int) -> None:
    assert storage(nearest).amount("missing") == missing


# ---- the window ---------------------------------------------------------------------------

WREN = Winch((8000, 6777, 5878, 5189), 202, 576, 24, 75)


@given(st.integers(1, 3), st.integers(2, 20), st.data())
def test_minutes_turn_by_turn(parts: int, reach: int, data: st.DataObject) -> None:
    """The drum turns as fast as on the first layer; how often it turns for the rope, foot by foot
    and with pi as it is."""
    distance = data.draw(st.integers(1, reach))
    speed = data.draw(st.integers(1, 30))
    turns_min = speed / (pi * (202 + 24) / 768)
    turns = 0.0
    for out in range(parts * (reach - distance), parts * reach):
        across = 202 + (2 * WREN.layer_at(out) - 1) * 24
        turns += 1 / (pi * across / 768)
    ours = window(WREN, parts, (reach, distance), speed, 30).steps[-1].result
    assert float(ours) == pytest.approx(turns / turns_min)


def test_a_pull_longer_than_half_of_the_hold_is_over() -> None:
    """By hand: 15 ft of rope at 1 ft a minute on the first of 133 turns: 15 minutes."""
    wide = Winch((8000,), 202, 3200, 24, 100)
    assert window(wide, 1, (40, 15), 1, 30).checks[0].left == 0
    assert not window(wide, 1, (40, 15), 1, 30).is_over
    assert window(wide, 1, (40, 16), 1, 30).is_over
    assert window(wide, 1, (40, 15), 1, 29).checks[0].bound == 14


@pytest.mark.parametrize(
    ("compute", "says"),
    [
        (
            lambda: charge(12_000, 80, "lithium"),
            "kind of the 12 volt battery is lithium",
        ),
        (lambda: charge(12_000, 141, "lead-acid"), "temperature is 141; allowed: whole F, -40 to"),
        (lambda: charge(16_001, 80, "lead-acid"), "voltage at rest is 16001; allowed: whole mV"),
        (lambda: devices("lane"), "road is lane; allowed: two-way, divided"),
        (lambda: taper(42, 12), "speed is 42; allowed: up to 40 mph, or 45 mph and more"),
        (lambda: taper(45, 3), "width is 3; allowed: whole ft, 4 to 24"),
        (lambda: storage(-1), "nearest structure or vehicle is -1; allowed: whole ft, 0 to"),
        (
            lambda: window(WREN, 7, (9, 9), 9, 9),
            "parts of line is 7; allowed: whole parts",
        ),
        (lambda: window(WREN, 1, (9, 10), 9, 9), "pull distance is 10; allowed: whole ft, 1 to 9"),
        (lambda: window(WREN, 1, (9, 9), 0, 9), "line speed is 0; allowed: whole ft a minute, 1"),
        (
            lambda: window(WREN, 1, (9, 9), 9, 241),
            "neutral hold is 241; allowed: whole",
        ),
        (lambda: window(WREN, 4, (20, 9), 9, 9), "line out is 80; allowed: whole ft, 0 to "),
    ],
)
def test_out_of_range_is_refused(compute: Callable[[], object], says: str) -> None:
    with pytest.raises(OutOfRangeError, match=re.escape(says)):
        compute()


def test_above_and_below_the_table() -> None:
    each = [charge(mv, 80, "lead-acid") for mv in (11_000, 11_890, 12_650, 13_500)]
    assert [one.amount("percent") for one in each] == [0, 0, 100, 100]
    assert charge(12_350, 80, "lead-acid").steps[1].result == 50 + Fraction(25 * 110, 210)

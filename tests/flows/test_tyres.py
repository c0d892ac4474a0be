"""Load indexes: the packaged table against its page, sums over an axle, single and in pairs."""

import csv
from pathlib import Path
from typing import Any

import pytest

from flows.errors import OutOfRangeError
from flows.figures import tables
from flows.figures.tyres import index_row, tyre_set

TABLE = Path(str(tables.__file__)).with_name("load_index.csv")
ROWS = list(csv.DictReader(TABLE.read_text("utf-8").splitlines()))


def test_the_whole_table_is_there() -> None:
    """Page (weights.md, section 1): load index 70 to 150."""
    assert [int(row["load_index"]) for row in ROWS] == list(range(70, 151))


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['load_index']}-{row['verified']}")
def test_each_index_lies_on_the_preferred_number_series(row: dict[str, str]) -> None:
    """Page, section 10: all within 1.74 percent of 45 kg x 10^(index / 80). Rows 70 to 119 and
    142 were read in public tables, the others are from memory."""
    index = int(row["load_index"])
    found = index_row(index)
    assert abs(found.kg / (45 * 10 ** (index / 80)) - 1) <= 0.0175
    assert found.read is (index < 120 or index == 142)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["load_index"])
def test_an_axle_carries_the_sum_of_its_tyres(row: dict[str, str]) -> None:
    """The table's own sums in kg: of two tyres, of four. 1 kg is 2.2046 lb (NIST SP 811)."""
    index = int(row["load_index"])
    two, four = int(row["axle_two_tyres_kg"]), int(row["axle_four_tyres_if_single_rating_kg"])
    assert 0 <= two / 0.45359237 - tyre_set(index, None, is_dual=False).carry_lb < 1
    assert 0 <= four / 0.45359237 - tyre_set(index, index, is_dual=True).carry_lb < 1
    assert 0 <= 2 * four / 0.45359237 - tyre_set(index, index, is_dual=True, axles=2).carry_lb < 1


def test_pairs_use_the_second_index() -> None:
    """By hand: 120/116: single 1,400 kg, in pairs 1,250 kg: 4 x 1,250 kg = 11,023.1 lb."""
    assert tyre_set(120, 116, is_dual=True).carry_lb == 11_023
    assert tyre_set(120, 116, is_dual=False).carry_lb == 6172


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: index_row(69), "load index is 69; allowed: 70 to 150"),
        (lambda: tyre_set(120, None, is_dual=True), "dual load index is None; allowed: the"),
        (lambda: tyre_set(116, 120, is_dual=True), "second index, at most 116"),
        (lambda: tyre_set(116, None, is_dual=False, axles=3), "axles is 3; allowed: 1 or 2"),
    ],
)
def test_out_of_range_says_what_is_allowed(call: Any, words: str) -> None:
    with pytest.raises(OutOfRangeError, match=words):
        call()

"""Units against published definitions.

The expected values are the units rows of the project's check values, copied into
``data/units.csv`` with their source, locator and confidence; every row is used. Rows "from memory"
and "computed from a formula held from memory" were not seen in print and are marked so: their
printed, rounded form is in the locator and is checked too where there is one.
"""

import csv
import re
import subprocess
import sys
from fractions import Fraction
from pathlib import Path

import pytest

from flows.figures.units import exact, quantity
from flows.measures import find_length, find_mass, find_miles
from flows.measures.units import IN64_IN_MILLIMETRE, MI10_IN_KILOMETRE, POUNDS_IN_KILOGRAM

TABLE = Path(__file__).parent / "data" / "units.csv"
ROWS = list(csv.DictReader(TABLE.read_text("utf-8").splitlines()))

GIVEN = {
    "lb to kg (exact)": ("1", "pound", "kilogram"),
    "lbf to N (exact)": ("1", "pound_force", "newton"),
    "psi to kPa": ("1", "pound_force_per_square_inch", "kilopascal"),
    "mi to km (exact)": ("1", "mile", "kilometer"),
    "in to mm (exact)": ("1", "inch", "millimeter"),
    "ft to m (exact)": ("1", "foot", "meter"),
    "mph to m/s (exact)": ("1", "mile_per_hour", "meter / second"),
    "lbf ft to N m": ("1", "pound_force * foot", "newton * meter"),
    "kip to N": ("1", "kip", "newton"),
    "short ton to kg (exact)": ("1", "short_ton", "kilogram"),
    "standard gravity (exact)": ("1", "standard_gravity", "meter / second ** 2"),
    "10,000 lb to kg": ("10000", "pound", "kilogram"),
}
"""By the quantity of the row: how much of which unit, and the unit of the answer."""

UNUSED: dict[str, str] = {}
"""Rows that no test uses, with the reason: none."""

MEMORY = re.compile("memory")


def test_every_row_is_used_or_has_a_reason() -> None:
    assert {row["quantity"] for row in ROWS} == GIVEN.keys() | UNUSED.keys()
    assert len(ROWS) == 12


def test_rows_held_from_memory_are_named() -> None:
    from_memory = {row["quantity"] for row in ROWS if MEMORY.search(row["confidence"])}
    assert from_memory == {
        "lb to kg (exact)", "lbf to N (exact)", "psi to kPa", "lbf ft to N m", "kip to N",
        "short ton to kg (exact)", "standard gravity (exact)",
    }  # fmt: skip


@pytest.mark.parametrize(
    "row", ROWS, ids=[f"{row['source']} ({row['confidence']}): {row['quantity']}" for row in ROWS]
)
def test_definition(row: dict[str, str]) -> None:
    amount, unit, wanted = GIVEN[row["quantity"]]
    found = exact(quantity(Fraction(amount), unit), wanted)
    places = len(row["expected"].partition(".")[2])
    printed = Fraction(row["expected"])
    if row["quantity"] in ("psi to kPa", "lbf ft to N m"):  # printed with fewer places than it has
        assert abs(found - printed) <= Fraction(1, 2 * 10**places), row["source"]
    else:
        assert found == printed, row["source"]


# The rounded values that were read, in the rows' locators.
@pytest.mark.parametrize(
    ("quantity_name", "read", "size"),
    [
        ("lb to kg (exact)", "0.453592", 1),
        ("lbf to N (exact)", "4.448222", 1),
        ("psi to kPa", "6894.757", 1000),
        ("lbf ft to N m", "1.3558", 1),
        ("kip to N", "4448.222", 1),
        ("short ton to kg (exact)", "907.185", 1),
        ("10,000 lb to kg", "4536", 1),
    ],
)
def test_rounded_value_that_was_read(quantity_name: str, read: str, size: int) -> None:
    row = next(row for row in ROWS if row["quantity"] == quantity_name)
    assert read in re.sub(r"[, ]", "", row["locator"]), "the row says what was read"
    amount, unit, wanted = GIVEN[quantity_name]
    found = exact(quantity(Fraction(amount), unit), wanted) * size
    places = len(read.partition(".")[2])
    assert abs(found - Fraction(read)) <= Fraction(1, 2 * 10**places)


def expected(name: str) -> Fraction:
    return next(Fraction(row["expected"]) for row in ROWS if row["quantity"] == name)


def test_the_grammars_own_sizes_are_the_definitions() -> None:
    """The grammar of what people say has its own constants, for pint is slow to import."""
    assert expected("lb to kg (exact)") == 1 / POUNDS_IN_KILOGRAM
    assert expected("in to mm (exact)") == 64 / IN64_IN_MILLIMETRE
    assert expected("mi to km (exact)") == 10 / MI10_IN_KILOMETRE


def test_spoken_units_follow_the_definitions() -> None:
    for found, wanted in (
        (find_mass("1 short ton"), expected("short ton to kg (exact)") / expected(
            "lb to kg (exact)")),
        (find_length("1 foot"), expected("ft to m (exact)") * 1000 / expected(
            "in to mm (exact)") * 64),
        (find_miles("1 mile"), Fraction(10)),
    ):  # fmt: skip
        assert found is not None
        assert found.readings[0].low == wanted


WHOLE_JOB = (
    "import sys; from tests.flows.talker import TO_CLOSE, TO_NEUTRAL, told;"
    "job = told(*TO_NEUTRAL, 'neutral now', *TO_CLOSE).job;"
    "print(job.ended is not None, 'flows.figures.margin' in sys.modules, 'pint' in sys.modules)"
)


def test_a_conversation_never_loads_pint() -> None:
    """Its quantities are whole pounds and inches already, and pint takes 150 ms to load."""
    found = subprocess.run(
        [sys.executable, "-c", WHOLE_JOB], capture_output=True, text=True, check=True
    )
    assert found.stdout.split() == ["True", "True", "False"]

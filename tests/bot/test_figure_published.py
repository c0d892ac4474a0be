"""Published values by the command line: each group of rows as typed, or why it cannot be."""

import csv
import re
import shlex
from functools import cache
from pathlib import Path

import pytest

from bot.commands import cli

DATA = Path(__file__).parents[1] / "flows" / "data"

# What is typed, with the row that it comes from, and what the answer shows.
TYPED = [
    # winching: a slope in degrees, by the sine and by a sixtieth for each degree
    ("pull --weight 5700lb --surface hard --table trade --degrees 15", "0.25 (field rule)"),
    ("pull --weight 5700lb --surface hard --table trade --degrees 30", "0.5 (field rule)"),
    ("pull --weight 6000lb --surface hard --table trade --degrees 10", "0.174 (sine)"),
    # winching: parts of the weight that no table has
    ("pull --weight 5700lb --part 150 --degrees 15", "Surface 8,550 lb: 5,700 x 1.5."),
    ("pull --weight 28600lb --part 30", "8,580 lb to pull"),
    ("pull --weight 4000lb --part 50", "2,000 lb to pull"),
    # securement: limits without a mark
    ("limit --kind chain --size '1/4 in' --grade 70", "3,150 lb"),
    ("limit --kind chain --size '5/8 in' --grade 100", "22,600 lb"),
    ("limit --kind chain --size '3/8 in'", "2,650 lb"),
    ("limit --kind webbing --size 2in", "2,000 lb"),
    ("limit --kind webbing --size '1 3/4 in'", "1,750 lb"),
    ("limit --kind rope --size '7/16 in'", "4,100 lb"),
    # securement: what counts, and how many
    ("securing --weight 11000lb --length 20ft --count 4 --limit 6600lb --counts direct",
     "13,200 lb together; 5,500 lb are needed"),
    ("securing --weight 9000lb --length 10ft --count 4 --limit 2000lb --counts direct",
     "Aggregate is over by 500 lb"),
    ("securing --weight 8000lb --length 10ft --count 4 --limit 2000lb --counts direct",
     "Up to 8,000 lb"),
    ("securing --weight 8000lb --length 10ft --count 4 --limit 2000lb --counts other-side",
     "8,000 lb together"),
    ("securing --weight 8000lb --length 10ft --count 4 --limit 2000lb --counts same-side",
     "4,000 lb together"),
    ("securing --weight 1100lb --length 5ft --count 1 --limit 2000lb", "At least 1 "),
    ("securing --weight 1101lb --length 5ft --count 1 --limit 2000lb", "At least 2 "),
    ("securing --weight 500lb --length '5.1 ft' --count 1 --limit 2000lb", "At least 2 "),
    ("securing --weight 500lb --length '10.1 ft' --count 1 --limit 2000lb", "At least 3 "),
    ("securing --weight 500lb --length '20.1 ft' --count 1 --limit 2000lb", "At least 4 "),
    ("securing --weight 500lb --length 10ft --blocked --count 1 --limit 2000lb", "At least 1 "),
    ("securing --weight 500lb --length 16ft --blocked --count 1 --limit 2000lb", "At least 2 "),
    # A provincial manual, 3.65 m and 600 kg: three, of 100 kg each; or of 200 kg, still three.
    ("securing --weight '600 kg' --length '143.7 in' --count 3 --limit '200 kg' "
     "--counts other-side", "At least 3 "),
    # The older Navy rule is not the federal one: 150 percent of 55,000 lb.
    ("securing --weight 55000lb --length 20ft --count 4 --limit 22600lb --percent 150",
     "82,500 lb are needed"),
    # axle law: short groups of axles, and the table
    ("bridge --axles 2 --length 8ft", "34,000 lb"),
    ("bridge --axles 3 --length 8ft", "34,000 lb"),
    ("bridge --axles 2 --length '8.5 ft'", "38,000 lb"),
    ("bridge --axles 3 --length '8.5 ft'", "42,000 lb"),
    ("bridge --axles 3 --length 20ft", "51,000 lb"),
    ("bridge --axles 4 --length 12ft", "50,000 lb"),
    ("bridge --axles 5 --length 51ft", "80,000 lb"),
    # 12 V: the sign is settled by the source's own examples, below
    ("charge --volts 12.24V", "50 percent"),
    # An unmarked strap at each wheel: the default limit of its width
    ("tiedowns --weight 5000lb --webbing 2in --date 2026-03-01", "4,000 lb together"),
]  # fmt: skip

STAYS_OUT = {
    "tiedowns needed if only 50 kg WLL available": "whole pounds, each rounded to the cautious"
    " side, need one more than the six of 50 kg",
    "winch line tension, 2 parts": "the loss in the sheave is that one case's",
    "15 deg slope": "the larger of sine and field rule counts: a little more than the rule alone",
    "body-deep 150% + 15 deg slope": "the same: both parts are shown, the sum is by the sine",
    "sling rating by H/L": "no figure has lengths of legs; the angle does the same",
    "required sling by L/H": "the same by lengths",
    "wire rope SLING efficiency": "a tag's limit is used, never a rope's own strength",
    "wire rope on SHEAVE efficiency": "the same",
    "two consecutive tandems may carry": "a carrier has one rear group",
    "unmarked friction mat resistance": "no mat is counted",
    "tread depth": "an inspection, no figure",
    "placement": "a span on the spot, told in words",
}
"""Published rows that the command does not take, and why."""


@pytest.mark.parametrize(("typed", "shown"), TYPED, ids=[typed for typed, _ in TYPED])
def test_a_published_row_as_typed(
    capsys: pytest.CaptureFixture[str], typed: str, shown: str
) -> None:
    assert cli.main(["figure", *shlex.split(typed)]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert shown in out


@cache
def quantities() -> frozenset[str]:
    files = ("axle_law", "securement", "winching", "scene")
    rows = (csv.DictReader((DATA / f"{name}.csv").read_text("utf-8").splitlines())
            for name in files)  # fmt: skip
    return frozenset(row["quantity"] for each in rows for row in each)


@pytest.mark.parametrize("start", STAYS_OUT)
def test_what_stays_out_is_a_published_row(start: str) -> None:
    assert any(quantity.startswith(start) for quantity in quantities())


def test_the_page_lists_what_stays_out() -> None:
    page = (Path(__file__).parents[2] / "flows" / "figures" / "README.md").read_text("utf-8")
    listed = re.findall(r"^\| ([^|]+) \| [^|]+ \|$", page.partition("## What stays out")[2], re.M)
    assert {
        one.strip() for one in listed if one.strip() not in {"published", "---", "---|---"}
    } == set(STAYS_OUT)


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("pull --weight 5700lb --part 150 --surface hard", "not both"),
        ("pull --weight 5700lb", "--surface"),
        ("pull --weight 5700lb --part 401", "1 to 400 percent"),
        ("pull --weight 5700lb --part 30 --grade 5 --degrees 5", "percent or degrees, not both"),
        ("pull --weight 5700lb --part 30 --locked half", "locked wheels"),
        ("limit --kind webbing --size 5in", "webbing size"),
        ("limit --kind webbing --size 2in --grade 70", "grade"),
        ("bridge --axles 4 --length 11ft", "length of a group"),
        ("securing --weight 500lb --length 10ft --count 0 --limit 2000lb", "0"),
    ],
)
def test_what_it_does_not_take_is_said(
    capsys: pytest.CaptureFixture[str], typed: str, says: str
) -> None:
    assert cli.main(["figure", *shlex.split(typed)]) == 1
    assert says in capsys.readouterr().err

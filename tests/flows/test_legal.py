"""Legal limits against the law's own numbers, and against the published bridge table.

Rows of ``data/axle_law.csv`` name their source and how sure they are: three are from memory.
"""

import csv
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from flows.errors import OutOfRangeError
from flows.figures.legal import FEDERAL, Legal, bridge_limit, recovery_exempt
from flows.figures.margin import Load, Truck, margin

TABLE = Path(__file__).parent / "data" / "axle_law.csv"
ROWS = list(csv.DictReader(TABLE.read_text("utf-8").splitlines()))

FEDERAL_ROWS = {
    "single axle federal limit": "single_lb",
    "tandem axle federal limit": "tandem_lb",
    "gross federal limit": "gross_lb",
}
SHORT_ROWS = {
    "2 or 3 axles, 8 ft or less": ((2, 96), (3, 96), (2, 48)),
    "2 axles, more than 8 ft": ((2, 97), (2, 107)),
    "3 axles, more than 8 ft": ((3, 97), (3, 107)),
}
# Rows that no figure uses, with the reason.
UNUSED = {
    "two consecutive tandems may carry 34000 each if overall distance at least": "a carrier with"
    " two consecutive tandems has two rear groups; the figure has one",
    "idle-reduction weight allowance max": "lifts a limit; not claimed, which is cautious",
    "commercial motor vehicle weight threshold": "who is a carrier's driver, not what it carries",
    "per-seat allowance in GVWR minimum": "how a maker sets a GVWR; the door label's is used",
} | {
    f"GVWR class {number} {bound} bound": "names a truck's class; no limit comes of it"
    for number, bound in [*((n, "upper") for n in range(1, 8)), (8, "lower")]
}


def bridge_rows() -> list[dict[str, str]]:
    return [row for row in ROWS if row["inputs"].startswith("N=")]


def known(row: dict[str, str]) -> bool:
    name = row["quantity"]
    exempt = name.startswith("tow-and-recovery")
    return exempt or name in FEDERAL_ROWS or name in SHORT_ROWS or row in bridge_rows()


def test_every_row_is_used_or_has_a_reason() -> None:
    assert len(ROWS) == 48
    assert len(bridge_rows()) == 29
    assert {row["quantity"] for row in ROWS if not known(row)} == UNUSED.keys()


def test_what_is_from_memory_is_marked() -> None:
    memory = [row for row in ROWS if row["confidence"] == "from memory"]
    assert len(memory) == 3
    assert all("FHWA" in row["source"] for row in memory)


@pytest.mark.parametrize(
    "row",
    bridge_rows(),
    ids=lambda row: f"{row['inputs'].partition('; u')[0]}-{row['source'][:8]}-{row['confidence']}",
)
def test_bridge_table(row: dict[str, str]) -> None:
    found = re.match(r"N=(\d); L=(\d+) ft", row["inputs"])
    assert found
    axles, feet = map(int, found.groups())
    assert bridge_limit(axles, 12 * feet) == int(row["expected"]), row["source"]


@pytest.mark.parametrize("feet", [9, 11, *range(13, 32, 2)])
def test_an_exact_half_goes_down(feet: int) -> None:
    """RCW 46.44.041, reference page section 0 trap 1: 3 axles, L = 9, 11, 13, 15 ... 31 ft end in
    250 or 750 before rounding and are printed 250 lower, 9 ft as 42,500."""
    raw_quarters = 2 * (3 * feet * 500 // 2) + 2 * 500 * 72
    assert raw_quarters % 1000 == 500
    assert 2 * bridge_limit(3, 12 * feet) == raw_quarters - 500


@pytest.mark.parametrize("row", [r for r in ROWS if r["quantity"] in FEDERAL_ROWS], ids=str)
def test_federal_limits(row: dict[str, str]) -> None:
    assert getattr(FEDERAL, FEDERAL_ROWS[row["quantity"]]) == int(row["expected"])
    assert row["source"] == FEDERAL.source


@pytest.mark.parametrize("row", [r for r in ROWS if r["quantity"] in SHORT_ROWS], ids=str)
def test_short_groups(row: dict[str, str]) -> None:
    """The table's row "more than 8 feet" is the formula at 8 feet."""
    for axles, inches in SHORT_ROWS[row["quantity"]]:
        assert bridge_limit(axles, inches) == int(row["expected"])


def test_recovery_exemption() -> None:
    [row] = [row for row in ROWS if row["quantity"].startswith("tow-and-recovery")]
    carrier, disabled = (int(lb) for lb in re.findall(r"=(\d+) lb", row["inputs"]))
    assert row["expected"] == "exempt"
    assert recovery_exempt(Legal(recovery=True), carrier, disabled)
    assert not recovery_exempt(Legal(recovery=True), disabled - 1, disabled)
    assert not recovery_exempt(FEDERAL, carrier, disabled)


# In the margin. By hand: 9,000 + 12,000 lb empty, 6,000 lb half and half at x = 80 + 36 + 57 = 173
# of 200 in: 810 lb on the front axle, 5,190 on the rear.
TRUCK = Truck(9000, 12_000, 40_000, 18_000, 25_000, 200, 80, 300)
CAR = Load(6000, 6000, 500, 500, 500, 114, 36, 38, nose_first=True, height_in=66)


def limit(m: Any, name: str) -> Any:
    [found] = [one for one in (*m.limits, *m.lengths) if one.name == name]
    return found


def test_the_law_may_govern_where_the_ratings_do_not() -> None:
    heavy = replace(CAR, likely_lb=9900, high_lb=9900)  # 8,563.5 lb on the rear axle at least
    m = margin(TRUCK, heavy)
    assert limit(m, "legal rear axle").margin_lb < 0
    assert limit(m, "rear axle").margin_lb > 0
    assert (m.verdict, m.governing) == ("no-go", "legal rear axle")
    # The exemption lifts it, by name, and no rating.
    lifted = margin(TRUCK, heavy, legal=Legal(recovery=True))
    assert (lifted.verdict, lifted.exempt) == ("go", "23 USC 127(m)")
    assert m.exempt is None
    weak = replace(TRUCK, gawr_rear_lb=20_000)
    assert margin(weak, heavy, legal=Legal(recovery=True)).verdict == "no-go"


def test_a_state_may_allow_more_or_less() -> None:
    heavy = replace(CAR, likely_lb=9900, high_lb=9900)
    state = Legal(single_lb=24_000, source="state law, invented")
    m = margin(TRUCK, heavy, legal=state)
    assert m.verdict == "go"
    assert limit(m, "legal rear axle").source == "state law, invented"
    assert margin(TRUCK, CAR, legal=Legal(single_lb=17_000)).verdict == "no-go"


def test_a_tandem_has_its_own_limit_and_bridges() -> None:
    """By hand: spacing 50 in, axles 200 - 25 = 175 and 225 in behind the front one: 14 and 18
    feet. 3 axles 18 ft: 49,500 lb; 2 axles 14 ft: 44,000 lb."""
    tandem = replace(TRUCK, rear_axles=2, tandem_spacing_in=50, gawr_rear_lb=34_000)
    m = margin(tandem, CAR)
    assert limit(m, "legal tandem").limit_lb == 34_000
    assert "legal rear axle" not in {one.name for one in m.limits}
    assert limit(m, "bridge formula").limit_lb == 49_500
    assert limit(m, "inner bridge").limit_lb == 44_000
    front, rear = limit(m, "front axle").load_lb, limit(m, "rear axle").load_lb
    assert abs(limit(m, "inner bridge").load_lb - (front + rear / 2)) <= 2
    assert margin(tandem, CAR, legal=Legal(bridge=False)).limits[-1].name == "legal gross"


@pytest.mark.parametrize(("limit_in", "verdict"), [(106, "go"), (105, "no-go")])
def test_overall_height(limit_in: int, verdict: str) -> None:
    """By hand: deck 40 in, vehicle 66 in: 106 in. Even the exemption does not lift it."""
    truck = replace(TRUCK, deck_height_in=40)
    m = margin(truck, CAR, legal=Legal(height_in=limit_in, recovery=True))
    assert m.verdict == verdict
    assert limit(m, "overall height").margin_in == limit_in - 106
    if verdict == "no-go":
        assert (m.governing, m.governing_margin_lb, m.governing_margin_in) == (
            "overall height",
            None,
            -1,
        )


def test_overall_length_ends_the_positions() -> None:
    """By hand: bumper 30 in ahead; vehicle 36 + 114 + 38 = 188 in behind the headboard at 80 in:
    298 in at the headboard, longer than the truck's 385 in only from 87 in on; 390 in leave 92."""
    truck = replace(TRUCK, front_end_in=30, rear_end_in=355)
    long = margin(truck, CAR, 100, legal=Legal(length_in=390))
    assert long.position_hi_in == 92
    assert margin(truck, CAR, legal=Legal(length_in=384)).governing == "overall length"
    assert margin(truck, CAR, legal=Legal(length_in=385)).verdict == "go"


def test_what_is_not_known_is_said_not_to_be_checked() -> None:
    m = margin(TRUCK, CAR, legal=Legal(height_in=162, length_in=480))
    assert m.unchecked == ("front tyres", "rear tyres", "overall height", "overall length")


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: bridge_limit(1, 120), "axles of a group is 1; allowed: whole axles, 2 to 9"),
        (lambda: bridge_limit(4, 11 * 12), "allowed: whole in, 144 to 1200"),
        (lambda: Legal(single_lb=9999), "legal single_lb is 9999; allowed: whole lb, 10000"),
        (lambda: Legal(height_in=13), "legal height_in is 13; allowed: whole in, 60 to 240"),
        (lambda: recovery_exempt(FEDERAL, -1, 5), "truck weight is -1; allowed: 0 lb or more"),
    ],
)
def test_out_of_range_says_what_is_allowed(call: Any, words: str) -> None:
    with pytest.raises(OutOfRangeError, match=words):
        call()

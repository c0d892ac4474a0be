"""Tie-downs against the rules as they were read; `data/securement.csv` names each source."""

import csv
import datetime as dt
import re
from collections.abc import Callable
from fractions import Fraction
from math import cos, radians, sin
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, strategies as st

from flows.errors import OutOfRangeError
from flows.figures import tiedowns as ties
from flows.figures.securing import securing
from flows.figures.tiedowns import (
    COUNTS,
    DOWNWARD,
    TO_BREAKING,
    TO_LIMIT,
    Geometry,
    Tiedown,
    aggregate,
    default_limit,
    number_required,
    tiedowns,
    vehicle_number,
)

Row = dict[str, str]
TABLE = Path(__file__).parent / "data" / "securement.csv"
ROWS = list(csv.DictReader(TABLE.read_text("utf-8").splitlines()))
TODAY = dt.date(2026, 3, 1)
KG = Fraction(45_359_237, 100_000_000)


def size(row: Row) -> int:
    """A size as it is printed, 1-3/4 in, in 64ths of an inch."""
    whole, _, part = re.search(r"=((?:\d+-)?[\d/]+) in", row["inputs"])[1].rpartition("-")  # type: ignore[index]  # is there
    return int(64 * (int(whole or 0) + Fraction(part)))


def chain(row: Row) -> int:
    return default_limit("chain", size(row), int(row["quantity"].rsplit(" ", 1)[1]))


def number(row: Row) -> int:
    feet = Fraction(re.search(r"L=([\d.]+)", row["inputs"])[1])  # type: ignore[index]  # is there
    heavy = re.search(r"W=(\d+)", row["inputs"])
    blocked = "not blocked" not in row["inputs"]
    pounds = int(heavy[1]) if heavy else 5000
    return number_required(int(-(-feet * 12 // 1)), pounds, is_blocked=blocked)


def force(parts: dict[str, Fraction], name: str) -> Callable[[Row], float]:
    return lambda row: float(parts[name] * (6000 if row["inputs"] else 1))


def metric(limit_kg: int) -> int:
    """How many of a limit a 600 kg article of 3.65 m takes, each counted whole: the manual's."""
    need = max(number_required(144, round(600 / KG)), -(-300 // limit_kg))
    return int(need)


def needed(row: Row) -> float:
    """Half of the weight, in pounds or in kilograms."""
    weight = int(re.search(r"=(\d+) (?:lb|kg)", row["inputs"])[1])  # type: ignore[index]  # is there
    return securing(weight, 144, CHAINS).amount("needed")


BREAK, LIMIT = dict(TO_BREAKING), dict(TO_LIMIT)
CHAINS = [Tiedown("chain", (6600,), "direct")] * 4
STRAPS = [Tiedown("strap", (2000,), "direct")] * 4
CHECKS: list[tuple[str, Callable[[Row], float]]] = [
    ("forward deceleration vs breaking", force(BREAK, "forward")),
    ("rearward acceleration vs breaking", force(BREAK, "rearward")),
    ("lateral acceleration vs breaking", force(BREAK, "sideways")),
    ("forward deceleration vs WLL", force(LIMIT, "forward")),
    ("rearward acceleration vs WLL", force(LIMIT, "rearward")),
    ("lateral acceleration vs WLL", force(LIMIT, "sideways")),
    ("downward force if", lambda _: float(DOWNWARD)),
    ("forward force for breaking", force(BREAK, "forward")),
    ("rearward force", force(BREAK, "rearward")),
    ("lateral force for breaking", force(BREAK, "sideways")),
    ("forward force for WLL", force(LIMIT, "forward")),
    ("lateral force for WLL", force(LIMIT, "sideways")),
    ("downward force", lambda _: float(6000 * DOWNWARD)),
    ("aggregate WLL minimum", lambda _: tiedowns(6000, STRAPS, Geometry(40, 20), TODAY)
     .amount("needed") / 6000),
    ("tiedown anchor-on-truck", lambda _: float(COUNTS["direct"])),
    ("tiedown from truck over/through cargo back", lambda _: float(COUNTS["same side"])),
    ("tiedown from truck over/through cargo to OTHER", lambda _: float(COUNTS["other side"])),
    ("aggregate WLL, worked example", lambda _: float(aggregate(CHAINS))),
    ("minimum tiedowns, not blocked", lambda _: number_required(144, round(600 / KG))),
    ("minimum WLL per tiedown", lambda _: 300 / number_required(144, round(600 / KG))),
    ("tiedowns needed if only 50", lambda _: metric(50)),
    ("tiedowns needed if 200", lambda _: metric(200)),
    ("max vehicle weight on four", lambda _: float(2 * aggregate(STRAPS))),
    ("aggregate WLL of four unmarked", lambda _: float(aggregate(STRAPS))),
    ("required aggregate WLL, same example", needed),
    ("older Navy rule", lambda _: securing(55_000, 240, CHAINS, part_pct=150).amount("needed")),
    ("chain default WLL", chain),
    ("synthetic webbing default WLL", lambda row: default_limit("webbing", size(row))),
    ("wire rope (6x37", lambda row: default_limit("wire rope", size(row))),
    ("unmarked wire rope WLL", lambda _: float(ties.UNMARKED_ROPE_PART)),
    ("unmarked chain treated as grade", lambda _: ties.UNMARKED_GRADE),
    ("minimum number of tiedowns (general", number),
    ("vehicles covered by the automobile rule", lambda _: ties.MOST_CAR_LB),
    ("automobile rule: tiedowns at", lambda _: vehicle_number(6000) / 2),
    ("heavy vehicle rule", lambda _: vehicle_number(12_000)),
]  # fmt: skip
UNUSED = {
    "unmarked friction mat": "no mat is reckoned with",
    "automobile rule, regulation wording": "from memory, and below the handbook's four",
    "tiedown end counting in older": "it conflicts with 393.106(d) and is not used",
    "wheel-strap edge protectors": "no number",
    "first en-route load check": "a time of the road, no figure",
    "later load checks": "a time of the road, no figure",
    "tread depth": "an inspection, no figure",
}


def check_of(row: Row) -> Callable[[Row], float] | None:
    return next((one for start, one in CHECKS if row["quantity"].startswith(start)), None)


def test_every_row_is_used_or_has_a_reason() -> None:
    assert len(ROWS) == 90
    left = {row["quantity"] for row in ROWS if check_of(row) is None}
    assert {next(name for name in UNUSED if one.startswith(name)) for one in left} == set(UNUSED)
    for start, _ in CHECKS:
        assert any(row["quantity"].startswith(start) for row in ROWS), start


@pytest.mark.parametrize(
    "row",
    [row for row in ROWS if check_of(row)],
    ids=lambda row: f"{row['quantity'][:34]}-{row['inputs'][:24]}-{row['confidence']}",
)
def test_published(row: Row) -> None:
    check = check_of(row)
    assert check is not None
    printed = float(re.match(r"[\d.]+", row["expected"])[0])  # type: ignore[index]  # is there
    assert check(row) == pytest.approx(printed, rel=1e-9), row["source"]


@pytest.mark.parametrize(
    ("weight", "fails"),
    [(8000, False), (8001, True), (9000, True)],
)
def test_four_unmarked_straps_hold_to_eight_thousand_pounds(weight: int, fails: bool) -> None:  # noqa: FBT001  a row of the table
    """49 CFR 393.106(d) and 393.108: 4 x 2,000 lb at one half are 4,000 lb, half of 8,000."""
    found = tiedowns(weight, STRAPS, Geometry(30, 30), TODAY)
    [row] = [one for one in found.checks if one.name == "aggregate"]
    assert (row.bound, row.left < 0) == (4000, fails)


# ---- second solution: every end of every strap as a vector -----------------------------------


@given(
    st.integers(1000, 10_000),
    st.integers(0, 80),
    st.integers(0, 80),
    st.lists(st.integers(500, 6000), min_size=4, max_size=4),
)
def test_ends_as_vectors(weight: int, up: int, aside: int, limits: list[int]) -> None:
    """Ends of the strap at each corner run forward and back, outward, down. Forward those that
    run back hold, sideways those of one side; of unequal straps the weaker pair is on it."""
    straps = [Tiedown("strap", (limit,)) for limit in limits]
    found = tiedowns(weight, straps, Geometry(up, aside), TODAY)
    ordered = sorted(limits)
    flat = cos(radians(up))
    ends = [
        limit * np.array([way * flat * cos(radians(aside)), side * flat * sin(radians(aside)),
                          -sin(radians(up))])
        for limit, side in zip(ordered, (1, 1, -1, -1), strict=True)
        for way in (1, -1)
    ]  # fmt: skip
    held = {one.name: one for one in found.checks}
    for name, hold in (
        ("forward", sum(-end[0] for end in ends if end[0] < 0)),
        ("rearward", sum(end[0] for end in ends if end[0] > 0)),
        ("sideways", sum(end[1] for end in ends if end[1] > 0)),
        ("downward", -sum(end[2] for end in ends)),
    ):
        assert -1 < held[name].bound - hold < 1e-3
    assert held["aggregate"].bound == sum(limits) // 2


@given(st.integers(1000, 10_000), st.integers(500, 6000))
def test_one_lost_is_the_strongest_and_never_helps(weight: int, limit: int) -> None:
    straps = [Tiedown("strap", (limit + more,)) for more in (0, 10, 20, 30)]
    held = {
        one.name: one.bound for one in tiedowns(weight, straps, Geometry(40, 20), TODAY).checks
    }
    assert held["one strap lost, aggregate"] == (3 * limit + 30) // 2
    for name in ("aggregate", "forward", "rearward", "sideways", "downward"):
        assert held[f"one strap lost, {name}"] < held[name]


def test_damaged_or_overdue_does_not_count() -> None:
    """393.104(b); its inspection is due on the day itself, not before."""
    strap = Tiedown("strap", (3333,), due=TODAY)
    torn = Tiedown("strap", (3333,), is_damaged=True)
    for straps, day, good in (
        ([strap] * 4, TODAY, 4),
        ([strap] * 4, TODAY + dt.timedelta(days=1), 0),
        ([strap, strap, strap, torn], TODAY, 3),
    ):
        found = tiedowns(5000, straps, Geometry(40, 20), day)
        assert found.amount("good") == good
        assert [one.left for one in found.checks if one.name == "straps"] == (
            [] if good == 4 else [good - 4]
        )
        assert found.is_over == (good < 4)


def test_the_lowest_part_counts() -> None:
    """393.108(a): webbing 3,333 lb, a ratchet of 3,000, an anchor point of 2,500."""
    assert Tiedown("strap", (3333, 3000, 2500)).limit_lb == 2500


def test_a_grade_eighty_chain_of_five_sixteenths_is_below_grade_seventy() -> None:
    assert default_limit("chain", 20, 80) < default_limit("chain", 20, 70)


@pytest.mark.parametrize(
    ("compute", "says"),
    [
        (lambda: default_limit("rope", 16), "tie-down is rope; allowed: chain, webbing or wire"),
        (
            lambda: default_limit("chain", 16, 75),
            "chain grade is 75; allowed: 30, 43, 70, 80",
        ),
        (lambda: default_limit("chain", 28, 80), "chain size is 28; allowed: 16, 20, 24, 32, 40"),
        (lambda: default_limit("webbing", 64), "webbing size is 64; allowed: 112, 128, 192, 256"),
        (
            lambda: Tiedown("strap", ()),
            "working load limit of strap is 0; allowed",
        ),
        (lambda: Tiedown("strap", (1,), "round"), "way of the tie-down is round; allowed: direct"),
        (lambda: Geometry(81, 0), "strap up_deg is 81; allowed: whole degrees, 0 to 80"),
        (lambda: tiedowns(10_001, STRAPS, Geometry(0, 0), TODAY), "weight is 10001; allowed:"),
        (
            lambda: tiedowns(5000, STRAPS[:3], Geometry(0, 0), TODAY),
            "wheel straps is 3; allowed",
        ),
        (lambda: number_required(0, 1), "length is 0; allowed: whole in, 1 to 1200"),
    ],
)
def test_out_of_range_is_refused(compute: Callable[[], object], says: str) -> None:
    with pytest.raises(OutOfRangeError, match=re.escape(says)):
        compute()

"""Check values that no figure reckons with: each group with its reason, and what is used of them.

With these rows the copies in ``data/`` hold the whole table of check values.
"""

import csv
from pathlib import Path

from flows.job.acts import CLAMPS

DATA = Path(__file__).parent / "data"
ROWS = list(csv.DictReader((DATA / "not_reckoned.csv").read_text("utf-8").splitlines()))

# Topic: how many rows, and why no figure uses them.
REASONS = {
    "boost order": (5, "no number: an order, held against the clamps below and in test_clamps"),
    "high voltage": (
        9,
        "definitions and workshop measurements: no figure takes a voltage above 16",
    ),
    "gloves": (10, "ratings of gear that no card has: nothing is worked on that needs it"),
    "hi-vis": (7, "classes of clothing: no figure, and no card has them"),
    "lockout": (6, "no number: the order of the isolations is the routine's, and its rules'"),
    "charge cord": (3, "electrical tests of a cord: nothing is measured at it"),
    "EV incident": (10, "dates of rules, reports of fires, waits that the vehicle's card states"),
}
COPIES = {
    "axle_law", "front_axle_rule", "not_reckoned", "scene", "securement", "statics", "units",
    "vin", "winching",
}  # fmt: skip
FROM_PARTS = {
    "positive to dead battery +": "flat_positive",
    "other end of positive to booster battery +": "donor_positive",
    "negative to booster battery -": "donor_negative",
    "last negative to engine block of stalled vehicle, away from battery": "flat_ground",
}


def test_every_row_has_a_reason() -> None:
    found = {topic: sum(row["topic"] == topic for row in ROWS) for topic in REASONS}
    assert found == {topic: count for topic, (count, _) in REASONS.items()}
    assert len(ROWS) == sum(found.values())


def test_the_whole_table_is_in_the_copies_once() -> None:
    """396 rows; each copy asserts, where it is used, that each of its rows is used or why not."""
    every = [
        tuple(row.values())
        for name in sorted(COPIES)
        for row in csv.DictReader((DATA / f"{name}.csv").read_text("utf-8").splitlines())
    ]
    assert len(every) == 396 == len(dict.fromkeys(every))


def test_the_clamps_go_on_in_the_published_order() -> None:
    order = [row for row in ROWS if row["quantity"].startswith("connect step")]
    assert [row["quantity"][-1] for row in order] == ["1", "2", "3", "4"]
    assert tuple(FROM_PARTS[row["expected"]] for row in order) == CLAMPS

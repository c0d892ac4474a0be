"""Securing any article: default limits of tie-downs, how many it takes, and their sum.

US rules: 49 CFR 393.106 to 393.110. A strap at each wheel of a vehicle: `flows.figures.tiedowns`.
"""

from collections.abc import Sequence
from fractions import Fraction
from math import ceil
from typing import Final

from flows.errors import OutOfRangeError, require_whole
from flows.figures.result import Amount, Check, Result, Step, down, step, up
from flows.figures.tiedowns import (
    HALF_SOURCE,
    LIMITS_SOURCE,
    NUMBER_SOURCE,
    Tiedown,
    aggregate,
    default_limit,
    number_required,
)

HALF_PCT: Final = 50
ASKED_SOURCE: Final = "as asked"


def limit(kind: str, size_64in: int, grade: int | None = None) -> Result:
    """Return the default working load limit of a tie-down without a mark, with its source.

    Parameters
    ----------
    kind : {"chain", "webbing", "wire rope"}
        As in `default_limit`.
    size_64in : int
        Diameter or width in 64ths of an inch.
    grade : int or None
        Grade of a chain; None for a chain without a mark.

    Raises
    ------
    OutOfRangeError
        If the table has no such row, or a grade is given for anything but a chain.

    Examples
    --------
    >>> limit("webbing", 128).amount("limit"), limit("chain", 16, 70).amount("limit")
    (2000, 3150)
    """
    if grade is not None and kind != "chain":
        raise OutOfRangeError("grade", grade, f"none, since it is {kind}")
    pounds = default_limit(kind, size_64in, grade)
    return Result(
        "limit",
        (("kind", kind), ("size_64ths", size_64in), ("grade", "none" if grade is None else grade)),
        (Amount("limit", pounds, "lb"),),
        (),
        (step("limit", {"size_in": Fraction(size_64in, 64)}, Fraction(pounds), "lb",
              LIMITS_SOURCE),),
        LIMITS_SOURCE,
    )  # fmt: skip


def securing(
    weight_lb: int,
    length_in: int,
    tied: Sequence[Tiedown],
    *,
    is_blocked: bool = False,
    part_pct: int = HALF_PCT,
) -> Result:
    """Compare the tie-downs on any article with the general rules: how many, and their sum.

    Parameters
    ----------
    weight_lb, length_in : int
        Of the article, 1 to 100,000 lb and 1 to 1,200 in.
    tied : sequence of Tiedown
        1 to 100. Each counts for half its limit where it goes from the truck to the cargo, or over
        the cargo and back to the same side; in full where it goes over to the other side.
    is_blocked : bool
        Something keeps the article from moving forward.
    part_pct : int
        Part of the weight for their sum to reach, 1 to 400 percent: 50 by the rule.

    Raises
    ------
    OutOfRangeError
        If a number is out of range.

    Examples
    --------
    11,000 lb on four chains of 6,600 lb, from truck to cargo: 13,200 lb, 5,500 are needed.

    >>> found = securing(11_000, 240, [Tiedown("chain", (6600,), "direct")] * 4)
    >>> found.amount("aggregate"), found.amount("needed"), found.amount("required")
    (13200, 5500, 3)
    """
    require_whole("tie-downs", len(tied), 1, 100, "of them")
    require_whole("part of the weight", part_pct, 1, 400, "percent")
    required = number_required(length_in, weight_lb, is_blocked=is_blocked)
    total, needed = aggregate(tied), Fraction(weight_lb * part_pct, 100)
    each = min(aggregate([one]) for one in tied)
    source = HALF_SOURCE if part_pct == HALF_PCT else ASKED_SOURCE
    return Result(
        "securing",
        (("weight_lb", weight_lb), ("length_in", length_in),
         ("tie-downs", ", ".join(f"{one.limit_lb} lb {one.counts}" for one in tied)),
         ("blocked", "yes" if is_blocked else "no"), ("part_pct", part_pct)),
        (
            Amount("required", required, "count"),
            Amount("by_limit", ceil(needed / each), "count"),
            Amount("aggregate", down(total), "lb"),
            Amount("needed", up(needed), "lb"),
            Amount("most", down(total * 100 / part_pct), "lb"),
        ),
        (
            Check("tie-downs", required, len(tied), "of them", NUMBER_SOURCE),
            Check("aggregate", up(needed), down(total), "lb", source),
        ),
        _steps(weight_lb, tied, part_pct, source),
        f"{NUMBER_SOURCE}, {HALF_SOURCE}",
    )  # fmt: skip


def _steps(
    weight_lb: int, tied: Sequence[Tiedown], part_pct: int, source: str
) -> tuple[Step, ...]:
    total, part = aggregate(tied), Fraction(part_pct, 100)
    ends_lb = sum(one.limit_lb for one in tied)
    return (
        step("aggregate", {"ends_lb": ends_lb}, total, "lb", HALF_SOURCE),
        step("needed", {"weight_lb": weight_lb, "part_pct": part_pct}, weight_lb * part, "lb",
             source),
        step("most", {"total_lb": total, "part_pct": part_pct}, total / part, "lb", source),
    )  # fmt: skip

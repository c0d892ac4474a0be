"""Rigging: the loads on a block, a bridle's legs and the rope, and which is the weakest."""

from collections.abc import Iterable, Mapping
from fractions import Fraction
from math import cos, radians, sin
from types import MappingProxyType
from typing import Final

from flows.errors import OutOfRangeError, require_whole
from flows.figures.result import Amount, Check, Result, step, up

BLOCK_SOURCE: Final = "two equal line pulls at an angle"
LEG_SOURCE: Final = "two legs that share a pull equally"
# Percent of a wire rope's strength left where it bends around a pin or a sheave, by the bend's
# diameter over the rope's.
SLING_BEND: Final[Mapping[int, int]] = MappingProxyType(
    {25: 100, 20: 92, 15: 88, 10: 86, 8: 84, 6: 80, 4: 75, 2: 65, 1: 50}
)
SHEAVE_BEND: Final[Mapping[int, int]] = MappingProxyType(
    {40: 95, 30: 93, 20: 91, 15: 89, 10: 86, 8: 83, 6: 79, 4: 75, 2: 65, 1: 50}
)
BENDS: Final[Mapping[str, Mapping[int, int]]] = MappingProxyType(
    {"sling": SLING_BEND, "sheave": SHEAVE_BEND}
)


def block_factor(between_deg: int) -> Fraction:
    """Return how many line pulls a block bears, ``2 cos(angle / 2)``.

    Parameters
    ----------
    between_deg : int
        Angle between the two lines at the block: 0 side by side, 180 straight on.

    Notes
    -----
    Source: two equal forces at an angle; makers' tables print it.

    Examples
    --------
    >>> [round(float(block_factor(deg)), 2) for deg in (0, 60, 90, 120, 180)]
    [2.0, 1.73, 1.41, 1.0, 0.0]
    """
    require_whole("angle between the lines", between_deg, 0, 180, "degrees")
    return Fraction(2 * cos(radians(between_deg / 2)))


def leg_factor(between_deg: int) -> Fraction:
    """Return the part of a pull on each of two legs, ``1 / (2 cos(angle / 2))``.

    Parameters
    ----------
    between_deg : int
        Angle between the legs, 0 to 150 degrees; beyond that a leg bears twice the pull or more.

    Notes
    -----
    Source: as for the block. A sling chart's angle from the horizontal is 90 less half of it.

    Examples
    --------
    60 degrees between: each leg bears 0.577 of the pull. 120: the whole pull.

    >>> [round(float(leg_factor(deg)), 3) for deg in (0, 60, 90, 120)]
    [0.5, 0.577, 0.707, 1.0]
    """
    require_whole("angle between the legs", between_deg, 0, 150, "degrees")
    return 1 / Fraction(2 * cos(radians(between_deg / 2)))


def sling_factor(from_level_deg: int) -> Fraction:
    """Return the tension factor of a sling chart, ``1 / sin(angle from the horizontal)``.

    Examples
    --------
    10,000 lb on two legs at 30 degrees: 5,000 x 2 on each.

    >>> round(5000 * sling_factor(30))
    10000
    """
    require_whole("angle from the horizontal", from_level_deg, 15, 90, "degrees")
    return 1 / Fraction(sin(radians(from_level_deg)))


def bend_pct(kind: str, ratio: Fraction) -> int:
    """Return the strength left of a wire rope at a bend, in percent.

    Parameters
    ----------
    kind : {"sling", "sheave"}
        Two sources: slings around a pin, ropes on a sheave.
    ratio : Fraction
        Diameter of the bend over that of the rope, 1 or more; between two rows the lower row
        counts.

    Examples
    --------
    Rope of 1/2 in on a sheave of 10 in: 20, so 91 percent.

    >>> bend_pct("sheave", Fraction(20)), bend_pct("sling", Fraction(9))
    (91, 84)
    """
    table = BENDS.get(kind)
    if table is None:
        raise OutOfRangeError("bend", kind, ", ".join(BENDS))
    if ratio < 1:
        raise OutOfRangeError("bend over rope", ratio, "1 or more")
    return next(pct for row, pct in table.items() if ratio >= row)


def rigging(
    line_lb: int,
    block_deg: int,
    bridle_deg: int,
    ratings: Iterable[tuple[str, str, int]],
) -> Result:
    """Return the loads of a line pull on block and bridle, and how near each is to its limit.

    Parameters
    ----------
    line_lb : int
        Pull of the line, 1 to 100,000 lb.
    block_deg : int
        Angle between the lines at the block, 0 to 180 degrees.
    bridle_deg : int
        Angle between the bridle's legs, 0 to 150 degrees. The line pulls the bridle.
    ratings : iterable of (str, str, int)
        For each piece its kind, ``"line"``, ``"block"``, ``"leg"`` or ``"point"``, its name, and
        its working load limit in lb, for a single leg or a single holding point.

    Raises
    ------
    OutOfRangeError
        If a number is out of range or a piece is of another kind.

    Examples
    --------
    5,000 lb over a block at 60 degrees: 8,660.3 lb on it.

    >>> found = rigging(5000, 60, 60, [("block", "snatch block", 8000)])
    >>> found.amount("block"), found.amount("leg"), found.is_over
    (8661, 2887, True)
    """
    require_whole("line pull", line_lb, 1, 100_000, "lb")
    block, leg = line_lb * block_factor(block_deg), line_lb * leg_factor(bridle_deg)
    bears = {"line": Fraction(line_lb), "block": block, "leg": leg, "point": leg}
    checks = []
    for kind, name, limit in ratings:
        if kind not in bears:
            raise OutOfRangeError("piece of rigging", kind, ", ".join(bears))
        require_whole(f"working load limit of {name}", limit, 1, 500_000, "lb")
        checks.append(Check(name, up(bears[kind]), limit, "lb", "tag"))
    of = {"line_lb": line_lb}
    return Result(
        "rigging",
        (("line_lb", line_lb), ("block_deg", block_deg), ("bridle_deg", bridle_deg)),
        (Amount("block", up(block), "lb"), Amount("leg", up(leg), "lb")),
        tuple(checks),
        (
            step("block", of | {"between_deg": block_deg}, block, "lb", BLOCK_SOURCE),
            step("leg", of | {"between_deg": bridle_deg}, leg, "lb", LEG_SOURCE),
        ),
        f"{BLOCK_SOURCE}, {LEG_SOURCE}",
    )

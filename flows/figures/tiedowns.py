"""Tie-downs: the limit of each, how each counts, how many it takes, and the loss of one of them.

US rules: 49 CFR 393.102 to 393.128. Canada's differ and are not computed here.
"""

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, cos, radians, sin
from types import MappingProxyType
from typing import Final

from flows.errors import OutOfRangeError, require_whole
from flows.figures.result import Amount, Check, Result, Step, down, step, up

LIMITS_SOURCE: Final = "49 CFR 393.108, default working load limits"
HALF_SOURCE: Final = "49 CFR 393.106(d)"
FORCE_SOURCE: Final = "49 CFR 393.102(a)(2)"
BREAK_SOURCE: Final = "49 CFR 393.102(a)(1)"
NUMBER_SOURCE: Final = "49 CFR 393.110"
CAR_SOURCE: Final = "FMCSA handbook on cargo securement, chapter 9"
MOST_CAR_LB: Final = 10_000

_SIZES: Final = (16, 20, 24, 28, 32, 40, 48)  # 1/4 to 3/4 in, in 64ths
_CHAIN: Final = {
    30: (1300, 1900, 2650, 3700, 4500, 6900),
    43: (2600, 3900, 5400, 7200, 9200, 13_000),
    70: (3150, 4700, 6600, 8750, 11_300, 15_800),
    80: (3500, 4500, 7100, None, 12_000, 18_100),
    100: (4300, 5700, 8800, None, 15_000, 22_600),
}
CHAIN: Final[Mapping[int, Mapping[int, int]]] = MappingProxyType(
    {
        grade: MappingProxyType(
            {size: lb for size, lb in zip(_SIZES, row, strict=False) if lb is not None}
        )
        for grade, row in _CHAIN.items()
    }
)
"""Pounds by grade and size in 64ths of an inch. Grade 80 of 5/16 in is below grade 70."""
WEBBING: Final[Mapping[int, int]] = MappingProxyType({112: 1750, 128: 2000, 192: 3000, 256: 4000})
WIRE_ROPE: Final[Mapping[int, int]] = MappingProxyType(
    dict(zip(_SIZES, (1400, 2100, 3000, 4100, 5300, 8300, 10_900), strict=True))
)
UNMARKED_GRADE: Final = 30
UNMARKED_ROPE_PART: Final = Fraction(1, 4)
COUNTS: Final[Mapping[str, Fraction]] = MappingProxyType(
    {"direct": Fraction(1, 2), "same side": Fraction(1, 2), "other side": Fraction(1)}
)
"""Part of its limit for which a tie-down counts: from the truck to the cargo, over it and back to
the same side, over it to the other side."""
TO_LIMIT: Final[Mapping[str, Fraction]] = MappingProxyType(
    {"forward": Fraction("0.435"), "rearward": Fraction("0.5"), "sideways": Fraction("0.25")}
)
TO_BREAKING: Final[Mapping[str, Fraction]] = MappingProxyType(
    {"forward": Fraction("0.8"), "rearward": Fraction("0.5"), "sideways": Fraction("0.5")}
)
DOWNWARD: Final = Fraction("0.2")
"""Parts of the weight to be restrained, each direction by itself."""


def default_limit(kind: str, size_64in: int, grade: int | None = None) -> int:
    """Return the default working load limit of a tie-down without a marking.

    Parameters
    ----------
    kind : {"chain", "webbing", "wire rope"}
        A maker's marking takes precedence over this table.
    size_64in : int
        Diameter of a chain or a rope, width of webbing, in 64ths of an inch.
    grade : int or None
        Grade of a chain: 30, 43, 70, 80 or 100. Without a mark it counts as grade 30.

    Raises
    ------
    OutOfRangeError
        If the table has no such row.

    Examples
    --------
    >>> default_limit("webbing", 128), default_limit("chain", 24, 70), default_limit("chain", 24)
    (2000, 6600, 2650)
    """
    tables = {"webbing": WEBBING, "wire rope": WIRE_ROPE}
    if kind == "chain":
        chosen = UNMARKED_GRADE if grade is None else grade
        if chosen not in CHAIN:
            raise OutOfRangeError("chain grade", chosen, ", ".join(map(str, CHAIN)))
        table = CHAIN[chosen]
    elif kind in tables:
        table = tables[kind]
    else:
        raise OutOfRangeError("tie-down", kind, "chain, webbing or wire rope")
    if size_64in not in table:
        allowed = ", ".join(map(str, table))
        raise OutOfRangeError(f"{kind} size", size_64in, f"{allowed} of 64 in")
    return table[size_64in]


@dataclass(frozen=True, slots=True)
class Tiedown:
    """One tie-down.

    Attributes
    ----------
    name : str
        For the page.
    parts_lb : tuple of int
        Working load limits of its parts: webbing or chain, tensioner, hooks, anchor points, 1 to
        100,000 lb each. The lowest counts.
    counts : str
        One of `COUNTS`.
    due : date or None
        Its next inspection; None if it needs none.
    is_damaged : bool
        Damaged or weakened: it does not count (49 CFR 393.104(b)).
    """

    name: str
    parts_lb: tuple[int, ...]
    counts: str = "same side"
    due: dt.date | None = None
    is_damaged: bool = False

    def __post_init__(self) -> None:
        if self.counts not in COUNTS:
            raise OutOfRangeError("way of the tie-down", self.counts, ", ".join(COUNTS))
        for limit in self.parts_lb or (0,):
            require_whole(f"working load limit of {self.name}", limit, 1, 100_000, "lb")

    @property
    def limit_lb(self) -> int:
        """Its working load limit: the lowest of its parts (49 CFR 393.108(a))."""
        return min(self.parts_lb)

    def is_out(self, today: dt.date) -> bool:
        """Tell whether it does not count: damaged, or its inspection is overdue."""
        return self.is_damaged or (self.due is not None and self.due < today)


def aggregate(tiedowns: Iterable[Tiedown]) -> Fraction:
    """Return the aggregate working load limit in pounds, each as it counts.

    Examples
    --------
    Four chains of 6,600 lb, each counted at one half:

    >>> int(aggregate([Tiedown("chain", (6600,), "direct")] * 4))
    13200
    """
    return sum((one.limit_lb * COUNTS[one.counts] for one in tiedowns), Fraction(0))


def number_required(length_in: int, weight_lb: int, *, is_blocked: bool = False) -> int:
    """Return the fewest tie-downs of the general rule.

    Not blocked forward: one up to 5 ft and 1,100 lb; two up to 10 ft; one more for each further
    10 ft or part of it. Blocked forward: one for each 10 ft or part.

    Parameters
    ----------
    length_in, weight_lb : int
        Of the article, 1 to 1,200 in and 1 to 100,000 lb.
    is_blocked : bool
        Whether a headboard or a bulkhead keeps it from moving forward.

    Notes
    -----
    Source: 49 CFR 393.110.

    Examples
    --------
    >>> number_required(60, 1100), number_required(60, 1101), number_required(241, 5000)
    (1, 2, 4)
    """
    require_whole("length", length_in, 1, 1_200, "in")
    require_whole("weight", weight_lb, 1, 100_000, "lb")
    if is_blocked:
        return ceil(Fraction(length_in, 120))
    if length_in <= 60 and weight_lb <= 1_100:
        return 1
    return 2 + max(ceil(Fraction(length_in - 120, 120)), 0)


def vehicle_number(weight_lb: int) -> int:
    """Return the fewest tie-downs on a vehicle: two at the front and two at the rear.

    The handbook requires that up to 10,000 lb, 49 CFR 393.130 requires four above. From memory,
    the text of 393.128 alone says two in all: four is the cautious interpretation.

    Parameters
    ----------
    weight_lb : int
        Of the vehicle, 1 to 100,000 lb.

    Raises
    ------
    OutOfRangeError
        If the weight is out of range.

    Examples
    --------
    >>> vehicle_number(5000)
    4
    """
    require_whole("weight", weight_lb, 1, 100_000, "lb")
    return 4


@dataclass(frozen=True, slots=True)
class Geometry:
    """How a wheel strap's two ends run from the tyre to the deck.

    Attributes
    ----------
    up_deg : int
        Angle above the deck, 0 to 80 degrees.
    aside_deg : int
        Angle aside from the direction of travel, 0 to 80 degrees.
    """

    up_deg: int
    aside_deg: int

    def __post_init__(self) -> None:
        for name in ("up_deg", "aside_deg"):
            require_whole(f"strap {name}", getattr(self, name), 0, 80, "degrees")

    @property
    def along(self) -> Fraction:
        """Part of an end's pull along the deck, ``cos(up) cos(aside)``.

        Examples
        --------
        60 degrees up and none aside: a half.

        >>> round(float(Geometry(60, 0).along), 3)
        0.5
        """
        return Fraction(cos(radians(self.up_deg)) * cos(radians(self.aside_deg)))

    @property
    def across(self) -> Fraction:
        """Part of an end's pull across the deck, ``cos(up) sin(aside)``.

        Examples
        --------
        60 degrees up and 30 aside: a quarter.

        >>> round(float(Geometry(60, 30).across), 3)
        0.25
        """
        return Fraction(cos(radians(self.up_deg)) * sin(radians(self.aside_deg)))

    @property
    def down(self) -> Fraction:
        """Part of an end's pull down on the deck, ``sin(up)``.

        Examples
        --------
        >>> round(float(Geometry(30, 0).down), 3)
        0.5
        """
        return Fraction(sin(radians(self.up_deg)))


def tiedowns(
    weight_lb: int, straps: Sequence[Tiedown], geometry: Geometry, today: dt.date
) -> Result:
    """Check a strap at each wheel, anchored ahead of it and behind it, against the rules.

    Every strap has two ends. Forward forces load the ends that run back from the wheels, rearward
    forces those that run ahead, sideways forces both ends on one side of the vehicle. Friction
    is not counted. Then the same with the strongest strap lost.

    Parameters
    ----------
    weight_lb : int
        High weight of the vehicle, 400 to 10,000 lb.
    straps : sequence of Tiedown
        Four, one for each wheel, half of them on each side. Damaged or overdue straps do not
        count.
    geometry : Geometry
        The angles of their ends.
    today : date
        For inspections that are due.

    Raises
    ------
    OutOfRangeError
        If the weight is out of range or there are not four straps.

    Notes
    -----
    Source: 49 CFR 393.102(a)(2), 393.106(d), 393.128. The geometry is statics.

    Examples
    --------
    Four straps of 3,333 lb on 5,000 lb: 6,666 lb count, 2,500 are required.

    >>> strap = Tiedown("wheel strap", (3333,))
    >>> found = tiedowns(5000, [strap] * 4, Geometry(40, 20), dt.date(2026, 3, 1))
    >>> found.amount("aggregate"), found.is_over
    (6666, False)
    """
    require_whole("weight", weight_lb, 400, MOST_CAR_LB, "lb")
    if len(straps) != 4:
        raise OutOfRangeError("wheel straps", len(straps), "4, one at each wheel")
    good = [one for one in straps if not one.is_out(today)]
    total, needed = aggregate(good), Fraction(weight_lb, 2)
    return Result(
        "tiedowns",
        (("weight_lb", weight_lb), ("up_deg", geometry.up_deg),
         ("aside_deg", geometry.aside_deg), ("today", today.isoformat())),
        (
            Amount("aggregate", down(total), "lb"),
            Amount("needed", up(needed), "lb"),
            Amount("good", len(good), "count"),
        ),
        tuple(_all_checks(weight_lb, good, geometry)),
        tuple(_steps(weight_lb, good, geometry)),
        f"{HALF_SOURCE}, {FORCE_SOURCE}, {CAR_SOURCE}",
    )  # fmt: skip


def _all_checks(weight_lb: int, good: Sequence[Tiedown], geometry: Geometry) -> Iterator[Check]:
    """Yield missing straps, then the checks of all of them, then of all but the strongest."""
    number = vehicle_number(weight_lb)
    if len(good) < number:
        yield Check("straps", number, len(good), "of them", CAR_SOURCE)
    yield from _checks(weight_lb, good, geometry, "")
    less = sorted(good, key=lambda one: one.limit_lb)[:-1]
    yield from _checks(weight_lb, less, geometry, "one strap lost, ")


def _checks(weight_lb: int, good: Sequence[Tiedown], geometry: Geometry, when: str) -> list[Check]:
    """Return the checks of the straps; sideways, those of the weaker side count alone."""
    weakest = sorted(one.limit_lb for one in good)
    ends = sum(weakest)
    side = 2 * sum(weakest[: len(good) // 2])  # both ends of each strap of the weaker side
    bounds = {
        "forward": ends * geometry.along,
        "rearward": ends * geometry.along,
        "sideways": side * geometry.across,
    }
    downward = 2 * ends * geometry.down
    return [
        Check(f"{when}aggregate", up(Fraction(weight_lb, 2)), down(aggregate(good)), "lb",
             HALF_SOURCE),
        *(
            Check(f"{when}{name}", up(weight_lb * TO_LIMIT[name]), down(bound), "lb", FORCE_SOURCE)
            for name, bound in bounds.items()
        ),
        Check(f"{when}downward", up(weight_lb * DOWNWARD), down(downward), "lb",
             "49 CFR 393.102(b)"),
    ]  # fmt: skip


def _steps(weight_lb: int, good: Sequence[Tiedown], geometry: Geometry) -> list[Step]:
    ends = sum(one.limit_lb for one in good)
    of = {"weight_lb": weight_lb}
    return [
        step("aggregate", {"ends_lb": ends}, aggregate(good), "lb", HALF_SOURCE),
        step("needed", of, Fraction(weight_lb, 2), "lb", HALF_SOURCE),
        *(
            step(f"{name}_force", of | {"part_x": part}, weight_lb * part, "lb", FORCE_SOURCE)
            for name, part in TO_LIMIT.items()
        ),
        step("along", {"ends_lb": ends, "along_x": geometry.along}, ends * geometry.along, "lb",
             "statics"),
    ]  # fmt: skip

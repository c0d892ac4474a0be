"""Weight of a vehicle: from a scale ticket, from paper, or from its class alone.

Rules and how good they are: ``flows/tables/SOURCES.md``. Not sure is an answer: it takes every
row of the class table that the vehicle could be, the highest weight and the widest share.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from itertools import product
from math import ceil, floor
from types import MappingProxyType
from typing import Final, Literal, TypeAlias

from flows.errors import OutOfRangeError, require_whole
from flows.figures.classes import (
    Family,
    Size,
    class_ids,
    class_row,
    families,
    length_rows,
    mass_rows,
    share_rows,
    sizes,
)
from flows.figures.deck import Load

__all__ = [
    "Drive",
    "Family",
    "KnownWeight",
    "PlanningWeight",
    "Powertrain",
    "Size",
    "class_ids",
    "families",
    "from_stated",
    "from_ticket",
    "heaviest",
    "planning",
    "sizes",
]

Powertrain: TypeAlias = Literal["electric", "hybrid", "combustion"]
Drive: TypeAlias = Literal["front", "rear", "all"]

POWERTRAINS: Final[tuple[Powertrain, ...]] = ("electric", "hybrid", "combustion")
DRIVES: Final[tuple[Drive, ...]] = ("front", "rear", "all")

TABLE_SOURCE: Final = "class table, public fleet data, model years 2015 to 2025"
TICKET_SOURCE: Final = "scale ticket, both axles"
STATED_SOURCE: Final = "stated weight, with the allowance for its powertrain"

# Widening that held for vehicles the table had not seen: SOURCES.md, "How good it is".
HIGH_PART: Final = Fraction(110, 100)
SHARE_WIDENING_PM: Final = 20
# Scale against paper: common practice for electric (10 to 15 % over), measured for combustion.
STATED_PART: Final[Mapping[Powertrain, Fraction]] = MappingProxyType(
    {
        "electric": Fraction(115, 100),
        "hybrid": Fraction(115, 100),
        "combustion": Fraction(106, 100),
    }
)
# Against the combustion vehicle of the same name, for a class without a row of the powertrain.
HEAVIER_PART: Final[Mapping[Powertrain, Fraction]] = MappingProxyType(
    {"electric": Fraction(120, 100), "hybrid": Fraction(110, 100), "combustion": Fraction(1)}
)
# The table measures pickups without the rear bumper: 15 to 25 cm, from memory.
BUMPER_CM: Final[Mapping[str, int]] = MappingProxyType(
    {"pickup_full_size": 25, "pickup_heavy_duty": 25}
)
CM_PER_INCH: Final = Fraction(254, 100)
_TABLE_WORD: Final[Mapping[Powertrain, str]] = MappingProxyType(
    {"electric": "battery_electric", "hybrid": "hybrid", "combustion": "combustion"}
)


@dataclass(frozen=True, slots=True)
class KnownWeight:
    """A weight that somebody read: in lb, with the front share in per mille if it has one.

    Attributes
    ----------
    likely_lb, high_lb : int
        Equal for a scale ticket.
    share_pm : tuple of int or None
        Low, middle and high; for a ticket they differ by the rounding only.
    source : str
        Where it was read.
    """

    likely_lb: int
    high_lb: int
    share_pm: tuple[int, int, int] | None
    source: str


@dataclass(frozen=True, slots=True)
class PlanningWeight:
    """What to reckon with for a vehicle known by its class.

    Attributes
    ----------
    likely_lb, high_lb : int
        Likely weight and the highest to reckon with.
    share_low_pm, share_mid_pm, share_high_pm : int
        Part of the weight on the front axle, per mille.
    wheelbase_in, front_overhang_in, rear_overhang_in : int
        Typical for the class, rounded up; the longest of the rows.
    rows : tuple of str
        Rows of the class table that were used, ``class/powertrain/drive``.
    source : str
        Where the numbers come from.
    """

    likely_lb: int
    high_lb: int
    share_low_pm: int
    share_mid_pm: int
    share_high_pm: int
    wheelbase_in: int
    front_overhang_in: int
    rear_overhang_in: int
    rows: tuple[str, ...]
    source: str

    def load(self, *, nose_first: bool) -> Load:
        """Return what the margin needs."""
        return Load(
            self.likely_lb,
            self.high_lb,
            self.share_low_pm,
            self.share_mid_pm,
            self.share_high_pm,
            self.wheelbase_in,
            self.front_overhang_in,
            self.rear_overhang_in,
            nose_first=nose_first,
        )

    def weighing(self, known: KnownWeight) -> "PlanningWeight":
        """Return the same with a weight that was read, and its share if it has one."""
        low, mid, high = known.share_pm or (
            self.share_low_pm,
            self.share_mid_pm,
            self.share_high_pm,
        )
        return replace(
            self,
            likely_lb=known.likely_lb,
            high_lb=known.high_lb,
            share_low_pm=low,
            share_mid_pm=mid,
            share_high_pm=high,
            source=f"{known.source}; {self.source}",
        )


def from_ticket(front_lb: int, rear_lb: int) -> KnownWeight:
    """Return the weight a scale ticket gives for both axles.

    Parameters
    ----------
    front_lb, rear_lb : int
        Axle weights, 100 to 20,000 lb.

    Returns
    -------
    KnownWeight
        The share is exact but for the rounding to per mille: low down, high up.

    Raises
    ------
    OutOfRangeError
        If a weight is no whole number or out of range.

    Examples
    --------
    2,410 of 4,960 lb are 485.9 per mille:

    >>> from_ticket(2410, 2550).share_pm, from_ticket(2410, 2550).high_lb
    ((485, 486, 486), 4960)
    """
    require_whole("front axle weight", front_lb, 100, 20_000, "lb")
    require_whole("rear axle weight", rear_lb, 100, 20_000, "lb")
    total = front_lb + rear_lb
    share = Fraction(1000 * front_lb, total)
    mid = floor(share + Fraction(1, 2))
    return KnownWeight(total, total, (floor(share), mid, ceil(share)), TICKET_SOURCE)


def from_stated(total_lb: int, powertrain: Powertrain | None) -> KnownWeight:
    """Return the weight range for a figure from a label or papers.

    Parameters
    ----------
    total_lb : int
        Stated weight, 400 to 20,000 lb.
    powertrain : {"electric", "hybrid", "combustion"} or None
        Electric and hybrid may weigh 15 percent more than stated (common practice: usually 10
        to 15), combustion 6 percent (9 in 10 of the measured). None counts as electric.

    Raises
    ------
    OutOfRangeError
        If the weight is no whole number or out of range, or there is no such powertrain.

    Examples
    --------
    >>> from_stated(4600, "electric").high_lb, from_stated(4600, "combustion").high_lb
    (5290, 4876)
    """
    require_whole("stated weight", total_lb, 400, 20_000, "lb")
    _require_word("powertrain", powertrain or "electric", POWERTRAINS)
    high = ceil(STATED_PART[powertrain or "electric"] * total_lb)
    return KnownWeight(total_lb, high, None, STATED_SOURCE)


@lru_cache(maxsize=256)
def planning(class_id: str, powertrain: Powertrain | None, drive: Drive | None) -> PlanningWeight:
    """Return what to reckon with for a vehicle of a class.

    Likely is the median, high 1.10 times the 95th percentile, the share from 2 points below the
    5th to 2 points above the 95th percentile with the median between, each from the first row
    that rests on 10 vehicles or more, in the order of `mass_rows`, `share_rows` and
    `length_rows`. A thinner row never counts alone: where only the row of all powertrains is
    thick enough, it can raise the weight.

    Parameters
    ----------
    class_id : str
        One of `class_ids`.
    powertrain, drive : str or None
        None is not sure: every row it could be, the highest weight and the widest share; the
        middle share is half way between the lowest and the highest median.

    Returns
    -------
    PlanningWeight
        Pounds and inches rounded up, shares outward.

    Raises
    ------
    OutOfRangeError
        If an argument is none of the words above.

    Examples
    --------
    Compact SUV, battery-electric, all-wheel drive: likely 2,170 kg, high 1.10 x 2,371 kg, share
    46.0 to 53.6 percent (the table's page, worked case):

    >>> p = planning("suv_compact", "electric", "all")
    >>> p.likely_lb, p.high_lb, p.share_low_pm, p.share_mid_pm, p.share_high_pm
    (4784, 5750, 460, 500, 536)
    """
    _require_word("weight class", class_id, class_ids())
    _require_word("powertrain", powertrain or "electric", POWERTRAINS)
    _require_word("drive", drive or "all", DRIVES)
    could_be = product([powertrain] if powertrain else POWERTRAINS, [drive] if drive else DRIVES)
    each = [_one(class_id, *one) for one in could_be]
    middles = [one.share_mid_pm for one in each]
    return PlanningWeight(
        likely_lb=max(one.likely_lb for one in each),
        high_lb=max(one.high_lb for one in each),
        share_low_pm=min(one.share_low_pm for one in each),
        share_mid_pm=(min(middles) + max(middles) + 1) // 2,
        share_high_pm=max(one.share_high_pm for one in each),
        wheelbase_in=max(one.wheelbase_in for one in each),
        front_overhang_in=max(one.front_overhang_in for one in each),
        rear_overhang_in=max(one.rear_overhang_in for one in each),
        rows=tuple(dict.fromkeys(row for one in each for row in one.rows)),
        source=TABLE_SOURCE,
    )


def heaviest(candidates: Iterable[str], powertrain: Powertrain | None, drive: Drive | None) -> str:
    """Return the heaviest class that the driver does not rule out.

    Parameters
    ----------
    candidates : iterable of str
        Ids of the classes that are left, at least one.
    powertrain, drive : str or None
        As in `planning`.

    Examples
    --------
    >>> heaviest(["suv_compact", "suv_midsize"], "electric", "all")
    'suv_midsize'
    """
    return max(candidates, key=lambda class_id: planning(class_id, powertrain, drive).high_lb)


def _require_word(what: str, value: str, allowed: tuple[str, ...]) -> None:
    if value not in allowed:
        raise OutOfRangeError(what, value, ", ".join(allowed))


def _one(class_id: str, powertrain: Powertrain, drive: Drive) -> PlanningWeight:
    """Reckon for one powertrain and one drive."""
    key = _TABLE_WORD[powertrain]
    likely, high, weight_rows = _weights(class_id, powertrain, drive)
    shares = share_rows(class_id, key, drive)[0]
    low, mid, top = shares.shares_pm
    wheelbase, front, rear = length_rows(class_id, key, drive)[0].lengths_cm
    return PlanningWeight(
        likely_lb=likely,
        high_lb=high,
        share_low_pm=low - SHARE_WIDENING_PM,
        share_mid_pm=mid,
        share_high_pm=top + SHARE_WIDENING_PM,
        wheelbase_in=ceil(wheelbase / CM_PER_INCH),
        front_overhang_in=ceil(front / CM_PER_INCH),
        rear_overhang_in=ceil((rear + BUMPER_CM.get(class_id, 0)) / CM_PER_INCH),
        rows=(*weight_rows, shares.name),
        source=TABLE_SOURCE,
    )


def _weights(class_id: str, powertrain: Powertrain, drive: Drive) -> tuple[int, int, list[str]]:
    """Likely and high weight in lb, and the names of the rows they come from.

    The row of all powertrains is mostly combustion. Where it is all there is, the powertrain's
    own thin row can raise it; without one, the usual step between the powertrains does.
    """
    key = _TABLE_WORD[powertrain]
    rows = mass_rows(class_id, key, drive)[:1]
    step = Fraction(1)
    if rows[0].key == (class_id, "any", "any"):
        thin = class_row(class_id, key, "any")
        rows += [thin] if thin else []
        step = Fraction(1) if thin else HEAVIER_PART[powertrain]
    likely = max(row.likely_lb for row in rows)
    high = max(row.p95_lb for row in rows)
    return ceil(step * likely), ceil(step * HIGH_PART * high), [row.name for row in rows]

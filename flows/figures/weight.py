"""Planning weight of a vehicle, from its class or from a weight that somebody read.

Rules and their accuracy: ``tables/SOURCES.md``. Not sure is an answer too: it takes every row of
the class table that the vehicle could be in, the highest weight and the widest share.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from itertools import product
from math import ceil, floor
from types import MappingProxyType
from typing import Final, Literal, TypeAlias

from flows.errors import require_whole
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
from flows.figures.known_weights import (
    POWERTRAINS,
    SHARE_WIDENING_PM,
    KnownWeight,
    Powertrain,
    from_card,
    from_label,
    from_measured,
    from_stated,
    from_ticket,
    require_word,
)

__all__ = [
    "Drive",
    "Family",
    "KnownWeight",
    "PlanningWeight",
    "Powertrain",
    "Size",
    "class_ids",
    "families",
    "from_card",
    "from_label",
    "from_measured",
    "from_stated",
    "from_ticket",
    "heaviest",
    "planning",
    "sizes",
]

Drive: TypeAlias = Literal["front", "rear", "all"]

DRIVES: Final[tuple[Drive, ...]] = ("front", "rear", "all")

TABLE_SOURCE: Final = "class table, public fleet data, model years 2015 to 2025"

# Widening that covered vehicles not in the table: SOURCES.md, "How good it is".
HIGH_PART: Final = Fraction(110, 100)
# Over the combustion vehicle of the same name, for a class without a row for the powertrain.
HEAVIER_PART: Final[Mapping[Powertrain, Fraction]] = MappingProxyType(
    {"electric": Fraction(120, 100), "hybrid": Fraction(110, 100), "combustion": Fraction(1)}
)
# The table measures pickups without the rear bumper: 15 to 25 cm, from memory.
BUMPER_CM: Final[Mapping[str, int]] = MappingProxyType(
    {"pickup_full_size": 25, "pickup_heavy_duty": 25}
)
CM_PER_INCH: Final = Fraction(254, 100)
TABLE_WORD: Final[Mapping[Powertrain, str]] = MappingProxyType(
    {"electric": "battery_electric", "hybrid": "hybrid", "combustion": "combustion"}
)


@dataclass(frozen=True, slots=True)
class PlanningWeight:
    """Weights, shares and lengths to plan with for a vehicle known by its class.

    Attributes
    ----------
    likely_lb, high_lb : int
        Likely and highest weight.
    share_low_pm, share_mid_pm, share_high_pm : int
        Part of the weight on the front axle, per mille.
    wheelbase_in, front_overhang_in, rear_overhang_in : int
        Typical for the class, rounded up; the longest of the rows.
    rows : tuple of str
        Rows of the class table used, ``class/powertrain/drive``.
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

    def load(self, *, nose_first: bool, height_in: int | None = None) -> Load:
        """Return it as a load of the margin; `nose_first` says which end is toward the truck."""
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
            height_in=height_in,
        )

    def adding(self, contents_lb: int = 0, bed_lb: int = 0) -> "PlanningWeight":
        """Return the same with its contents and a bed load added.

        Not for a weight that was scaled with the load in it. Nobody knows where contents lie:
        anywhere between the two axles, most likely spread like the vehicle's own weight. A bed
        load lies anywhere from over the rear axle to half way to the front, most likely over the
        rear axle (our own choice, to the cautious side).

        Parameters
        ----------
        contents_lb, bed_lb : int
            0 to 10,000 lb.

        Raises
        ------
        OutOfRangeError
            If a weight is not a whole number or is out of range.

        Examples
        --------
        1,000 lb on the bed of 5,000 lb at 58 percent: 2,900 of 6,000 lb on the front axle if it
        lies over the rear axle, 3,400 if half way.

        >>> pickup = planning("pickup_full_size", "combustion", "rear")
        >>> known = KnownWeight(5000, 5000, (580, 580, 580), "scale ticket")
        >>> loaded = pickup.weighing(known).adding(bed_lb=1000)
        >>> loaded.high_lb, loaded.share_low_pm, loaded.share_mid_pm, loaded.share_high_pm
        (6000, 483, 483, 567)
        """
        require_whole("contents", contents_lb, 0, 10_000, "lb")
        require_whole("bed load", bed_lb, 0, 10_000, "lb")
        more = contents_lb + bed_lb

        def share(weight: int, share_pm: int, in_front: Fraction) -> Fraction:
            return (weight * share_pm + 1000 * in_front) / (weight + more)

        ends = (self.likely_lb, self.high_lb)
        ahead = contents_lb + Fraction(bed_lb, 2)
        middle = Fraction(contents_lb * self.share_mid_pm, 1000)
        return replace(
            self,
            likely_lb=self.likely_lb + more,
            high_lb=self.high_lb + more,
            share_low_pm=floor(min(share(w, self.share_low_pm, Fraction(0)) for w in ends)),
            share_mid_pm=floor(share(ends[0], self.share_mid_pm, middle) + Fraction(1, 2)),
            share_high_pm=ceil(max(share(w, self.share_high_pm, ahead) for w in ends)),
        )

    def weighing(self, known: KnownWeight) -> "PlanningWeight":
        """Return the same with a weight that somebody read, and its share if it has one."""
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


@lru_cache(maxsize=256)
def planning(class_id: str, powertrain: Powertrain | None, drive: Drive | None) -> PlanningWeight:
    """Return the planning weight of a vehicle of a class.

    Likely is the median, high 1.10 times the 95th percentile, the share from 2 points below the
    5th to 2 points above the 95th percentile with the median between, each from the first row
    with 10 vehicles or more behind it, in the order of `mass_rows`, `share_rows` and
    `length_rows`. A thin row never counts alone: if only the row of all powertrains has enough
    vehicles, it can raise the weight.

    Parameters
    ----------
    class_id : str
        One of `class_ids`.
    powertrain, drive : str or None
        None if not sure: every possible row, the highest weight and the widest share; the middle
        share is half way between the lowest and the highest median.

    Returns
    -------
    PlanningWeight
        Pounds and inches rounded up, shares outward.

    Raises
    ------
    OutOfRangeError
        If an argument is not one of these words.

    Examples
    --------
    Compact SUV, battery-electric, all-wheel drive: likely 2,170 kg, high 1.10 x 2,371 kg, share
    46.0 to 53.6 percent:

    >>> p = planning("suv_compact", "electric", "all")
    >>> p.likely_lb, p.high_lb, p.share_low_pm, p.share_mid_pm, p.share_high_pm
    (4784, 5750, 460, 500, 536)
    """
    require_word("weight class", class_id, class_ids())
    require_word("powertrain", powertrain or "electric", POWERTRAINS)
    require_word("drive", drive or "all", DRIVES)
    could_be = product([powertrain] if powertrain else POWERTRAINS, [drive] if drive else DRIVES)
    return _widest([_one(class_id, *one) for one in could_be])


def _widest(each: list[PlanningWeight]) -> PlanningWeight:
    """Return the highest weight, the widest share and the longest size of several."""
    middles = [one.share_mid_pm for one in each]

    def most(name: str) -> int:
        highest: int = max(getattr(one, name) for one in each)
        return highest

    return PlanningWeight(
        likely_lb=most("likely_lb"),
        high_lb=most("high_lb"),
        share_low_pm=min(one.share_low_pm for one in each),
        share_mid_pm=(min(middles) + max(middles) + 1) // 2,
        share_high_pm=most("share_high_pm"),
        wheelbase_in=most("wheelbase_in"),
        front_overhang_in=most("front_overhang_in"),
        rear_overhang_in=most("rear_overhang_in"),
        rows=tuple(dict.fromkeys(row for one in each for row in one.rows)),
        source=TABLE_SOURCE,
    )


def heaviest(candidates: Iterable[str], powertrain: Powertrain | None, drive: Drive | None) -> str:
    """Return the heaviest class that the driver has not ruled out.

    Parameters
    ----------
    candidates : iterable of str
        Ids of the remaining classes, at least one.
    powertrain, drive : str or None
        As in `planning`.

    Examples
    --------
    >>> heaviest(["suv_compact", "suv_midsize"], "electric", "all")
    'suv_midsize'
    """
    return max(candidates, key=lambda class_id: planning(class_id, powertrain, drive).high_lb)


def _one(class_id: str, powertrain: Powertrain, drive: Drive) -> PlanningWeight:
    """Return the planning weight for one powertrain and one drive."""
    key = TABLE_WORD[powertrain]
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
    """Return likely and high weight in lb, and the names of the rows they come from.

    The row of all powertrains is mostly combustion. If no other row has enough vehicles, the
    powertrain's own thin row can raise it; without that, the usual step between powertrains does.
    """
    key = TABLE_WORD[powertrain]
    rows = mass_rows(class_id, key, drive)[:1]
    step = Fraction(1)
    if rows[0].key == (class_id, "any", "any"):
        thin = class_row(class_id, key, "any")
        rows += [thin] if thin else []
        step = Fraction(1) if thin else HEAVIER_PART[powertrain]
    likely = max(row.likely_lb for row in rows)
    high = max(row.p95_lb for row in rows)
    return ceil(step * likely), ceil(step * HIGH_PART * high), [row.name for row in rows]

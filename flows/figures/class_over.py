"""The part of the class table for which a truck would be overloaded.

A vehicle counts as over if at every position, either way round, some limit is exceeded at its
weight and the middle share: a no-go by itself. Within a row of the table, weights are assumed to
be spread evenly between the percentiles given, up to the highest weight listed.
"""

from bisect import bisect_left, bisect_right
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from math import ceil
from typing import Final

from flows.figures.classes import class_ids, mass_rows
from flows.figures.deck import Load, Truck
from flows.figures.legal import FEDERAL, Legal
from flows.figures.limits import Asked
from flows.figures.verdict import is_possible
from flows.figures.weight import TABLE_WORD, Drive, Powertrain, planning

# Part of the vehicles lighter than each weight of a row's spread, per mille.
_LIGHTER_PM: Final = (50, 250, 500, 750, 950, 1000)
_WAYS: Final = (True, False)
_HEAVIEST_LB: Final = 40_000


@dataclass(frozen=True, slots=True)
class ClassOver:
    """The part of a class for which a truck would be over.

    Attributes
    ----------
    row : str
        The row of the class table, ``class/powertrain/drive``, with enough vehicles behind it.
    most_lb : int
        The heaviest vehicle of the class's shape that is not over; 0 if even the lightest is.
    over_pm : int
        Part of the row's vehicles that are heavier, per mille, rounded up.
    vehicles : int
        Vehicles behind the row.
    """

    row: str
    most_lb: int
    over_pm: int
    vehicles: int


@lru_cache(maxsize=256)
def class_over(
    truck: Truck,
    class_id: str,
    powertrain: Powertrain | None = None,
    drive: Drive | None = None,
    legal: Legal = FEDERAL,
) -> ClassOver:
    """Return the part of a class for which this truck would be over.

    Parameters
    ----------
    truck : Truck
        With everything aboard; nothing on its wheel lift.
    class_id : str
        One of `class_ids`.
    powertrain, drive : str or None
        None if not sure: the row of all of them.
    legal : Legal
        As in the margin.

    Raises
    ------
    OutOfRangeError
        If a word is not in the table.

    Examples
    --------
    >>> light = Truck(5500, 8900, 19500, 7500, 13500, 199, 88, 234)
    >>> class_over(light, "car_compact").over_pm
    0
    >>> class_over(light, "pickup_heavy_duty").over_pm
    1000
    """
    plan = planning(class_id, powertrain, drive)
    words = TABLE_WORD[powertrain] if powertrain else "any", drive or "any"
    row = mass_rows(class_id, *words)[0]
    among = range(1, _HEAVIEST_LB + 1)
    most = max(_most_lb(truck, plan.load(nose_first=way), legal, among) for way in _WAYS)
    return ClassOver(row.name, most, _over_pm(row.spread_lb, most), row.n_mass)


@lru_cache(maxsize=256)
def table_over(truck: Truck, legal: Legal = FEDERAL) -> int:
    """Return the part of the whole class table for which this truck would be over, per mille.

    Each class counts by the vehicles behind it; rounded up.

    Examples
    --------
    >>> table_over(Truck(9200, 11600, 33000, 13000, 21000, 254, 86, 300))
    0
    """
    over, vehicles = 0, 0
    for class_id in class_ids():
        row, shape = mass_rows(class_id, "any", "any")[0], planning(class_id, None, None)
        # Within what the row's vehicles weigh: beyond it, the part that is over is the same.
        among = range(row.spread_lb[0], row.spread_lb[-1] + 1)
        most = max(_most_lb(truck, shape.load(nose_first=way), legal, among) for way in _WAYS)
        over += _over_pm(row.spread_lb, most) * row.n_mass
        vehicles += row.n_mass
    return ceil(Fraction(over, vehicles))


def _most_lb(truck: Truck, shape: Load, legal: Legal, among: range) -> int:
    """The heaviest weight of some that fits anywhere, else one less: more never makes it fit."""

    def over(weight: int) -> bool:
        load = replace(shape, likely_lb=weight, high_lb=weight)
        return not is_possible(Asked(truck, load, None, legal))

    if not over(among[-1]):
        return among[-1]
    return among[0] - 1 + bisect_left(among, 1, key=over)


def _over_pm(spread_lb: tuple[int, ...], most_lb: int) -> int:
    """Part of a row's vehicles that weigh more, per mille, rounded up."""
    return ceil(1000 - _lighter_pm(spread_lb, most_lb))


def _lighter_pm(spread_lb: tuple[int, ...], weight_lb: int) -> Fraction:
    """Part of a row's vehicles that weigh at most this much, per mille.

    Examples
    --------
    >>> _lighter_pm((2000, 3000, 4000, 5000, 6000, 7000), 2500)
    Fraction(150, 1)
    """
    at = bisect_right(spread_lb, weight_lb)
    if at == 0:
        return Fraction(0)
    if at == len(spread_lb):
        return Fraction(_LIGHTER_PM[-1])
    low, high = spread_lb[at - 1 : at + 1]
    from_pm, to_pm = _LIGHTER_PM[at - 1 : at + 1]
    return from_pm + Fraction((to_pm - from_pm) * (weight_lb - low), high - low)

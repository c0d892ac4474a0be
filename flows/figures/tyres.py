"""The load that the tyres of an axle carry, from the load index on their sidewalls.

The table is packaged and read once; ``tables/SOURCES.md`` says where it comes from.
"""

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from importlib.resources import files
from math import floor
from types import MappingProxyType
from typing import Final

from flows.errors import OutOfRangeError

LB_IN_KG: Final = Fraction(45_359_237, 100_000_000)


@dataclass(frozen=True, slots=True)
class IndexRow:
    """One load index: the load of one tyre, and whether the row was read or is from memory."""

    index: int
    kg: int
    read: bool


def index_row(index: int) -> IndexRow:
    """Return the row of a load index.

    Raises
    ------
    OutOfRangeError
        If the table, from 70 to 150, has no such index.

    Examples
    --------
    >>> index_row(100)
    IndexRow(index=100, kg=800, read=True)
    """
    row = _table().get(index)
    if row is None:
        raise OutOfRangeError("load index", index, f"{min(_table())} to {max(_table())}")
    return row


@dataclass(frozen=True, slots=True)
class TyreSet:
    """The tyres of an axle or of a tandem: how many, and their load index.

    Attributes
    ----------
    index : int
        70 to 150; the second index on the sidewall if tyres are in pairs.
    count : int
        2 to 8.
    """

    index: int
    count: int

    @property
    def kg(self) -> int:
        """Load of one tyre, in kilograms."""
        return index_row(self.index).kg

    @property
    def carry_lb(self) -> int:
        """Load of all of them together, in pounds, rounded down."""
        return floor(self.kg * self.count / LB_IN_KG)


def tyre_set(single: int, dual: int | None, *, is_dual: bool, axles: int = 1) -> TyreSet:
    """Return the tyres of one axle, or of a tandem, as one set.

    Parameters
    ----------
    single, dual : int, int or None
        The two load indexes on the sidewall, ``120/116``: for a tyre alone, and for a tyre in a
        pair. 70 to 150.
    is_dual : bool
        True with two tyres at each end of an axle.
    axles : int
        1, or 2 for a tandem.

    Returns
    -------
    TyreSet

    Raises
    ------
    OutOfRangeError
        If an index is not in the table, or if tyres are in pairs and the second index, the lower
        of the two, is not known.

    Notes
    -----
    Source: load index table, kilograms for one tyre; its rows from 120 up, except 142, are from
    memory (`IndexRow.read`). 1 lb = 0.45359237 kg exactly.

    Examples
    --------
    Two tyres of 800 kg: 3,527.4 lb. Four in pairs at 1,250 kg: 11,023.1 lb.

    >>> tyre_set(100, None, is_dual=False).carry_lb, tyre_set(120, 116, is_dual=True).carry_lb
    (3527, 11023)
    """
    if axles not in {1, 2}:
        raise OutOfRangeError("axles", axles, "1 or 2")
    if is_dual and (dual is None or dual > single):
        raise OutOfRangeError("dual load index", dual, f"the second index, at most {single}")
    index = dual if is_dual and dual is not None else single
    index_row(index)
    return TyreSet(index, axles * (4 if is_dual else 2))


@lru_cache(maxsize=1)
def _table() -> Mapping[int, IndexRow]:
    text = files("flows.figures.tables").joinpath("load_index.csv").read_text("utf-8")
    rows = [
        IndexRow(int(line["load_index"]), int(line["kg"]), line["verified"] == "1")
        for line in csv.DictReader(text.splitlines())
    ]
    return MappingProxyType({row.index: row for row in rows})

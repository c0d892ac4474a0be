"""Weight classes: how a driver chooses a class, and its rows in the class table.

The table is packaged and read once; ``tables/SOURCES.md`` says where it comes from.
"""

import csv
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from importlib.resources import files
from types import MappingProxyType
from typing import Final, TypeAlias

from flows.errors import OutOfRangeError

Key: TypeAlias = tuple[str, str, str]

# A row with fewer vehicles behind it is thin.
ENOUGH: Final = 10


@dataclass(frozen=True, slots=True)
class Family:
    """A family of weight classes: its id and its spoken name."""

    id: str
    label: str


@dataclass(frozen=True, slots=True)
class Size:
    """A weight class within its family: its id and its spoken name."""

    class_id: str
    label: str


@dataclass(frozen=True, slots=True)
class ClassRow:
    """A row of the class table: class, powertrain and drive, of which the last two may be ``any``.

    Attributes
    ----------
    key : tuple of str
        Class, powertrain, drive, as the table writes them.
    n_mass, n_share, n_lengths : int
        Vehicles behind the weights, the shares, and from the source that gives overhangs.
    likely_lb, p95_lb : int
        Median and 95th percentile of the weight.
    spread_lb : tuple of int
        5th, 25th, 50th, 75th and 95th percentile of the weight, and the highest listed.
    shares_pm : tuple of int
        5th, 50th and 95th percentile of the front share, per mille; empty if not known.
    lengths_cm : tuple of Fraction
        Wheelbase, front and rear overhang, medians; empty unless all are known.
    """

    key: Key
    n_mass: int
    n_share: int
    n_lengths: int
    likely_lb: int
    p95_lb: int
    spread_lb: tuple[int, ...]
    shares_pm: tuple[int, ...]
    lengths_cm: tuple[Fraction, ...]

    @property
    def name(self) -> str:
        """The key in one word, for the record."""
        return "/".join(self.key)


_FAMILIES: Final = (
    Family("car", "car"),
    Family("suv", "SUV"),
    Family("pickup", "pickup"),
    Family("van", "van"),
)
_SIZES: Final[Mapping[str, tuple[Size, ...]]] = MappingProxyType(
    {
        "car": (
            Size("car_subcompact", "very small car"),
            Size("car_compact", "small car"),
            Size("car_midsize", "midsize car"),
            Size("car_large", "large car"),
            Size("coupe_or_convertible", "two door"),
        ),
        "suv": (
            Size("suv_subcompact", "very small SUV"),
            Size("suv_compact", "small SUV"),
            Size("suv_midsize", "midsize SUV"),
            Size("suv_large_crossover", "large crossover"),
            Size("suv_large_truck_based", "truck based SUV"),
        ),
        "pickup": (
            Size("pickup_midsize", "midsize pickup"),
            Size("pickup_full_size", "half ton"),
            Size("pickup_heavy_duty", "heavy duty"),
        ),
        "van": (
            Size("van_small_cargo", "small cargo van"),
            Size("minivan", "minivan"),
            Size("van_full_size", "full size van"),
        ),
    }
)
# The table's group of cars has no two-door cars in it.
_GROUP: Final[Mapping[str, str]] = MappingProxyType(
    {
        size.class_id: f"ANY_{family.upper()}"
        for family, choices in _SIZES.items()
        for size in choices
        if size.class_id != "coupe_or_convertible"
    }
)


def families() -> tuple[Family, ...]:
    """Return the families a driver chooses from, at most five."""
    return _FAMILIES


def sizes(family: str) -> tuple[Size, ...]:
    """Return the classes of a family, at most five, small first.

    Raises
    ------
    OutOfRangeError
        If there is no such family.

    Examples
    --------
    >>> [size.label for size in sizes("pickup")]
    ['midsize pickup', 'half ton', 'heavy duty']
    """
    if family not in _SIZES:
        raise OutOfRangeError("family", family, ", ".join(_SIZES))
    return _SIZES[family]


def family_of(class_id: str) -> str:
    """Return the family of a weight class.

    Raises
    ------
    OutOfRangeError
        If there is no such class.

    Examples
    --------
    >>> family_of("minivan")
    'van'
    """
    for family, choices in _SIZES.items():
        if class_id in {size.class_id for size in choices}:
            return family
    raise OutOfRangeError("weight class", class_id, ", ".join(class_ids()))


def size_label(class_id: str) -> str:
    """Return the spoken name of a weight class.

    Raises
    ------
    OutOfRangeError
        If there is no such class.

    Examples
    --------
    >>> size_label("pickup_full_size")
    'half ton'
    """
    labels = {size.class_id: size.label for size in sizes(family_of(class_id))}
    return labels[class_id]


def class_ids() -> tuple[str, ...]:
    """Return the ids of all weight classes."""
    return tuple(size.class_id for choices in _SIZES.values() for size in choices)


def mass_rows(class_id: str, powertrain: str, drive: str) -> list[ClassRow]:
    """Return the rows for a weight: widen over the drive, then over the powertrain.

    Thin rows are left out. ``tables/SOURCES.md`` gives the order.

    Examples
    --------
    >>> [row.name for row in mass_rows("suv_large_crossover", "battery_electric", "all")]
    ['suv_large_crossover/any/any']
    """
    return [row for row in _narrow(class_id, powertrain, drive) if row.n_mass >= ENOUGH]


def length_rows(class_id: str, powertrain: str, drive: str) -> list[ClassRow]:
    """Return the rows for wheelbase and overhangs, in the order and by the rule of `mass_rows`.

    Examples
    --------
    >>> length_rows("coupe_or_convertible", "battery_electric", "all")[0].name
    'coupe_or_convertible/any/any'
    """
    return [row for row in _narrow(class_id, powertrain, drive) if row.n_lengths >= ENOUGH]


def share_rows(class_id: str, powertrain: str, drive: str) -> list[ClassRow]:
    """Return the rows for a front share: widen over the class before the drive.

    Drive and powertrain decide the share, size hardly does. Thin rows are left out.

    Examples
    --------
    >>> share_rows("suv_compact", "battery_electric", "all")[0].name
    'ANY/battery_electric/all'
    """
    groups = (class_id, _GROUP.get(class_id, "ANY"), "ANY")
    order = [*((group, powertrain, drive) for group in groups), (class_id, "any", "any")]
    return [row for row in _rows(order) if row.n_share >= ENOUGH]


def class_row(class_id: str, powertrain: str, drive: str) -> ClassRow | None:
    """Return a row, thin or not; None if the table has no such row."""
    return _table().get((class_id, powertrain, drive))


def _narrow(class_id: str, powertrain: str, drive: str) -> list[ClassRow]:
    """Return the rows of the class itself, narrowest first."""
    return _rows(
        [(class_id, powertrain, drive), (class_id, powertrain, "any"), (class_id, "any", "any")]
    )


def _rows(order: Iterable[Key]) -> list[ClassRow]:
    return [row for key in order if (row := _table().get(key))]


@lru_cache(maxsize=1)
def _table() -> Mapping[Key, ClassRow]:
    text = files("flows.figures.tables").joinpath("class_table.csv").read_text("utf-8")
    rows = [_row(line) for line in csv.DictReader(text.splitlines())]
    return MappingProxyType({row.key: row for row in rows})


def _row(line: Mapping[str, str]) -> ClassRow:
    shares = [line[f"front_share_pct_{p}"] for p in ("p5", "p50", "p95")]
    spread = ("p5", "p25", "p50", "p75", "p95", "max")
    lengths = [line[f"{name}_cm_p50"] for name in ("wheelbase", "front_overhang", "rear_overhang")]
    return ClassRow(
        key=(line["class"], line["powertrain"], line["drive"]),
        n_mass=int(line["n_mass"]),
        n_share=int(line["n_front_share"]),
        n_lengths=int(line["n_src_cvs"]),
        likely_lb=int(line["mass_lb_p50"]),
        p95_lb=int(line["mass_lb_p95"]),
        spread_lb=tuple(int(line[f"mass_lb_{p}"]) for p in spread),
        shares_pm=tuple(int(Fraction(share) * 10) for share in shares) if all(shares) else (),
        lengths_cm=tuple(map(Fraction, lengths)) if all(lengths) else (),
    )

"""The units people say for each dimension, with their exact sizes in the declared integer unit."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Final, Literal

from flows.measures.found import Unit
from flows.measures.numbers import Style
from flows.measures.words import (
    FEET,
    HOURS,
    MINUTES,
    OTHER_UNITS,
    POUNDS,
    TONS,
    VOLTS,
    Value,
    vocabulary,
)

POUNDS_IN_KILOGRAM: Final = Fraction(100_000_000, 45_359_237)
"""1 lb = 0.45359237 kg exactly (international yard and pound agreement, 1959)."""
IN64_IN_MILLIMETRE: Final = Fraction(640, 254)
"""1 in = 25.4 mm exactly (the same agreement)."""
MI10_IN_KILOMETRE: Final = Fraction(10_000_000, 1_609_344)
"""1 mi = 1.609344 km exactly (the same agreement)."""


Rounding = Literal["nearest", "up", "outward"]


@dataclass(frozen=True, slots=True)
class Measure:
    """A unit people say: its name, every size it may mean, and how numbers before it are read."""

    name: str
    sizes: tuple[Value, ...]
    style: Style
    never_before: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Dimension:
    """The grammar's facts about one dimension.

    `bare` is the measure of a number said alone, `parts` maps a measure's name to the measure of
    a number said right after it ("thirteen foot six") and the number's bound. `rounding` says how
    to round a value between two integers: to the nearest, up (a weight loads a limit), or outward
    to both, as a range. `rising` adds the reading of two rising numbers as a range ("two three
    minutes"), and `alone` has units that are a quantity without a number ("hour and a half ago").
    """

    unit: Unit
    measures: Mapping[str, Measure]
    bare: Measure
    parts: Mapping[str, tuple[Measure, int]] = field(default_factory=dict)
    rounding: Rounding = "nearest"
    rising: bool = False
    alone: frozenset[str] = frozenset()


def _table(*rows: tuple[str, Measure]) -> dict[str, Measure]:
    """Return every spelling with its measure; "_" is written for a space."""
    return {
        word.replace("_", " "): measure
        for spellings, measure in rows
        for word in spellings.split()
    }


_TRUCKS = vocabulary(
    "pickup pickups pick truck trucks van vans dually chassis suspension series class "
    "four crew rated"
)
_FORCE = frozenset(("feet", "foot", "ft", "force"))
_PLACES = vocabulary(
    "the a an my your his her its our their this that these those there here front back total "
    "all neutral park drive gear"
)

POUND: Final = Measure("lb", (1,), "pairs", _FORCE)
MASS: Final = Dimension(
    "lb",
    _table(
        (f"{POUNDS} # pounders", POUND),
        (
            "kg kgs kilo kilos kilogram kilograms kilogramme kilogrammes",
            Measure("kg", (POUNDS_IN_KILOGRAM,), "pairs"),
        ),
        (
            TONS,
            Measure("ton", (2000, 1000 * POUNDS_IN_KILOGRAM), "plain", _TRUCKS),
        ),
        (
            "short_ton short_tons us_ton us_tons american_ton american_tons",
            Measure("short ton", (2000,), "plain"),
        ),
        ("long_ton long_tons imperial_ton imperial_tons", Measure("long ton", (2240,), "plain")),
        (
            "metric_ton metric_tons metric_tonne metric_tonnes tonne tonnes t",
            Measure("metric ton", (1000 * POUNDS_IN_KILOGRAM,), "plain"),
        ),
    ),
    POUND,
    rounding="up",
)

_MINUTE = Measure("min", (1,), "plain")
DURATION: Final = Dimension(
    "min",
    _table(
        (f"{MINUTES} min mins m", _MINUTE),
        (f"{HOURS} hr hrs h", Measure("h", (60,), "plain")),
        ("second seconds sec secs s moment", Measure("s", (Fraction(1, 60),), "plain")),
        ("day days", Measure("day", (1440,), "plain")),
    ),
    _MINUTE,
    {"h": (_MINUTE, 60)},
    rounding="outward",
    rising=True,
    alone=frozenset(("hour", "minute")),
)

INCH: Final = Measure("in", (64,), "plain", _PLACES)
FOOT: Final = Measure("ft", (768,), "plain")
LENGTH: Final = Dimension(
    "in64",
    _table(
        ('in inch inches "', INCH),
        (f"{FEET} ft '", FOOT),
        ("yd yds yard yards", Measure("yd", (2304,), "plain")),
        ("mm millimetre millimetres millimeter millimeters",
         Measure("mm", (IN64_IN_MILLIMETRE,), "plain")),
        ("cm centimetre centimetres centimeter centimeters",
         Measure("cm", (10 * IN64_IN_MILLIMETRE,), "plain")),
        ("metre metres meter meters", Measure("m", (1000 * IN64_IN_MILLIMETRE,), "plain")),
    ),
    Measure("in or ft", (64, 768), "plain"),
    {"ft": (INCH, 12)},
    rising=True,
)  # fmt: skip

_TWELVE_VOLT = vocabulary(
    "battery batteries system supply side circuit line plug outlet socket power posts post "
    "terminal terminals charger pack is was reads read shows showing dead weak fine low flat at "
    "went died side unit"
)
VOLT: Final = Measure("V", (1000,), "volts", _TWELVE_VOLT)
_VOLTS_SAID, _VOLT_SAID = VOLTS.split()
VOLTAGE: Final = Dimension(
    "mV",
    _table(
        (f"v {_VOLT_SAID}", VOLT),
        (_VOLTS_SAID, Measure("V", (1000,), "volts")),
        ("mv millivolt millivolts", Measure("mV", (1,), "pairs")),
        ("kv kilovolt kilovolts", Measure("kV", (1_000_000,), "plain")),
    ),
    VOLT,
)

MILE: Final = Measure("mi", (10,), "plain")
DISTANCE: Final = Dimension(
    "mi10",
    _table(
        ("mi mile miles", MILE),
        ("km kms kilometre kilometres kilometer kilometers",
         Measure("km", (MI10_IN_KILOMETRE,), "plain")),
    ),
    MILE,
    rising=True,
)  # fmt: skip

FOREIGN: Final = OTHER_UNITS.union(
    *(
        [word.split()[0] for word in dimension.measures]
        for dimension in (MASS, DURATION, LENGTH, VOLTAGE, DISTANCE)
    )
) - {"in", "us", "#"}
"""Words after a number that name a unit of any dimension."""

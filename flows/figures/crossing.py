"""Each figure's inputs and answer as quantities: whole numbers inside, units at the border.

Nothing is rounded towards a go: loads go up, capacities down. A line's pull is a force, a weight a
mass; a tag's limit is a mass too, as tags are marked, and means its weight at standard gravity.
"""

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final, TypeAlias

from flows.errors import OutOfRangeError
from flows.figures.border import T, whole
from flows.figures.deck import Load, Truck
from flows.figures.dollies import Dollies
from flows.figures.legal import bridge
from flows.figures.lifting import Lifter, lift
from flows.figures.loading import Ramp, loading
from flows.figures.pull import Slope, pull
from flows.figures.result import Result
from flows.figures.rigging import rigging
from flows.figures.securing import limit, securing
from flows.figures.tiedowns import Geometry, Tiedown, tiedowns
from flows.figures.volts import charge
from flows.figures.warning import devices, storage, taper
from flows.figures.winch import Winch, winch
from flows.figures.window import window

if TYPE_CHECKING:
    from flows.figures.units import Quantity

Into: TypeAlias = Callable[[Any, str], Any]
Takes: TypeAlias = Mapping[str, tuple[str, Into]]

_MASS, _FORCE, _FEET = "pound", "pound_force", "foot"
_GIVEN_IN: Final[Mapping[str, str]] = MappingProxyType(
    {
        "lb": _MASS,
        "ft": _FEET,
        "in": "inch",
        "min": "minute",
        "pct": "percent",
        "count": "dimensionless",
    }
)
_FORCES: Final = frozenset({"pull", "winch", "rigging"})
"""Figures whose pounds are a line's pull."""


def compute(figure: str, given: Mapping[str, Any]) -> Result:
    """Compute a figure from quantities in any unit.

    Parameters
    ----------
    figure : str
        One of `FIGURES`.
    given : mapping
        The inputs, by the names in `FIGURES`: quantities, mappings as
        `flows.figures.border.whole` takes them, and words or counts unchanged.

    Raises
    ------
    OutOfRangeError
        If there is no such figure; if a quantity is of another kind, has no unit, is unknown,
        missing or out of range.

    Examples
    --------
    2 tonnes on a hard surface, 4,409.2 lb: a tenth of 4,410.

    >>> from flows.figures.pull import TRADE
    >>> from flows.figures.units import quantity
    >>> given = {"weight": quantity(2, "tonne"), "surface": "hard", "table": TRADE}
    >>> compute("pull", given).amount("pull")
    441
    """
    if figure not in FIGURES:
        raise OutOfRangeError("figure", figure, ", ".join(FIGURES))
    function, takes, optional = FIGURES[figure]
    if not takes.keys() - optional <= given.keys() <= takes.keys():
        raise OutOfRangeError(figure, ", ".join(given), ", ".join(takes))
    found = {takes[name][0]: takes[name][1](value, name) for name, value in given.items()}
    return function(**found)


def quantities(result: Result) -> dict[str, "Quantity"]:
    """Return the numbers of an answer as quantities, by name.

    Examples
    --------
    100,000 lb by the trade's tenth on a hard surface: 10,000 lbf, 44.48 kN.

    >>> from flows.figures.pull import TRADE
    >>> pulled = quantities(pull(100_000, "hard", TRADE))["pull"]
    >>> round(float(pulled.to("kilonewton").magnitude), 2)
    44.48
    """
    from flows.figures.units import quantity  # noqa: PLC0415  pint is slow

    units = {**_GIVEN_IN, "lb": _FORCE} if result.figure in _FORCES else _GIVEN_IN
    return {one.name: quantity(one.value, units[one.unit]) for one in result.amounts}


def _rounded(how: str, unit: str) -> Into:
    def into(value: Any, what: str) -> int | None:  # noqa: ANN401  a quantity, or none
        from flows.figures import units  # noqa: PLC0415  pint is slow

        found: int | None = None if value is None else getattr(units, how)(value, unit, what)
        return found

    return into


def _each(into: Into) -> Into:
    return lambda values, what: tuple(into(one, what) for one in values)


def _shape(shape: type[T]) -> Into:
    return lambda value, _what: whole(shape, value)


def _as_it_is(value: Any, _what: str) -> Any:  # noqa: ANN401  a word, a count or a date
    return value


def _rating(row: tuple[str, str, "Quantity"], what: str) -> tuple[str, str, int]:
    kind, name, limit = row
    return kind, name, _rounded("down", _MASS)(limit, f"{what} of {name}")


_WORD: Final = _as_it_is
_LENGTH: Final = _rounded("same", _FEET)
_WEIGHT: Final = ("weight_lb", _rounded("up", _MASS))

FIGURES: Final[Mapping[str, tuple[Callable[..., Result], Takes, frozenset[str]]]] = (
    MappingProxyType(
        {
            "pull": (
                pull,
                {"weight": _WEIGHT, "surface": ("surface", _WORD), "table": ("table", _WORD),
                 "slope": ("slope", _shape(Slope)), "locked": ("locked", _WORD)},
                frozenset({"slope", "locked"}),
            ),
            "winch": (
                winch,
                {"winch": ("one", _shape(Winch)), "pull": ("pull_lb", _rounded("up", _FORCE)),
                 "reach": ("reach_ft", _LENGTH),
                 "distance": ("distance_ft", _rounded("up", _FEET)), "model": ("model", _WORD)},
                frozenset(),
            ),
            "rigging": (
                rigging,
                {"line": ("line_lb", _rounded("up", _FORCE)),
                 "block_angle": ("block_deg", _rounded("down", "degree")),
                 "bridle_angle": ("bridle_deg", _rounded("up", "degree")),
                 "ratings": ("ratings", _each(_rating))},
                frozenset(),
            ),
            "window": (
                window,
                {"winch": ("one", _shape(Winch)), "parts": ("parts", _as_it_is),
                 "path": ("path_ft", _each(_LENGTH)),
                 "speed": ("speed_ft_min", _rounded("down", "foot / minute")),
                 "hold": ("hold_min", _rounded("down", "minute"))},
                frozenset(),
            ),
            "tiedowns": (
                tiedowns,
                {"weight": _WEIGHT, "straps": ("straps", _each(_shape(Tiedown))),
                 "geometry": ("geometry", _shape(Geometry)), "today": ("today", _as_it_is)},
                frozenset(),
            ),
            "limit": (
                limit,
                {"kind": ("kind", _WORD), "size": ("size_64in", _rounded("same", "inch64")),
                 "grade": ("grade", _as_it_is)},
                frozenset({"grade"}),
            ),
            "securing": (
                securing,
                {"weight": _WEIGHT, "length": ("length_in", _rounded("up", "inch")),
                 "straps": ("tied", _each(_shape(Tiedown))),
                 "blocked": ("is_blocked", _as_it_is),
                 "part": ("part_pct", _rounded("up", "percent"))},
                frozenset({"blocked", "part"}),
            ),
            "bridge": (
                bridge,
                {"axles": ("axles", _as_it_is), "length": ("length_in", _rounded("down", "inch"))},
                frozenset(),
            ),
            "lift": (
                lift,
                {"truck": ("truck", _shape(Lifter)), "load": ("load", _shape(Load)),
                 "dollies": ("dollies", _shape(Dollies))},
                frozenset({"dollies"}),
            ),
            "loading": (
                loading,
                {"truck": ("truck", _shape(Truck)), "ramp": ("ramp", _shape(Ramp)),
                 "load": ("load", _shape(Load)), "at": ("at_in", _rounded("same", "inch"))},
                frozenset(),
            ),
            "charge": (
                charge,
                {"voltage": ("millivolts", _rounded("down", "millivolt")),
                 "temperature": ("temperature_f", _rounded("up", "degree_Fahrenheit")),
                 "kind": ("kind", _WORD)},
                frozenset(),
            ),
            "devices": (devices, {"road": ("road", _WORD)}, frozenset()),
            "taper": (
                taper,
                {"speed": ("speed_mph", _rounded("up", "mile_per_hour")),
                 "width": ("width_ft", _rounded("up", _FEET))},
                frozenset(),
            ),
            "storage": (
                storage,
                {"nearest": ("nearest_ft", _rounded("down", _FEET))},
                frozenset(),
            ),
        }
    )
)  # fmt: skip
"""Each figure, its inputs by name, and which of them may be left out."""

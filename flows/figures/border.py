"""From quantities in any unit to the whole numbers of the figures, none rounded towards a go.

A limit is rounded down, a load on it up, a range outward. Some quantities have no cautious side
and have to be whole: a length between two axles or points, a piece aboard (which lightens one axle
as it loads the other), a strap's angle, a rope's length. `flows.figures.crossing` has the inputs
and the answer of each figure.
"""

from collections.abc import Iterator, Mapping
from dataclasses import MISSING, Field, fields
from typing import TYPE_CHECKING, Any, Final, TypeVar, cast

from flows.errors import OutOfRangeError
from flows.figures.deck import Load, Piece, Truck, WheelLift
from flows.figures.dollies import Dollies, DollyTyres
from flows.figures.legal import FEDERAL, Legal
from flows.figures.lifting import Arm, Lifter
from flows.figures.loading import Ramp
from flows.figures.margin import Margin, margin
from flows.figures.pull import Slope
from flows.figures.tiedowns import Geometry, Tiedown
from flows.figures.winch import Winch

if TYPE_CHECKING:
    from flows.figures.units import Quantity

Given = Mapping[str, Any]
T = TypeVar(
    "T", Truck, Load, Piece, WheelLift, Lifter, Arm, Dollies, DollyTyres, Winch, Ramp, Tiedown,
    Geometry, Slope,
)  # fmt: skip

_ROUNDED: Final = {
    Truck: {
        "empty_front_lb": "up",
        "empty_rear_lb": "up",
        "gvwr_lb": "down",
        "gawr_front_lb": "down",
        "gawr_rear_lb": "down",
        "front_tyres_lb": "down",
        "rear_tyres_lb": "down",
        "gcwr_lb": "down",
        "front_scaled_lb": "down",
        "wheelbase_in": "same",
        "headboard_in": "same",
        "tandem_spacing_in": "same",
        "deck_length_in": "down",
        "deck_height_in": "up",
        "height_in": "up",
        "wheel_room_in": "up",
        "front_end_in": "up",
        "rear_end_in": "up",
    },
    Load: {
        "likely_lb": "down",
        "high_lb": "up",
        "share_low_pm": "down",
        "share_mid_pm": "near",
        "share_high_pm": "up",
        "wheelbase_in": "same",
        "front_overhang_in": "same",
        "rear_overhang_in": "same",
        "height_in": "up",
    },
    Piece: {"weight_lb": "same", "at_in": "same"},
    WheelLift: {"at_in": "same", "rating_lb": "down", "tow_lb": "down"},
    Lifter: {
        "front_lb": "same",
        "rear_lb": "up",
        "gawr_rear_lb": "down",
        "gvwr_lb": "down",
        "wheelbase_in": "same",
        "reach_in": "same",
        "rating_lb": "down",
        "tow_lb": "down",
    },
    Arm: {"reach_in": "same", "rating_lb": "down"},
    Dollies: {"rating_lb": "down", "speed_mph": "down"},
    DollyTyres: {"each_lb": "down", "own_lb": "up"},
    Winch: {
        "layers_lb": "down",
        "drum_64in": "same",
        "width_64in": "same",
        "rope_64in": "same",
        "rope_length_ft": "same",
    },
    Slope: {"grade_pct": "up", "angle_deg": "up"},
    Ramp: {"tilt_pct": "same", "slides_lb": "up"},
    Tiedown: {"parts_lb": "down"},
    Geometry: {"up_deg": "same", "aside_deg": "same"},
}
_UNITS: Final = {
    "lb": "pound",
    "in": "inch",
    "64in": "inch64",
    "ft": "foot",
    "pm": "permille",
    "pct": "percent",
    "deg": "degree",
    "mph": "mile_per_hour",
}
_PARTS: Final = {"lift": WheelLift, "retracted": Arm, "tyres": DollyTyres}
"""Fields that are mappings of quantities themselves."""
_FORCES: Final = {"layers_lb"}
"""Fields in pounds of force: a winch's pull. Tags and plates are marked in pounds of mass."""


def margin_quantities(
    truck: Given,
    load: Given,
    *,
    close_at_pct: int = 95,
    lifted: Given | None = None,
    legal: Legal = FEDERAL,
) -> Margin:
    """Decide as `margin` does, from quantities in any unit.

    Parameters
    ----------
    truck, load, lifted : mapping
        As `whole` takes them for `Truck` and `Load`.
    close_at_pct : int
        As in `margin`.
    legal : Legal
        As in `margin`; laws are written in whole pounds and inches.

    Raises
    ------
    OutOfRangeError
        If a quantity is of another kind, missing, unknown or out of range.
    """
    return margin(
        whole(Truck, truck),
        whole(Load, load),
        close_at_pct,
        lifted=None if lifted is None else whole(Load, lifted),
        legal=legal,
    )


def whole(shape: type[T], given: Given) -> T:
    """Build a figure's truck, vehicle or piece of gear from quantities in any unit.

    Parameters
    ----------
    shape : type
        `Truck`, `Load`, `Piece`, `WheelLift`, `Lifter`, `Arm`, `Dollies`, `DollyTyres`, `Winch`,
        `Ramp`, `Tiedown`, `Geometry`, `Slope`.
    given : mapping
        Keyed as its fields, without their unit: ``"empty_front"`` (a mass), ``"wheelbase"`` (a
        length), ``"share_low"`` (a part of one); ``"aboard"``, ``"lift"``, ``"retracted"`` and
        ``"tyres"`` are mappings themselves, ``"layers"`` (forces) and ``"parts"`` tuples; a value
        without a unit is given unchanged. The share kept on the front axle is computed from
        `empty_front` rounded down.

    Raises
    ------
    OutOfRangeError
        If a quantity is of another kind, missing, unknown or out of range; if a length or a
        piece without a cautious side is not whole.

    Examples
    --------
    >>> from flows.figures.units import quantity
    >>> gear = {"name": "blocks", "weight": quantity(3200, "ounce"), "at": quantity(10, "foot")}
    >>> whole(Piece, gear)
    Piece(name='blocks', weight_lb=200, at_in=120, on_ticket=False, person=False)
    """
    names = {_stem(shape, f): f for f in fields(shape)}
    needed = {stem for stem, f in names.items() if f.default is MISSING}
    if not needed <= given.keys() <= names.keys():
        what = shape.__name__.lower()
        raise OutOfRangeError(what, ", ".join(given), ", ".join(names))
    values = {**given}
    if "front_scaled" in names:
        values.setdefault("front_scaled", given["empty_front"])
    return shape(**{(name := names[s].name): _value(shape, name, values[s]) for s in values})


def _stem(shape: type[T], field: "Field[Any]") -> str:
    return field.name.rsplit("_", 1)[0] if field.name in _ROUNDED[shape] else field.name


def _value(shape: type[T], name: str, value: Any) -> Any:  # noqa: ANN401  of any field
    """Round a quantity to the unit of its field; build a part from its own mapping."""
    from flows.figures import units  # noqa: PLC0415  pint is slow

    if value is None:
        return None
    if name in _PARTS:
        return whole(_PARTS[name], value)
    if name == "aboard":
        return tuple(_pieces(value))
    if name not in _ROUNDED[shape]:
        return value
    stem, unit = name.rsplit("_", 1)
    pint_unit = "pound_force" if name in _FORCES else _UNITS[unit]
    rounded, what = getattr(units, _ROUNDED[shape][name]), f"{shape.__name__.lower()} {stem}"
    if isinstance(value, tuple):
        return tuple(rounded(cast("Quantity", one), pint_unit, what) for one in value)
    return rounded(cast("Quantity", value), pint_unit, what)


def _pieces(given: tuple[Given, ...]) -> Iterator[Piece]:
    return (whole(Piece, one) for one in given)

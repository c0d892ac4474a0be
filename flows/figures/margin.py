"""Margin: whether a vehicle may go on a carrier, where on the deck, and what governs.

Whole pounds and inches in, exact fractions inside, whole numbers out, each rounded to the cautious
side: loads up, margins down, positions inward. No rounding turns a no-go into a go.

go
    At some whole inch every load is within `close_at_pct` percent of its limit for all weights
    from likely to high and all shares from low to high.
no-go
    At every position some load is over its limit already at the likely weight and the middle
    share; or the wheels do not fit the deck.
close
    Neither.
"""

from dataclasses import dataclass, fields, replace
from fractions import Fraction
from functools import lru_cache
from math import ceil, floor
from typing import TYPE_CHECKING, Final, Literal

from flows.errors import OutOfRangeError, require_whole
from flows.figures import deck
from flows.figures.deck import Load, Truck

if TYPE_CHECKING:
    from collections.abc import Mapping

    from flows.units import Quantity

__all__ = ["LimitMargin", "Load", "Margin", "Truck", "margin", "margin_quantities", "to_record"]

Verdict = Literal["go", "close", "no-go"]

SOURCE: Final = (
    "two-axle statics, moments about the axles; limits and empty weights from the truck's card"
)
DECK_LENGTH: Final = "deck length"
FRONT: Final = "front axle"
REAR: Final = "rear axle"
GROSS: Final = "gross weight"
_ORDER: Final = ("go", "close", "no-go")


@dataclass(frozen=True, slots=True)
class LimitMargin:
    """One limit at the best position: the worst load on it, and what is left of it.

    Attributes
    ----------
    name : str
        ``"front axle"``, ``"rear axle"`` or ``"gross weight"``.
    limit_lb : int
        The rating.
    load_lb : int
        Rounded up.
    margin_lb : int
        Limit less load, rounded down; negative when over.
    """

    name: str
    limit_lb: int
    load_lb: int
    margin_lb: int


@dataclass(frozen=True, slots=True)
class Margin:
    """The answer, with everything it was computed from.

    Attributes
    ----------
    verdict : {"go", "close", "no-go"}
        Defined at the head of this module.
    governing : str
        The limit of which the largest part is used, or ``"deck length"``.
    governing_margin_lb : int or None
        Its margin; None when the vehicle's wheels do not fit the deck.
    limits : tuple of LimitMargin
        Front axle, rear axle, gross weight at `best_in`; empty when the wheels do not fit.
    position_lo_in, position_hi_in : int or None
        Where the vehicle's nearest end may stand behind the headboard for a go; None unless go.
    best_in : int or None
        Where the most used limit is used least; None when the wheels do not fit.
    deck_short_in : int
        Inches of deck that are missing; 0 when the wheels fit.
    remedies : tuple of str
        What may help, of ``"position"`` (it is within every limit, but only near `best_in`),
        ``"nose_other_way"``, ``"weigh_it"``, ``"another_truck"``; empty for a go.
    truck, load, close_at_pct
        The inputs.
    """

    verdict: Verdict
    governing: str
    governing_margin_lb: int | None
    limits: tuple[LimitMargin, ...]
    position_lo_in: int | None
    position_hi_in: int | None
    best_in: int | None
    deck_short_in: int
    remedies: tuple[str, ...]
    truck: Truck
    load: Load
    close_at_pct: int

    @property
    def may_decide(self) -> bool:
        """Whether the figure decides by itself; a close waits for a fact or for the owner."""
        return self.verdict != "close"

    @property
    def source(self) -> str:
        """What the figure rests on."""
        return SOURCE

    @property
    def inputs(self) -> dict[str, int]:
        """Every number that went in; ``nose_first`` is 1 or 0."""
        truck = {f"truck_{f.name}": getattr(self.truck, f.name) for f in fields(Truck)}
        load = {f"vehicle_{f.name}": int(getattr(self.load, f.name)) for f in fields(Load)}
        return {**truck, **load, "close_at_pct": self.close_at_pct}


@lru_cache(maxsize=256)
def margin(truck: Truck, load: Load, close_at_pct: int = 95) -> Margin:
    """Decide go, close or no-go for a vehicle on a two-axle carrier.

    With the vehicle's nearest end p inches behind the headboard, its centre of gravity lies
    ``x = headboard + p + overhang + wheelbase (1 - share)`` behind the truck's front axle, with
    ``share`` in place of ``1 - share`` for tail first. Front axle ``empty + W (WB - x) / WB``,
    rear axle ``empty + W x / WB``, gross ``empty + W``, pounds and inches. The verdicts are
    defined at the head of this module.

    Parameters
    ----------
    truck : Truck
        The carrier with what is aboard.
    load : Load
        The vehicle.
    close_at_pct : int
        Part of a limit from which a load is close, 50 to 100 percent.

    Raises
    ------
    OutOfRangeError
        If `close_at_pct` is out of range; `Truck` and `Load` check themselves.

    Notes
    -----
    Source: two-axle statics, `flows.figures.statics`. The 95 percent is ours.

    Examples
    --------
    5,000 lb, half on each axle, touching the headboard: x = 88 + 36 + 57 = 181 in, rear axle
    8,900 + 5,000 x 181 / 199 = 13,447.7 lb of 13,500, over 95 percent.

    >>> truck = Truck(5500, 8900, 19500, 7500, 13500, 199, 88, 234)
    >>> m = margin(truck, Load(5000, 5000, 500, 500, 500, 114, 36, 38, nose_first=True))
    >>> m.verdict, m.governing, m.governing_margin_lb, m.best_in
    ('close', 'rear axle', 52, 0)
    """
    require_whole("close_at_pct", close_at_pct, 50, 100, "percent")
    verdict, span = _judged(truck, load, close_at_pct)
    room = deck.room(truck, load)
    best = deck.best_position(truck, deck.worst_case(truck, load), room) if room >= 0 else None
    limits = _limits(truck, deck.worst_case(truck, load), best) if best is not None else ()
    governing = max(limits, key=lambda m: Fraction(m.load_lb, m.limit_lb), default=None)
    over = governing is not None and governing.margin_lb < 0
    return Margin(
        verdict=verdict,
        governing=governing.name if governing else DECK_LENGTH,
        governing_margin_lb=governing.margin_lb if governing else None,
        limits=limits,
        position_lo_in=span[0] if span else None,
        position_hi_in=span[1] if span else None,
        best_in=best,
        deck_short_in=max(-room, 0),
        remedies=_remedies(truck, load, close_at_pct, verdict, placed=not over),
        truck=truck,
        load=load,
        close_at_pct=close_at_pct,
    )


def to_record(m: Margin) -> dict[str, object]:
    """Return the margin as JSON-safe whole numbers, words and lists, for the record.

    Examples
    --------
    3,500 lb at x = 88 + 37 + 0.4 x 111 = 169.4 in: rear 8,900 + 3,500 x 169.4 / 199 = 11,879.4 lb.

    >>> truck = Truck(5500, 8900, 19500, 7500, 13500, 199, 88, 234)
    >>> m = margin(truck, Load(3500, 3500, 600, 600, 600, 111, 37, 43, nose_first=True))
    >>> to_record(m)["limits"][1]
    {'name': 'rear axle', 'limit_lb': 13500, 'load_lb': 11880, 'margin_lb': 1620}
    """
    return {
        "verdict": m.verdict,
        "governing": m.governing,
        "governing_margin_lb": m.governing_margin_lb,
        "limits": [
            {f.name: getattr(limit, f.name) for f in fields(LimitMargin)} for limit in m.limits
        ],
        "position_lo_in": m.position_lo_in,
        "position_hi_in": m.position_hi_in,
        "best_in": m.best_in,
        "deck_short_in": m.deck_short_in,
        "remedies": list(m.remedies),
        "inputs": m.inputs,
        "source": m.source,
        "may_decide": m.may_decide,
    }


def _judged(truck: Truck, load: Load, pct: int) -> tuple[Verdict, tuple[int, int] | None]:
    """Verdict, and for a go the whole inches it holds for."""
    room = deck.room(truck, load)
    safe = deck.span(truck, deck.worst_case(truck, load), room, pct)
    if safe and ceil(safe[0]) <= floor(safe[1]):
        return "go", (ceil(safe[0]), floor(safe[1]))
    possible = deck.span(truck, deck.middle_case(truck, load), room, 100)
    return ("close" if possible else "no-go"), None


def _remedies(
    truck: Truck, load: Load, pct: int, verdict: Verdict, *, placed: bool
) -> tuple[str, ...]:
    """Name what may better the verdict; `placed`: the best position is within all limits."""
    if verdict == "go":
        return ()
    known = replace(
        load,
        high_lb=load.likely_lb,
        share_low_pm=load.share_mid_pm,
        share_high_pm=load.share_mid_pm,
    )
    turned = replace(load, nose_first=not load.nose_first)
    helps = {
        "position": verdict == "close" and placed,
        "nose_other_way": _rank(truck, turned, pct) < _ORDER.index(verdict),
        "weigh_it": _rank(truck, known, pct) < _ORDER.index(verdict),
        "another_truck": True,
    }
    return tuple(name for name, help_ in helps.items() if help_)


def _rank(truck: Truck, load: Load, pct: int) -> int:
    return _ORDER.index(_judged(truck, load, pct)[0])


def _limits(truck: Truck, case: deck.Case, position: int) -> tuple[LimitMargin, ...]:
    names = (FRONT, REAR, GROSS)
    ratings = (truck.gawr_front_lb, truck.gawr_rear_lb, truck.gvwr_lb)
    loads = deck.worst_loads(truck, case, Fraction(position))
    return tuple(
        LimitMargin(name, limit, ceil(load), floor(limit - load))
        for name, limit, load in zip(names, ratings, loads, strict=True)
    )


# How each quantity becomes a whole number, so that no rounding helps towards a go: a limit down,
# what loads it up, ranges outward. A length has no cautious side and has to be whole.
_ROUNDED: Final = {
    "empty_front_lb": "up",
    "empty_rear_lb": "up",
    "gvwr_lb": "down",
    "gawr_front_lb": "down",
    "gawr_rear_lb": "down",
    "headboard_in": "same",
    "deck_length_in": "down",
    "likely_lb": "down",
    "high_lb": "up",
    "share_low_pm": "down",
    "share_mid_pm": "near",
    "share_high_pm": "up",
    "wheelbase_in": "same",
    "front_overhang_in": "same",
    "rear_overhang_in": "same",
}
_UNITS: Final = {"lb": "pound", "in": "inch", "pm": "permille"}


def margin_quantities(
    truck: "Mapping[str, Quantity]",
    load: "Mapping[str, Quantity]",
    *,
    nose_first: bool,
    close_at_pct: int = 95,
) -> Margin:
    """Decide as `margin` does, from quantities in any unit.

    Parameters
    ----------
    truck, load : mapping of str to Quantity
        Keyed as the fields of `Truck` and `Load` without their unit: ``"empty_front"`` (mass),
        ``"wheelbase"`` (length), ``"share_low"`` (a part of one). Lengths other than the deck's
        have to be whole inches, in whatever unit they come.
    nose_first : bool
        True when the nose is toward the headboard.
    close_at_pct : int
        As in `margin`.

    Raises
    ------
    OutOfRangeError
        If a quantity is of another kind, missing, unknown or out of range.
    """
    return margin(
        Truck(**_whole(Truck, truck)),
        Load(**_whole(Load, load), nose_first=nose_first),
        close_at_pct,
    )


def _whole(shape: type[Truck | Load], given: "Mapping[str, Quantity]") -> dict[str, int]:
    """Round each quantity to its declared unit, to the cautious side."""
    from flows import units  # noqa: PLC0415  pint is slow

    names = {f.name.rsplit("_", 1)[0]: f.name for f in fields(shape) if f.name in _ROUNDED}
    if names.keys() != given.keys():
        raise OutOfRangeError(shape.__name__.lower(), ", ".join(given), ", ".join(names))
    return {
        name: getattr(units, _ROUNDED[name])(given[key], _UNITS[name.rsplit("_", 1)[1]])
        for key, name in names.items()
    }

"""Margin: whether a vehicle may go on a carrier, where on the deck, and which limit governs.

Whole pounds and inches in, exact fractions inside, whole numbers out, each rounded to the cautious
side: loads up, margins down, positions inward. No rounding turns a no-go into a go.
`flows.figures.verdict` defines go, close and no-go; `flows.figures.limits` has the limits.
"""

from collections.abc import Iterator
from dataclasses import dataclass, fields, is_dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import chain
from math import ceil, floor
from typing import Final

from flows.errors import OutOfRangeError, require_whole
from flows.figures.deck import Load, Piece, Truck, WheelLift, first_inch
from flows.figures.legal import EXEMPTION, FEDERAL, Legal
from flows.figures.limits import POSITION, Asked, Limit, unchecked
from flows.figures.remedies import Less, less_aboard, remedies
from flows.figures.verdict import ORDER, Verdict, at_worst, best_position, judged_by

__all__ = [
    "FEDERAL",
    "Legal",
    "LengthMargin",
    "Less",
    "LimitMargin",
    "Load",
    "Margin",
    "Piece",
    "Truck",
    "Verdict",
    "WheelLift",
    "decide",
    "decide_any",
    "margin",
    "to_record",
]

# Our own: a limit this many percent below close is roomy, so that it moves no vehicle back.
ROOMY_BELOW_CLOSE: Final = 10
_OVER_LB: Final = 1_000_000
"""A length that is exceeded counts as worse than any weight [lb]."""
SOURCE: Final = "statics, moments about the axles. Limits and empty weights from the truck's card"


@dataclass(frozen=True, slots=True)
class LimitMargin:
    """One limit at the best position: its loads, and the margin left.

    Attributes
    ----------
    name : str
        ``"front axle"``, ``"rear axle"``, ``"gross weight"`` or another of
        `flows.figures.limits`.
    limit_lb : int
        The bound, rounded down.
    load_lb : int
        The worst load, rounded up; for the front axle share kept, the weight taken off the front
        axle, negative if weight is added.
    margin_lb : int
        Limit less load, rounded down; negative if over.
    least_lb : int
        The lowest load of the range, rounded down.
    source : str
        Where the bound comes from.
    """

    name: str
    limit_lb: int
    load_lb: int
    margin_lb: int
    least_lb: int
    source: str


@dataclass(frozen=True, slots=True)
class LengthMargin:
    """One limit of length or height at the best position [in].

    Attributes
    ----------
    name, source : str
        ``"deck length"``, ``"overall height"`` or ``"overall length"``; its source.
    limit_in, used_in, margin_in : int
        The bound, the part used, and the rest.
    """

    name: str
    limit_in: int
    used_in: int
    margin_in: int
    source: str


@dataclass(frozen=True, slots=True)
class Margin:
    """The answer, with everything it was computed from.

    Attributes
    ----------
    verdict : {"go", "close", "no-go"}
        Defined in `flows.figures.verdict`.
    governing : str
        The limit of which the largest part is used; a length if it is exceeded.
    governing_margin_lb : int or None
        Its margin; None if a length governs.
    governing_margin_in : int or None
        Its margin if a length governs, negative.
    limits : tuple of LimitMargin
        At `best_in`, front axle, rear axle and gross weight first; empty if the wheels do not
        fit.
    lengths : tuple of LengthMargin
        At `drawn_in`; deck length first.
    position_lo_in, position_hi_in : int or None
        Positions of the vehicle's nearest end behind the headboard for a go; None unless go.
    best_in : int or None
        The best position, `flows.figures.verdict.best_position`; None if the wheels do not fit.
    deck_short_in : int
        Inches of deck that are missing; 0 if the wheels fit.
    remedies : tuple of str
        Possible remedies: ``"position"`` (it is within every limit, but only near `best_in`),
        ``"nose_other_way"``, ``"weigh_it"``, ``"less_aboard"`` (see `less`), ``"second_off"``
        (the vehicle on the wheel lift), ``"another_truck"``; empty for a go.
    less : Less or None
        How much less aboard would be enough by itself; None for a go, or if a length governs.
    unchecked : tuple of str
        Limits without a number.
    exempt : str or None
        The law that lifts the legal weight limits, but no rating; None if there is no exemption.
    truck, load, lifted, legal, close_at_pct, at_in
        The inputs; `lifted` is the vehicle on the wheel lift.
    """

    verdict: Verdict
    governing: str
    governing_margin_lb: int | None
    governing_margin_in: int | None
    limits: tuple[LimitMargin, ...]
    lengths: tuple[LengthMargin, ...]
    position_lo_in: int | None
    position_hi_in: int | None
    best_in: int | None
    deck_short_in: int
    remedies: tuple[str, ...]
    less: Less | None
    unchecked: tuple[str, ...]
    exempt: str | None
    truck: Truck
    load: Load
    lifted: Load | None
    legal: Legal
    close_at_pct: int
    at_in: int | None = None

    @property
    def drawn_in(self) -> int:
        """Position drawn and computed: the best position, or the first if there is no best."""
        if self.best_in is not None:
            return self.best_in
        return first_inch(self.truck, self.load) if self.at_in is None else self.at_in

    @property
    def may_decide(self) -> bool:
        """Whether the figure decides by itself; a close waits for a fact or for the owner."""
        return self.verdict != "close"

    @property
    def source(self) -> str:
        """The sources of the figure."""
        return SOURCE

    @property
    def inputs(self) -> dict[str, int]:
        """Every known number of the inputs; a yes or no is 1 or 0.

        ``truck_aboard_1_weight_lb`` belongs to the first piece aboard.
        """
        parts = {
            "truck": self.truck,
            "vehicle": self.load,
            "second": self.lifted,
            "legal": self.legal,
        }
        given = [pair for part, one in parts.items() for pair in _numbers(part, one)]
        return {**dict(given), "close_at_pct": self.close_at_pct}


def margin(
    truck: Truck,
    load: Load,
    close_at_pct: int = 95,
    *,
    lifted: Load | None = None,
    legal: Legal = FEDERAL,
) -> Margin:
    """Decide go, close or no-go for a vehicle on a carrier with one rear axle or a tandem.

    With the vehicle's nearest end p inches behind the headboard, its centre of gravity lies
    ``x = headboard + p + overhang + wheelbase (1 - share)`` behind the truck's front axle, with
    ``share`` in place of ``1 - share`` for tail first. Front axle ``empty + W (WB - x) / WB``,
    rear axle ``empty + W x / WB``, gross ``empty + W``, pounds and inches; pieces aboard and the
    lifted part of a second vehicle in the same way. Every limit is checked for all weights and
    shares of both ranges.

    Parameters
    ----------
    truck : Truck
        The carrier with everything aboard.
    load : Load
        The vehicle on the deck.
    close_at_pct : int
        Part of a limit from which a load is close, 50 to 100 percent.
    lifted : Load or None
        A second vehicle on the wheel lift: the axle toward the truck is lifted, the other rolls.
    legal : Legal
        The legal limits, federal unless given.

    Raises
    ------
    OutOfRangeError
        As in `decide`.

    Notes
    -----
    Source: statics, `flows.figures.statics`. The 95 percent is our own.

    Examples
    --------
    5,000 lb, half on each axle, touching the headboard: x = 88 + 36 + 57 = 181 in, rear axle
    8,900 + 5,000 x 181 / 199 = 13,447.7 lb of 13,500, over 95 percent.

    >>> truck = Truck(5500, 8900, 19500, 7500, 13500, 199, 88, 234)
    >>> m = margin(truck, Load(5000, 5000, 500, 500, 500, 114, 36, 38, nose_first=True))
    >>> m.verdict, m.governing, m.governing_margin_lb, m.best_in
    ('close', 'rear axle', 52, 0)
    """
    return decide(Asked(truck, load, lifted, legal), close_at_pct)


def to_record(m: Margin) -> dict[str, object]:
    """Return the margin as JSON-safe whole numbers, words and lists, for the record.

    Examples
    --------
    3,500 lb at x = 88 + 37 + 0.4 x 111 = 169.4 in: rear 8,900 + 3,500 x 169.4 / 199 = 11,879.4 lb.

    >>> truck = Truck(5500, 8900, 19500, 7500, 13500, 199, 88, 234)
    >>> m = margin(truck, Load(3500, 3500, 600, 600, 600, 111, 37, 43, nose_first=True))
    >>> row = to_record(m)["limits"][1]
    >>> row["name"], row["limit_lb"], row["load_lb"], row["margin_lb"], row["source"]
    ('rear axle', 13500, 11880, 1620, 'truck card')
    """
    plain = ("verdict", "governing", "governing_margin_lb", "governing_margin_in")
    places = ("position_lo_in", "position_hi_in", "best_in", "deck_short_in")
    return {
        **{name: getattr(m, name) for name in (*plain, *places)},
        "limits": [_record(one) for one in m.limits],
        "lengths": [_record(one) for one in m.lengths],
        "remedies": list(m.remedies),
        "less": None if m.less is None else _record(m.less) | {"gear": list(m.less.gear)},
        "aboard": [one.name for one in m.truck.aboard],
        "unchecked": list(m.unchecked),
        "exempt": m.exempt,
        "inputs": m.inputs,
        "source": m.source,
        "may_decide": m.may_decide,
    }


def decide(asked: Asked, pct: int) -> Margin:
    """Decide as `margin` does, at a given position on the deck if `asked` has one.

    Parameters
    ----------
    asked : Asked
        Truck, vehicles, law, and the position behind the headboard; None for the whole deck.
    pct : int
        Part of a limit from which a load is close, 50 to 100 percent.

    Raises
    ------
    OutOfRangeError
        If `pct` is out of range, if a vehicle is lifted and the truck has no wheel lift, or if
        the position is ahead of the first; the dataclasses check themselves.

    Examples
    --------
    20 in behind the headboard 3,500 lb are at 190 in: 8,900 + 3,500 x 190 / 199 = 12,241.7 lb.

    >>> truck = Truck(5500, 8900, 19500, 7500, 13500, 199, 88, 234)
    >>> load = Load(3500, 3500, 500, 500, 500, 92, 36, 38, nose_first=True)
    >>> m = decide(Asked(truck, load, None, FEDERAL, at_in=20), 95)
    >>> m.verdict, m.best_in, m.limits[1].load_lb
    ('go', 20, 12242)
    """
    return decide_any((asked,), pct)


@lru_cache(maxsize=1024)
def decide_any(cases: tuple[Asked, ...], pct: int) -> Margin:
    """Decide for a vehicle of which it is not known which end is at the headboard.

    The verdict is the worst of all cases; the positions for a go, and the best position, hold in
    every case. If each case is a go, but no position is one in all, it is close. The loads are
    those of the case that leaves least.

    Parameters
    ----------
    cases : tuple of Asked
        All that may be, at least one.
    pct : int
        As in `decide`.

    Raises
    ------
    OutOfRangeError
        As `decide`, for any of the cases.

    Examples
    --------
    3,500 lb with 60 percent in front lies 169 in behind the front axle nose first, 193 in tail
    first: rear axle 3,925 lb left, 199 x 3,925 / 3,500 - 193 = 30 in.

    >>> truck = Truck(5500, 8900, 19500, 7500, 13500, 199, 88, 234)
    >>> nose = Load(3500, 3500, 600, 600, 600, 110, 37, 39, nose_first=True)
    >>> tail = Load(3500, 3500, 600, 600, 600, 110, 37, 39, nose_first=False)
    >>> each = tuple(Asked(truck, load, None, FEDERAL) for load in (nose, tail))
    >>> [decide_any(cases, 95).position_hi_in for cases in (each[:1], each[1:], each)]
    [54, 30, 30]
    """
    for asked in cases:
        _check(asked, pct)
    return _answer(cases, pct)


def _check(asked: Asked, pct: int) -> None:
    require_whole("close_at_pct", pct, 50, 100, "percent")
    if asked.lifted is not None and asked.truck.lift is None:
        raise OutOfRangeError("second vehicle", "on the wheel lift", "a truck with a wheel lift")
    if asked.at_in is not None:
        first, last = first_inch(asked.truck, asked.load), asked.truck.deck_length_in
        require_whole("place behind the headboard", asked.at_in, first, last, "in")


@dataclass(frozen=True, slots=True)
class _Case:
    """One case at the best position of all: its own verdict, and what governs it."""

    asked: Asked
    verdict: Verdict
    best_in: int | None
    weights: tuple[LimitMargin, ...]
    lengths: tuple[LengthMargin, ...]
    governing: LimitMargin | LengthMargin

    @property
    def severity(self) -> tuple[int, int]:
        """How bad it is: the verdict, then a length that is exceeded, then the pounds left."""
        left = getattr(self.governing, "margin_lb", None)
        return ORDER.index(self.verdict), _OVER_LB if left is None else -left


def _answer(cases: tuple[Asked, ...], pct: int) -> Margin:
    every = [at_worst(one) for one in cases]
    judgements = [judged_by(one, of, pct) for one, of in zip(cases, every, strict=True)]
    inches = _common([found for _, found in judgements])
    roomy_pct = pct - ROOMY_BELOW_CLOSE
    common = best_position(chain(*every), max(one.first_in for one in cases), roomy_pct)
    each = []
    for asked, (verdict, _), of in zip(cases, judgements, every, strict=True):
        # Without a position for all, each case has its own.
        best = best_position(of, asked.first_in, roomy_pct) if common is None else common
        weights, lengths = _at(of, asked.first_in, best)
        each.append(_Case(asked, verdict, best, weights, lengths, _governing(weights, lengths)))
    return _told(max(each, key=lambda one: one.severity), inches, pct)


def _common(each: list[tuple[int, int] | None]) -> tuple[int, int] | None:
    """Return the first and last inch in all of several intervals; None if there is none."""
    known = [one for one in each if one is not None]
    if len(known) < len(each):
        return None
    first, last = max(one[0] for one in known), min(one[1] for one in known)
    return (first, last) if first <= last else None


def _told(case: _Case, inches: tuple[int, int] | None, pct: int) -> Margin:
    verdict: Verdict = "close" if case.verdict == "go" and inches is None else case.verdict
    asked, governing = case.asked, case.governing
    less = None
    if case.verdict != "go" and isinstance(governing, LimitMargin):
        less = less_aboard(asked, pct, governing.name)
    placed = isinstance(governing, LimitMargin) and governing.margin_lb >= 0
    first, last = inches or (None, None)
    return Margin(
        verdict=verdict,
        governing=governing.name,
        governing_margin_lb=getattr(governing, "margin_lb", None),
        governing_margin_in=getattr(governing, "margin_in", None),
        limits=case.weights,
        lengths=case.lengths,
        position_lo_in=first,
        position_hi_in=last,
        best_in=case.best_in,
        deck_short_in=max(-case.lengths[0].margin_in, 0),
        remedies=()
        if verdict == "go"
        else remedies(asked, pct, case.verdict, placed=placed and verdict == "close", less=less),
        less=less,
        unchecked=unchecked(asked),
        exempt=EXEMPTION if asked.exempt else None,
        truck=asked.truck,
        load=asked.load,
        lifted=asked.lifted,
        legal=asked.legal,
        close_at_pct=pct,
        at_in=asked.at_in,
    )


def _at(
    every: tuple[Limit, ...], first_in: int, best: int | None
) -> tuple[tuple[LimitMargin, ...], tuple[LengthMargin, ...]]:
    """Return the margins of all limits at the best position; without it, of lengths alone."""
    lengths = (one for one in every if one.unit == "in" and one.name != POSITION)
    if best is None:
        return (), tuple(_length(one, first_in) for one in lengths)
    weights = (one for one in every if one.unit == "lb")
    return tuple(_limit(one, best) for one in weights), tuple(
        _length(one, best) for one in lengths
    )


def _governing(
    weights: tuple[LimitMargin, ...], lengths: tuple[LengthMargin, ...]
) -> LimitMargin | LengthMargin:
    """Return the length exceeded by most, else the limit of which the largest part is used."""
    over = [one for one in lengths if one.margin_in < 0]
    if over or not weights:
        return min(over, key=lambda one: one.margin_in)
    return max(weights, key=lambda one: Fraction(one.load_lb, one.limit_lb))


def _limit(limit: Limit, position: int) -> LimitMargin:
    worst, least = limit.worst(position), limit.least(position)
    return LimitMargin(
        name=limit.name,
        limit_lb=limit.bound,
        load_lb=ceil(worst),
        margin_lb=floor(limit.bound - worst),
        least_lb=floor(least),
        source=limit.source,
    )


def _length(limit: Limit, position: int) -> LengthMargin:
    used = ceil(limit.worst(position))
    return LengthMargin(limit.name, limit.bound, used, limit.bound - used, limit.source)


def _record(thing: LimitMargin | LengthMargin | Less) -> dict[str, object]:
    return {f.name: getattr(thing, f.name) for f in fields(thing)}


def _numbers(name: str, value: object) -> Iterator[tuple[str, int]]:
    """Yield the whole numbers in a value, by name; words and unknown values are left out."""
    if isinstance(value, tuple):
        for number, one in enumerate(value, 1):
            yield from _numbers(f"{name}_{number}", one)
    elif isinstance(value, int):
        yield name, int(value)
    elif is_dataclass(value):
        for f in fields(value):
            yield from _numbers(f"{name}_{f.name}", getattr(value, f.name))

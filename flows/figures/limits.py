"""Every limit in one form: a name, a bound, and loads that are lines over the deck position.

A limit is met at a position if the load of each corner is within it; each line bounds the position
from one side, and the positions within all limits are the intersection.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Final, Literal, TypeAlias

from flows.figures.deck import Load, Truck, first_inch
from flows.figures.legal import Legal, bridge_limit, recovery_exempt
from flows.figures.loads import Corner, Line, Loads, loads, parts_of

Span: TypeAlias = tuple[Fraction, Fraction]
Ratio: TypeAlias = tuple[int, int]
"""A fraction as its two whole numbers, the lower above 0: compared far faster, as exactly."""
Unit: TypeAlias = Literal["lb", "in"]

FRONT: Final = "front axle"
REAR: Final = "rear axle"
GROSS: Final = "gross weight"
COMBINATION: Final = "combination weight"
FRONT_TYRES: Final = "front tyres"
REAR_TYRES: Final = "rear tyres"
LEGAL_FRONT: Final = "legal front axle"
LEGAL_REAR: Final = "legal rear axle"
LEGAL_TANDEM: Final = "legal tandem"
LEGAL_GROSS: Final = "legal gross"
BRIDGE: Final = "bridge formula"
INNER_BRIDGE: Final = "inner bridge"
COMBINATION_BRIDGE: Final = "combination bridge"
FRONT_KEPT: Final = "front axle share kept"
LIFT: Final = "wheel lift rating"
TOW: Final = "wheel lift tow rating"
DECK_LENGTH: Final = "deck length"
POSITION: Final = "place on the deck"
HEIGHT: Final = "overall height"
LENGTH: Final = "overall length"

CARD: Final = "truck card"
ASKED_SOURCE: Final = "as asked"
CARDS: Final = "truck card, vehicle card or class table"
DECK_SOURCE: Final = "truck card, room at both ends ours"
TYRE_SOURCE: Final = "tyre load index, truck card"
KEPT_SOURCE: Final = "trade standard, not law, of the scaled weight"


@dataclass(frozen=True, slots=True)
class Limit:
    """A bound and the loads that have to stay within it, one line for each corner.

    Attributes
    ----------
    name, unit, source : str
        Its name, ``"lb"`` or ``"in"``, and where the bound comes from.
    bound : int
        In `unit`, rounded down.
    lines : tuple of Line
        In parts of `unit`; at least one.
    parts : int
        How many parts make one `unit`, so that every line is whole.
    """

    name: str
    unit: Unit
    bound: int
    lines: tuple[Line, ...]
    source: str
    parts: int = 1

    def worst(self, position: int) -> Fraction:
        """Return the highest load at a position, in `unit`."""
        return Fraction(max(one.base + one.slope * position for one in self.lines), self.parts)

    def least(self, position: int) -> Fraction:
        """Return the lowest load at a position, in `unit`."""
        return Fraction(min(one.base + one.slope * position for one in self.lines), self.parts)

    def spans(self, pct: int) -> Iterator[tuple[Fraction | None, Fraction | None]]:
        """Yield the positions left by the heaviest line of each slope.

        First and last; None is unbounded. `pct` is the part of the bound that may be used; a
        length may be used in full, since it is not an estimate. A level line over its bound
        leaves no position: first after last.

        Examples
        --------
        100 lb and half a pound an inch, of 200 lb: 90 percent is reached at 160 in.

        >>> limit = Limit("rear axle", "lb", 200, (Line(200, 1),), "", parts=2)
        >>> list(limit.spans(90))
        [(None, Fraction(160, 1))]
        """
        for slope, left in self.lefts(pct):
            if slope > 0:
                yield None, Fraction(left, 100 * slope)
            elif slope < 0:
                yield Fraction(left, 100 * slope), None
            elif left < 0:
                yield Fraction(1), Fraction(0)

    def lefts(self, pct: int) -> Iterator[tuple[int, int]]:
        """Yield each slope, and what is left of the bound at the start by its heaviest line.

        In hundredths of a part: the line is at its bound ``left / (100 slope)`` inches on.

        Examples
        --------
        >>> limit = Limit("front axle", "lb", 6000, (Line(5000, -20), Line(5200, -20)), "")
        >>> list(limit.lefts(100))
        [(-20, 80000)]
        """
        allowed = self.bound * (pct if self.unit == "lb" else 100) * self.parts
        heaviest: dict[int, int] = {}
        for line in self.lines:
            slope, base = line.slope, line.base
            if slope not in heaviest or base > heaviest[slope]:
                heaviest[slope] = base
        for slope, base in heaviest.items():
            yield slope, allowed - 100 * base


def span(limits: Iterable[Limit], pct: int, first_in: int) -> Span | None:
    """Return the positions from the first on at which every limit holds.

    Parameters
    ----------
    limits : iterable of Limit
        Including the deck's length, which ends the positions.
    pct : int
        Part of each bound in pounds that may be used, percent.
    first_in : int
        The first position, in inches behind the headboard.

    Returns
    -------
    tuple of Fraction or None
        First and last position in inches behind the headboard; None if there is no position.

    Examples
    --------
    >>> rear = Limit("rear axle", "lb", 200, (Line(200, 1),), "", parts=2)
    >>> deck = Limit("deck length", "in", 300, (Line(150, 1),), "")
    >>> [int(at) for at in span([rear, deck], 80, 6)]
    [6, 120]
    """
    first: Ratio = (first_in, 1)
    last: Ratio | None = None
    for slope, left in (one for limit in limits for one in limit.lefts(pct)):
        if slope > 0:
            last = _lesser(last, (left, 100 * slope))
        elif slope < 0:
            first = _greater(first, (-left, -100 * slope))
        elif left < 0:
            first, last = _greater(first, (1, 1)), _lesser(last, (0, 1))
    if last is None:
        raise ValueError("no limit ends the positions; allowed: the deck's length among them")
    if first[0] * last[1] > last[0] * first[1]:
        return None
    return Fraction(*first), Fraction(*last)


def _greater(one: "Ratio", other: "Ratio") -> "Ratio":
    return other if other[0] * one[1] > one[0] * other[1] else one


def _lesser(one: "Ratio | None", other: "Ratio") -> "Ratio":
    return other if one is None or other[0] * one[1] < one[0] * other[1] else one


@dataclass(frozen=True, slots=True)
class Asked:
    """A question about the limits: truck, vehicles, law, and a position if only that counts."""

    truck: Truck
    load: Load
    lifted: Load | None
    legal: Legal
    at_in: int | None = None

    @property
    def first_in(self) -> int:
        """First position for the vehicle's nearest end, in inches behind the headboard."""
        return first_inch(self.truck, self.load) if self.at_in is None else self.at_in

    @property
    def exempt(self) -> bool:
        """Whether the recovery exemption lifts the legal weight limits.

        The truck's own weight on the scale is compared with both vehicles at their high weight.
        """
        disabled = self.load.high_lb + (self.lifted.high_lb if self.lifted else 0)
        return recovery_exempt(self.legal, self.truck.own_lb, disabled)


def limits(asked: Asked, corners: Iterable[Corner]) -> tuple[Limit, ...]:
    """Return every limit for which there is a number, with its loads at the corners.

    Front axle, rear axle and gross weight come first; a limit without a number is named by
    `unchecked`.
    """
    truck = asked.truck
    own = truck.own_lb, truck.own_moment
    found = [loads(truck, asked.load, asked.lifted, corner, own) for corner in corners]
    return (*_weights(asked, found), *_lengths(asked))


def unchecked(asked: Asked) -> tuple[str, ...]:
    """Return the names of the limits without a number, so that nobody relies on them.

    The bridge formula is checked for the truck's own axles, never for those of a vehicle rolling
    behind it.

    Examples
    --------
    >>> truck = Truck(5500, 8900, 19500, 7500, 13500, 199, 88, 234)
    >>> load = Load(5000, 5000, 500, 500, 500, 130, 36, 38, nose_first=True)
    >>> unchecked(Asked(truck, load, None, Legal(height_in=162)))
    ('front tyres', 'rear tyres', 'overall height', 'overall length')
    """
    checked = {name for name, bound, _, _ in _bounds(asked) if bound is not None}
    checked.update(one.name for one in _lengths(asked))
    towing = (TOW, COMBINATION, COMBINATION_BRIDGE) if asked.lifted else ()
    wanted = (FRONT_TYRES, REAR_TYRES, HEIGHT, LENGTH, *towing)
    return tuple(name for name in wanted if name not in checked)


_Pick: TypeAlias = Callable[[Loads], Line]
_Bound: TypeAlias = tuple[str, int | None, _Pick, str]


def _weights(asked: Asked, found: list[Loads]) -> Iterator[Limit]:
    parts = parts_of(asked.truck)
    for name, bound, pick, source in _bounds(asked):
        if bound is not None:
            yield Limit(name, "lb", bound, tuple(map(pick, found)), source, parts)


def _bounds(asked: Asked) -> Iterator[_Bound]:
    yield from _ratings(asked)
    if not asked.exempt:
        yield from _law(asked)


def _ratings(asked: Asked) -> Iterator[_Bound]:
    truck, lift = asked.truck, asked.truck.lift
    kept = 100 - truck.front_kept_pct
    yield FRONT, truck.gawr_front_lb, lambda on: on.front, CARD
    yield REAR, truck.gawr_rear_lb, lambda on: on.rear, CARD
    yield GROSS, truck.gvwr_lb, lambda on: on.gross, CARD
    yield FRONT_TYRES, truck.front_tyres_lb, lambda on: on.front, TYRE_SOURCE
    yield REAR_TYRES, truck.rear_tyres_lb, lambda on: on.rear, TYRE_SOURCE
    yield FRONT_KEPT, scaled_front(truck) * kept // 100, lambda on: on.off_front, KEPT_SOURCE
    if asked.lifted is not None and lift is not None:
        yield LIFT, lift.rating_lb, lambda on: on.lifted, CARD
        yield TOW, lift.tow_lb, lambda on: on.towed, CARD
        yield COMBINATION, truck.gcwr_lb, lambda on: on.combination, CARD


def _law(asked: Asked) -> Iterator[_Bound]:
    truck, legal = asked.truck, asked.legal
    tandem = truck.rear_axles == 2
    yield LEGAL_FRONT, legal.single_lb, lambda on: on.front, legal.source_of("single_lb")
    if tandem:
        yield LEGAL_TANDEM, legal.tandem_lb, lambda on: on.rear, legal.source_of("tandem_lb")
    else:
        yield LEGAL_REAR, legal.single_lb, lambda on: on.rear, legal.source_of("single_lb")
    yield LEGAL_GROSS, legal.gross_lb, lambda on: on.combination, legal.source_of("gross_lb")
    if legal.bridge:
        yield (
            BRIDGE,
            bridge_limit(*outer_bridge(truck)),
            lambda on: on.gross,
            legal.source_of("bridge"),
        )
    if legal.bridge and tandem:
        yield (
            INNER_BRIDGE,
            bridge_limit(*inner_bridge(truck)),
            lambda on: on.first_two,
            legal.source_of("bridge"),
        )


def scaled_front(truck: Truck) -> int:
    """Return the front axle weight from which the share kept is computed [lb]."""
    return truck.front_scaled_lb or truck.empty_front_lb


def outer_bridge(truck: Truck) -> tuple[int, int]:
    """Return how many axles the truck has, and inches from the first to the last."""
    return 1 + truck.rear_axles, truck.wheelbase_in + truck.tandem_spacing_in // 2


def inner_bridge(truck: Truck) -> tuple[int, int]:
    """Return the first two axles of a truck with a tandem, and the inches between them."""
    return 2, truck.wheelbase_in - (truck.tandem_spacing_in + 1) // 2


def _lengths(asked: Asked) -> Iterator[Limit]:
    truck, load = asked.truck, asked.load
    wheels = Line(load.near_overhang_in + load.wheelbase_in + truck.wheel_room_in, 1)
    yield Limit(DECK_LENGTH, "in", truck.deck_length_in, (wheels,), DECK_SOURCE)
    if asked.at_in is not None:
        yield Limit(POSITION, "in", asked.at_in, (Line(0, 1),), ASKED_SOURCE)
    yield from _overall_height(asked)
    yield from _overall_length(asked)


def _overall_height(asked: Asked) -> Iterator[Limit]:
    """Yield the limit of height, if the law has one and both heights are known."""
    truck, load, legal = asked.truck, asked.load, asked.legal
    if legal.height_in is None or truck.deck_height_in is None or load.height_in is None:
        return
    tops = (truck.deck_height_in + load.height_in, truck.height_in or 0)
    source = legal.source_of("height_in")
    yield Limit(HEIGHT, "in", legal.height_in, tuple(map(Line, tops)), source)


def _overall_length(asked: Asked) -> Iterator[Limit]:
    """Yield the limit of length, if the law has one and both ends of the truck are known."""
    truck, legal = asked.truck, asked.legal
    if legal.length_in is None or truck.front_end_in is None or truck.rear_end_in is None:
        return
    ahead = Line(truck.front_end_in)
    lines = tuple(ahead + end for end in _rear_ends(asked, truck.rear_end_in))
    yield Limit(LENGTH, "in", legal.length_in, lines, legal.source_of("length_in"))


def _rear_ends(asked: Asked, truck_end: int) -> Iterator[Line]:
    """Yield the rear ends of the truck and of both vehicles, behind the front axle."""
    truck, load, lifted = asked.truck, asked.load, asked.lifted
    long = load.near_overhang_in + load.wheelbase_in + load.far_overhang_in
    yield Line(truck_end)
    yield Line(truck.headboard_in + long, 1)
    if lifted is not None and truck.lift is not None:
        yield Line(truck.lift.at_in + lifted.wheelbase_in + lifted.far_overhang_in)

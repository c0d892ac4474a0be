"""Every limit as one thing: a name, a bound, and loads that are lines over the deck position.

At one corner of what is not known (weights and shares at an end of their ranges) every load is
affine in the position p of the vehicle's nearest end behind the headboard: ``base + slope p``.
A limit holds at p when the load of each corner is within it; each line bounds p from one side,
and the positions within all limits are the intersection.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import product
from math import floor
from typing import Final, Literal, TypeAlias

from flows.figures.deck import Load, Truck
from flows.figures.legal import Legal, bridge_limit, recovery_exempt
from flows.figures.statics import split

Span: TypeAlias = tuple[Fraction, Fraction]
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
HEIGHT: Final = "overall height"
LENGTH: Final = "overall length"

CARD: Final = "truck card"
TYRE_SOURCE: Final = "tyre load index, truck card"
KEPT_SOURCE: Final = "trade standard, common practice, not law; scaled front axle weight"


@dataclass(frozen=True, slots=True)
class Line:
    """A load over the position: ``base + slope p``, p in inches behind the headboard."""

    base: Fraction
    slope: Fraction = Fraction(0)

    def at(self, position: Fraction | int) -> Fraction:
        """Return the load at a position.

        Examples
        --------
        >>> Line(Fraction(100), Fraction(1, 2)).at(10)
        Fraction(105, 1)
        """
        return self.base + self.slope * position

    def __add__(self, other: "Line") -> "Line":
        return Line(self.base + other.base, self.slope + other.slope)

    def times(self, part: Fraction) -> "Line":
        """Return a part of the load."""
        return Line(self.base * part, self.slope * part)


@dataclass(frozen=True, slots=True)
class Limit:
    """A bound and the loads that have to stay within it, one line for each corner.

    Attributes
    ----------
    name, unit, source : str
        What it is called, ``"lb"`` or ``"in"``, where the bound comes from.
    bound : int
        In `unit`, rounded down.
    lines : tuple of Line
        In `unit`; at least one.
    """

    name: str
    unit: Unit
    bound: int
    lines: tuple[Line, ...]
    source: str

    def worst(self, position: Fraction | int) -> Fraction:
        """Return the highest load at a position."""
        return max(line.at(position) for line in self.lines)

    def least(self, position: Fraction | int) -> Fraction:
        """Return the lowest load at a position."""
        return min(line.at(position) for line in self.lines)

    def spans(self, pct: int) -> Iterator[tuple[Fraction | None, Fraction | None]]:
        """Yield what each line leaves of the positions: first and last, None is unbounded.

        `pct` is the part of the bound that may be used; a length is used whole, since nothing
        about it is guessed. A line that is level and over leaves nothing: first after last.

        Examples
        --------
        100 lb and half a pound an inch, of 200 lb: 90 percent is reached at 160 in.

        >>> limit = Limit("rear axle", "lb", 200, (Line(Fraction(100), Fraction(1, 2)),), "")
        >>> list(limit.spans(90))
        [(None, Fraction(160, 1))]
        """
        allowed = Fraction(self.bound * (pct if self.unit == "lb" else 100), 100)
        for line in self.lines:
            left = allowed - line.base
            if line.slope > 0:
                yield None, left / line.slope
            elif line.slope < 0:
                yield left / line.slope, None
            elif left < 0:
                yield Fraction(1), Fraction(0)


def span(limits: Iterable[Limit], pct: int) -> Span | None:
    """Return the positions from the headboard on at which every limit holds.

    Parameters
    ----------
    limits : iterable of Limit
        The deck's length among them, which ends the positions.
    pct : int
        Part of each bound in pounds that may be used, percent.

    Returns
    -------
    tuple of Fraction or None
        First and last position in inches behind the headboard; None when there is none.

    Examples
    --------
    >>> rear = Limit("rear axle", "lb", 200, (Line(Fraction(100), Fraction(1, 2)),), "")
    >>> deck = Limit("deck length", "in", 300, (Line(Fraction(150), Fraction(1)),), "")
    >>> [int(at) for at in span([rear, deck], 80)]
    [0, 120]
    """
    first, last = Fraction(0), None
    for limit in limits:
        for low, high in limit.spans(pct):
            first = first if low is None or low <= first else low
            last = high if last is None or (high is not None and high < last) else last
    if last is None:
        raise ValueError("no limit ends the positions; allowed: the deck's length among them")
    return (first, last) if first <= last else None


@dataclass(frozen=True, slots=True)
class Corner:
    """One thing to reckon with: weights [lb] and shares [per mille] of deck and wheel lift."""

    weight_lb: int
    share_pm: int
    lifted_lb: int = 0
    lifted_pm: int = 500


def worst_corners(load: Load, lifted: Load | None) -> tuple[Corner, ...]:
    """Return every end of the ranges; loads are linear in each, so the ends are enough.

    Examples
    --------
    >>> load = Load(4000, 5000, 450, 500, 550, 100, 36, 38, nose_first=True)
    >>> len(worst_corners(load, None)), len(worst_corners(load, load))
    (4, 16)
    """
    ends = product(_ends(load), _ends(lifted) if lifted else [(0, 500)])
    return tuple(Corner(*own, *towed) for own, towed in ends)


def middle_corner(load: Load, lifted: Load | None) -> tuple[Corner, ...]:
    """Return the likely weights at the middle shares."""
    towed = (lifted.likely_lb, lifted.share_mid_pm) if lifted else (0, 500)
    return (Corner(load.likely_lb, load.share_mid_pm, *towed),)


def _ends(load: Load) -> list[tuple[int, int]]:
    weights = dict.fromkeys((load.likely_lb, load.high_lb))
    shares = dict.fromkeys((load.share_low_pm, load.share_high_pm))
    return list(product(weights, shares))


@dataclass(frozen=True, slots=True)
class Loads:
    """What one corner puts on the truck, as lines over the position [lb].

    Attributes
    ----------
    front, rear : Line
        Front axle and rear group.
    off_front : Line
        What is taken off the scaled front axle weight; negative when more is on it.
    lifted, towed : Line
        On the wheel lift, and the whole vehicle that hangs there.
    """

    front: Line
    rear: Line
    off_front: Line
    lifted: Line
    towed: Line

    @property
    def gross(self) -> Line:
        """What the truck's own axles carry; of a lifted vehicle only the lifted part."""
        return self.front + self.rear

    @property
    def combination(self) -> Line:
        """The truck and all of both vehicles."""
        return self.gross + self.towed + self.lifted.times(Fraction(-1))


def loads(truck: Truck, load: Load, lifted: Load | None, corner: Corner) -> Loads:
    """Return what a corner puts on the truck.

    A weight W at x behind the front axle puts ``W (WB - x) / WB`` on the front axle and
    ``W x / WB`` on the rear group, x to its middle; for the vehicle on the deck
    ``x = headboard + p + overhang + wheelbase (1 - near share)``.

    Examples
    --------
    5,000 lb with its weight 189 in behind the front axle at the headboard; ten inches back it is
    over the rear axle.

    >>> truck = Truck(5500, 8900, 19500, 7500, 13500, 199, 88, 234)
    >>> load = Load(5000, 5000, 500, 500, 500, 130, 36, 38, nose_first=True)
    >>> on = loads(truck, load, None, Corner(5000, 500))
    >>> int(on.front.at(10)), int(on.rear.at(10)), int(on.gross.at(10))
    (5500, 13900, 19400)
    """
    base = Fraction(truck.wheelbase_in)
    weight = Fraction(corner.weight_lb)
    front, rear = truck.own_axles
    on_front, on_rear = split(weight, truck.headboard_in + load.gravity(corner.share_pm), base)
    hung = lifted.near_share(corner.lifted_pm) * corner.lifted_lb if lifted else Fraction(0)
    at = Fraction(truck.lift.at_in if truck.lift else 0)
    hung_front, hung_rear = split(hung, at, base)
    slope = weight / base
    return Loads(
        front=(on := Line(front + on_front + hung_front, -slope)),
        rear=Line(rear + on_rear + hung_rear, slope),
        off_front=Line(truck.empty_front_lb - on.base, slope),
        lifted=Line(hung),
        towed=Line(Fraction(corner.lifted_lb)),
    )


@dataclass(frozen=True, slots=True)
class Asked:
    """A question put to the limits: the truck, what it carries, and the law."""

    truck: Truck
    load: Load
    lifted: Load | None
    legal: Legal

    @property
    def exempt(self) -> bool:
        """Whether the recovery exemption lifts the legal weight limits.

        The truck's own weight on the scale is held against both vehicles at their high weight.
        """
        disabled = self.load.high_lb + (self.lifted.high_lb if self.lifted else 0)
        return recovery_exempt(self.legal, floor(sum(self.truck.own_axles)), disabled)


def limits(asked: Asked, corners: Iterable[Corner]) -> tuple[Limit, ...]:
    """Return every limit for which there is a number, with its loads at the corners.

    Front axle, rear axle and gross weight come first; what is not known has no limit and is
    named by `unchecked`.
    """
    found = [loads(asked.truck, asked.load, asked.lifted, corner) for corner in corners]
    return (*_weights(asked, found), *_lengths(asked))


def unchecked(asked: Asked) -> tuple[str, ...]:
    """Return the names of the limits that nothing is known about, so that nobody counts on them.

    The bridge formula is checked over the truck's own axles, never over those of a vehicle that
    rolls behind it.

    Examples
    --------
    >>> truck = Truck(5500, 8900, 19500, 7500, 13500, 199, 88, 234)
    >>> load = Load(5000, 5000, 500, 500, 500, 130, 36, 38, nose_first=True)
    >>> unchecked(Asked(truck, load, None, Legal(height_in=162)))
    ('front tyres', 'rear tyres', 'overall height', 'overall length')
    """
    checked = {one.name for one in limits(asked, middle_corner(asked.load, asked.lifted))}
    towing = (TOW, COMBINATION, COMBINATION_BRIDGE) if asked.lifted else ()
    wanted = (FRONT_TYRES, REAR_TYRES, HEIGHT, LENGTH, *towing)
    return tuple(name for name in wanted if name not in checked)


_Pick: TypeAlias = Callable[[Loads], Line]
_Bound: TypeAlias = tuple[str, int | None, _Pick, str]


def _weights(asked: Asked, found: list[Loads]) -> Iterator[Limit]:
    bounds = (*_ratings(asked), *(() if asked.exempt else _law(asked)))
    for name, bound, pick, source in bounds:
        if bound is not None:
            lines = tuple(dict.fromkeys(pick(one) for one in found))
            yield Limit(name, "lb", bound, lines, source)


def _ratings(asked: Asked) -> Iterator[_Bound]:
    truck, lift = asked.truck, asked.truck.lift
    kept = 100 - truck.front_kept_pct
    scaled = truck.front_scaled_lb or truck.empty_front_lb
    yield FRONT, truck.gawr_front_lb, lambda on: on.front, CARD
    yield REAR, truck.gawr_rear_lb, lambda on: on.rear, CARD
    yield GROSS, truck.gvwr_lb, lambda on: on.gross, CARD
    yield FRONT_TYRES, truck.front_tyres_lb, lambda on: on.front, TYRE_SOURCE
    yield REAR_TYRES, truck.rear_tyres_lb, lambda on: on.rear, TYRE_SOURCE
    yield FRONT_KEPT, scaled * kept // 100, lambda on: on.off_front, KEPT_SOURCE
    if asked.lifted is not None and lift is not None:
        yield LIFT, lift.rating_lb, lambda on: on.lifted, CARD
        yield TOW, lift.tow_lb, lambda on: on.towed, CARD
        yield COMBINATION, truck.gcwr_lb, lambda on: on.combination, CARD


def _law(asked: Asked) -> Iterator[_Bound]:
    truck, legal = asked.truck, asked.legal
    tandem = truck.rear_axles == 2
    yield LEGAL_FRONT, legal.single_lb, lambda on: on.front, legal.source
    if tandem:
        yield LEGAL_TANDEM, legal.tandem_lb, lambda on: on.rear, legal.source
    else:
        yield LEGAL_REAR, legal.single_lb, lambda on: on.rear, legal.source
    yield LEGAL_GROSS, legal.gross_lb, lambda on: on.combination, legal.source
    if legal.bridge:
        last = truck.wheelbase_in + truck.tandem_spacing_in // 2
        outer = bridge_limit(1 + truck.rear_axles, last)
        yield BRIDGE, outer, lambda on: on.gross, legal.source
    if legal.bridge and tandem:
        inner = bridge_limit(2, truck.wheelbase_in - (truck.tandem_spacing_in + 1) // 2)
        half = Fraction(1, 2)
        yield INNER_BRIDGE, inner, lambda on: on.front + on.rear.times(half), legal.source


def _lengths(asked: Asked) -> Iterator[Limit]:
    truck, load, legal = asked.truck, asked.load, asked.legal
    wheels = Line(Fraction(load.near_overhang_in + load.wheelbase_in), Fraction(1))
    yield Limit(DECK_LENGTH, "in", truck.deck_length_in, (wheels,), CARD)
    if not (legal.height_in is None or truck.deck_height_in is None or load.height_in is None):
        height = Line(Fraction(truck.deck_height_in + load.height_in))
        yield Limit(HEIGHT, "in", legal.height_in, (height,), legal.source)
    if not (legal.length_in is None or truck.front_end_in is None or truck.rear_end_in is None):
        ahead = Line(Fraction(truck.front_end_in))
        lines = tuple(ahead + end for end in _rear_ends(asked, truck.rear_end_in))
        yield Limit(LENGTH, "in", legal.length_in, lines, legal.source)


def _rear_ends(asked: Asked, truck_end: int) -> Iterator[Line]:
    """Where the truck, the vehicle on the deck and the one on the lift end behind the axle."""
    truck, load, lifted = asked.truck, asked.load, asked.lifted
    long = load.near_overhang_in + load.wheelbase_in + load.far_overhang_in
    yield Line(Fraction(truck_end))
    yield Line(Fraction(truck.headboard_in + long), Fraction(1))
    if lifted is not None and truck.lift is not None:
        yield Line(Fraction(truck.lift.at_in + lifted.wheelbase_in + lifted.far_overhang_in))

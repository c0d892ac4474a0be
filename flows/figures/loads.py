"""Loads on the truck's axles, as lines over the position of the vehicle on the deck.

At one corner of the unknowns (weights and shares at the ends of their ranges) every load is affine
in the position p of the vehicle's nearest end behind the headboard: ``base + slope p``.
"""

from dataclasses import dataclass
from itertools import product

from flows.figures.deck import Load, Truck


@dataclass(frozen=True, slots=True)
class Line:
    """A load over the position: ``base + slope p``, p in inches behind the headboard.

    In whole parts of a pound or an inch; the `Limit` says how many parts.
    """

    base: int
    slope: int = 0

    def __add__(self, other: "Line") -> "Line":
        return Line(self.base + other.base, self.slope + other.slope)

    def __sub__(self, other: "Line") -> "Line":
        return Line(self.base - other.base, self.slope - other.slope)


@dataclass(frozen=True, slots=True)
class Corner:
    """One possible case: weights [lb] and shares [per mille] on the deck and the wheel lift."""

    weight_lb: int
    share_pm: int
    lifted_lb: int = 0
    lifted_pm: int = 500


def worst_corners(load: Load, lifted: Load | None) -> tuple[Corner, ...]:
    """Return all combinations of the ends of the ranges; loads are linear, so these are enough.

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
    """Loads of one corner on the truck, as lines over the position, in parts of a pound.

    Attributes
    ----------
    front, rear : Line
        Front axle and rear group.
    off_front : Line
        Weight taken off the scaled front axle; negative if weight is added.
    lifted, towed : Line
        On the wheel lift, and the whole vehicle hanging there.
    gross : Line
        On the truck's own axles; of a lifted vehicle only the lifted part.
    combination : Line
        The truck and all of both vehicles.
    """

    front: Line
    rear: Line
    off_front: Line
    lifted: Line
    towed: Line
    gross: Line
    combination: Line

    @property
    def first_two(self) -> Line:
        """The front axle and half of the tandem."""
        return self.front + Line(self.rear.base // 2, self.rear.slope // 2)


def parts_of(truck: Truck) -> int:
    """Return how many parts a pound has, so that every load on the truck is whole.

    Shares are per mille, axle loads are moments over the wheelbase, and a tandem halves them.
    """
    return 2000 * truck.wheelbase_in


def loads(
    truck: Truck,
    load: Load,
    lifted: Load | None,
    corner: Corner,
    own: tuple[int, int] | None = None,
) -> Loads:
    """Return the loads of a corner on the truck.

    A weight W at x behind the front axle puts ``W (WB - x) / WB`` on the front axle and
    ``W x / WB`` on the rear group, x to its middle; for the vehicle on the deck
    ``x = headboard + p + overhang + wheelbase (1 - near share)``.

    Parameters
    ----------
    truck, load, lifted
        As in `Asked`.
    corner : Corner
        Weights in lb, shares in per mille.
    own : tuple of int, optional
        The truck's own weight [lb] and its moment [lb in], where they are known already.

    Returns
    -------
    Loads
        In parts of a pound, `parts_of` the truck.

    Examples
    --------
    5,000 lb with its weight 189 in behind the front axle at the headboard; ten inches back it is
    over the rear axle.

    >>> truck = Truck(5500, 8900, 19500, 7500, 13500, 199, 88, 234)
    >>> load = Load(5000, 5000, 500, 500, 500, 130, 36, 38, nose_first=True)
    >>> on = loads(truck, load, None, Corner(5000, 500))
    >>> [(line.base + 10 * line.slope) // parts_of(truck) for line in (on.front, on.rear)]
    [5500, 13900]
    """
    parts = parts_of(truck)
    own_lb, own_moment = own or (truck.own_lb, truck.own_moment)
    on_axles = (own_lb + corner.weight_lb) * parts
    # A moment in thousandths of a pound-inch, divided by the wheelbase, is two parts.
    gravity = 1000 * truck.headboard_in + load.gravity_thousandths(corner.share_pm)
    rear = 2 * (1000 * own_moment + corner.weight_lb * gravity)
    hung = 0
    if lifted is not None and truck.lift is not None:
        thousandths = corner.lifted_lb * lifted.near_pm(corner.lifted_pm)
        hung = thousandths * parts // 1000
        rear += 2 * thousandths * truck.lift.at_in
    slope = 2000 * corner.weight_lb
    front, towed = on_axles + hung - rear, corner.lifted_lb * parts
    return Loads(
        front=Line(front, -slope),
        rear=Line(rear, slope),
        off_front=Line(truck.empty_front_lb * parts - front, slope),
        lifted=Line(hung),
        towed=Line(towed),
        gross=Line(front + rear),
        combination=Line(front + rear + towed - hung),
    )

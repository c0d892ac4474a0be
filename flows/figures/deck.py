"""A vehicle on a deck: where its weight stands, and what it puts on the truck's axles.

Whole pounds and inches in, exact fractions inside. Distances on the deck run from the headboard's
rear face backward; `position` is that of the vehicle's nearest end. Source: two-axle statics.
"""

from bisect import bisect_left
from dataclasses import dataclass
from fractions import Fraction

from flows.errors import require_whole
from flows.figures.statics import split


@dataclass(frozen=True, slots=True)
class Truck:
    """A two-axle carrier as it stands, without the vehicle: weights in lb, lengths in inches.

    Attributes
    ----------
    empty_front_lb, empty_rear_lb : int
        Scaled axle weights with what is aboard now, 1 to 60,000.
    gvwr_lb, gawr_front_lb, gawr_rear_lb : int
        Ratings, 1 to 80,000.
    wheelbase_in : int
        60 to 400.
    headboard_in : int
        Rear face of the headboard behind the front axle, 0 to 400.
    deck_length_in : int
        Headboard to deck end, 1 to 480.
    """

    empty_front_lb: int
    empty_rear_lb: int
    gvwr_lb: int
    gawr_front_lb: int
    gawr_rear_lb: int
    wheelbase_in: int
    headboard_in: int
    deck_length_in: int

    def __post_init__(self) -> None:
        for name in ("empty_front_lb", "empty_rear_lb"):
            require_whole(f"truck {name}", getattr(self, name), 1, 60_000, "lb")
        for name in ("gvwr_lb", "gawr_front_lb", "gawr_rear_lb"):
            require_whole(f"truck {name}", getattr(self, name), 1, 80_000, "lb")
        require_whole("truck wheelbase_in", self.wheelbase_in, 60, 400, "in")
        require_whole("truck headboard_in", self.headboard_in, 0, 400, "in")
        require_whole("truck deck_length_in", self.deck_length_in, 1, 480, "in")


@dataclass(frozen=True, slots=True)
class Load:
    """The vehicle that is carried: weight range in lb, front share in per mille, inches.

    Attributes
    ----------
    likely_lb, high_lb : int
        Likely weight and the highest to reckon with, 1 to 40,000, likely first.
    share_low_pm, share_mid_pm, share_high_pm : int
        Part of the weight on the vehicle's own front axle, 100 to 900 per mille, in order.
    wheelbase_in : int
        40 to 300.
    front_overhang_in, rear_overhang_in : int
        Ends of the vehicle beyond its axles, 0 to 150.
    nose_first : bool
        True when the nose is toward the headboard.
    """

    likely_lb: int
    high_lb: int
    share_low_pm: int
    share_mid_pm: int
    share_high_pm: int
    wheelbase_in: int
    front_overhang_in: int
    rear_overhang_in: int
    nose_first: bool

    def __post_init__(self) -> None:
        require_whole("vehicle high_lb", self.high_lb, 1, 40_000, "lb")
        require_whole("vehicle likely_lb", self.likely_lb, 1, self.high_lb, "lb")
        require_whole("vehicle share_mid_pm", self.share_mid_pm, 100, 900, "per mille")
        require_whole(
            "vehicle share_low_pm", self.share_low_pm, 100, self.share_mid_pm, "per mille"
        )
        require_whole(
            "vehicle share_high_pm", self.share_high_pm, self.share_mid_pm, 900, "per mille"
        )
        require_whole("vehicle wheelbase_in", self.wheelbase_in, 40, 300, "in")
        require_whole("vehicle front_overhang_in", self.front_overhang_in, 0, 150, "in")
        require_whole("vehicle rear_overhang_in", self.rear_overhang_in, 0, 150, "in")


@dataclass(frozen=True, slots=True)
class Case:
    """What to reckon with: some weights, anywhere between two places.

    Attributes
    ----------
    weights : tuple of int
        Weights of the vehicle in lb; loads are linear in the weight, so its ends are enough.
    nearest, furthest : Fraction
        Centre of gravity behind the truck's front axle, in inches, with the vehicle's nearest
        end at the headboard. They differ by what is not known of the vehicle's front share.
    """

    weights: tuple[int, ...]
    nearest: Fraction
    furthest: Fraction


def worst_case(truck: Truck, load: Load) -> Case:
    """Return every weight and share to reckon with.

    Examples
    --------
    Headboard 88 in, overhang 36 in, wheelbase 100 in, share 45 to 55 percent: 169 and 179 in.

    >>> truck = Truck(5500, 8900, 19500, 7500, 13500, 199, 88, 234)
    >>> case = worst_case(truck, Load(4000, 5000, 450, 500, 550, 100, 36, 38, nose_first=True))
    >>> case.weights, int(case.nearest), int(case.furthest)
    ((4000, 5000), 169, 179)
    """
    ends = sorted(_gravity(truck, load, pm) for pm in (load.share_low_pm, load.share_high_pm))
    return Case((load.likely_lb, load.high_lb), ends[0], ends[1])


def middle_case(truck: Truck, load: Load) -> Case:
    """Return the likely weight at the middle share."""
    at = _gravity(truck, load, load.share_mid_pm)
    return Case((load.likely_lb,), at, at)


def room(truck: Truck, load: Load) -> int:
    """Return how many inches the vehicle can move with all wheels on the deck.

    Negative: that much deck is missing.

    Examples
    --------
    Deck 234 in, overhang 36 in, wheelbase 114 in:

    >>> truck = Truck(5500, 8900, 19500, 7500, 13500, 199, 88, 234)
    >>> room(truck, Load(5000, 5000, 500, 500, 500, 114, 36, 38, nose_first=True))
    84
    """
    return truck.deck_length_in - _near_overhang(load) - load.wheelbase_in


def worst_loads(truck: Truck, case: Case, position: Fraction) -> tuple[Fraction, ...]:
    """Return the worst load on the front axle, on the rear axle and in all, in lb.

    Parameters
    ----------
    truck, case
        As built by `worst_case` or `middle_case`.
    position : Fraction
        Inches behind the headboard, 0 or more.

    Examples
    --------
    5,000 lb with its weight 199 in behind the front axle, which is over the rear axle:

    >>> truck = Truck(5500, 8900, 19500, 7500, 13500, 199, 88, 234)
    >>> [int(lb) for lb in worst_loads(truck, Case((5000,), *[Fraction(189)] * 2), Fraction(10))]
    [5500, 13900, 19400]
    """
    base = Fraction(truck.wheelbase_in)
    weights = [Fraction(weight) for weight in case.weights]
    front = max(split(weight, case.nearest + position, base)[0] for weight in weights)
    rear = max(split(weight, case.furthest + position, base)[1] for weight in weights)
    empty = truck.empty_front_lb + truck.empty_rear_lb
    return truck.empty_front_lb + front, truck.empty_rear_lb + rear, empty + max(weights)


def span(truck: Truck, case: Case, free_in: int, pct: int) -> tuple[Fraction, Fraction] | None:
    """Return the positions at which no load is over a part of its limit.

    ``front <= limit`` gives ``x >= WB (1 - left / W)`` and ``rear <= limit`` gives
    ``x <= WB left / W``, with ``left`` what the truck without the vehicle leaves of the limit.
    ``front >= 0`` gives ``x <= WB (1 + empty / W)``: the formulas hold while the front wheels
    are on the ground.

    Parameters
    ----------
    truck, case
        As built by `worst_case` or `middle_case`.
    free_in : int
        What `room` returns.
    pct : int
        Part of each limit, in percent.

    Returns
    -------
    tuple of Fraction or None
        First and last position in inches behind the headboard; None when there is none.

    Examples
    --------
    3,500 lb, weight 170 in behind the front axle: rear axle 0.95 x 13,500 - 8,900 = 3,925 lb left,
    199 x 3,925 / 3,500 - 170 = 53.2 in.

    >>> truck = Truck(5500, 8900, 19500, 7500, 13500, 199, 88, 234)
    >>> first, last = span(truck, Case((3500,), Fraction(170), Fraction(170)), 80, 95)
    >>> int(first), round(float(last), 1)
    (0, 53.2)
    """
    part = Fraction(pct, 100)
    front_left = part * truck.gawr_front_lb - truck.empty_front_lb
    rear_left = part * truck.gawr_rear_lb - truck.empty_rear_lb
    gross_left = part * truck.gvwr_lb - truck.empty_front_lb - truck.empty_rear_lb
    base = truck.wheelbase_in
    first = max(base * (1 - front_left / weight) - case.nearest for weight in case.weights)
    last = min(
        base * min(rear_left / weight, 1 + Fraction(truck.empty_front_lb, weight)) - case.furthest
        for weight in case.weights
    )
    low, high = max(first, Fraction(0)), min(last, Fraction(free_in))
    return (low, high) if low <= high and max(case.weights) <= gross_left else None


def best_position(truck: Truck, case: Case, free_in: int) -> int:
    """Return the whole inch at which the more used axle is used least.

    Moving back lightens the front and loads the rear, so the best lies where their used parts
    cross; the headboard or the deck end if they do not. `free_in` is what `room` returns, 0 or
    more.
    """

    def used(position: int) -> tuple[Fraction, Fraction]:
        front, rear, _ = worst_loads(truck, case, Fraction(position))
        return front / truck.gawr_front_lb, rear / truck.gawr_rear_lb

    def excess(position: int) -> Fraction:
        front, rear = used(position)
        return rear - front

    crossing = bisect_left(range(free_in + 1), Fraction(0), key=excess)
    beside = (max(crossing - 1, 0), min(crossing, free_in))
    return min(beside, key=lambda position: max(used(position)))


def _near_overhang(load: Load) -> int:
    return load.front_overhang_in if load.nose_first else load.rear_overhang_in


def _gravity(truck: Truck, load: Load, share_pm: int) -> Fraction:
    """Centre of gravity behind the truck's front axle, nearest end at the headboard."""
    part = 1000 - share_pm if load.nose_first else share_pm
    behind_end = _near_overhang(load) + Fraction(load.wheelbase_in * part, 1000)
    return truck.headboard_in + behind_end

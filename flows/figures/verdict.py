"""Go, close or no-go, and the best position on the deck.

go
    At some whole inch every load is within `close_at_pct` percent of its limit for all weights
    from likely to high and all shares from low to high, and every length within its limit.
no-go
    At every position some load is over its limit already at the likely weight and the middle
    share; or the wheels do not fit the deck, or truck and vehicle are too long or too high.
close
    Neither.
"""

from bisect import bisect_left
from collections.abc import Iterable
from math import ceil, floor
from typing import Final, Literal, TypeAlias

from flows.figures.limits import DECK_LENGTH, POSITION, Asked, Limit, Ratio, limits, span
from flows.figures.loads import middle_corner, worst_corners

Verdict: TypeAlias = Literal["go", "close", "no-go"]
ORDER: Final[tuple[Verdict, ...]] = ("go", "close", "no-go")


def judged(asked: Asked, pct: int) -> tuple[Verdict, tuple[int, int] | None]:
    """Return the verdict, and for a go the range of whole inches.

    Parameters
    ----------
    asked : Asked
        Truck, vehicles and law.
    pct : int
        Part of a limit from which a load is close, percent.

    Examples
    --------
    3,500 lb, weight 170 in behind the front axle at the headboard: rear axle
    0.95 x 13,500 - 8,900 = 3,925 lb left, 199 x 3,925 / 3,500 - 170 = 53.2 in.

    >>> from flows.figures.deck import Load, Truck
    >>> from flows.figures.legal import FEDERAL
    >>> truck = Truck(5500, 8900, 19500, 7500, 13500, 199, 88, 234)
    >>> load = Load(3500, 3500, 500, 500, 500, 92, 36, 38, nose_first=True)
    >>> judged(Asked(truck, load, None, FEDERAL), 95)
    ('go', (0, 53))
    """
    return judged_by(asked, at_worst(asked), pct)


def at_worst(asked: Asked) -> tuple[Limit, ...]:
    """Return every limit with its loads at the ends of the ranges."""
    return limits(asked, worst_corners(asked.load, asked.lifted))


def judged_by(
    asked: Asked, every: Iterable[Limit], pct: int
) -> tuple[Verdict, tuple[int, int] | None]:
    """Return the same as `judged`, from the limits at the ends of the ranges."""
    inches = _whole_inches(asked, every, pct)
    if inches is not None:
        return "go", inches
    return ("close" if is_possible(asked) else "no-go"), None


def go_inches(asked: Asked, pct: int) -> tuple[int, int] | None:
    """Return the first and last whole inch at which it is a go; None if it is not a go."""
    return _whole_inches(asked, at_worst(asked), pct)


def _whole_inches(asked: Asked, every: Iterable[Limit], pct: int) -> tuple[int, int] | None:
    within = span(every, pct, asked.first_in)
    if within is None or ceil(within[0]) > floor(within[1]):
        return None
    return ceil(within[0]), floor(within[1])


def is_possible(asked: Asked) -> bool:
    """Tell whether the likely weight at the middle share fits somewhere: if so, not a no-go."""
    every = limits(asked, middle_corner(asked.load, asked.lifted))
    return span(every, 100, asked.first_in) is not None


def is_better(asked: Asked, pct: int, than: Verdict) -> bool:
    """Tell whether the verdict is better than another one.

    What is a go fits at the likely weight and the middle share too: nothing else is looked at.
    """
    if than == "no-go":
        return is_possible(asked)
    return than == "close" and go_inches(asked, pct) is not None


def best_position(every: Iterable[Limit], first_in: int, roomy_pct: int) -> int | None:
    """Return the whole inch for the vehicle's nearest end: the first position that is roomy.

    Moving back takes weight off the front axle, whose share to be kept is one of the limits, and
    loads the rear axle. The most used limit is used least where the used parts of rising and
    falling loads cross. But that position alone would send a light vehicle to the tail, to relieve
    a front axle that is nowhere near its rating. So a limit counts as roomy while at most
    `roomy_pct` of it is used, and the best position is the nearest to the headboard at which every
    limit is roomy, with the shortest load behind the rear axle and the most weight on the wheels
    that steer. If there is no such position, it is where the most used limit is used least; of
    two equal positions, the nearer to the headboard.

    Parameters
    ----------
    every : iterable of Limit
        Loads that do not depend on the position are left out. Lengths end the positions; an
        overall length or height that no position satisfies does not count.
    first_in : int
        First position, in inches behind the headboard.
    roomy_pct : int
        Percent.

    Returns
    -------
    int or None
        Inches behind the headboard; None if the wheels do not fit the deck.

    Examples
    --------
    Rising from 50 of 100 lb, falling from 80 of 100: they cross at 15 in, and at 10 in the front
    axle is down to 70 percent.

    >>> from flows.figures.loads import Line
    >>> rear = Limit("rear axle", "lb", 100, (Line(50, 1),), "")
    >>> front = Limit("front axle", "lb", 100, (Line(80, -1),), "")
    >>> deck = Limit("deck length", "in", 140, (Line(100, 1),), "")
    >>> [best_position([rear, front, deck], 0, pct) for pct in (60, 70, 90)]
    [15, 10, 0]
    """
    every = tuple(every)
    lengths = [one for one in every if one.unit == "in"]
    deck = [one for one in lengths if one.name in (DECK_LENGTH, POSITION)]
    ends = span(lengths, 100, first_in) or span(deck, 100, first_in)
    if ends is None:
        return None
    rising, falling = _sloped(every, up=True), _sloped(every, up=False)
    return _nearest(rising, falling, (ceil(ends[0]), floor(ends[1])), roomy_pct)


def _nearest(
    rising: list["_Used"], falling: list["_Used"], ends: tuple[int, int], roomy_pct: int
) -> int:
    """Return the first position that is roomy; without one, where least of a limit is used."""
    both = [*rising, *falling]

    def has_crossed(position: int) -> bool:
        up, down = _most_used(rising, position), _most_used(falling, position)
        return up[0] * down[1] >= down[0] * up[1]

    def is_roomy(position: int) -> bool:
        used, of = _most_used(both, position)
        return 100 * used <= roomy_pct * of

    low, high = ends
    crossing = low + bisect_left(range(low, high + 1), 1, key=has_crossed)
    before, after = max(crossing - 1, low), min(crossing, high)
    (one, of), (other, of_other) = _most_used(both, before), _most_used(both, after)
    least = before if one * of_other <= other * of else after
    if not is_roomy(least):
        return least
    return low + bisect_left(range(low, least + 1), 1, key=is_roomy)


_Used: TypeAlias = tuple[tuple[tuple[int, int], ...], int]
"""The heaviest line of each slope, base and slope, and the bound; all in parts."""


def _sloped(every: Iterable[Limit], *, up: bool) -> list[_Used]:
    """Return the limits in pounds that rise, or fall, toward the rear; all lines of each agree."""
    return [
        _used(one)
        for one in every
        if one.unit == "lb" and one.lines[0].slope * (1 if up else -1) > 0
    ]


def _used(limit: Limit) -> _Used:
    heaviest: dict[int, int] = {}
    for line in limit.lines:
        if line.slope not in heaviest or line.base > heaviest[line.slope]:
            heaviest[line.slope] = line.base
    return tuple((base, slope) for slope, base in heaviest.items()), limit.bound * limit.parts


def _most_used(some: list[_Used], position: int) -> Ratio:
    """Return the largest part of a bound that is used at a position."""
    most, of = -1, 0
    for lines, bound in some:
        load = max([base + slope * position for base, slope in lines])
        if not of or load * of > most * bound:
            most, of = load, bound
    return most, of

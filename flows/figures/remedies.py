"""Changes that would turn a close or no-go into a go, or a no-go into a close."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from math import floor
from typing import Final, Literal, TypeAlias

from flows.errors import OutOfRangeError
from flows.figures.deck import Load, Piece, Truck
from flows.figures.limits import FRONT, FRONT_TYRES, LEGAL_FRONT, Asked
from flows.figures.verdict import Verdict, go_inches, is_better

Axle: TypeAlias = Literal["front axle", "rear axle"]

_FRONT_LIMITS: Final = (FRONT, FRONT_TYRES, LEGAL_FRONT)


@dataclass(frozen=True, slots=True)
class Less:
    """How much less aboard would be enough for a go by itself.

    Attributes
    ----------
    less_lb : int or None
        Fewest pounds that have to come off over `axle`; None if all gear aboard together does
        not relieve it by that much.
    axle : {"front axle", "rear axle"}
        The axle of the governing limit; the rear axle unless it is a front limit.
    gear : tuple of str
        Gear aboard that together is enough, most helpful first; empty if it is not enough.
    gear_lb : int
        Weight of that gear.
    """

    less_lb: int | None
    axle: Axle
    gear: tuple[str, ...]
    gear_lb: int


def remedies(
    asked: Asked, pct: int, alone: Verdict, *, placed: bool, less: Less | None
) -> tuple[str, ...]:
    """Name the changes that may improve a close or a no-go, easiest first.

    Parameters
    ----------
    asked : Asked
        Truck, vehicles and law.
    pct : int
        As in the verdict.
    alone : {"go", "close", "no-go"}
        The verdict of `asked` by itself; a go where the answer is close by another case of it.
    placed : bool
        Whether it is close and the best position is within every limit for the whole range.
    less : Less or None
        The result of `less_aboard`.

    Returns
    -------
    tuple of str
        Of ``"position"``, ``"nose_other_way"``, ``"weigh_it"``, ``"less_aboard"``,
        ``"second_off"``, ``"another_truck"``.
    """
    helps = {
        "position": placed,
        "nose_other_way": is_better(_turned_round(asked), pct, alone),
        "weigh_it": is_better(_weighed(asked), pct, alone),
        "less_aboard": less is not None and bool(less.gear),
        "second_off": asked.lifted is not None
        and is_better(replace(asked, lifted=None), pct, alone),
        "another_truck": True,
    }
    return tuple(name for name, is_help in helps.items() if is_help)


def less_aboard(asked: Asked, pct: int, governing: str) -> Less:
    """Return how much would have to come off the truck for a go, if that alone is enough.

    Parameters
    ----------
    asked : Asked
        Truck, vehicles and law; not a go at present.
    pct : int
        As in the verdict.
    governing : str
        The governing limit: it decides over which axle weight has to come off.

    Examples
    --------
    5,000 lb puts 4,547.7 lb on the rear axle at the headboard, 12,825 is 95 percent of it; gross
    19,400 of 18,525 lb: 875 lb have to come off.

    >>> from flows.figures.legal import FEDERAL
    >>> blocks = Piece("blocks", 900, 199, on_ticket=True)
    >>> truck = Truck(5500, 8900, 19500, 7500, 13500, 199, 88, 234, aboard=(blocks,))
    >>> load = Load(5000, 5000, 500, 500, 500, 114, 36, 38, nose_first=True)
    >>> less_aboard(Asked(truck, load, None, FEDERAL), 95, "rear axle").less_lb
    875
    """
    axle: Axle = "front axle" if governing in _FRONT_LIMITS else "rear axle"
    at = 0 if axle == "front axle" else asked.truck.wheelbase_in
    gear = _enough_gear(asked, pct, axle)
    most = floor(sum(_relief(asked.truck, one, axle) for one in _gear(asked.truck)))
    return Less(
        _least_off(asked, pct, at, most), axle, tuple(one.name for one in gear), _weight(gear)
    )


def _weight(gear: Iterable[Piece]) -> int:
    return sum(one.weight_lb for one in gear)


def _turned_round(asked: Asked) -> Asked:
    return replace(asked, load=replace(asked.load, nose_first=not asked.load.nose_first))


def _weighed(asked: Asked) -> Asked:
    """Return the same question with the likely weights and the middle shares known."""
    lifted = asked.lifted
    return replace(asked, load=known(asked.load), lifted=known(lifted) if lifted else None)


def known(load: Load) -> Load:
    """Return the vehicle as if its likely weight and its middle share were weighed.

    Examples
    --------
    >>> known(Load(4000, 5000, 450, 500, 550, 100, 36, 38, nose_first=True)).high_lb
    4000
    """
    mid = load.share_mid_pm
    return replace(load, high_lb=load.likely_lb, share_low_pm=mid, share_high_pm=mid)


def _least_off(asked: Asked, pct: int, at_in: int, most: int) -> int | None:
    """Return the fewest pounds off at a position for a go: more off an axle never loads it.

    The truck keeps some weight on each axle, and at most `most` can come off.
    """
    own = asked.truck.own_axles[0 if at_in == 0 else 1]
    low, high = 0, min(int(own) - 1, most, 10_000)
    if high <= 0 or not _is_go(asked, _off(asked.truck, high, at_in), pct):
        return None
    while high - low > 1:
        middle = (low + high) // 2
        if _is_go(asked, _off(asked.truck, middle, at_in), pct):
            high = middle
        else:
            low = middle
    return high


def _is_go(asked: Asked, truck: Truck, pct: int) -> bool:
    return go_inches(replace(asked, truck=truck), pct) is not None


def _off(truck: Truck, weight_lb: int, at_in: int) -> Truck:
    return replace(truck, aboard=(*truck.aboard, Piece("less", -weight_lb, at_in)))


def _enough_gear(asked: Asked, pct: int, axle: Axle) -> tuple[Piece, ...]:
    """Return gear, most relieving first, until it is a go; empty if it never is.

    It is not enough either if an axle on the ticket has less weight than would come off it.
    """
    truck = asked.truck
    gear = _gear(truck)
    gear.sort(key=lambda one: (-_relief(asked.truck, one, axle), one.name))
    for count, piece in enumerate(gear, 1):
        try:
            truck = without(truck, piece)
        except OutOfRangeError:
            break
        if _is_go(asked, truck, pct):
            return tuple(gear[:count])
    return ()


def _gear(truck: Truck) -> list[Piece]:
    """Return the pieces that can come off: no persons, and nothing already off."""
    return [one for one in truck.aboard if one.weight_lb > 0 and not one.person]


def _relief(truck: Truck, piece: Piece, axle: Axle) -> Fraction:
    """Return how much less is on an axle without a piece [lb]."""
    on_rear = Fraction(piece.weight_lb * piece.at_in, truck.wheelbase_in)
    return piece.weight_lb - on_rear if axle == "front axle" else on_rear


def without(truck: Truck, piece: Piece) -> Truck:
    """Return the truck with a piece of gear left behind.

    Examples
    --------
    >>> gear = Piece("dollies", 199, 100, on_ticket=True)
    >>> truck = Truck(5500, 8900, 19500, 7500, 13500, 199, 88, 234, aboard=(gear,))
    >>> [int(lb) for lb in without(truck, gear).own_axles]
    [5401, 8800]
    """
    rest = list(truck.aboard)
    rest.remove(piece)
    if piece.on_ticket:
        rest.append(replace(piece, weight_lb=-piece.weight_lb, on_ticket=False))
    return replace(truck, aboard=tuple(rest))

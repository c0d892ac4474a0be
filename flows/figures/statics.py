"""Two-axle statics: the part of a load on each axle.

Source: moments about an axle, as in any statics textbook; the reference rows in
``tests/flows/data/statics.csv`` name the published examples used to check it.
"""

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from flows.errors import OutOfRangeError, require_whole

if TYPE_CHECKING:
    from flows.figures.units import Quantity


@dataclass(frozen=True, slots=True)
class Reactions:
    """The part of a load on each axle, in the load's own unit; together they are the load."""

    front: "Quantity"
    rear: "Quantity"


def split(
    load: Fraction, behind_front: Fraction, wheelbase: Fraction
) -> tuple[Fraction, Fraction]:
    """Return the front and rear reaction of a load on two axles.

    ``front = W (WB - x) / WB`` and ``rear = W x / WB``.

    Parameters
    ----------
    load : Fraction
        W, mass or force, in any unit.
    behind_front : Fraction
        x, distance of the load behind the front axle, a length. Beyond the wheelbase the front
        reaction is negative: the load lightens the front axle.
    wheelbase : Fraction
        WB, in the unit of `behind_front`, not zero.

    Returns
    -------
    tuple of Fraction
        Front and rear, in the unit of `load`; they sum to `load` exactly.

    Examples
    --------
    100 lb, 133 in behind the front axle of a 214 in wheelbase (body-builder manual, Appendix B,
    fig. B-2: 62.15 lb on the rear):

    >>> front, rear = split(Fraction(100), Fraction(133), Fraction(214))
    >>> round(float(rear), 4), front + rear
    (62.1495, Fraction(100, 1))
    """
    rear = load * behind_front / wheelbase
    return load - rear, rear


def lift_capacity(
    front: Fraction, wheelbase: Fraction, overhang: Fraction, kept_pct: int
) -> Fraction:
    """Return the most that a wheel lift may carry so that enough stays on the front axle.

    ``lift = front (1 - kept) x wheelbase / overhang``: a load behind the rear axle takes
    ``lift x overhang / wheelbase`` off the front axle. Half kept is a trade standard, not law.

    Parameters
    ----------
    front : Fraction
        Front axle weight on the scale, not its rating, in any unit of mass or force.
    wheelbase, overhang : Fraction
        Front axle to the middle of the rear group, and from there to the lifting point, in one
        unit of length; the overhang more than zero.
    kept_pct : int
        Part of `front` that has to stay, 0 to 100 percent.

    Returns
    -------
    Fraction
        In the unit of `front`.

    Raises
    ------
    OutOfRangeError
        If the overhang is not more than zero or the part is out of range.

    Notes
    -----
    Source: moments about the rear axle; worked example of a trade article.

    Examples
    --------
    14,500 / 2 x 312 / 190 = 11,905 lb.

    >>> int(lift_capacity(Fraction(14500), Fraction(312), Fraction(190), 50))
    11905
    """
    if overhang <= 0:
        raise OutOfRangeError("overhang", overhang, "more than 0")
    require_whole("front axle share kept", kept_pct, 0, 100, "percent")
    return front * Fraction(100 - kept_pct, 100) * wheelbase / overhang


def reactions(load: "Quantity", behind_front: "Quantity", wheelbase: "Quantity") -> Reactions:
    """Return the part of `load` on each axle.

    Parameters
    ----------
    load : "Quantity"
        W, a mass or a force, not negative.
    behind_front : "Quantity"
        x, a length: from one wheelbase ahead of the front axle to two behind it.
    wheelbase : "Quantity"
        WB, a length, 1 to 50 feet.

    Returns
    -------
    Reactions
        In the unit of `load`.

    Raises
    ------
    OutOfRangeError
        If a quantity is of another kind or out of range.

    Examples
    --------
    A 5,000 lb body, 28.2 in ahead of the rear axle of a 208 in wheelbase (trade article on axle
    weights: front 678, rear 4,322 lb):

    >>> from flows.figures.units import near, quantity
    >>> there = quantity(Fraction("179.8"), "inch")
    >>> on = reactions(quantity(5000, "pound"), there, quantity(208, "inch"))
    >>> near(on.front, "pound"), near(on.rear, "pound")
    (678, 4322)
    """
    from flows.figures.units import exact, quantity  # noqa: PLC0415  pint is slow

    if not (load.check("[mass]") or load.check("[force]")):
        raise OutOfRangeError("load", load, "a mass or a force")
    weight = exact(load, str(load.units))
    at, base = exact(behind_front, "inch"), exact(wheelbase, "inch")
    if weight < 0:
        raise OutOfRangeError("load", load, "0 or more")
    if not 12 <= base <= 600:
        raise OutOfRangeError("wheelbase", wheelbase, "1 to 50 feet")
    if not -base <= at <= 2 * base:
        allowed = "one wheelbase ahead of the front axle to two behind it"
        raise OutOfRangeError("distance behind the front axle", behind_front, allowed)
    front, rear = split(weight, at, base)
    unit = str(load.units)
    return Reactions(quantity(front, unit), quantity(rear, unit))

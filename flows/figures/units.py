"""The only pint registry, and conversion from a quantity to whole numbers of a declared unit.

pint is imported when the first quantity is made, not before: it takes 150 ms. Magnitudes are exact
fractions. Text from people never reaches pint's parser; `flows.measures` has a grammar for that.
"""

from fractions import Fraction
from functools import lru_cache
from math import ceil, floor
from typing import TYPE_CHECKING, Any

from flows.errors import OutOfRangeError

if TYPE_CHECKING:
    import pint

    Quantity = pint.Quantity[Any]


@lru_cache(maxsize=1)
def registry() -> "pint.UnitRegistry[Any]":
    """Return the only unit registry; its conversion factors are exact fractions.

    It knows a 64th of an inch as ``inch64``.

    Examples
    --------
    >>> registry().Quantity(Fraction(1), "kilogram").to("pound").magnitude
    Fraction(100000000, 45359237)
    """
    import pint  # noqa: PLC0415  slow to import

    found: pint.UnitRegistry[Any] = pint.UnitRegistry(non_int_type=Fraction)
    found.define("inch64 = inch / 64")
    return found


def quantity(value: Fraction | float, unit: str) -> "Quantity":
    """Make a quantity with an exact magnitude.

    Parameters
    ----------
    value : Fraction, int or float
        A float is taken as its binary fraction; write ``Fraction("9.81")`` for 9.81.
    unit : str
        A unit's name, ``"pound"`` (mass), ``"pound_force"``, ``"inch"``.

    Examples
    --------
    >>> quantity(3, "foot").to("inch").magnitude
    Fraction(36, 1)
    """
    return registry().Quantity(Fraction(value), unit)


def exact(amount: "Quantity", unit: str, what: str = "quantity") -> Fraction:
    """Return the magnitude of `amount` in `unit`, without rounding.

    Raises
    ------
    OutOfRangeError
        If `amount` is of another kind (a pound of mass is not a pound of force) or has no unit;
        the message calls it `what`.

    Examples
    --------
    >>> exact(quantity(1, "foot"), "inch")
    Fraction(12, 1)
    >>> exact(quantity(1, "pound_force"), "pound")
    Traceback (most recent call last):
    ...
    flows.errors.OutOfRangeError: quantity is 1 force_pound; allowed: a quantity that converts \
to pound. Measure it again or correct the card.
    """
    import pint  # noqa: PLC0415  slow to import

    allowed = f"a quantity that converts to {unit}"
    if not isinstance(amount, pint.Quantity):
        raise OutOfRangeError(what, amount, allowed)
    try:
        converted = quantity(amount.magnitude, str(amount.units)).to(unit)
    except pint.DimensionalityError:
        raise OutOfRangeError(what, amount, allowed) from None
    return Fraction(converted.magnitude)


def up(amount: "Quantity", unit: str, what: str = "quantity") -> int:
    """Return `amount` in whole units, rounded up: for a load on a limit.

    Examples
    --------
    >>> up(quantity(1000, "kilogram"), "pound")
    2205
    """
    return ceil(exact(amount, unit, what))


def down(amount: "Quantity", unit: str, what: str = "quantity") -> int:
    """Return `amount` in whole units, rounded down: for a limit.

    Examples
    --------
    >>> down(quantity(1000, "kilogram"), "pound")
    2204
    """
    return floor(exact(amount, unit, what))


def same(amount: "Quantity", unit: str, what: str = "quantity") -> int:
    """Return `amount` in whole units, unrounded: for a length, which has no cautious side.

    Raises
    ------
    OutOfRangeError
        If it is not a whole number of `unit`, or of another kind.

    Examples
    --------
    >>> same(quantity(Fraction(199, 12), "foot"), "inch")
    199
    """
    value = exact(amount, unit, what)
    if value.denominator != 1:
        raise OutOfRangeError(what, amount, f"a whole number of {unit}")
    return int(value)


def near(amount: "Quantity", unit: str, what: str = "quantity") -> int:
    """Return `amount` in the nearest whole units, a half up: for numbers that decide nothing.

    Examples
    --------
    >>> near(quantity(1, "meter"), "inch")
    39
    """
    return floor(exact(amount, unit, what) + Fraction(1, 2))

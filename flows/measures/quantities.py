"""Find masses, voltages, lengths and distances in spoken or typed text."""

from dataclasses import replace
from typing import Literal

from flows.measures.found import Found
from flows.measures.search import Said, find_quantity
from flows.measures.units import DISTANCE, FOOT, INCH, LENGTH, MASS, VOLTAGE


def find_mass(said: Said, *, bare: bool = False) -> Found | None:
    """Find the first mass in an utterance.

    Parameters
    ----------
    said
        A text or its tokens.
    bare
        Whether a number without a unit is a mass in pounds.

    Returns
    -------
    Found or None
        Readings in pounds; kilograms and tonnes are rounded up to the next whole pound, because
        a weight loads a limit. "ton" gives both the short and the metric ton. Zero and negative
        values are returned as said: the caller checks the range.

    Examples
    --------
    >>> find_mass("all wheel drive, a bit over forty six hundred pounds").readings
    (Reading(low=4600, high=4600, unit='lb'),)
    >>> [reading.low for reading in find_mass("twenty five nine", bare=True).readings]
    [25900, 259]
    """
    return find_quantity(said, MASS, bare=bare)


def find_volts(said: Said, *, bare: bool = False) -> Found | None:
    """Find the first voltage in an utterance.

    Parameters
    ----------
    said
        A text or its tokens.
    bare
        Whether a number without a unit is a voltage in volts.

    Returns
    -------
    Found or None
        Readings in millivolts; both, if the point may have been left out.

    Examples
    --------
    >>> [reading.low for reading in find_volts("twelve six", bare=True).readings]
    [12600, 126000]
    """
    return find_quantity(said, VOLTAGE, bare=bare)


def find_length(
    said: Said, *, bare: bool = False, unit: Literal["in", "ft"] | None = None
) -> Found | None:
    """Find the first length in an utterance.

    Parameters
    ----------
    said
        A text or its tokens.
    bare
        Whether a number without a unit is a length.
    unit
        The unit of a bare number, if the question named it. Without it a bare fraction is in
        inches and any other bare number has both readings.

    Returns
    -------
    Found or None
        Readings in 64ths of an inch, rounded to the nearest.

    Examples
    --------
    >>> find_length("13 ft 6 in").readings
    (Reading(low=10368, high=10368, unit='in64'),)
    """
    if unit is None:
        found = find_quantity(said, LENGTH, bare=bare)
        return _inches_below_one(found) if found else None
    measure = INCH if unit == "in" else FOOT
    return find_quantity(said, replace(LENGTH, bare=measure), bare=bare)


def _inches_below_one(found: Found) -> Found:
    """Keep only the inches of a bare fraction, since nobody says it of a foot."""
    inches = tuple(reading for reading in found.readings if reading.high < 64)
    return replace(found, readings=inches) if found.unit_said is None and inches else found


def find_miles(said: Said, *, bare: bool = False) -> Found | None:
    """Find the first distance by road in an utterance.

    Parameters
    ----------
    said
        A text or its tokens.
    bare
        Whether a number without a unit is a distance in miles.

    Returns
    -------
    Found or None
        Readings in tenths of a mile, kilometres rounded to the nearest.

    Examples
    --------
    >>> find_miles("fifty miles").readings
    (Reading(low=500, high=500, unit='mi10'),)
    """
    return find_quantity(said, DISTANCE, bare=bare)

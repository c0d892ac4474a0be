"""Distances at the scene and after: warning devices, the taper of a closed lane, storage."""

from fractions import Fraction
from math import ceil
from typing import Final

from flows.errors import OutOfRangeError, require_whole
from flows.figures.result import Amount, Result, step

DEVICES_SOURCE: Final = "49 CFR 392.22(b)"
TAPER_SOURCE: Final = "California MUTCD 2012, table 6H-4(CA)"
STORAGE_SOURCE: Final = "NHTSA guidance, as cited in a Washington Senate bill report"
STORAGE_FT: Final = 50
"""Distance of a damaged electric vehicle from structures, vehicles and anything that burns."""
PLACE_WITHIN_MIN: Final = 10
# Feet from the vehicle: on its traffic side, then the two others.
ROADS: Final = {"two-way": (10, 100, 100), "divided": (10, 100, 200)}
# The driver's paces, 49 CFR 392.22(b) summary: four are 10 ft, forty 100 ft.
PACES_IN_FT: Final = Fraction(4, 10)


def devices(road: str) -> Result:
    """Return where to place the three warning devices.

    Parameters
    ----------
    road : {"two-way", "divided"}
        Two-way: 10 ft on the traffic side, 100 ft toward approaching traffic and 100 ft the other
        way. Divided or one-way: 10, 100 and 200 ft toward approaching traffic. Within 500 ft of a
        curve, a hill or an obstruction the device toward it goes 100 to 500 ft away.

    Raises
    ------
    OutOfRangeError
        If the road is neither.

    Examples
    --------
    >>> [one.value for one in devices("divided").amounts]
    [10, 100, 200]
    """
    if road not in ROADS:
        raise OutOfRangeError("road", road, ", ".join(ROADS))
    names = ("first", "second", "third")
    feet = dict(zip(names, ROADS[road], strict=True))
    return Result(
        "devices",
        (("road", road),),
        tuple(Amount(name, at, "ft") for name, at in feet.items()),
        (),
        tuple(
            step("paces", {"at_ft": at}, at * PACES_IN_FT, "count", DEVICES_SOURCE)
            for at in feet.values()
        ),
        DEVICES_SOURCE,
    )


def taper(speed_mph: int, width_ft: int) -> Result:
    """Return the taper of a closed lane, of a shift and of a shoulder.

    ``L = W S^2 / 60`` up to 40 mph, ``L = W S`` from 45; a shift half, a shoulder a third of it.

    Parameters
    ----------
    speed_mph : int
        S, 15 to 40 or 45 to 80 mph. The rule has no length between them.
    width_ft : int
        W, how far traffic is moved aside, 4 to 24 ft.

    Raises
    ------
    OutOfRangeError
        If a number is out of range or the rule has no length for the speed.

    Examples
    --------
    >>> [one.value for one in taper(45, 12).amounts]
    [540, 270, 180]
    """
    require_whole("speed", speed_mph, 15, 80, "mph")
    require_whole("width", width_ft, 4, 24, "ft")
    if 40 < speed_mph < 45:
        raise OutOfRangeError("speed", speed_mph, "up to 40 mph, or 45 mph and more")
    slow = speed_mph <= 40
    long = width_ft * Fraction(speed_mph**2, 60) if slow else Fraction(width_ft * speed_mph)
    parts = {"lane": long, "shift": long / 2, "shoulder": long / 3}
    put_in = {"width_ft": width_ft, "speed_mph": speed_mph}
    return Result(
        "taper",
        (("speed_mph", speed_mph), ("width_ft", width_ft)),
        tuple(Amount(name, ceil(part), "ft") for name, part in parts.items()),
        (),
        (
            step("lane_slow" if slow else "lane_fast", put_in, long, "ft", TAPER_SOURCE),
            step("shift", {"lane_ft": long}, parts["shift"], "ft", TAPER_SOURCE),
            step("shoulder", {"lane_ft": long}, parts["shoulder"], "ft", TAPER_SOURCE),
        ),
        TAPER_SOURCE,
    )


def storage(nearest_ft: int) -> Result:
    """Return how many feet a damaged electric vehicle is too near to another thing.

    Examples
    --------
    >>> storage(40).amount("missing")
    10
    """
    require_whole("nearest structure or vehicle", nearest_ft, 0, 10_000, "ft")
    missing = max(STORAGE_FT - nearest_ft, 0)
    put_in = {"asked_ft": STORAGE_FT, "nearest_ft": nearest_ft}
    return Result(
        "storage",
        (("nearest_ft", nearest_ft),),
        (Amount("missing", missing, "ft"), Amount("asked", STORAGE_FT, "ft")),
        (),
        (step("missing", put_in, Fraction(missing), "ft", STORAGE_SOURCE),),
        STORAGE_SOURCE,
    )

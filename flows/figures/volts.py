"""Twelve volts at rest: how full a lead-acid battery is, by its voltage and its temperature."""

from fractions import Fraction
from itertools import pairwise
from math import floor
from typing import Final

from flows.errors import OutOfRangeError, require_whole
from flows.figures.result import Amount, Result, step

SOURCE: Final = "battery maker's tables 6 and 7, lead-acid at rest"
# Millivolts at 80 F and percent full.
_TABLE: Final = ((11_890, 0), (12_060, 25), (12_240, 50), (12_450, 75), (12_650, 100))
_MV_PER_F: Final = Fraction(24, 10)
_NORMAL_F: Final = 80


def correction_mv(temperature_f: int) -> Fraction:
    """Return how much more a battery reads than at 80 F: 0.024 V for each 10 F.

    In the cold it reads less than it holds. The table has the signs without saying which way; the
    worked examples of the same source do: a full battery, 12.65 V at 80 F, reads 12.53 V at 30 F
    and 12.698 V at 100 F. Physics has the same sign, and fewer volts.

    Examples
    --------
    >>> [int(correction_mv(at)) for at in (0, 30, 50, 80, 100, 120)]
    [-192, -120, -72, 0, 48, 96]
    """
    require_whole("temperature", temperature_f, -40, 140, "F")
    return _MV_PER_F * (temperature_f - _NORMAL_F)


def charge(millivolts: int, temperature_f: int, kind: str) -> Result:
    """Return how full a lead-acid battery is, from its voltage at rest.

    Between two rows of the table in proportion, rounded down; above the last row it is full.

    Parameters
    ----------
    millivolts : int
        At rest, without load and long after charging, 0 to 16,000.
    temperature_f : int
        Of the battery, -40 to 140 F.
    kind : str
        ``"lead-acid"`` only: the table does not fit a lithium battery, or an unknown kind.

    Raises
    ------
    OutOfRangeError
        If a number is out of range or the battery is of another kind.

    Examples
    --------
    12.24 V at 80 F is half; 12.048 V at 0 F is the same battery.

    >>> charge(12_240, 80, "lead-acid").amount("percent")
    50
    >>> charge(12_048, 0, "lead-acid").amount("percent")
    50
    """
    if kind != "lead-acid":
        raise OutOfRangeError("kind of the 12 volt battery", kind, "lead-acid")
    require_whole("voltage at rest", millivolts, 0, 16_000, "mV")
    more = correction_mv(temperature_f)
    at_80 = millivolts - more
    percent = _percent(at_80)
    put_in: dict[str, int | Fraction] = {"read_mV": millivolts, "more_mV": more}
    return Result(
        "charge",
        (("read_mV", millivolts), ("temperature_F", temperature_f), ("kind", kind)),
        (Amount("percent", floor(percent), "pct"),),
        (),
        (
            step("at_80", put_in, at_80, "mV", SOURCE),
            step("percent", {"at_80_mV": at_80}, percent, "pct", SOURCE),
        ),
        SOURCE,
    )


def _percent(millivolts: Fraction) -> Fraction:
    if millivolts <= _TABLE[0][0]:
        return Fraction(0)
    for (low, empty), (high, full) in pairwise(_TABLE):
        if millivolts <= high:
            return empty + (full - empty) * (millivolts - low) / (high - low)
    return Fraction(100)

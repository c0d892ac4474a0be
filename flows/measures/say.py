"""Say quantities so that a listener can check them: every digit alone, units as words."""

from fractions import Fraction
from typing import Final

from flows.measures.found import Reading
from flows.measures.words import DIGITS, TEENS, TENS

_ONES: Final = f"{DIGITS} {TEENS}".split()
_TENS: Final = TENS.split()


def digits(value: int) -> str:
    """Say an integer digit by digit.

    Examples
    --------
    >>> digits(4250), digits(-5)
    ('four two five zero', 'minus five')
    """
    spoken = " ".join(_ONES[int(digit)] for digit in str(abs(value)))
    return f"minus {spoken}" if value < 0 else spoken


def decimal(value: int, places: int) -> str:
    """Say an integer count of tenths, hundredths and so on as a decimal, digit by digit.

    Parameters
    ----------
    value
        The count.
    places
        How many digits come after the point, 0 or more.

    Examples
    --------
    >>> decimal(25, 1), decimal(75, 2), decimal(1200, 2), decimal(-5, 1)
    ('two point five', 'zero point seven five', 'one two', 'minus zero point five')
    """
    if places < 0:
        raise ValueError(f"places is {places}: it must be 0 or more")
    whole, part = divmod(abs(value), 10**places)
    after = str(part).zfill(places).rstrip("0") if part else ""
    spoken = digits(whole) + (f" point {' '.join(_ONES[int(d)] for d in after)}" if after else "")
    return f"minus {spoken}" if value < 0 else spoken


def _unit(spoken: str, one: str, many: str) -> str:
    """Put a unit's word after a number."""
    return f"{spoken} {one if spoken in ('one', 'minus one') else many}"


def say_mass_lb(pounds: int) -> str:
    """Say a mass in pounds.

    Examples
    --------
    >>> say_mass_lb(4250)
    'four two five zero pounds'
    """
    return _unit(digits(pounds), "pound", "pounds")


def say_mass_kg(kilograms: int) -> str:
    """Say a mass in kilograms.

    Examples
    --------
    >>> say_mass_kg(1000)
    'one zero zero zero kilograms'
    """
    return _unit(digits(kilograms), "kilogram", "kilograms")


_MASSES: Final = {
    "kg": ("kilogram", "kilograms"),
    "short ton": ("short ton", "short tons"),
    "long ton": ("long ton", "long tons"),
    "metric ton": ("metric ton", "metric tons"),
}
_MOST_PLACES: Final = 3


def _places(amount: Fraction) -> int | None:
    """Return how many decimals write an amount exactly, None if that takes too many."""
    exact = (n for n in range(_MOST_PLACES + 1) if (amount * 10**n).denominator == 1)
    return next(exact, None)


def write_mass(amount: Fraction | None, unit: str | None) -> str:
    """Write a mass in the unit it was said in; empty for pounds or without an exact decimal.

    Examples
    --------
    >>> write_mass(Fraction(5000), "kg"), write_mass(Fraction(5, 2), "metric ton")
    ('5000 kg', '2.5 metric ton')
    >>> write_mass(Fraction(4600), "lb"), write_mass(Fraction(7, 3), "metric ton")
    ('', '')
    """
    places = None if amount is None or unit not in _MASSES else _places(amount)
    if amount is None or places is None:
        return ""
    whole, part = divmod(abs(int(amount * 10**places)), 10**places)
    sign = "-" if amount < 0 else ""
    return f"{sign}{whole}{f'.{part:0{places}d}' if places else ''} {unit}"


def say_written_mass(written: str) -> str:
    """Say a mass as `write_mass` wrote it, digit by digit.

    Raises
    ------
    ValueError
        If it has another form.

    Examples
    --------
    >>> say_written_mass("5000 kg"), say_written_mass("2.5 metric ton")
    ('five zero zero zero kilograms', 'two point five metric tons')
    """
    number, _, unit = written.partition(" ")
    amount = Fraction(number)
    places = _places(amount)
    if unit not in _MASSES or places is None:
        raise ValueError(
            f"{written!r} is no written mass: say a number, then {', '.join(_MASSES)}"
        )
    return _unit(decimal(int(amount * 10**places), places), *_MASSES[unit])


def say_tons(tenths: int) -> str:
    """Say a mass in tons, given in tenths of a ton.

    Examples
    --------
    >>> say_tons(25)
    'two point five tons'
    """
    return _unit(decimal(tenths, 1), "ton", "tons")


def say_in(in64: int) -> str:
    """Say a length in inches exactly, given in 64ths of an inch.

    Examples
    --------
    >>> say_in(48)
    'zero point seven five inches'
    """
    return _unit(decimal(in64 * 15625, 6), "inch", "inches")


def say_ft_in(in64: int) -> str:
    """Say a length in feet and inches, given in 64ths of an inch.

    Examples
    --------
    >>> say_ft_in((13 * 12 + 6) * 64)
    'one three feet six inches'
    """
    feet, rest = divmod(abs(in64), 768)
    if not feet:
        return say_in(in64)
    spoken = _unit(digits(feet if in64 >= 0 else -feet), "foot", "feet")
    return f"{spoken} {say_in(rest)}" if rest else spoken


def say_volts(millivolts: int) -> str:
    """Say a voltage in volts, given in millivolts.

    Examples
    --------
    >>> say_volts(12600)
    'one two point six volts'
    """
    return _unit(decimal(millivolts, 3), "volt", "volts")


def say_miles(mi10: int) -> str:
    """Say a distance in miles, given in tenths of a mile.

    Examples
    --------
    >>> say_miles(505)
    'five zero point five miles'
    """
    return _unit(decimal(mi10, 1), "mile", "miles")


def say_degrees(degrees: int) -> str:
    """Say an angle or a temperature in degrees.

    Examples
    --------
    >>> say_degrees(-5)
    'minus five degrees'
    """
    return _unit(digits(degrees), "degree", "degrees")


def say_number(count: int) -> str:
    """Say a small count in plain words.

    Parameters
    ----------
    count
        0 to 99.

    Raises
    ------
    ValueError
        If the count is outside that range.

    Examples
    --------
    >>> say_number(8), say_number(46)
    ('eight', 'forty six')
    """
    if not 0 <= count <= 99:
        raise ValueError(f"count is {count}: say 0 to 99 in words, others with digits()")
    if count < 20:
        return _ONES[count]
    tens, ones = divmod(count, 10)
    return f"{_TENS[tens - 2]} {_ONES[ones]}" if ones else _TENS[tens - 2]


def plain_minutes(minutes: int) -> str:
    """Say a duration in plain words.

    Parameters
    ----------
    minutes
        0 to 5,999 (under 100 hours).

    Raises
    ------
    ValueError
        If the duration is outside that range.

    Examples
    --------
    >>> plain_minutes(1), plain_minutes(30), plain_minutes(90)
    ('one minute', 'thirty minutes', 'one hour thirty minutes')
    """
    if not 0 <= minutes < 6000:
        raise ValueError(f"minutes is {minutes}: say 0 to 5999, or give a time of day")
    hours, rest = divmod(minutes, 60)
    parts = [_unit(say_number(hours), "hour", "hours")] if hours else []
    if rest or not hours:
        parts.append(_unit(say_number(rest), "minute", "minutes"))
    return " ".join(parts)


def say_clock(hour: int, minute: int) -> str:
    """Say a time of day on the 24-hour clock.

    Parameters
    ----------
    hour, minute
        0 to 23, 0 to 59.

    Raises
    ------
    ValueError
        If there is no such time of day.

    Examples
    --------
    >>> say_clock(14, 5), say_clock(7, 0), say_clock(0, 30)
    ('fourteen oh five', 'zero seven hundred', 'zero zero thirty')
    """
    if not (0 <= hour <= 23 and 0 <= minute <= 59):
        raise ValueError(f"{hour}:{minute} is no time of day: hours are 0 to 23, minutes 0 to 59")
    spoken = say_number(hour) if hour > 9 else f"zero {_ONES[hour]}"
    if minute == 0:
        return f"{spoken} hundred"
    return f"{spoken} {say_number(minute) if minute > 9 else f'oh {_ONES[minute]}'}"


_SAYERS: Final = {
    "lb": say_mass_lb, "min": plain_minutes, "mV": say_volts, "in64": say_ft_in,
    "mi10": say_miles,
}  # fmt: skip


def say_reading(reading: Reading) -> str:
    """Say a reading back, both ends of a range.

    Examples
    --------
    >>> say_reading(Reading(6000, 6500, "lb"))
    'six zero zero zero pounds to six five zero zero pounds'
    """
    say = _SAYERS[reading.unit]
    if reading.low == reading.high:
        return say(reading.low)
    return f"{say(reading.low)} to {say(reading.high)}"

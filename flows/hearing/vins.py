"""The vehicle's number, typed or spelled out: how it is kept, read back and warned of.

A number that looks wrong is a warning, never a stop: the plate counts.
"""

import re
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from flows.figures.vin import LENGTH, LOOKS_LIKE, VALUES, Vin, examine
from flows.measures.spelled import said_again, spelled
from flows.texts import word

if TYPE_CHECKING:
    from flows.job.state import Job

LEAST = 6
"""Fewer characters are no number: some old numbers are short, and the last six are common."""
END = 6
CANDIDATES_SHOWN = 3
ALIKE_SHOWN = 3


def vin_of(text: str) -> str | None:
    """Return the number that words say, in capitals; None where they say none.

    Examples
    --------
    >>> vin_of("0rllprf8 3k-0000017"), vin_of("papa forty two, double six, one one")
    ('0RLLPRF83K0000017', 'P426611')
    >>> vin_of("is on the dash") is vin_of("can't read it") is None
    True
    """
    found = spelled(text, LENGTH)
    reading = found.readings[0] if found.readings else ""
    is_one = len(reading) >= LEAST and any(map(str.isdecimal, reading))
    return reading if is_one and not found.unread else None


PLATE_MOST = 8
"""The most characters on a plate; the fewest that are told from a number of something."""
PLATE_LEAST = 2
_PLATE = re.compile(r"[A-Z\d](?:[ .\-]?[A-Z\d])*")


def plate_of(text: str) -> str | None:
    """Return the plate that words say, in capitals; None where they say none.

    A plate that was said with more, its state for one, is kept as it was said.

    Examples
    --------
    >>> plate_of("ktr 4821"), plate_of("kilo tango romeo, four eight two one"), plate_of("HELLO")
    ('KTR 4821', 'KTR4821', 'HELLO')
    >>> plate_of("KTR 4821 from Colorado")
    'KTR 4821 from Colorado'
    >>> plate_of("on the back") is plate_of("can't read it") is plate_of("7") is None
    True
    """
    said = " ".join(text.split())
    typed = said.upper()
    size = sum(map(str.isalnum, said))
    has_digit = any(map(str.isdecimal, said))
    if (has_digit or said == typed) and _fits_plate(size):
        return typed if _PLATE.fullmatch(typed) else None
    with_more = said if has_digit and size > PLATE_MOST else None
    return _plate_spelled(said) or with_more


def _fits_plate(size: int) -> bool:
    return PLATE_LEAST <= size <= PLATE_MOST


def _plate_spelled(said: str) -> str | None:
    found = spelled(said)
    reading = found.readings[0] if found.readings and not found.unread else ""
    return reading if _fits_plate(len(reading)) else None


def is_vin(text: str) -> bool:
    """Say whether a text is a whole number typed, which is nothing else.

    Examples
    --------
    >>> is_vin("0RLLPRF83K0000017"), is_vin("mile twelve north"), is_vin("12345678901234567")
    (True, False, False)
    """
    plain = text.strip().upper()
    marks = set(plain)
    return (
        len(plain) == LENGTH
        and marks <= VALUES.keys() | set("IOQ")
        and any(map(str.isdecimal, plain))
        and any(map(str.isalpha, plain))
    )


def _examined(job: "Job") -> Vin:
    return examine(str(job.value("vin") or ""), is_light=True)


def looks_wrong(text: str) -> bool:
    """Say whether anything about a number asks for a second look at the plate.

    Examples
    --------
    >>> looks_wrong("0RLLPRF83K0000017"), looks_wrong("0RLLPRFB3K0000017")
    (False, True)
    """
    return bool(examine(text, is_light=True).problems)


def _alike(job: "Job") -> str:
    """Name the characters in it that the eye takes for others, the first few."""
    text = _examined(job).text
    found = [one for one in dict.fromkeys(text) if LOOKS_LIKE.get(one)]
    pairs = (word("vin_alike").format(one=one, other=LOOKS_LIKE[one][0]) for one in found)
    return ", ".join(list(pairs)[:ALIKE_SHOWN]) or word("none")


def _candidates(job: "Job") -> str:
    return ", ".join(_examined(job).candidates[:CANDIDATES_SHOWN]) or word("not_known")


OF_VIN: Mapping[str, Callable[["Job"], str]] = {
    "vin": lambda job: _examined(job).text or word("not_known"),
    "vin_end": lambda job: said_again(_examined(job).text[-END:]) or word("not_known"),
    "vin_alike": _alike,
    "vin_candidates": _candidates,
}
"""The placeholders of the number."""

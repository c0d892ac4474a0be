"""The vehicle's number, typed or spelled out: how it is kept, read back and warned of.

A number that looks wrong is a warning, never a stop: the plate counts.
"""

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

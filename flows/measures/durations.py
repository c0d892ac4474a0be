"""Find how long, or how long ago, in spoken or typed text."""

from dataclasses import replace
from typing import Final

from flows.measures.amounts import after_tail
from flows.measures.found import Found, Reading
from flows.measures.search import Said, as_tokens, find_quantity
from flows.measures.segments import Tokens, token_at
from flows.measures.units import DURATION
from flows.measures.words import PAUSE, vocabulary

_NOT_NOW: Final = vocabulary("not for until till from by than before up")
_NOW: Final = (Reading(0, 0, "min"),)
_PAST: Final = vocabulary("ago back earlier")


def _now(tokens: Tokens) -> Found | None:
    """Find "now" said as a time: at the end of a sentence, or as "just now"."""
    for index, word in enumerate(tokens):
        if word == "now":
            before = token_at(tokens, index - 1)
            sure = before in ("just", "right")
            ends = token_at(tokens, index + 1) in ("", *PAUSE)
            if sure or (ends and before not in _NOT_NOW):
                return Found(_NOW, index - sure, index + 1, approx=False, unit_said="now")
    return None


def _clock_time(tokens: Tokens, start: int) -> bool:
    """Tell whether a bare number is a time of day: "at ten"."""
    return token_at(tokens, start - 1) in ("at", "since")


def _negated(readings: tuple[Reading, ...]) -> tuple[Reading, ...]:
    """Return readings with their signs changed."""
    return tuple(Reading(-reading.high, -reading.low, reading.unit) for reading in readings)


def _ahead(found: Found) -> Found:
    """Return a time in the future, which is negative."""
    sounds_like = _negated(found.sounds_like)
    return replace(found, readings=_negated(found.readings), sounds_like=sounds_like)


def find_minutes(said: Said, *, bare: bool = False) -> Found | None:
    """Find the first duration in an utterance.

    Parameters
    ----------
    said
        A text or its tokens.
    bare
        Whether a number without a unit is a duration in minutes.

    Returns
    -------
    Found or None
        Readings in minutes; a part of a minute gives the whole minutes on either side.
        "Now" is zero. "In five minutes" and "five minutes from now" are negative.

    Examples
    --------
    >>> find_minutes("about an hour and a half ago").readings
    (Reading(low=90, high=90, unit='min'),)
    >>> find_minutes("just now").readings
    (Reading(low=0, high=0, unit='min'),)
    """
    tokens = as_tokens(said)
    found = find_quantity(tokens, DURATION, bare=bare)
    if found is None or (found.unit_said is None and _clock_time(tokens, found.start)):
        return _now(tokens)
    stop = found.stop
    if tokens[stop : stop + 2] == ("from", "now"):
        return _ahead(replace(found, stop=stop + 2))
    if token_at(tokens, stop) in _PAST:
        end = after_tail(tokens, stop + 1)
        return replace(found, stop=end, approx=found.approx or end > stop + 1)
    if token_at(tokens, found.start - 1) == "in":
        return _ahead(replace(found, start=found.start - 1))
    return found

"""Search an utterance for the first quantity of a dimension, and settle its readings."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from fractions import Fraction
from math import ceil, floor
from typing import Final

from flows.measures.found import Found, Reading
from flows.measures.phrases import Phrase, Span, phrase_at
from flows.measures.segments import Tokens, after_all
from flows.measures.tokens import tokens as cut
from flows.measures.units import Dimension, Rounding
from flows.measures.words import CORRECTION, SMALL, TEEN_TY, TY_TEEN, Value, vocabulary

Said = str | Tokens
"""A text, or the tokens already cut from it."""

CORRECTS: Final = vocabulary(
    "or no nope sorry wait mean meant make actually correction rather scratch not oops strike "
    "should"
)
"""A correction has at least one of these words between a quantity and the next."""

_POINTING: Final = vocabulary("this that which the no another each any every new old")
_MOST_SWAPS: Final = 4
_MOST_CORRECTIONS: Final = 3


def as_tokens(said: Said) -> Tokens:
    """Return the tokens of a text; tokens as they are."""
    return cut(said) if isinstance(said, str) else tuple(said)


def _correction(tokens: Tokens, phrase: Phrase, dimension: Dimension) -> Phrase | None:
    """Return the phrase with the readings of a correction added: "no, make that 4800"."""
    index = after_all(tokens, phrase.stop, CORRECTION)
    if index == len(tokens) or CORRECTS.isdisjoint(tokens[phrase.stop : index]):
        return None
    same = replace(dimension, bare=phrase.measure or dimension.bare)
    other, stop = phrase_at(tokens, index, same)
    if other is None:
        return None
    union = tuple(dict.fromkeys(phrase.spans + other.spans))
    return Phrase(union, phrase.measure, phrase.start, stop, phrase.approx or other.approx)


def _corrected(tokens: Tokens, phrase: Phrase, dimension: Dimension) -> Phrase:
    """Return the phrase with the readings of all its corrections added."""
    for _ in range(_MOST_CORRECTIONS):
        more = _correction(tokens, phrase, dimension)
        if more is None:
            break
        phrase = more
    return phrase


def _only_pointing(tokens: Tokens, phrase: Phrase) -> bool:
    """Tell "that one" from a number."""
    return phrase.stop - phrase.start == 1 and (
        tokens[phrase.start] == "one"
        and phrase.start > 0
        and tokens[phrase.start - 1] in _POINTING
    )


def _merged(phrases: list[Phrase]) -> Phrase:
    """Return several bare numbers as one phrase with all their readings."""
    spans = dict.fromkeys(span for phrase in phrases for span in phrase.spans)
    approx = any(phrase.approx for phrase in phrases)
    return Phrase(tuple(spans), None, phrases[0].start, phrases[-1].stop, approx)


def _search(tokens: Tokens, dimension: Dimension, *, bare: bool) -> Phrase | None:
    """Return the first phrase with a unit, else all bare numbers together if `bare`."""
    index = 0
    bares: list[Phrase] = []
    while index < len(tokens):
        phrase, index = phrase_at(tokens, index, dimension)
        if phrase is None:
            continue
        if phrase.measure is not None:
            return _corrected(tokens, phrase, dimension)
        if not _only_pointing(tokens, phrase):
            bares.append(phrase)
    return _merged(bares) if bare and bares else None


def _nearest(value: Value) -> int:
    """Round to the nearest integer, a half away from zero."""
    if isinstance(value, int):
        return value
    size = (2 * abs(value.numerator) + value.denominator) // (2 * value.denominator)
    return size if value >= 0 else -size


_ROUNDED: Final[Mapping[Rounding, tuple[Callable[[Value], int], Callable[[Value], int]]]] = {
    "nearest": (_nearest, _nearest),
    "up": (ceil, ceil),
    "outward": (floor, ceil),
}
"""How to round the lower and the upper end of a reading."""


def _readings(spans: tuple[Span, ...], dimension: Dimension) -> tuple[Reading, ...]:
    """Return spans as readings in the declared integer unit."""
    found: dict[Reading, None] = {}
    to_low, to_high = _ROUNDED[dimension.rounding]
    for low, high in spans:
        found[Reading(to_low(low), to_high(high), dimension.unit)] = None
    return tuple(found)


def swaps(tokens: Tokens, start: int, stop: int) -> list[Tokens]:
    """Return the tokens with each "fifteen" as "fifty" and the other way, one at a time."""
    found: list[Tokens] = []
    for index in range(start, stop):
        other = TEEN_TY.get(tokens[index])
        if other is None:
            other = TY_TEEN.get(tokens[index])
            follower = tokens[index + 1] if index + 1 < stop else ""
            if 0 < SMALL.get(follower, 0) < 10:
                continue
        if other is not None:
            found.append((*tokens[:index], other, *tokens[index + 1 :]))
    return found[:_MOST_SWAPS]


def find_quantity(said: Said, dimension: Dimension, *, bare: bool) -> Found | None:
    """Find the first quantity of a dimension in an utterance.

    Parameters
    ----------
    said
        A text or its tokens.
    dimension
        Which units count, and the meaning of a number alone.
    bare
        Whether a number without a unit counts: true when the open question expects a number.

    Returns
    -------
    Found or None
        All readings; None if nothing can be read.
    """
    tokens = as_tokens(said)
    phrase = _search(tokens, dimension, bare=bare)
    if phrase is None:
        return None
    readings = _readings(phrase.spans, dimension)
    alike: dict[Reading, None] = {}
    for swapped in swaps(tokens, phrase.start, phrase.stop):
        other = _search(swapped[: phrase.stop], dimension, bare=bare)
        if other is not None:
            alike |= dict.fromkeys(_readings(other.spans, dimension))
    name = phrase.measure.name if phrase.measure else None
    sounds_like = tuple(reading for reading in alike if reading not in readings)
    return Found(
        readings, phrase.start, phrase.stop, phrase.approx, name, sounds_like, _amount(phrase)
    )


def _amount(phrase: Phrase) -> Fraction | None:
    """Return the number as said, in its own unit; None if it is not a single number."""
    (low, high), *others = phrase.spans
    if phrase.measure is None or others or low != high or len(phrase.measure.sizes) > 1:
        return None
    return Fraction(low) / phrase.measure.sizes[0]

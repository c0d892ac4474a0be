"""Quantities typed for a figure, in our own grammar.

No word that changes a number is ever dropped: a text that is not exactly one quantity, or a range
if that is allowed, is refused with the allowed forms.
"""

from collections.abc import Callable
from dataclasses import dataclass

from flows.errors import FlowError
from flows.hearing.answers import USUAL_LB
from flows.measures import Found, find_length, find_mass, find_volts, tokens, whole
from flows.texts import figure_texts


@dataclass(frozen=True, slots=True)
class Span:
    """A weight or a range of weights, in pounds."""

    low: int
    high: int

    @property
    def middle(self) -> int:
        """The middle, rounded up."""
        return (self.low + self.high + 1) // 2


def weight(option: str, said: str, *, is_sure: bool = True) -> Span:
    """Return a weight, or both ends of a range.

    Parameters
    ----------
    option, said
        The option, and the text typed for it.
    is_sure
        Whether a weight that is unusual for a vehicle is right.

    Raises
    ------
    FlowError
        If it is not a weight, has several readings, has words that change it ("over", "plus"),
        or is unusual and not confirmed.

    Examples
    --------
    >>> weight("--weight", "6000 to 6500 lb")
    Span(low=6000, high=6500)
    """
    [reading] = _found(option, said, find_mass, "lb").readings
    low, high = USUAL_LB
    if not is_sure and not (low <= reading.low and reading.high <= high):
        raise FlowError(_text("weight_unusual", option, said, low=low, high=high))
    return Span(reading.low, reading.high)


def inches(option: str, said: str) -> int:
    """Return a length in whole inches.

    Examples
    --------
    >>> inches("--at", "12 ft 6 in")
    150
    """
    [reading] = _found(option, said, find_length, "in").readings
    if reading.low != reading.high or reading.low % 64:
        raise FlowError(_text("length_unread", option, said))
    return reading.low // 64


def length_in(option: str, said: str, *, is_up: bool) -> int:
    """Return a length in whole inches, rounded up or down.

    Examples
    --------
    >>> length_in("--length", "10.1 ft", is_up=True), length_in("--length", "8.6 ft", is_up=False)
    (122, 103)
    """
    [reading] = _found(option, said, find_length, "in").readings
    return -(-reading.high // 64) if is_up else reading.low // 64


def size_64in(option: str, said: str) -> int:
    """Return a size in 64ths of an inch.

    Examples
    --------
    >>> size_64in("--size", "5/16 in"), size_64in("--size", "1 3/4 in")
    (20, 112)
    """
    [reading] = _found(option, said, find_length, "in").readings
    if reading.low != reading.high:
        raise FlowError(_text("length_unread", option, said))
    return reading.low


def feet(option: str, said: str) -> int:
    """Return a length in whole feet, rounded up.

    Examples
    --------
    >>> feet("--reach", "40 ft"), feet("--reach", "12 ft 6 in")
    (40, 13)
    """
    [reading] = _found(option, said, find_length, "in").readings
    return -(-reading.high // (64 * 12))


def millivolts(option: str, said: str) -> int:
    """Return a voltage in millivolts.

    Examples
    --------
    >>> millivolts("--volts", "12.4 V")
    12400
    """
    [reading] = _found(option, said, find_volts, "V").readings
    return reading.low


def _found(option: str, said: str, find: Callable[[str], Found | None], unit: str) -> Found:
    """Find one quantity, with nothing else but filler words."""
    unread = {"lb": "weight_unread", "in": "length_unread", "V": "volts_unread"}[unit]
    found = find(said)
    if found is None:
        raise FlowError(_text(unread, option, said))
    if found.ambiguous:
        ends = sorted({end for r in found.readings for end in (r.low, r.high)})
        in_unit = {"lb": 1, "in": 64, "V": 1000}[unit]
        readings = ", ".join(f"{end // in_unit:,} {unit}" for end in ends)
        raise FlowError(_text("unsure", option, said, readings=readings))
    if found.approx or not whole(found, tokens(said)):
        raise FlowError(_text("more_words", option, said))
    return found


def _text(key: str, option: str, said: str, **more: object) -> str:
    text: str = figure_texts()["given"][key].format(option=option, said=said, **more)
    return text

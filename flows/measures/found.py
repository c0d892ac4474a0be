"""Results of the grammar: readings, their span of tokens, and how sure the words were."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from flows.measures.words import FILLER

Unit = Literal["lb", "min", "mV", "in64", "mi10"]
"""The declared integer units: pounds, minutes, millivolts, 64ths of an inch, tenths of a mile."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One meaning of the words, in a declared integer unit.

    `low` and `high` are equal unless a range was said or made by the rounding.
    """

    low: int
    high: int
    unit: Unit


@dataclass(frozen=True, slots=True)
class Found:
    """A quantity in an utterance: all its readings, its span of tokens and how it was said.

    `amount` is the number in the unit as said, if that is a single number.
    """

    readings: tuple[Reading, ...]
    start: int
    stop: int
    approx: bool
    unit_said: str | None
    sounds_like: tuple[Reading, ...] = ()
    amount: Fraction | None = None

    @property
    def ambiguous(self) -> bool:
        """Whether the words have more than one reading."""
        return len(self.readings) > 1


@dataclass(frozen=True, slots=True)
class Clock:
    """A time of day: hour 0 to 23, minute 0 to 59."""

    hour: int
    minute: int


@dataclass(frozen=True, slots=True)
class ClockFound:
    """A time of day in an utterance: two readings if morning or afternoon was not said."""

    readings: tuple[Clock, ...]
    start: int
    stop: int
    approx: bool
    sounds_like: tuple[Clock, ...] = ()

    @property
    def ambiguous(self) -> bool:
        """Whether the words have more than one reading."""
        return len(self.readings) > 1


def whole(found: Found | ClockFound, tokens: Sequence[str]) -> bool:
    """Tell whether a phrase covers all tokens except filler.

    Parameters
    ----------
    found
        As returned by a `find_` function for these tokens.
    tokens
        The same tokens.

    Examples
    --------
    >>> from flows.measures import find_mass, tokens
    >>> said = tokens("it weighs 4600 lb")
    >>> whole(find_mass(said), said)
    True
    >>> said = tokens("4600 lb and the cord is stuck")
    >>> whole(find_mass(said), said)
    False
    """
    return all(
        token in FILLER
        for index, token in enumerate(tokens)
        if not found.start <= index < found.stop
    )

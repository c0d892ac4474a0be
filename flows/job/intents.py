"""Intents: a closed list of meanings that understanding yields and advancing applies."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from flows.measures.found import Clock, Reading


@dataclass(frozen=True, slots=True)
class Danger:
    """A danger sign was named."""

    sign: str


@dataclass(frozen=True, slots=True)
class Alarm:
    """Words that may mean an emergency, and are asked about: smoke, people, or moving."""

    kind: str


@dataclass(frozen=True, slots=True)
class Word:
    """One of the words understood at any time."""

    name: str
    rest: str = ""


@dataclass(frozen=True, slots=True)
class Give:
    """A fact, with its value."""

    fact: str
    value: str


@dataclass(frozen=True, slots=True)
class Did:
    """An act was done."""

    act: str


@dataclass(frozen=True, slots=True)
class DidAll:
    """Several acts were done that one phrase names together: "all four strapped"."""

    acts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Undid:
    """An act is taken back, or denied."""

    act: str


@dataclass(frozen=True, slots=True)
class Settled:
    """The open step was done, in its own words."""

    item: str


@dataclass(frozen=True, slots=True)
class Chosen:
    """An option of the open gate, or of an open exchange."""

    option: str


@dataclass(frozen=True, slots=True)
class Weighs:
    """A weight was said: all its readings, in pounds.

    Parameters
    ----------
    said
        As it was said, where that was not in pounds or was a range.
    is_over
        More than the number.
    has_more
        Another weight was said with it.
    scaled
        A scale said so.
    is_load, is_whole
        The weight of the load in the vehicle or on its bed; of the vehicle with its load.
    """

    readings: tuple[Reading, ...]
    said: str = ""
    is_over: bool = False
    has_more: bool = False
    scaled: bool = False
    is_load: bool = False
    is_whole: bool = False


@dataclass(frozen=True, slots=True)
class Measured:
    """A deciding number of its own question was said, in that fact's unit."""

    fact: str
    value: int


@dataclass(frozen=True, slots=True)
class Sloped:
    """Where the vehicle stands, seen from the truck: read back with both ends before it counts."""

    value: str


@dataclass(frozen=True, slots=True)
class When:
    """A time was said: minutes ago, or as a clock shows it.

    Parameters
    ----------
    is_least
        It was at least so long ago, so the earliest moment is not known: "over ten minutes".
    """

    ago_min: int | None
    clocks: tuple[Clock, ...] = ()
    is_least: bool = False

    @property
    def is_to_come(self) -> bool:
        """Minutes from now, not ago: "in five minutes"."""
        return self.ago_min is not None and self.ago_min < 0


@dataclass(frozen=True, slots=True)
class Note:
    """Free words, in answer to a question that takes them."""

    text: str


@dataclass(frozen=True, slots=True)
class Nothing:
    """Nothing that can be used."""

    why: Literal["empty", "too_long", "unclear", "negated", "kind_first", "rest"]


@dataclass(frozen=True, slots=True)
class Unsettled:
    """An act was named among words that were not understood, so it does not count: ask.

    Parameters
    ----------
    act
        Its name; empty where the open step is meant.
    """

    act: str = ""


Intent = (
    Danger
    | Alarm
    | Word
    | Give
    | Did
    | DidAll
    | Undid
    | Settled
    | Chosen
    | Weighs
    | Measured
    | Sloped
    | When
    | Note
    | Nothing
    | Unsettled
)


def each(meant: Intent | None) -> Iterator[Intent]:
    """Yield the meaning of a phrase, act by act where it names several together.

    Examples
    --------
    >>> list(each(DidAll(("line_off", "unhooked"))))
    [Did(act='line_off'), Did(act='unhooked')]
    """
    if isinstance(meant, DidAll):
        yield from (Did(act) for act in meant.acts)
    elif meant is not None:
        yield meant

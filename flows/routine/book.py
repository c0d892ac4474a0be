"""What a job is run by: its routine and the company's cards."""

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from flows.hearing.lexicon import Lexicon

if TYPE_CHECKING:
    from flows.cards.library import Library
    from flows.routine.carry import Routine


@dataclass(frozen=True, eq=False)
class Book:
    """A routine and a library of cards. Jobs keep the digests of both."""

    routine: "Routine"
    library: "Library"

    @cached_property
    def lexicon(self) -> Lexicon:
        """The phrases that count at any time, with this company's names in them."""
        return Lexicon(self.library)

"""The book that a job runs by: its routine and the company's cards."""

from dataclasses import dataclass

from flows.cards.library import Library
from flows.routine.carry import Routine


@dataclass(frozen=True, eq=False)
class Book:
    """A routine and a library of cards. Jobs keep the digests of both."""

    routine: Routine
    library: Library

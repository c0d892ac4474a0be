"""The routine with the demo cards, and its straight ways, explored once a process."""

from functools import cache

from bot.bootstrap import read_cards
from flows.book import Book
from flows.explore.search import Graph
from flows.explore.whole import explore_whole
from flows.job import Job
from flows.routine import CARRY

BOOK = Book(CARRY, read_cards(None))


@cache
def straight() -> Graph[Job]:
    """Return every straight way through the routine, explored."""
    return explore_whole(BOOK, 0)

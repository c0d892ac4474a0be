"""The routine with the demo cards, and its straight ways, explored once for all who ask."""

from bot.bootstrap import read_cards
from flows.book import Book
from flows.explore.search import Graph
from flows.explore.whole import straight_ways
from flows.job import Job
from flows.routine import CARRY

BOOK = Book(CARRY, read_cards(None))


def straight() -> Graph[Job]:
    """Return every straight way through the routine, explored."""
    return straight_ways(BOOK)

"""The routine with the demo cards, and its straight ways, explored once for all who ask."""

from bot.commands.bootstrap import read_cards
from flows.explore.search import Graph
from flows.explore.whole import straight_ways
from flows.job.state import Job
from flows.routine.book import Book
from flows.routine.carry import CARRY

BOOK = Book(CARRY, read_cards(None))


def straight() -> Graph[Job]:
    """Return every straight way through the routine, explored."""
    return straight_ways(BOOK)

"""What an exploration found, in words: counts, and the shortest trace of each breach."""

from flows.book import Book
from flows.cards.library import Library
from flows.explore.liveness import dead_ends
from flows.explore.search import trace
from flows.explore.whole import explore_whole
from flows.routine import CARRY

MOST_SHOWN = 5


def main_report(deep: int, library: Library) -> tuple[str, bool]:
    """Explore the whole routine; return the report, and whether everything holds.

    Parameters
    ----------
    deep
        How many disturbances (corrections, taking back, holds, danger, late claims, ticks,
        reboots) one job may meet, at any place.
    library
        The cards to explore with.
    """
    graph = explore_whole(Book(CARRY, library), deep)
    ends = dead_ends(graph)
    lines = [
        f"states {len(graph.nodes)}, transitions {graph.transitions}, "
        f"breaches {len(graph.breaches)}, dead ends {len(ends)}"
    ]
    lines += [trace(breach) for breach in graph.breaches[:MOST_SHOWN]]
    lines += ends[:MOST_SHOWN]
    return "\n".join(lines), not graph.breaches and not ends

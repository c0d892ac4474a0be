"""What an exploration found, in words: counts, and the shortest trace of each breach."""

from flows.cards.library import Library
from flows.explore.liveness import dead_ends
from flows.explore.search import Watch, trace, unwatched
from flows.explore.where_to_disturb import Width
from flows.explore.whole import explore_whole
from flows.routine.book import Book
from flows.routine.carry import CARRY

MOST_SHOWN = 5


def main_report(
    deep: int,
    width: Width,
    library: Library,
    watch: Watch = unwatched,
    section: str | None = None,
) -> tuple[str, bool]:
    """Explore the whole routine; return the report, and whether everything holds.

    Parameters
    ----------
    deep
        How many disturbances (corrections, taking back, holds, danger, late claims, ticks,
        reboots) one job may meet, at any place.
    width
        In which straight states a disturbance is tried.
    library
        The cards to explore with.
    watch
        Told how far it has come.
    section
        Try them only in states where an item of this section is open; None for all.
    """
    if section is not None and section not in {one.id for one in CARRY.sections}:
        names = ", ".join(one.id for one in CARRY.sections)
        return f"There is no section {section}. Sections are: {names}.", False
    graph = explore_whole(Book(CARRY, library), deep, width, section, watch=watch)
    ends = dead_ends(graph)
    lines = [
        f"states {len(graph.nodes)}, transitions {graph.transitions}, "
        f"breaches {len(graph.breaches)}, dead ends {len(ends)}"
    ]
    lines += [trace(breach) for breach in graph.breaches[:MOST_SHOWN]]
    lines += ends[:MOST_SHOWN]
    return "\n".join(lines), not graph.breaches and not ends

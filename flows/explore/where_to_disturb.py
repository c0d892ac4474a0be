"""Which straight states a disturbance is tried in: all, some that show every value, one a place.

A place is what is open with all that hangs over it: an exchange in hand, a hold, a skip, the
margin's word, the window. Straight states of one place differ in what else is known.
"""

from collections import defaultdict
from collections.abc import Hashable, Iterable, Iterator
from typing import Literal, TypeAlias, cast

from flows.explore.search import Graph
from flows.job.state import Job

Width: TypeAlias = Literal["all", "values", "places"]
WIDTHS: tuple[Width, ...] = ("all", "values", "places")
Key: TypeAlias = tuple[Hashable, ...]


def chosen(graph: Graph[Job], width: Width, section: str | None = None) -> frozenset[Hashable]:
    """Return the keys of the straight states that a disturbance is tried in.

    Parameters
    ----------
    graph
        The straight ways, explored.
    width
        "all" of them; of each place as many as show every "values" of each fact and act state
        that tells its states apart; or one of each of the "places".
    section
        Only where an item of this section is open; None for everywhere.
    """
    places = _by_place(graph, section).values()
    if width == "all":
        return frozenset(key for keys in places for key in keys)
    if width == "places":
        return frozenset(keys[0] for keys in places)
    return frozenset(key for keys in places for key in _showing(keys))


def _by_place(graph: Graph[Job], section: str | None) -> dict[Hashable, list[Key]]:
    """Return the keys of the states that are not an end, together where they share a place."""
    found: dict[Hashable, list[Key]] = defaultdict(list)
    for key, node in graph.nodes.items():
        if isinstance(key, tuple) and section in {None, _section(node.state, key)}:
            found[key[0], key[3:]].append(key)
    return found


def _section(job: Job, key: Key) -> str | None:
    return None if key[0] is None else job.book.routine.section_of[str(key[0])].id


def _showing(keys: Iterable[Key]) -> Iterator[Key]:
    """Yield states of one place that show every value, those with most that is new first."""
    values = {key: frozenset(_values(key)) for key in keys}
    left = frozenset[Hashable]().union(*values.values())
    while left:
        best = max(values, key=lambda key: len(values[key] & left))
        left -= values.pop(best)
        yield best


def _values(key: Key) -> Iterator[Hashable]:
    acts, facts = cast("tuple[tuple[str, ...], frozenset[Hashable]]", key[1:3])
    yield from enumerate(acts)
    yield from facts

"""Liveness: from every state a close or a named hand-off can be reached, without an override."""

from collections import deque
from collections.abc import Iterable, Iterator, Mapping
from typing import TypeVar

from flows.explore.search import Graph, Node, told_to
from flows.job.state import Job

T = TypeVar("T")


def dead_ends(graph: Graph[Job]) -> list[str]:
    """Return, for every state from which no end can be reached, how it came to it."""
    back: dict[int, list[int]] = {}
    for node in graph.nodes.values():
        for one in after(node):
            back.setdefault(one.number, []).append(node.number)
    ends = [node.number for node in graph.nodes.values() if node.state.ended is not None]
    alive = reached(ends, back)
    return [
        "\n".join(["no end can be reached", *told_to(node)])
        for node in graph.nodes.values()
        if node.number not in alive
    ]


def after(node: Node[Job]) -> Iterator[Node[Job]]:
    """Yield what a node leads to without an override."""
    return (one for move, one in node.leads if "override" not in move.words)


def reached(starts: Iterable[T], leads: Mapping[T, Iterable[T]]) -> set[T]:
    """Return every place that can be reached from some."""
    waiting = deque(starts)
    found = set(waiting)
    while waiting:
        for place in leads.get(waiting.popleft(), ()):
            if place not in found:
                found.add(place)
                waiting.append(place)
    return found

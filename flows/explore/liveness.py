"""Liveness: from every state a close or a named hand-off can be reached, without an override."""

from collections import deque

from flows.explore.search import Graph, Node, told_to
from flows.job import Job


def dead_ends(graph: Graph[Job]) -> list[str]:
    """Return, for every state from which no end can be reached, how it came to it."""
    back: dict[int, list[Node[Job]]] = {}
    for node in graph.nodes.values():
        for move, after in node.leads:
            if "override" not in move.words:
                back.setdefault(after.number, []).append(node)
    alive = deque(node for node in graph.nodes.values() if node.state.ended is not None)
    reached = {node.number for node in alive}
    while alive:
        for before in back.get(alive.popleft().number, ()):
            if before.number not in reached:
                reached.add(before.number)
                alive.append(before)
    return [
        "\n".join(["no end can be reached", *told_to(node)])
        for node in graph.nodes.values()
        if node.number not in reached
    ]

"""Breadth first over the states of a job, so that the first breach has the shortest trace."""

from collections import deque
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field

from flows.advance import advance
from flows.explore.checks import faults
from flows.explore.moves import Move, answers, event_of, perturbations
from flows.explore.state import Key, key
from flows.job import Job
from flows.render import render


@dataclass(slots=True)
class Node:
    """A state: the job that stands for it, how it was reached, and what it leads to."""

    job: Job
    parent: "Node | None"
    move: Move | None
    level: int
    number: int
    leads: list[tuple[Move, "Node"]] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Breach:
    """What was wrong, and the state and move that led there."""

    why: str
    node: Node
    move: Move


@dataclass(slots=True)
class Graph:
    """What was explored."""

    nodes: dict[Key, Node] = field(default_factory=dict)
    transitions: int = 0
    breaches: dict[str, Breach] = field(default_factory=dict)


def explore(roots: Iterable[Job], most: int, deep: int = 1, stop: int = 10**9) -> Graph:
    """Explore every answer without bound and up to `deep` perturbations in a row."""
    graph = Graph()
    queue: deque[Node] = deque()
    for job in roots:
        _reach(graph, queue, job, None, None, 0)
    while queue:
        node = queue.popleft()
        _expand(graph, queue, node, deep)
        if len(graph.nodes) > most:
            raise OverflowError(f"more than {most} states")
        if len(graph.breaches) >= stop:
            break
    return graph


def _expand(graph: Graph, queue: deque[Node], node: Node, deep: int) -> None:
    if node.job.ended is not None:
        return
    for move in answers(node.job):
        _try(graph, queue, node, move, node.level)
    if node.level < deep:
        for move in perturbations(node.job):
            _try(graph, queue, node, move, node.level + 1)


def _try(graph: Graph, queue: deque[Node], node: Node, move: Move, level: int) -> None:
    event = event_of(move, node.job)
    graph.transitions += 1
    try:
        turn = advance(node.job, event)
        found = faults(node.job, move, event, turn)
        for reply in turn.replies:
            render(reply)
    except Exception as error:
        found = [f"{type(error).__name__}: {error}"]
        turn = None
    for why in found:
        graph.breaches.setdefault((why, node.job.asked and node.job.asked.item, move.kind), Breach(why, node, move))
    if turn is not None and not found:
        target = _reach(graph, queue, turn.job, node, move, level)
        if target is not node:
            node.leads.append((move, target))


def _reach(graph: Graph, queue: deque[Node], job: Job, parent: Node | None, move: Move | None, level: int) -> Node:
    found = key(job)
    node = graph.nodes.get(found)
    if node is None:
        node = graph.nodes[found] = Node(job, parent, move, level, len(graph.nodes))
        queue.append(node)
    elif level < node.level:
        node.level = level
        queue.append(node)
    return node


def path(node: Node) -> Iterator[Node]:
    steps = []
    at: Node | None = node
    while at is not None:
        steps.append(at)
        at = at.parent
    return reversed(steps)


def trace(breach: Breach) -> str:
    nodes = list(path(breach.node))
    job = nodes[0].job
    lines = [f"BREACH {breach.why}"]
    for move in [n.move for n in nodes[1:]] + [breach.move]:
        event = event_of(move, job)
        try:
            turn = advance(job, event)
        except Exception as error:
            lines.append(f"> {move.words}\n  !! {error!r}")
            break
        lines.append(f"> {move.words}")
        for r in turn.replies:
            lines.append(f"  < {r.to}: {render(r).spoken}")
        job = turn.job
    return "\n".join(lines)

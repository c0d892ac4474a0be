"""Breadth first over a space of states, so that the first breach has the shortest trace."""

from collections import deque
from collections.abc import Callable, Hashable, Iterable, Iterator
from dataclasses import dataclass, field
from typing import Generic, Protocol, TypeVar

from flows.explore.moves import Move, event_of
from flows.job.state import Job
from flows.telling.render import render
from flows.turn.advance import advance

State = TypeVar("State")


class TooManyError(RuntimeError):
    """An exploration grew beyond its cap."""


@dataclass(frozen=True, slots=True)
class Step(Generic[State]):
    """One transition: the move, the very job it was made on, what it leads to, what is wrong.

    `cost` is 0 for going straight on and 1 for a disturbance.
    """

    move: Move
    before: Job
    states: tuple[State, ...] = ()
    faults: tuple[str, ...] = ()
    cost: int = 0


class Space(Protocol[State]):
    """States, what tells them apart, and the steps from each."""

    def key(self, state: State) -> Hashable:
        """Return what tells a state from another."""

    def steps(self, state: State, level: int) -> Iterator[Step[State]]:
        """Yield every step from a state that was reached with so many disturbances."""


@dataclass(slots=True, eq=False)
class Node(Generic[State]):
    """A state, the step that first reached it, the disturbances it took, and what it leads to."""

    state: State
    number: int
    level: int
    parent: "Node[State] | None" = None
    by: Step[State] | None = None
    leads: list[tuple[Move, "Node[State]"]] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Breach(Generic[State]):
    """What is wrong, and the state and step that show it."""

    why: str
    node: Node[State]
    step: Step[State]


@dataclass(slots=True)
class Graph(Generic[State]):
    """What was explored: states in the order they were reached, transitions, breaches."""

    nodes: dict[Hashable, Node[State]] = field(default_factory=dict)
    transitions: int = 0
    breaches: list[Breach[State]] = field(default_factory=list)


Watch = Callable[[int, int, int], None]
"""Told states, transitions and how many states wait, every so many states."""
WATCH_EVERY = 1000


def unwatched(_states: int, _transitions: int, _waiting: int) -> None:
    """Tell nobody how far it has come."""


def explore(
    space: Space[State],
    starts: Iterable[State],
    most: int,
    *,
    first_only: bool = False,
    watch: Watch = unwatched,
) -> Graph[State]:
    """Explore a space from its starts.

    Parameters
    ----------
    space
        What to explore.
    starts
        Where it begins.
    most
        The most states it may have.
    first_only
        Stop at the first breach.
    watch
        Told how far it has come.

    Raises
    ------
    TooManyError
        When there are more states than that.
    """
    graph: Graph[State] = Graph()
    queue: deque[Node[State]] = deque()
    for state in starts:
        _reach(graph, queue, space.key(state), Node(state, len(graph.nodes), 0))
    expanded = 0
    while queue and not (first_only and graph.breaches):
        _expand(graph, queue, space, queue.popleft())
        expanded += 1
        if expanded % WATCH_EVERY == 0:
            watch(len(graph.nodes), graph.transitions, len(queue))
        if len(graph.nodes) > most:
            raise TooManyError(
                f"more than {most} states after {graph.transitions} transitions, "
                f"{len(graph.breaches)} breaches; allowed: {most}. "
                "Find what tells so many states apart, or raise the cap with its reason beside it."
            )
    return graph


def _expand(
    graph: Graph[State], queue: deque[Node[State]], space: Space[State], node: Node[State]
) -> None:
    node.leads.clear()
    for step in space.steps(node.state, node.level):
        graph.transitions += 1
        graph.breaches.extend(Breach(why, node, step) for why in step.faults)
        for state in step.states:
            after = Node(state, len(graph.nodes), node.level + step.cost, node, step)
            reached = _reach(graph, queue, space.key(state), after)
            if reached is not node:
                node.leads.append((step.move, reached))


def _reach(
    graph: Graph[State], queue: deque[Node[State]], key: Hashable, node: Node[State]
) -> Node[State]:
    """Return the node of a state; one reached again with fewer disturbances is expanded again."""
    known = graph.nodes.setdefault(key, node)
    if known is node:
        queue.append(node)
    elif node.level < known.level:
        known.level = node.level
        queue.append(known)
    return known


# Traces


def trace(breach: Breach[State]) -> str:
    """Return how to get to a breach: what was said and what was replied, step by step."""
    lines = [breach.why]
    for step in (*_steps_to(breach.node), breach.step):
        lines.extend(told(step))
    return "\n".join(lines)


def told_to(node: Node[State]) -> list[str]:
    """Return how a state was reached, step by step."""
    return [line for step in _steps_to(node) for line in told(step)]


def _steps_to(node: Node[State]) -> list[Step[State]]:
    steps: list[Step[State]] = []
    at: Node[State] | None = node
    while at is not None and at.by is not None:
        steps.append(at.by)
        at = at.parent
    return steps[::-1]


def told(step: Step[State]) -> Iterator[str]:
    """Yield what was said in a step, and what was replied."""
    yield f"  > {step.move.words}"
    try:
        turn = advance(step.before, event_of(step.move, step.before))
    except Exception as error:
        yield f"    raised {type(error).__name__}: {error}"
        return
    for reply in turn.replies:
        to = "" if reply.to == "driver" else f"{reply.to}: "
        yield f"    {to}{render(reply).spoken}"

"""The whole routine: every straight way through it, and one disturbance at any place of each."""

from collections.abc import Callable, Hashable, Iterable, Iterator
from functools import lru_cache

from flows.explore.checks import faults, stuck
from flows.explore.moves import DRIVER, START, Move, answers, disturbances, event_of
from flows.explore.search import Graph, Step, Watch, explore, unwatched
from flows.explore.state import key
from flows.explore.where_to_disturb import Width, chosen
from flows.job.events import Heard
from flows.job.state import Job
from flows.routine.book import Book
from flows.telling.render import render
from flows.turn.advance import advance, opening
from flows.turn.turning import Turn

MOST_STATES = {"all": 4_000_000, "values": 2_000_000, "places": 1_000_000}
"""The most states by where disturbances are tried; the straight ways alone are some 18,000. In
one state of each place of one section they come to 70,000 to 170,000, mostly."""


MOST_STRAIGHT = 40_000
"""The most states of the straight ways: twice what they have, some 18,000. A routine that grows
beyond that is noticed."""


class Whole:
    """The states of a job from its opening on.

    Every answer is taken without bound as long as it goes straight on. Whatever else can happen,
    detours and disturbances alike, is tried in every state so reached, and each time followed by
    every straight answer to the end, up to `deep` disturbances a job. `only` names, by their
    keys, the straight states that disturbances are tried in; None for all.
    """

    def __init__(self, deep: int = 1, only: frozenset[Hashable] | None = None) -> None:
        self.deep = deep
        self.only = only

    def key(self, state: Job) -> Hashable:
        """Return what tells a state from another."""
        return key(state)

    def steps(self, state: Job, level: int) -> Iterator[Step[Job]]:
        """Yield every step from a state."""
        for move, cost in self.moves(state, level):
            yield step(state, move, cost)

    def moves(self, state: Job, level: int) -> Iterator[tuple[Move, int]]:
        """Yield what can happen in a state, each with 1 where that is a disturbance, else 0."""
        if state.ended is not None:
            return
        disturbed = self._is_disturbed(state, level)
        for move, cost in (
            *_costed_answers(state),
            *_costed_disturbances(state, disturbed=disturbed),
        ):
            if disturbed or not cost:
                yield move, cost

    def _is_disturbed(self, state: Job, level: int) -> bool:
        """Say whether a disturbance is tried in a state."""
        if level >= self.deep:
            return False
        return self.only is None or level > 0 or key(state) in self.only


def _costed_answers(job: Job) -> Iterator[tuple[Move, int]]:
    """Yield every answer; the way out of an exchange in hand is no disturbance of its own."""
    in_hand = job.pending is not None
    for move in answers(job):
        yield move, 0 if move.kind == "answer" or in_hand else 1


def _costed_disturbances(job: Job, *, disturbed: bool) -> Iterator[tuple[Move, int]]:
    """Yield every disturbance, where any is tried or one of them is the way on.

    Settling a skip is the one way on where skips are open, and no disturbance there.
    """
    waits = waits_for_settling(job)
    for move in disturbances(job) if disturbed or waits else ():
        yield move, 0 if waits and "settle" in move.words else 1


def waits_for_settling(job: Job) -> bool:
    """Say whether nothing but an owner's or a dispatcher's word goes on."""
    return job.next_item is not None and job.next_item.id == "close.skips"


Also = Callable[[Turn], Iterable[str]]
"""Says what is wrong with a turn, beside what is wrong by the checks of this room."""


def nothing_more(_turn: Turn) -> Iterable[str]:
    """Say nothing of a turn beside what the checks of this room say."""
    return ()


def step(job: Job, move: Move, cost: int = 0, also: Also = nothing_more) -> Step[Job]:
    """Return the step that a move is on a job, with all that is wrong with it."""
    event = event_of(move, job)
    try:
        turn = advance(job, event)
        wrong = (*faults(job, move, event, turn), *stuck(turn.job), *also(turn))
        for reply in turn.replies:
            render(reply)
    except Exception as error:
        return Step(move, job, faults=(f"raised {type(error).__name__}: {error}",), cost=cost)
    return Step(move, job, (turn.job,), wrong, cost)


def opened(book: Book) -> Job:
    """Return a job that has just been opened by its driver."""
    return opening(Job(1, book), Heard(DRIVER, START, "new job"), {"ref": 1}).job


@lru_cache(maxsize=2)
def straight_ways(book: Book) -> Graph[Job]:
    """Return every straight way through the routine; explored once, for all who build on it."""
    return explore(Whole(0), [opened(book)], MOST_STRAIGHT)


def explore_whole(  # noqa: PLR0913  two for where, two for how
    book: Book,
    deep: int = 1,
    width: Width = "all",
    section: str | None = None,
    *,
    first_only: bool = False,
    watch: Watch = unwatched,
) -> Graph[Job]:
    """Explore the whole routine from its opening.

    Parameters
    ----------
    book
        The routine, and the cards.
    deep
        How many disturbances a job may meet.
    width
        In which straight states a disturbance is tried.
    section
        Only where an item of this section is open; None for everywhere.
    first_only
        Stop at the first breach.
    watch
        Told, now and then, how far it has come.
    """
    starts = [opened(book)]
    only = None
    if deep and (width != "all" or section is not None):
        only = chosen(straight_ways(book), width, section)
    space = Whole(deep, only)
    return explore(space, starts, MOST_STATES[width], first_only=first_only, watch=watch)

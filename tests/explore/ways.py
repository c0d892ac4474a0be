"""Ways through the whole routine taken at random, to find in a moment what is wrong somewhere.

An exploration of every state finds what is wrong for certain, and late. Some seventy random ways
from where a section is entered to the end find most of it within seconds.
"""

from collections.abc import Iterator, Sequence

from flows.explore.moves import Move
from flows.explore.search import Step
from flows.explore.whole import Whole, step
from flows.job.state import Job
from tests.explore.order_checks import unmet
from tests.explore.walks import Draw

MOST_STEPS = 150
"""The longest way: three times the questions of an ordinary one."""
DISTURBED_WITHIN = 40
"""A disturbance comes within so many steps; on a shorter way, not at all."""
REDRAWN = 3
"""How often another step is drawn instead of one that ends the job or hands it off."""
STRAIGHT, DISTURBED = Whole(0), Whole(1)


def wrong_on_ways(
    starts: Sequence[Job], number: int, draw: Draw, *, disturbed: bool
) -> Iterator[str]:
    """Yield what is wrong on so many ways, each from one of the starts.

    Parameters
    ----------
    starts
        Where ways begin.
    number
        How many ways, 1 or more.
    draw
        Makes every choice; the same ways for the same draws.
    disturbed
        Whether a disturbance happens on each way.
    """
    for _ in range(number):
        at = draw(DISTURBED_WITHIN) if disturbed else MOST_STEPS
        yield from _way(starts[draw(len(starts))], at, draw)


def _way(job: Job, disturbed_at: int, draw: Draw) -> Iterator[str]:
    for number in range(MOST_STEPS):
        yield from (f"order: {why}" for why in unmet(job))
        if job.ended is not None:
            return
        space = DISTURBED if number == disturbed_at else STRAIGHT
        moves = [move for move, _ in space.moves(job, 0)]
        if not moves:
            yield "whole: no way on"
            return
        taken = _on(job, moves, draw)
        yield from (f"whole: {why}" for why in taken.faults)
        if not taken.states:
            return
        job = taken.states[0]


def _on(job: Job, moves: Sequence[Move], draw: Draw) -> Step[Job]:
    """Return a step taken at random, one that ends nothing if such a one is drawn soon enough."""
    taken = step(job, _one(moves, draw))
    for _ in range(REDRAWN):
        if taken.faults or all(one.ended is None and not one.handoff for one in taken.states):
            break
        taken = step(job, _one(moves, draw))
    return taken


def _one(moves: Sequence[Move], draw: Draw) -> Move:
    """Return one of some moves, each kind as likely: there are far more claims than dangers."""
    kinds = sorted({move.kind for move in moves})
    kind = kinds[draw(len(kinds))]
    those = [move for move in moves if move.kind == kind]
    return those[draw(len(those))]

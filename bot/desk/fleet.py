"""Several jobs of one company: what they have aboard its trucks, and who is told of a change."""

from collections.abc import Iterable, Iterator

from flows.job.events import Fleet, Moment, Told
from flows.job.state import Job
from flows.turn.aboard import aboard_of, without
from flows.turn.advance import advance
from flows.turn.turning import Turn


def fleet_of(jobs: Iterable[Job], but: int) -> Fleet:
    """Return what open jobs have aboard each truck, beside one of them."""
    known = {job.ref: aboard_of(job) for job in jobs}
    return without({ref: one for ref, one in known.items() if one is not None}, but)


def told_others(jobs: Iterable[Job], before: Job | None, made: Turn, at: Moment) -> Iterator[Turn]:
    """Yield the turn of every other job on a truck, where this one changed what is aboard.

    Parameters
    ----------
    jobs
        The open jobs as they stood.
    before
        The turn's job as it stood; None for a new one.
    """
    was = None if before is None else aboard_of(before)
    now = aboard_of(made.job)
    if was == now:
        return
    trucks = {one[0] for one in (was, now) if one is not None}
    others = [job for job in jobs if job.ref != made.job.ref]
    for job in others:
        if job.value("truck") in trucks:
            fleet = fleet_of([*others, made.job], job.ref)
            yield advance(job, Told("truck_changed", at, fleet=fleet))

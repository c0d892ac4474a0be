"""Several jobs of one company: their vehicles aboard its trucks, and who is told of a change."""

from collections.abc import Iterable, Iterator

from flows.job.events import Fleet, Moment, Told
from flows.job.state import Job
from flows.turn.aboard import aboard_of, without
from flows.turn.advance import advance
from flows.turn.turning import Turn


def fleet_of(jobs: Iterable[Job], but: int) -> Fleet:
    """Return the load of each truck by the open jobs, leaving out the job `but`."""
    known = {job.ref: aboard_of(job) for job in jobs}
    return without({ref: aboard for ref, aboard in known.items() if aboard is not None}, but)


def told_others(jobs: Iterable[Job], before: Job | None, made: Turn, at: Moment) -> Iterator[Turn]:
    """Yield a turn for each other job on a truck, if this turn changed what is aboard.

    Parameters
    ----------
    jobs
        The open jobs before the turn.
    before
        The turn's job before it; None for a new job.
    """
    was = None if before is None else aboard_of(before)
    now = aboard_of(made.job)
    if was == now:
        return
    trucks = {aboard[0] for aboard in (was, now) if aboard is not None}
    others = [job for job in jobs if job.ref != made.job.ref]
    for job in others:
        if job.value("truck") in trucks:
            fleet = fleet_of([*others, made.job], job.ref)
            yield advance(job, Told("truck_changed", at, fleet=fleet))

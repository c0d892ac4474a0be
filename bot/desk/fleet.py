"""Several jobs of one company: their vehicles aboard its trucks, and who is told of a change."""

from collections.abc import Iterable, Iterator

from flows.job.events import Fleet, Moment, Told
from flows.job.state import Job
from flows.turn.aboard import aboard_of, without
from flows.turn.advance import advance
from flows.turn.turning import Turn


def fleet_of(jobs: Iterable[Job], but: int) -> Fleet:
    """Return the load of each truck by the jobs on it, leaving out the job `but`."""
    known = {job.ref: aboard_of(job) for job in jobs}
    return without({ref: aboard for ref, aboard in known.items() if aboard is not None}, but)


def told_others(jobs: Iterable[Job], before: Job | None, made: Turn, at: Moment) -> Iterator[Turn]:
    """Yield a turn for each other job on a truck, if this turn changed what is aboard.

    A turn that tells of an empty deck is told to the jobs that left their vehicle there.

    Parameters
    ----------
    jobs
        The jobs on trucks before the turn: the open jobs, and those that left a vehicle aboard.
    before
        The turn's job before it; None for a new job.
    """
    others = {job.ref: job for job in jobs if job.ref != made.job.ref}
    off = [advance(others[ref], Told("taken_off", at)) for ref in _taken_off(before, made)]
    yield from off
    others |= {turn.job.ref: turn.job for turn in off}
    trucks = _changed(before, made) | {made.job.value("truck") for _ in off}
    for job in others.values():
        if _is_on(job, trucks):
            fleet = fleet_of([*others.values(), made.job], job.ref)
            yield advance(job, Told("truck_changed", at, fleet=fleet))


def _is_on(job: Job, trucks: set[str]) -> bool:
    """Say whether a job is open and has one of these trucks."""
    return job.ended is None and job.value("truck") in trucks


def _changed(before: Job | None, made: Turn) -> set[str]:
    """Return the trucks on which this turn changed the vehicle of its job."""
    was = None if before is None else aboard_of(before)
    now = aboard_of(made.job)
    return set() if was == now else {one[0] for one in (was, now) if one is not None}


def _taken_off(before: Job | None, made: Turn) -> list[int]:
    """Return the jobs whose vehicle this turn says is no longer on its truck."""
    if before is None or not made.deck_empty:
        return []
    return [one.job for one in before.aboard if one.left]

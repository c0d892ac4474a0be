"""The vehicles aboard a truck: those of all jobs on it. They belong to the truck, not to a job.

A job is told of it with each event. A change makes the margin stale: the vehicle of
another job weighs on the axles, and takes the deck.
"""

from dataclasses import asdict
from fractions import Fraction

from flows.job.events import Aboard
from flows.job.state import Job
from flows.reckoning.margin_inputs import plan_of, ways_of
from flows.turn.turning import BOT, Turning


def aboard_of(job: Job) -> tuple[str, Aboard] | None:
    """Return the vehicle of a job on a deck, and the truck; None when it is not on a deck.

    The high weight counts, at the position of the margin; in doubt it is still aboard.
    """
    if "aboard" not in job.memo:
        # Every event of any job asks this of every other job.
        job.memo["aboard"] = _aboard(job)
    found: tuple[str, Aboard] | None = job.memo["aboard"]
    return found


def _aboard(job: Job) -> tuple[str, Aboard] | None:
    truck = job.book.library.trucks.get(job.value("truck") or "")
    if job.ended is not None or truck is None or truck.deck is None:
        return None
    if job.acts["deck"] == "ground":
        return None
    plan = plan_of(job)
    places = [
        Fraction(plan.load(nose_first=way).gravity_thousandths(plan.share_mid_pm), 1000)
        for way in ways_of(job)
    ]
    best = job.margin.result.get("best_in") if job.margin is not None else None
    at_in = truck.deck.headboard_in + int(best or 0) + round(max(places))
    return truck.id, Aboard(job.ref, plan.high_lb, at_in)


def sync(t: Turning) -> None:
    """Take the other vehicles aboard the job's truck from the event; say so when they changed."""
    fleet, truck = t.event.fleet, t.job.value("truck")
    if fleet is None or truck is None or t.job.ended is not None:
        return
    others = fleet.get(truck, ())
    if others != t.job.aboard:
        had_margin = t.job.margin_stands
        t.note("told", BOT, what="truck_changed", truck=truck, aboard=[asdict(o) for o in others])
        t.aboard_changed = had_margin


def without(fleet: dict[int, tuple[str, Aboard]], ref: int) -> dict[str, tuple[Aboard, ...]]:
    """Return the vehicles aboard each truck, but for those of this job.

    Examples
    --------
    >>> without({1: ("heron", Aboard(1, 4960, 200)), 2: ("heron", Aboard(2, 5, 9))}, 2)
    {'heron': (Aboard(job=1, weight_lb=4960, at_in=200),)}
    """
    found: dict[str, tuple[Aboard, ...]] = {}
    for other, (truck, one) in sorted(fleet.items()):
        if other != ref:
            found[truck] = (*found.get(truck, ()), one)
    return found

"""The vehicles aboard a truck: those of all jobs on it. They belong to the truck, not to a job.

A job is told of it with each event. A change makes the margin stale: the vehicle of
another job weighs on the axles, and takes the deck.
"""

from dataclasses import asdict
from fractions import Fraction

from flows.hearing.answers import NOTHING
from flows.hearing.understand import understand
from flows.job.events import Aboard
from flows.job.intents import Word
from flows.job.state import Job
from flows.measures.say import digits
from flows.reckoning.margin_inputs import plan_of, ways_of
from flows.routine.items import Item
from flows.texts import word
from flows.turn.turning import BOT, Turning


def aboard_of(job: Job) -> tuple[str, Aboard] | None:
    """Return the vehicle of a job on a deck, and the truck; None when it is not on a deck.

    The high weight counts, at the position of the margin; in doubt it is still aboard. So it is
    after a hand-off, until somebody says that the deck is empty.
    """
    if "aboard" not in job.memo:
        # Every event of any job asks this of every other job.
        job.memo["aboard"] = _aboard(job)
    found: tuple[str, Aboard] | None = job.memo["aboard"]
    return found


def _aboard(job: Job) -> tuple[str, Aboard] | None:
    truck = job.book.library.trucks.get(job.value("truck") or "")
    if truck is None or truck.deck is None or _is_off(job):
        return None
    plan = plan_of(job)
    places = [
        Fraction(plan.load(nose_first=way).gravity_thousandths(plan.share_mid_pm), 1000)
        for way in ways_of(job)
    ]
    best = job.margin.result.get("best_in") if job.margin is not None else None
    at_in = truck.deck.headboard_in + int(best or 0) + round(max(places))
    return truck.id, Aboard(job.ref, plan.high_lb, at_in, left=job.ended is not None)


def _is_off(job: Job) -> bool:
    """Say whether the vehicle is on the ground; once its job is closed nobody asks any more."""
    is_closed = job.ended is not None and job.ended.how == "closed"
    return is_closed or job.acts["deck"] == "ground"


def sync(t: Turning) -> None:
    """Take the other vehicles aboard the job's truck from the event; say so when they changed."""
    fleet, truck = t.event.fleet, t.job.value("truck")
    if fleet is None or truck is None or t.job.ended is not None:
        return
    others = _counted(fleet.get(truck, ()), t)
    if others != t.job.aboard:
        had_margin, known = t.job.margin_stands, _left(t.job)
        t.note("told", BOT, what="truck_changed", truck=truck, aboard=[_kept(o) for o in others])
        t.aboard_changed = had_margin
        tell_left(t, but=known)


def _counted(others: tuple[Aboard, ...], t: Turning) -> tuple[Aboard, ...]:
    """Return the vehicles aboard without those that this turn says are off."""
    return tuple(one for one in others if not (one.left and t.deck_empty))


def _left(job: Job) -> tuple[int, ...]:
    """Return the jobs that ended with their vehicle on this job's truck."""
    return tuple(one.job for one in job.aboard if one.left)


def _kept(one: Aboard) -> dict[str, int]:
    """Return a vehicle aboard as the record holds it."""
    return {name: value for name, value in asdict(one).items() if name != "left" or value}


def tell_left(t: Turning, but: tuple[int, ...] = ()) -> None:
    """Say which job's vehicle was left aboard, and the words for when it is off."""
    for ref in _left(t.job):
        if ref not in but:
            names = {"left": digits(ref), "left_shown": str(ref)}
            t.say("left_aboard", "driver" if t.job.at_vehicle else "dispatchers", **names)


def taken_off(t: Turning, text: str) -> bool:
    """Take it after a job has ended that what it left aboard is off; say whether it was said."""
    if understand(text, NOTHING, None) != (Word("deck_empty"),) or aboard_of(t.job) is None:
        return False
    t.note("told", BOT, what="taken_off")
    t.answer_sender("deck_is_empty")
    return True


def say_empty(t: Turning, _word: Word, _item: Item | None) -> None:
    """Take it that what ended jobs left on this truck is off it; what is in hand stays aboard."""
    if not _left(t.job):
        t.answer_sender("deck_has_none")
        return
    t.deck_empty = True
    t.noted.append(word("deck_empty"))


def without(fleet: dict[int, tuple[str, Aboard]], ref: int) -> dict[str, tuple[Aboard, ...]]:
    """Return the vehicles aboard each truck, but for those of this job.

    Examples
    --------
    >>> without({1: ("heron", Aboard(1, 4960, 200)), 2: ("heron", Aboard(2, 5, 9))}, 2)
    {'heron': (Aboard(job=1, weight_lb=4960, at_in=200, left=False),)}
    """
    found: dict[str, tuple[Aboard, ...]] = {}
    for other, (truck, one) in sorted(fleet.items()):
        if other != ref:
            found[truck] = (*found.get(truck, ()), one)
    return found

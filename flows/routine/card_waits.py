"""Waits: how long a card says to wait after an act, and whether that time has passed.

A wait is "at least". It counts from when its last act was reported, the latest time at which that
act can have been done; it starts again where elapsed time cannot be trusted.
"""

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from flows.cards.chosen import chosen_card
from flows.job.acts import ACTS
from flows.job.events import MINUTE_NS, Moment

if TYPE_CHECKING:
    from flows.cards.vehicle import VehicleCard
    from flows.job.state import Job
    from flows.routine.items import WaitStep

OVER = "over"
"""The detail of a question whose wait has passed."""
BOOST_MIN = 4
"""Common practice, no source: three to four minutes before a boosted vehicle is woken."""


def _of_isolations(card: "VehicleCard | None") -> int:
    return (card.isolation_wait_min if card is not None else None) or 0


def _of_boost(card: "VehicleCard | None") -> int:
    boost = None if card is None else card.boost
    return (boost.wait_min if boost is not None else None) or BOOST_MIN


MINUTES: Mapping[str, Callable[["VehicleCard | None"], int]] = {
    "isolations": _of_isolations,
    "boost": _of_boost,
}


def minutes(job: "Job", item: "WaitStep") -> int:
    """Return how long to wait at a step [minutes]."""
    card = chosen_card(job)
    return MINUTES[item.waits](card)


def due_ns(job: "Job", item: "WaitStep", at: Moment) -> int:
    """Return when a wait is over [boot ns], as known at a moment.

    An act reported before the clock last restarted has no known time: the wait counts from when
    it was asked for since, or from now.
    """
    asked = job.asked
    if asked is not None and (asked.item, asked.detail) == (item.id, OVER):
        # The driver was told that it is over: so it is while nothing else is asked.
        return min(asked.at.mono_ns, at.mono_ns) if asked.at.boot == at.boot else at.mono_ns
    acted = (job.acted.get(ACTS[act].variable) for act in item.after)
    begun = max((_begun_ns(job, moment, at) for moment in acted if moment), default=at.mono_ns)
    return begun + minutes(job, item) * MINUTE_NS


def _begun_ns(job: "Job", acted: Moment, at: Moment) -> int:
    """Return when a wait counts from after an act [boot ns]."""
    if acted.boot == at.boot:
        return acted.mono_ns
    asked = job.asked
    return asked.at.mono_ns if asked is not None and asked.at.boot == at.boot else at.mono_ns


def left_ns(job: "Job", item: "WaitStep", at: Moment) -> int:
    """Return the time left of a wait [ns], 0 once it is over."""
    return max(due_ns(job, item, at) - at.mono_ns, 0)

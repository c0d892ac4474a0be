"""What a job is reduced to when its states are told apart.

Kept, because some condition, rule or turn reads it: the facts, each reduced to the values that
conditions and rules tell apart; every act state; the marks of steps that leave none; skips and
whether they are settled; the exchange in hand; a hold, and whether it is already long; a wanted
hand-off; the margin's word, whether it stands and whether an owner decided; the neutral window
by its state, the warnings given and the deadlines passed; an unanswered alarm; the item settled
last, which "back" reads; whether the open question is the one that was asked; the end.

Dropped, because nothing but wording, numbering and record reads it: numbers of entries and
questions, who said a thing and when, absolute times (only deadlines passed count, and every
timer is tried at its due time and too late), how often something was not understood (it picks
the sentence), the stage of asking again after silence, the section last announced, the person
at the vehicle (any of them may say the same), private texts and the platform's clock.

The facts under the margin (size, drive, weight, truck) count as known or not: what they lead to
is the margin's word, which is kept, and a weight is said for each word it can have.
"""

from collections.abc import Hashable, Mapping
from functools import cache
from typing import Any

from flows import windows
from flows.acts import VARIABLES
from flows.facts import FACTS
from flows.job import LOOK, Fact, Job, Window
from flows.words import held_long

Key = tuple[Hashable, ...]

ALIKE: Mapping[str, Mapping[str, str]] = {
    "history": {"water": "crash", "fire": "crash"},
    "slope": {"level": "downhill"},
    "wheels": {"flat": "locked", "missing": "locked"},
    "powertrain": {"hybrid": "electric"},
}
"""Values that no condition and no rule tells apart, each with the one that stands for it."""

ONLY_KNOWN = frozenset(
    name
    for name, spec in FACTS.items()
    if spec.private or spec.kind in {"mass", "minutes"} or name in {"family", "weight_class"}
) | {"drive", "truck"}
"""Facts of which only counts that they are known."""


def key(job: Job) -> Key:
    """Return what tells this state of a job from another."""
    return (
        _facts(job),
        job.acts.values,
        job.done,
        tuple((skip.item, skip.settled_by is not None) for skip in job.skips),
        None if job.pending is None else (job.pending.kind, job.pending.item),
        job.held and held_long(job.held, job.now or job.held),
        job.handoff,
        _margin(job),
        window(job),
        job.alarm is not None and job.alarm.escalates,
        job.last,
        job.asked and job.asked.item,
        job.at_vehicle is None,
        job.ended and job.ended.how,
    )


def _facts(job: Job) -> frozenset[tuple[str, Hashable, bool]]:
    return frozenset(
        (name, reduced(name, fact.value), fact.how == "card") for name, fact in job.facts.items()
    )


@cache
def reduced(name: str, value: Any) -> Hashable:  # noqa: ANN401 - facts are of several types
    """Return what a fact's value is reduced to.

    Examples
    --------
    >>> reduced("slope", "level"), reduced("weight", 4600), reduced("cord", "look")
    ('downhill', 'known', 'look')
    """
    if value == LOOK:
        return LOOK
    if name in ONLY_KNOWN:
        return "known"
    return ALIKE.get(name, {}).get(value, str(value))


def _margin(job: Job) -> Hashable:
    if job.margin is None:
        return None
    return (job.verdict or "stale", job.override is not None)


def window(job: Job) -> Hashable:
    """Return the window by its state, the warnings given and the deadlines passed."""
    found = job.window
    if found is None or found.state == "closed":
        return None
    if found.hold_min is None:
        return ("unpromised", found.state)
    return (found.state, found.stage, _passed(job, found))


def _passed(job: Job, found: Window) -> int:
    if job.now is None or job.now.boot != found.boot:
        return -1
    return windows.stage_at(found, job.now)


def differs(before: Key, after: Key) -> tuple[str, ...]:
    """Return the names of the parts in which two keys differ.

    Examples
    --------
    >>> differs((1, 2), (1, 3))
    ('acts',)
    """
    return tuple(name for name, one, two in zip(PARTS, before, after, strict=False) if one != two)


PARTS = (
    "facts",
    "acts",
    "done",
    "skips",
    "pending",
    "held",
    "handoff",
    "margin",
    "window",
    "alarm",
    "last",
    "asked",
    "driver",
    "ended",
)
N_ACTS = len(VARIABLES)

"""What a job is reduced to when its states are told apart.

Kept: the facts and act states that anything from here on looks at, in order, and those that the
sections before everything and the rules look at always; each fact is reduced to the values that
conditions and rules tell apart. The marks of steps that leave no act state, likewise. Skips, and
whether they are settled. What was put off. Whether a photo came for the set that is open. The
exchange in hand. A hold, and whether it is already long. A wanted hand-off. The margin's word,
whether it stands, whether an owner decided. The neutral window: its state, the warnings given,
the deadlines passed. An unanswered alarm. Whether what is open was asked. Whether a driver is
there. The end.

Dropped, because only wording, numbering and record read it: numbers of entries and questions,
who said a thing and when, absolute times (deadlines passed count, and every timer is tried when
it is due and too late), how often something was not understood (it picks the sentence), how
often a question was asked again, the section last announced, private texts, the platform's clock.
The item settled last, which "back" offers, nearly always follows from the place.

Dropped as well, behind the job's place: what only settled items look at. A claim taken back opens
such an item again, with the values of the state that stands for it; from every other value the
item's own section is explored by itself.

The facts under the margin (kind, size, drive, weight, truck) count as known or not: what they
lead to is the margin's word, which is kept, and a weight is said for each word it can have.
"""

from collections.abc import Hashable, Mapping
from functools import cache
from typing import Any

from flows.explore.cards import to_rules, told
from flows.explore.still_matters import of_card, position, still_matters
from flows.hearing.prompts import prompt_for
from flows.job import windows
from flows.job.acts import VARIABLES
from flows.job.facts import FACTS, Fact
from flows.job.state import LOOK, Job, Window
from flows.routine.conditions.general import facing_end_does_not_hold
from flows.routine.items import Item
from flows.turn.words import paused_long

ALIKE: Mapping[str, Mapping[str, str]] = {
    "history": {"water": "crash", "fire": "crash"},
    "slope": {"level": "downhill"},
    "wheels": {"flat": "locked"},
    "powertrain": {"hybrid": "electric"},
    "key": {"dead": "here"},
    "twelve_volt": {"dead": "weak"},
    "twelve_volt_kind": {"not_known": "lithium"},
}
"""Values that no condition and no rule tells apart, each with the one that stands for it."""

BEFORE_CARD = frozenset({"open", "scene", "vehicle", "margin"})
"""Sections in which a card is not yet told by what is asked of it, but by its name."""

ONLY_KNOWN = frozenset(
    name
    for name, spec in FACTS.items()
    if spec.private
    or spec.kind in {"mass", "minutes", "feet", "pounds", "inches"}
    or name in {"family", "weight_class"}
    or name in {"emergency", "condition", "key_left"}
) | {"drive", "truck", "doors", "passengers", "variant"}
"""Facts of which only counts that they are known."""


def key(job: Job) -> Hashable:
    """Return what tells this state of a job from another."""
    if job.ended is not None:
        return job.ended.how
    item = position(job)
    matters = still_matters(job.book, item)
    values = job.acts.values
    acts = tuple([values[place] for place in _places(matters.acts)])
    facts = frozenset(
        (name, _value(job, name, fact, item), fact.how == "card")
        for name, fact in job.facts.items()
        if name in matters.facts
    )
    return (
        None if item is None else item.id,
        acts,
        facts,
        job.done & matters.marks,
        has_photos(job),
        *overlay(job),
    )


@cache
def _places(names: frozenset[str]) -> tuple[int, ...]:
    """Return where the values of these act states stand."""
    return tuple(place for place, name in enumerate(VARIABLES) if name in names)


def _value(job: Job, name: str, fact: Fact, item: Item | None) -> Hashable:
    """Return what a fact counts as; an end, once the card is known, as one that holds or not."""
    if name == "card" and fact.value != LOOK:
        return _card_kind(job, item)
    if name == "wheels" and job.value("goes_under") == "dollies":
        # A missing wheel is told from a stopped one where skates are to go under it, nowhere else.
        return "locked" if fact.value == "missing" else reduced(name, fact.value)
    if name == "facing" and job.value("card") is not None and fact.value in {"nose", "tail"}:
        return facing_end_does_not_hold.holds(job)
    return reduced(name, fact.value)


def has_photos(job: Job) -> bool:
    """Say whether a photo came for the set that is open: "done" counts only then."""
    item = position(job)
    return item is not None and item.id in job.photos


def _card_kind(job: Job, item: Item | None) -> Hashable:
    """Return what is still asked of a card: by the rules, and by the conditions from here on.

    Cards that are alike in these lead to the same from an item on. Before its section is behind
    a card is told from all others, since what it gives is only then known.
    """
    if item is None or job.book.routine.section_of[item.id].id in BEFORE_CARD:
        return str(job.value("card"))
    card = str(job.value("card"))
    asked = tuple(told(job.book.library, one, card) for one in of_card(job.book, item))
    return (to_rules(job.book.library, card, still_matters(job.book, item).acts), asked)


def overlay(job: Job) -> tuple[Hashable, ...]:
    """Return what a job has beside facts and act states."""
    return (
        _left_out(job),
        _exchange(job),
        job.theirs is not None,
        _pause(job),
        job.handoff,
        _margin(job),
        _pull(job),
        _lift(job),
        window(job),
        job.alarm is not None and job.alarm.escalates,
        job.asked is not None and prompt_for(job).is_asked_by(job.asked),
        job.at_vehicle is None,
        job.leg is not None and job.acts["rolling"] == "rolling" and job.leg.stage,
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


def _left_out(job: Job) -> Hashable:
    """Return skips, each settled or not, and deferrals."""
    skips = tuple((skip.item, skip.settled_by is not None) for skip in job.skips)
    return (skips, tuple(one.item for one in job.deferred))


def _exchange(job: Job) -> Hashable:
    return None if job.pending is None else (job.pending.kind, job.pending.item)


def _pause(job: Job) -> Hashable:
    """Return a pause of the talk by whether it is already long."""
    return None if job.paused is None else paused_long(job.paused, job.now or job.paused)


def _margin(job: Job) -> Hashable:
    if job.margin is None:
        return None
    matters = bool(job.margin.result.get("load_matters"))
    return (job.verdict or "stale", job.override is not None, matters)


def _pull(job: Job) -> Hashable:
    return None if job.pull is None else job.pull_word or "stale"


def _lift(job: Job) -> Hashable:
    return None if job.lift is None else (job.lift_stands, job.lift.result.get("by"),
                                          job.lift.result["word"])  # fmt: skip


def window(job: Job) -> Hashable:
    """Return the neutral window by its state, the warnings given and the deadlines passed."""
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

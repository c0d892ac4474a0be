"""Sentences told before a question or a step, where the card or its absence calls for them.

They ask for no answer and cost the driver no turn: how a tow eye is used, how a magnet helps,
how high the load is, that a second truck is needed.
"""

from collections.abc import Callable, Mapping

from flows.cards.chosen import chosen_card
from flows.job.state import Job
from flows.routine.conditions.general import facing_end_does_not_hold
from flows.routine.conditions.lifting import an_end_holds, far_end_holds, is_boxed_in
from flows.routine.conditions.road import damaged_electric
from flows.telling.card_words import keep_off_parts
from flows.telling.slots import loaded_height_in

HEIGHT_NEAR_IN = 12
"""Ours: within a foot of the height limit [in] the loaded height is told."""


def _tow_eye(job: Job) -> str:
    card = chosen_card(job)
    point = None if card is None else card.holds.first(job.value("facing"))
    return "tow_eye" if point is not None and point.device == "tow eye" else ""


def _magnet(job: Job) -> str:
    return "magnet" if chosen_card(job) is None else ""


def _height(job: Job) -> str:
    """Return the sentence about the loaded height: near its limit, or known to nobody."""
    if loaded_height_in(job) is None:
        return "height_unknown"
    left = height_left_in(job)
    return "height_near" if left is not None and left <= HEIGHT_NEAR_IN else ""


def height_left_in(job: Job) -> int | None:
    """Return the room left under the height limit [in]; None where the margin has none."""
    rows = () if job.margin is None else job.margin.result.get("lengths", ())
    found = (row["margin_in"] for row in rows if row["name"] == "overall height")
    return next((int(left) for left in found), None)


def _apart(job: Job) -> str:
    return "apart_ahead" if damaged_electric.holds(job) else ""


def _second_truck(job: Job) -> str:
    """Return the sentence that it takes a second truck, early: a wrecker takes its time."""
    if job.value("second_truck") is not None:
        return ""
    if (is_boxed_in & an_end_holds).holds(job):
        return "boxed_ahead"
    turns = facing_end_does_not_hold & far_end_holds
    return "turn_ahead" if turns.holds(job) else ""


BEFORE: Mapping[str, Callable[[Job], str]] = {
    "attach.shown": _magnet,
    "attach.hook": _tow_eye,
    "drop.truck": _apart,
    "margin.truck": _second_truck,
    "drop.shown": _magnet,
    "drop.hook": _tow_eye,
    "secure.photos": _height,
}
"""By item, the function that names the sentence told before it; empty for none."""


def told_before(job: Job, item: str) -> str:
    """Return the sentence that is told before an item is asked; empty for none."""
    tell = BEFORE.get(item)
    return "" if tell is None else tell(job)


def places_before(job: Job, item: str) -> tuple[str, ...]:
    """Return the places that tear which are told before an item, a message each."""
    reads = getattr(job.book.routine.items[item], "acts", ())
    return keep_off_parts(job)[:-1] if "keep_off_told" in reads else ()

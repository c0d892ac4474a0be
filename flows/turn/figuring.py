"""Figures in a turn: computed when the facts under them are known, told when they change."""

import hashlib
from collections.abc import Mapping

from flows.reckoning.lifts import conclude_lift
from flows.reckoning.margin_inputs import conclude_margin, drawing_of, margin_inputs_known
from flows.reckoning.planning import conclude_pull
from flows.routine.items import Figure, LiftPlan, PullPlan
from flows.telling.reply import Reply
from flows.turn.aboard import tell_left
from flows.turn.turning import BOT, Turning


def figures(t: Turning) -> None:
    """Compute every figure that is open and can be, and tell it where it changed."""
    for _ in range(3):
        item = t.job.next_item
        if t.job.ended is not None or not isinstance(item, Figure):
            return
        if not margin_inputs_known(t.job):
            return
        rests_on = [[name, t.job.fact_seq(name)] for name in item.rests_on]
        match item:
            case PullPlan():
                _plan(t, item, rests_on)
            case LiftPlan():
                _lift(t, item, rests_on)
            case _:
                _margin(t, item, rests_on)


def _margin(t: Turning, item: Figure, rests_on: list[list[object]]) -> None:
    """Conclude the margin with its drawing, and tell it where it changed."""
    before = None if t.job.margin is None else t.job.margin.result
    result = conclude_margin(t.job)
    drawn = drawing_of(t.job).encode()
    drawing = {"sha256": hashlib.sha256(drawn).hexdigest(), "size": len(drawn)}
    t.note(
        "concluded",
        BOT,
        figure=item.id,
        rests_on=rests_on,
        result=result,
        drawing=drawing,
    )
    if _of_margin(before) != _of_margin(result):
        if t.aboard_changed:
            t.say("aboard_changed")
        if t.job.paused is None:
            t.replies.append(Reply("driver", f"items.{item.id}", t.job, item=item.id))
            if not any(reply.key == "says.left_aboard" for reply in t.replies):
                tell_left(t)
        _tell_verdict(t, str(result["verdict"]))


def _of_margin(result: Mapping[str, object] | None) -> dict[str, object]:
    """Return the part of a margin that is told, and so counts as a change."""
    return {name: value for name, value in (result or {}).items() if name != "load_matters"}


def _plan(t: Turning, item: PullPlan, rests_on: list[list[object]]) -> None:
    """Plan the pull, and tell a new plan that fits; the routine asks about one that does not."""
    before = None if t.job.pull is None else t.job.pull.result
    result = conclude_pull(t.job)
    t.note("planned", BOT, figure=item.id, rests_on=rests_on, result=result)
    is_new = before is None or _told(before) != _told(result)
    if is_new and result["word"] == "fits" and t.job.paused is None:
        t.replies.append(Reply("driver", f"items.{item.id}", t.job, item=item.id))


def _told(result: Mapping[str, object]) -> tuple[object, ...]:
    """Return the part of a planned pull that is told."""
    return tuple(result.get(name) for name in ("word", "minutes", "usable_min", "parts"))


def _lift(t: Turning, item: LiftPlan, rests_on: list[list[object]]) -> None:
    """Compute the lift, and tell it where it changed; a second truck's no-go is asked about."""
    before = None if t.job.lift is None else t.job.lift.result
    result = conclude_lift(t.job, item.by)
    if result is None:
        return
    t.note("lift_planned", BOT, figure=item.id, rests_on=rests_on, result=result)
    is_asked = item.by == "second_truck" and result["word"] == "no-go"
    if before != result and not is_asked and t.job.paused is None:
        t.replies.append(Reply("driver", f"items.{item.id}", t.job, item=item.id))


def _tell_verdict(t: Turning, verdict: str) -> None:
    if verdict == "no-go":
        t.say("no_go_told", "dispatchers")
    elif verdict == "close":
        t.say("close_told", "owners")
        t.say("close_told", "dispatchers")

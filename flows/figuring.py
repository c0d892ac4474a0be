"""Figures in a turn: computed when what they rest on is known, and told when they change."""

import hashlib

from flows.conclude import conclude_margin, drawing_of, margin_inputs_known
from flows.items import Figure, LiftPlan
from flows.lifts import conclude_lift
from flows.turn import BOT, Reply, Turning


def figures(t: Turning) -> None:
    """Compute every figure that is open and can be, and tell it where it changed."""
    for _ in range(3):
        item = t.job.next_item
        if t.job.ended is not None or not isinstance(item, Figure):
            return
        if not margin_inputs_known(t.job):
            return
        rests_on = [[name, t.job.fact_seq(name)] for name in item.rests_on]
        if isinstance(item, LiftPlan):
            _lift(t, item, rests_on)
            continue
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
        if before != result:
            if t.aboard_changed:
                t.say("aboard_changed")
            if t.job.held is None:
                t.replies.append(Reply("driver", f"items.{item.id}", t.job, item=item.id))
            _tell_verdict(t, str(result["verdict"]))


def _lift(t: Turning, item: LiftPlan, rests_on: list[list[object]]) -> None:
    """Compute the lift, and tell it where it changed; a second truck's no-go is asked about."""
    before = None if t.job.lift is None else t.job.lift.result
    result = conclude_lift(t.job, item.by)
    if result is None:
        return
    t.note("lift_planned", BOT, figure=item.id, rests_on=rests_on, result=result)
    is_asked = item.by == "second_truck" and result["word"] == "no-go"
    if before != result and not is_asked and t.job.held is None:
        t.replies.append(Reply("driver", f"items.{item.id}", t.job, item=item.id))


def _tell_verdict(t: Turning, verdict: str) -> None:
    if verdict == "no-go":
        t.say("no_go_told", "dispatchers")
    elif verdict == "close":
        t.say("close_told", "owners")
        t.say("close_told", "dispatchers")

"""The effect of each timer when it falls due. An obsolete timer does nothing."""

from flows.job import windows
from flows.job.events import SECOND_NS, Tick
from flows.turn import effects
from flows.turn.timers import SILENCE_S, silence_generation, timers_for, window_generation
from flows.turn.turning import BOT, Turning

ESCALATE_WARNING_S = 60


def tick(t: Turning, event: Tick) -> None:
    """Apply a timer that fell due."""
    if t.job.ended is not None:
        return
    match event.timer:
        case "window":
            _window(t, event)
        case "unanswered":
            _unanswered(t, event)
        case "silence":
            _silence(t, event)
        case "deferral":
            _deferral(t, event)
        case "recheck":
            _recheck(t, event)
        case _:
            pass


def _window(t: Turning, event: Tick) -> None:
    window = t.job.window
    if window is None or event.generation != window_generation(t.job):
        return
    stage = window.stage
    if stage < windows.END_STAGE:
        _warn(t, max(stage, windows.stage_at(window, t.at) - 1))
    elif stage == windows.END_STAGE:
        _end(t)
    else:
        t.note("window", BOT, event="warned", stage=stage + 1)
        effects.tell_end(t)


def _warn(t: Turning, stage: int) -> None:
    """Give the newest warning that is due; a warning that was missed is not made up for."""
    if stage >= windows.END_STAGE:
        _end(t)
        return
    t.note("window", BOT, event="warned", stage=stage + 1)
    t.alarm(windows.WARNINGS[stage], escalates=stage >= 1, within_s=ESCALATE_WARNING_S)


def _end(t: Turning) -> None:
    on_deck = t.job.acts["deck"] == "deck"
    effects.end_window(t)
    if on_deck:
        t.alarm("window_end_deck", escalates=True)
    else:
        effects.tell_end(t)


def _unanswered(t: Turning, event: Tick) -> None:
    alarm = t.job.alarm
    if alarm is None or not alarm.escalates or event.generation != alarm.n:
        return
    t.note("escalated", BOT, key=alarm.key)
    t.say("silent_told", "dispatchers")


def _deferral(t: Turning, event: Tick) -> None:
    """Bring back a step that was put off; if it was settled meanwhile, only forget it."""
    if not t.job.deferred or event.generation != t.job.deferred[0].at.mono_ns // SECOND_NS:
        return
    item = t.job.book.routine.items.get(t.job.deferred[0].item)
    if item is not None and item.open(t.job) and t.job.paused is None:
        t.say("deferred_back")
    t.note("deferral_due", BOT, item=t.job.deferred[0].item)


def _silence(t: Turning, event: Tick) -> None:
    asked = t.job.asked
    if asked is None or event.generation != silence_generation(asked):
        return
    t.note("reasked", BOT, stage=asked.stage + 1)
    if asked.stage + 1 < len(SILENCE_S):
        t.repeat = True
    else:
        t.say("holding_at")


def _recheck(t: Turning, event: Tick) -> None:
    """Say once that the load is to be looked at again; later that it was not, to dispatch."""
    wanted = next((one for one in timers_for(t.job) if one.name == "recheck"), None)
    leg = t.job.leg
    if leg is None or wanted is None or wanted.generation != event.generation:
        return
    t.note("recheck_due", BOT, stage=leg.stage + 1)
    if leg.stage == 0:
        t.say("recheck_due")
    else:
        t.say("recheck_overdue", "dispatchers")

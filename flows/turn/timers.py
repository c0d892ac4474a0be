"""Which timers a job wants: derived from its state, never remembered.

A timer is wanted until its due time has been dealt with; the desk drops timers that are no longer
wanted. The generation changes with the subject of the timer, so an old tick does nothing.
"""

from collections.abc import Iterator

from flows.job import windows
from flows.job.events import MINUTE_NS, SECOND_NS
from flows.job.state import Asked, Job, Window
from flows.routine.card_waits import OVER, due_ns
from flows.routine.items import WaitStep
from flows.turn.turning import Timer

# After the time an item usually takes it is asked again 20 s and 60 s later, then no more.
SILENCE_S = (20, 60, 100)
PENDING_USUAL_S = 20
# A step that was put off comes back after so long: in trials people forgot an intention over
# 37 to 117 s (Wilson and others, 2019).
DEFERRED_S = 120

# 49 CFR 392.9(b): within the first 50 miles, then every 150 miles or 3 hours, whichever comes
# first. Miles are not known here, so both are counted in time, at 65 mph: ours.
FIRST_RECHECK_MIN = 46
NEXT_RECHECK_MIN = 138
OVERDUE_MIN = 15


def timers_for(job: Job) -> tuple[Timer, ...]:
    """Return every timer the job wants now."""
    if job.ended is not None or job.now is None:
        return ()
    return tuple(timer for timer in _wanted(job))


def _wanted(job: Job) -> Iterator[Timer]:
    window = _window_timer(job)
    if window is not None:
        yield window
    if job.acts["rolling"] == "rolling":
        # On the road every other clock stops: nothing is asked, nothing waits.
        yield from _recheck_timer(job)
        return
    if job.alarm is not None and job.alarm.escalates:
        due = job.alarm.at.mono_ns + job.alarm.within_s * SECOND_NS
        yield Timer("unanswered", job.alarm.n, due, job.alarm.at.boot)
    if job.deferred:
        first = job.deferred[0].at
        due = first.mono_ns + DEFERRED_S * SECOND_NS
        yield Timer("deferral", first.mono_ns // SECOND_NS, due, first.boot)
    silence = _silence_timer(job)
    if silence is not None:
        yield silence


def _window_timer(job: Job) -> Timer | None:
    window = job.window
    if window is None or window.hold_min is None or window.state == "closed":
        return None
    if window.stage > windows.END_STAGE + len(windows.REPEATS_S):
        return None
    if window.state == "ended":
        return _repeat_timer(job, window)
    due = windows.due_ns(window, window.stage)
    return None if due is None else Timer("window", window_generation(job), due, window.boot)


def _repeat_timer(job: Job, window: Window) -> Timer | None:
    """Return the timer that repeats the end until it is answered, counted from its telling."""
    if job.alarm is None or job.acts["rolling"] == "rolling":
        return None
    late = windows.REPEATS_S[window.stage - windows.END_STAGE - 1]
    boot = window.boot if job.now is None else job.now.boot
    due = window.state_ns + late * SECOND_NS
    return Timer("window", window_generation(job), due, boot)


def _recheck_timer(job: Job) -> Iterator[Timer]:
    """Yield when the load is to be looked at again, and when dispatch hears that it was not."""
    leg = job.leg
    if leg is None or leg.stage > 1 or job.acts["deck"] != "deck":
        return
    minutes = FIRST_RECHECK_MIN if leg.n == 1 else NEXT_RECHECK_MIN
    due = leg.since.mono_ns + (minutes + leg.stage * OVERDUE_MIN) * MINUTE_NS
    yield Timer("recheck", leg.n * 4 + leg.stage, due, leg.since.boot)


def window_generation(job: Job) -> int:
    """Return the generation of the window's next stage."""
    window = job.window
    return 0 if window is None else window.serial * 16 + window.stage


def silence_generation(asked: Asked) -> int:
    """Return the generation of the next asking-again."""
    return asked.n * 4 + asked.stage


def _silence_timer(job: Job) -> Timer | None:
    asked = job.asked
    if asked is None or job.paused is not None or asked.stage >= len(SILENCE_S):
        return None
    item = job.book.routine.items.get(asked.item)
    usual = PENDING_USUAL_S if item is None else item.usual_s
    due = asked.at.mono_ns + (usual + SILENCE_S[asked.stage]) * SECOND_NS
    if isinstance(item, WaitStep) and asked.detail != OVER:
        # Said to be over when it is; asked for again from then on.
        due = max(due_ns(job, item, asked.at), asked.at.mono_ns)
    return Timer("silence", silence_generation(asked), due, asked.at.boot)

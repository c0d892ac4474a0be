"""Words that may mean an emergency: asked about before anything else, and taken at their worst.

One question, at the priority of a stop. Its own sign said again, or "not sure", is a yes; only a
word for none settles it. While the winch runs it stops first; on the road the driver is told once,
dispatch hears of it, and the question waits for the stop.
"""

from flows.hearing.answers import ALARMS
from flows.hearing.prompts import Prompt
from flows.job.acts import UNKNOWN, WINCH_RUNS
from flows.job.events import Heard
from flows.job.intents import Alarm, Word
from flows.job.state import Pending
from flows.turn import effects
from flows.turn.emergencies import SUDDEN
from flows.turn.turning import BOT, Turning

WITHIN_S = 120
"""Unanswered for so long, dispatch hears of it."""


def ask(t: Turning, alarm: Alarm, prompt: Prompt) -> None:
    """Ask whether there is an emergency; said while such a question is open, there is."""
    if in_hand(t) is not None:
        if t.sender_is_driver():
            take(t, alarm.kind)
        return
    if alarm.kind == "smoke" and t.job.acts["danger"] == "seen":
        effects.note_sign(t, "reported")
        return
    if t.job.paused is not None:
        t.note("resumed", BOT, why="alarm")
    if t.job.acts["winch"] in WINCH_RUNS:
        effects.doubt(t, {"winch": UNKNOWN})
    _raise(t, f"alarm_{alarm.kind}")
    effects.pend(t, _question(t, alarm.kind, prompt))


def _raise(t: Turning, key: str) -> None:
    """Keep that an answer is wanted; on the road nobody is asked, so it is said."""
    if t.job.acts["rolling"] == "rolling":
        # What is loose was told already, with what to do.
        if not any(one.key == "says.rolling_untied" for one in t.replies):
            t.alarm("alarm_rolling", escalates=True)
    else:
        t.note("alarmed", BOT, key=key, escalates=True, within_s=WITHIN_S)


def _question(t: Turning, kind: str, prompt: Prompt) -> Pending:
    """Return the question; it keeps words that may after all be the answer in free words."""
    words = t.event.text if isinstance(t.event, Heard) else ""
    if prompt.item is None or prompt.pending or not prompt.answer.takes_note:
        return Pending(f"alarm_{kind}")
    return Pending(f"alarm_{kind}", value=words, item=prompt.item.id)


def in_hand(t: Turning) -> Pending | None:
    """Return the question about an emergency that is open, if one is."""
    pending = t.job.pending
    return pending if pending is not None and pending.kind in ALARMS else None


def take(t: Turning, kind: str) -> None:
    """Take an emergency of a kind as there."""
    pending = in_hand(t)
    if pending is not None and pending.kind == f"alarm_{kind}":
        t.note("unpended", BOT)
    match kind:
        case "smoke":
            effects.see_danger(t, "reported")
        case "people":
            SUDDEN["hurt"](t, Word("hurt"), None)
        case _:
            SUDDEN["loose"](t, Word("loose"), None)

"""The flood guard: at most ten messages in ten minutes that nobody asked for.

A Stop always passes, and so do the words after an interruption. Messages beyond ten are held
back, and a note says so once.
"""

from flows.job.events import MINUTE_NS, Heard
from flows.job.folding import MOST_UNASKED
from flows.job.state import Job
from flows.telling.reply import Reply
from flows.turn.turning import BOT, Turning

SPAN_NS = 10 * MINUTE_NS
ALWAYS = frozenset({"says.resume", "says.restart"})


def hold_back(t: Turning) -> None:
    """Drop the messages over the limit from a turn that nobody asked for."""
    if isinstance(t.event, Heard) or not is_flooded(t.before):
        return
    lesser = [reply for reply in t.replies if _is_lesser(t, reply)]
    t.replies = [reply for reply in t.replies if reply not in lesser]
    if lesser and not _was_told(t):
        t.note("held_back", BOT, n=len(lesser))
        t.say("held_back")


def _was_told(t: Turning) -> bool:
    """Say whether a note of it went out in the last ten minutes."""
    told = t.job.held_back
    return told is not None and t.at.mono_ns - told.mono_ns < SPAN_NS


def is_flooded(job: Job) -> bool:
    """Say whether ten unasked messages were sent in the last ten minutes."""
    if job.now is None or len(job.unasked) < MOST_UNASKED:
        return False
    first = job.unasked[0]
    return first.boot == job.now.boot and job.now.mono_ns - first.mono_ns < SPAN_NS


def _is_lesser(t: Turning, reply: Reply) -> bool:
    """Say whether a message can wait: no Stop, no words after an interruption, no new question."""
    is_new = reply.answer.kind != "nothing" and t.job.asked != t.before.asked and not t.repeat
    passes = reply.priority == "stop" or reply.key in ALWAYS or is_new
    return reply.to == "driver" and not passes

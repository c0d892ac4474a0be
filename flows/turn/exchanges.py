"""Exchanges in hand: the effect of an answer to a read-back, "still?", a skip, a problem."""

from collections.abc import Callable

from flows.hearing.answers import ALARMS, READ_BACK_OF, READ_BACKS, SLOPES
from flows.hearing.prompts import prompt_for
from flows.job.entries import Private
from flows.job.intents import Word
from flows.job.state import Pending
from flows.telling.labels import last_label, reason_of
from flows.telling.left_open import left_open
from flows.texts import sentences
from flows.turn import alarms, effects, media
from flows.turn.turning import BOT, Turning
from flows.turn.weighing import count
from flows.turn.words import WORDS


def _read_back(t: Turning, option: str, pending: Pending) -> None:
    if option == "yes":
        t.note("unpended", BOT)
        count(t, pending)
        return
    effects.pend(t, Pending("number", pending.fact, None, pending.item, pending.misses + 1))


def _number(t: Turning, option: str, pending: Pending) -> None:
    """Let a number count that was read back; after a no its question is open again."""
    t.note("unpended", BOT)
    if option == "yes":
        effects.give(t, pending.fact, pending.value, effects.how_said(t), pending.item)


def _name(t: Turning, option: str, pending: Pending) -> None:
    t.note("unpended", BOT)
    if option != "yes":
        return
    effects.give(t, pending.fact, pending.value, effects.how_said(t), pending.item)
    if pending.fact == "handed_to":
        reason = t.job.handoff or reason_of(pending.item)
        t.note("ended", how="handed_off", reason=reason, open=list(left_open(t.job)))


def _heard(t: Turning, _option: str, _pending: Pending) -> None:
    """Take the no to words that were heard; `reading_messages` takes their yes."""
    t.note("unpended", BOT)
    t.answer_sender("voice_again")


def _still(t: Turning, option: str, pending: Pending) -> None:
    t.note("unpended", BOT)
    if option == "yes":
        t.answer_sender("unchanged")
        return
    item = t.job.book.routine.items[pending.item]
    for act in item.acts:
        if t.job.acts.holds(act):
            effects.undo(t, act)
    if not item.acts:
        effects.doubt(t, {}, (item.id,))
    t.answer_sender("retracted", noted=last_label(item.id))


def _skip_because(t: Turning, option: str, pending: Pending) -> None:
    skip(t, pending.item, sentences()["options"][option])


def _unseen(t: Turning, option: str, pending: Pending) -> None:
    media.unseen(t, pending.item, sentences()["options"][option])


def skip(t: Turning, item: str, reason: str) -> None:
    """Leave a skippable step out for a reason."""
    if t.job.pending is not None:
        t.note("unpended", BOT)
    t.note("skipped", item=item, reason=Private(reason))
    t.answer_sender("skipped")


def _problem(t: Turning, option: str, _pending: Pending) -> None:
    t.note("unpended", BOT)
    match option:
        case "danger":
            effects.see_danger(t, "reported")
        case "lost":
            WORDS["lost"](t, Word("lost"), None)
        case "dispatch":
            call_dispatch(t)
        case "hand_off":
            WORDS["hand_off"](t, Word("hand_off"), None)
        case _:
            WORDS["cannot"](t, Word("cannot"), prompt_for(t.job).item)


def _alarm(t: Turning, option: str, pending: Pending) -> None:
    """Take an emergency as there, or let the question go; the words kept by it may count then."""
    if option == ALARMS[pending.kind][0]:
        alarms.take(t, pending.kind.removeprefix("alarm_"))
    else:
        t.note("unpended", BOT)
        if pending.fact == "danger" and t.job.acts["danger"] == "seen":
            effects.was_mistaken(t)


def call_dispatch(t: Turning) -> None:
    """Tell dispatch that the driver asks for it."""
    t.say("dispatch_asked", "dispatchers")
    t.answer_sender("dispatch_called")


IN_HAND: dict[str, Callable[[Turning, str, Pending], None]] = {
    **dict.fromkeys(READ_BACKS, _read_back),
    **dict.fromkeys((*READ_BACK_OF.values(), *SLOPES.values()), _number),
    "name": _name,
    "still": _still,
    "heard": _heard,
    "skip": _skip_because,
    "unseen": _unseen,
    "problem": _problem,
    **dict.fromkeys(ALARMS, _alarm),
}
"""The effect of the chosen option, by the kind of exchange in hand."""

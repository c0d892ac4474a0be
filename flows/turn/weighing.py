"""A weight that was said: read back before it counts, or questioned."""

from flows.hearing.answers import ALLOWED_LB, READ_BACK_OF, USUAL_LB
from flows.hearing.prompts import Prompt
from flows.job.intents import Measured, Weighs, Word
from flows.job.state import Pending
from flows.routine.items import Item, Question
from flows.telling.labels import fact_label
from flows.telling.slots import read_back_slots
from flows.turn import effects
from flows.turn.turning import BOT, Turning

MOST_LOAD_LB = 10_000


def weighs(t: Turning, intent: Weighs, prompt: Prompt) -> None:
    """Read a weight back before it counts; question an unusual one.

    It is read back to whoever gave it: the driver is asked next, somebody else answers while
    the driver goes on, and the driver may object.
    """
    if _is_load(intent, prompt):
        _weighs_load(t, intent, prompt)
        return
    wrong = _wrong(intent)
    if wrong is not None:
        key, slots = wrong
        if t.sender_is_driver():
            effects.pend(t, Pending("number", "weight", misses=_misses(t)))
        t.answer_sender(key, **slots)
        return
    one = _given(t, intent)
    if not t.sender_is_driver():
        _offer(t, one)
        return
    if t.job.theirs is not None:
        t.note("unoffered", BOT)
    effects.pend(t, one)


def _is_load(intent: Weighs, prompt: Prompt) -> bool:
    """Say whether a weight is that of the load: said so, or asked for and not said otherwise."""
    asks_load = prompt.answer.fact == "load_lb" or prompt.pending == READ_BACK_OF["load_lb"]
    is_load = intent.is_load or (asks_load and not intent.is_whole)
    return is_load and not intent.has_more


def _weighs_load(t: Turning, intent: Weighs, prompt: Prompt) -> None:
    """Read back the load in the vehicle or on its bed; of several readings the most counts."""
    most = max(reading.high for reading in intent.readings)
    least = min(reading.low for reading in intent.readings)
    if least < 0 or most > MOST_LOAD_LB:
        wrong = least if least < 0 else most
        t.answer_sender("impossible_load", value_shown=f"{wrong:,} lb")
    elif t.sender_is_driver():
        read_back_number(t, Measured("load_lb", most), prompt)
    else:
        t.answer_sender("not_yours")


def read_back_number(t: Turning, intent: Measured, prompt: Prompt) -> None:
    """Read another deciding number back before it counts: how far it is pulled."""
    is_asked = isinstance(prompt.item, Question) and prompt.item.fact == intent.fact
    item = prompt.item.id if is_asked and prompt.item is not None else ""
    effects.pend(t, Pending(READ_BACK_OF[intent.fact], intent.fact, intent.value, item))


def _wrong(intent: Weighs) -> tuple[str, dict[str, str]] | None:
    """Return why a weight cannot be read back, as a sentence and its slots."""
    low, high = ALLOWED_LB
    least, most = intent.readings[0].low, intent.readings[0].high
    if intent.has_more:
        return "two_weights", {}
    if len(intent.readings) > 1:
        shown = " or ".join(sorted({f"{r.high:,} lb" for r in intent.readings}))
        return "ambiguous", {"readings_shown": shown}
    if least < 0 or not low <= most <= high:
        return "impossible", {"value_shown": f"{least if least < 0 else most:,} lb"}
    return None


def _given(t: Turning, intent: Weighs) -> Pending:
    first, kind = intent.readings[0], _read_back(intent)
    # Outside the usual only its high end is read back.
    said = "" if kind == "read_back_unusual" and first.low != first.high else intent.said
    return Pending(kind, "weight", first.high, misses=_misses(t), said=said)


def _offer(t: Turning, one: Pending) -> None:
    """Read a weight back to somebody else who gave it, and tell the driver of it."""
    t.note("offered", kind=one.kind, fact=one.fact, value=one.value, said=one.said)
    slots = read_back_slots(one)
    t.say(one.kind, "sender", **slots)
    t.say("weight_offered", **slots)


def gave(t: Turning) -> bool:
    """Say whether whoever speaks is somebody else whose weight waits for their own yes."""
    theirs = t.job.theirs
    return theirs is not None and theirs.by == t.by and not t.sender_is_driver()


def settle_theirs(t: Turning, option: str) -> None:
    """Take the yes or no of whoever gave a weight."""
    theirs = t.job.theirs
    if theirs is None:
        return
    t.note("unoffered", BOT)
    if option != "yes":
        t.answer_sender("read_back_no")
        return
    count(t, theirs)


def count(t: Turning, one: Pending) -> None:
    """Let a weight count that was read back and got its yes, and its source with it."""
    how = "ticket" if one.kind == "read_back_scaled" else "stated"
    if how != (t.job.value("weight_how") or "stated"):
        effects.give(t, "weight_how", how, effects.how_said(t))
    effects.give(t, one.fact, one.value, effects.how_said(t))
    t.noted.append(fact_label(t.job, one.fact, one.value))


def object_to_weight(t: Turning, _word: Word, _item: Item | None) -> None:
    """Drop a weight that somebody else offered, or ask again for the weight on record."""
    if t.job.theirs is not None:
        t.note("unoffered", BOT)
        t.say("weight_objected", "dispatchers")
        t.answer_sender("unchanged")
    elif t.job.value("weight") is not None:
        effects.pend(t, Pending("number", "weight"))
    else:
        t.answer_sender("unchanged")


def _read_back(intent: Weighs) -> str:
    """Return how a weight is read back: of a range the high end decides, and both are said."""
    low, high = intent.readings[0].low, intent.readings[0].high
    if not USUAL_LB[0] <= high <= USUAL_LB[1]:
        return "read_back_unusual"
    if low != high:
        return "read_back_range"
    if intent.is_over:
        return "read_back_over"
    return "read_back_scaled" if intent.scaled else "read_back"


def _misses(t: Turning) -> int:
    return 0 if t.job.pending is None else t.job.pending.misses

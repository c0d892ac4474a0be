"""What was said, applied: who may say what, then each intent in its turn."""

from collections.abc import Callable

from flows.hearing.notes import enough, uneven
from flows.hearing.prompts import Prompt, choice_slots
from flows.job import windows
from flows.job.acts import WINCH_RUNS, is_of, that_stands
from flows.job.events import Heard
from flows.job.facts import FACTS
from flows.job.intents import (
    Chosen,
    Danger,
    Did,
    Give,
    Intent,
    Measured,
    Note,
    Nothing,
    Settled,
    Undid,
    Weighs,
    When,
    Word,
)
from flows.job.state import Pending
from flows.job.windows import claim, claimed_value
from flows.routine import card_waits
from flows.routine.items import Gate, HandOff, Item, Photo, Question, Step, WaitStep
from flows.telling.labels import act_label, fact_label, fact_name, last_label, reason_of
from flows.telling.left_open import left_open
from flows.texts import word
from flows.turn import effects, media
from flows.turn.emergencies import EMERGENCIES
from flows.turn.exchanges import IN_HAND, skip
from flows.turn.turning import BOT, Turning
from flows.turn.unclear import nothing, unclear
from flows.turn.weighing import gave, object_to_weight, read_back_number, settle_theirs, weighs
from flows.turn.words import WORDS

# What anyone enrolled may say of a job, beside facts.
FOR_ALL = frozenset({"stop", "repeat", "status", "window", "numbers", "sheet", "why", "help",
                     "margin", "weight", "height", "helps", "noted", "settle", "override",
                     "take_over", "points", "keep_off", "neutral_ends", *EMERGENCIES})  # fmt: skip
WHILE_PAUSED = FOR_ALL | {
    "resume",
    "hand_off",
    "hold",
    "problem",
    "back",
    "strap_off",
    "truck_moved",
}


def apply(t: Turning, intents: tuple[Intent, ...], prompt: Prompt) -> None:
    """Apply what was meant, in order; what cannot be applied gets its own sentence.

    A strap through a wheel, or a line that holds instead of one, is no strap.
    """
    if not t.sender_is_driver() and t.job.unclear_to[1] and intents[0] != Nothing("unclear"):
        t.note("unclear", BOT, n=0, of=t.by)
    intents = tuple(i for i in intents if i in NO_STRAP) or intents
    for intent in intents:
        if isinstance(intent, Danger):
            effects.see_danger(t, intent.sign)
        elif isinstance(intent, Chosen) and gave(t):
            settle_theirs(t, intent.option)
        elif not _allowed(t, intent):
            t.answer_sender("not_yours")
        elif t.job.paused is not None and not _while_paused(t, intent):
            t.answer_sender("still_held")
        else:
            _APPLY[type(intent)](t, intent, prompt)


NO_STRAP = frozenset({Word("through_wheel"), Word("by_line")})


def _allowed(t: Turning, intent: Intent) -> bool:
    """Others add facts, warn, stop and ask; only the driver at the vehicle settles steps."""
    if t.sender_is_driver():
        return True
    if isinstance(intent, Word):
        return intent.name in FOR_ALL
    return isinstance(intent, Give | Weighs | Nothing)


def _while_paused(t: Turning, intent: Intent) -> bool:
    """What was done or is known is taken while nothing is asked; a "go" is not."""
    if isinstance(intent, Word):
        return intent.name in WHILE_PAUSED
    if isinstance(intent, Settled):
        return isinstance(t.job.book.routine.items[intent.item], Step)
    return isinstance(intent, Did | Undid | Give | Weighs | Measured)


def _give(t: Turning, intent: Give, prompt: Prompt) -> None:
    known = t.job.facts.get(intent.fact)
    item = prompt.item if _asks(prompt.item, intent.fact) else None
    again = t.job.pending is not None and t.job.pending.kind == "again"
    if again and item is not None:
        t.note("unpended", BOT)
    if known is not None and known.value == intent.value and known.how != "assumed":
        t.noted.append(fact_label(t.job, intent.fact, intent.value))
        return
    if intent == Give("danger", "seen"):
        effects.see_danger(t, "seen")
        return
    effects.give(t, intent.fact, intent.value, effects.how_said(t), item.id if item else "")
    told = any(reply.key == "says.card_variant" for reply in t.replies)
    if (item is None or again) and not (told and intent.fact == "card"):
        t.noted.append(fact_label(t.job, intent.fact, intent.value))


def _asks(item: Item | None, fact: str) -> bool:
    return isinstance(item, Question) and item.fact == fact


def _did(t: Turning, intent: Did, prompt: Prompt) -> None:
    item = prompt.item
    # A step is done by its last act only: "stopped" on the way up is not "on deck". Of several
    # disconnects the one that is asked for is meant.
    if isinstance(item, Step) and item.acts and is_of(intent.act, item.acts[-1]):
        _settle(t, item, None)
        return
    if intent.act in {"danger_released"}:
        t.answer_sender("danger_stays" if t.job.acts["danger"] == "seen" else "unclear_1")
        return
    if that_stands(t.job.acts, intent.act) is not None:
        return
    effects.do(t, intent.act)
    t.noted.append(act_label(intent.act))
    if intent.act == "warned":
        # Set out before it was asked for: how far apart was told nobody yet.
        t.answer_sender("warned_where")


def _undid(t: Turning, intent: Undid, prompt: Prompt) -> None:
    """Take back what stood; of what never stood, "not yet" is no news."""
    act = that_stands(t.job.acts, intent.act)
    if act is None:
        unclear(t, prompt)
        return
    if act == "danger_released":
        # A release that was none is danger again, never nothing.
        effects.see_danger(t, "release taken back")
        return
    effects.undo(t, act)
    t.answer_sender("retracted", noted=act_label(act))


def _settled(t: Turning, intent: Settled, prompt: Prompt) -> None:
    _settle(t, t.job.book.routine.items[intent.item], None)
    if t.job.paused is not None:
        t.noted.append(last_label(intent.item))


def settle_with_time(t: Turning, intents: tuple[Intent, ...], prompt: Prompt) -> bool:
    """Apply a step and its time together: "neutral, two minutes ago"."""
    when = next((i for i in intents if isinstance(i, When)), None)
    done = next((i for i in intents if isinstance(i, Settled | Did)), None)
    if when is None or done is None or not t.sender_is_driver():
        return False
    rest = tuple(i for i in intents if i not in {when, done})
    if when.ago_min is not None and when.ago_min < 0:
        # What is to be done in five minutes is not done.
        t.answer_sender("when_ahead")
        apply(t, tuple(i for i in rest if not isinstance(i, Settled | Did)), prompt)
        return True
    if _is_ahead(t, when):
        # The time is in doubt, what was done is not: it counts from the earliest it can be.
        t.answer_sender("when_ahead")
        apply(t, (done, *rest), prompt)
        return True
    item = prompt.item
    acts = item.acts if isinstance(item, Step) else ()
    is_open = isinstance(done, Settled) or acts[-1:] == (done.act,)
    if is_open and isinstance(item, Step):
        _settle(t, item, when)
    elif isinstance(done, Did) and done.act == "neutral_selected":
        effects.do(t, done.act, when=when)
        t.noted.append(act_label(done.act))
    else:
        return False
    apply(t, rest, prompt)
    return True


def _is_ahead(t: Turning, when: When) -> bool:
    stamped = t.event.stamped_ms if isinstance(t.event, Heard) else None
    return windows.is_ahead(when, t.at, stamped)


def _settle(t: Turning, item: Item, when: When | None) -> None:
    if isinstance(item, Photo):
        media.settle(t, item)
        return
    if isinstance(item, WaitStep) and card_waits.left_ns(t.job, item, t.at):
        t.answer_sender("wait_on")
        return
    if item.acts == ("danger_released",):
        if when is None:
            t.answer_sender("reask_time", word=word("released_with_time"))
            return
        if _before_danger(t, when):
            t.answer_sender("release_early")
            return
        effects.do(t, "danger_released", item.id, when)
        return
    for act in item.acts:
        effects.do(t, act, item.id, when)
    if not item.acts:
        t.note("done", item=item.id)


def _before_danger(t: Turning, when: When) -> bool:
    """Say whether a release is claimed for a time before the danger was seen, by the minute."""
    seen, heard = t.job.danger_at, t.event
    if seen is None or not isinstance(heard, Heard):
        return False
    if when.ago_min is not None:
        claimed = heard.at.wall_ms - when.ago_min * 60_000
    else:
        claimed = windows.claimed_wall_ms(when, heard.at, heard.stamped_ms) or heard.at.wall_ms
    return claimed < seen.wall_ms - 60_000


def _chosen(t: Turning, intent: Chosen, prompt: Prompt) -> None:
    pending = t.job.pending
    if pending is not None:
        IN_HAND[pending.kind](t, intent.option, pending)
        return
    gate = prompt.item
    if not isinstance(gate, Gate):
        return
    option = next(o for o in gate.options if o.id == intent.option)
    for name in option.clears:
        if name in t.job.facts:
            t.note("fact_cleared", name=name, why=gate.id)
    if option.moves_truck:
        effects.truck_moved(t)
    if option.hands_off:
        t.note("handoff_wanted", reason=reason_of(gate.id))
    if option.closes:
        t.note("ended", how="closed", reason="", open=list(left_open(t.job)))


def _when(t: Turning, intent: When, prompt: Prompt) -> None:
    if not _asks(prompt.item, "neutral_when"):
        unclear(t, prompt)
        return
    if _is_ahead(t, intent):
        t.answer_sender("when_ahead")
        return
    effects.earlier_window(t, intent)
    t.note(
        "fact",
        name="neutral_when",
        value=claimed_value(intent),
        how=effects.how_said(t),
        claimed=claim(intent),
        item=prompt.item.id if prompt.item is not None else "",
    )


def _note(t: Turning, intent: Note, prompt: Prompt) -> None:
    pending = t.job.pending
    if pending is not None and pending.kind == "skip":
        if len(intent.text.split()) < 3:
            t.answer_sender("skip_reason")
            return
        skip(t, pending.item, intent.text)
        return
    if pending is not None and pending.kind == "unseen":
        media.unseen(t, pending.item, intent.text)
        return
    item = prompt.item
    if isinstance(item, HandOff):
        effects.pend(t, Pending("name", "handed_to", intent.text, item.id))
    elif isinstance(item, Question):
        _free_words(t, item, intent.text)


def _free_words(t: Turning, item: Question, text: str) -> None:
    """Take a fact in free words; a name is read back, what holds too little is asked again."""
    if FACTS[item.fact].is_name:
        effects.pend(t, Pending("name", item.fact, text, item.id))
    elif not enough(item.fact, text):
        t.answer_sender("vin_again" if item.fact == "vin" else "temperatures_three")
    else:
        if t.job.pending is not None:
            # It was gone back to: the new words end that.
            t.note("unpended", BOT)
        effects.give(t, item.fact, text, effects.how_said(t), item.id)
        if item.fact != "vin" and not t.by_voice:
            # What they were taken for is said: that one, and a voice note, are read back.
            t.noted.append(fact_name(item.fact))
        if item.fact == "temperatures" and uneven(text):
            t.say("pack_uneven")


def _word(t: Turning, intent: Word, prompt: Prompt) -> None:
    """Apply a word for any time; yes, no and ok are answers only where they are asked for."""
    if intent.name in {"yes", "no", "ok"}:
        _bare(t, intent, prompt)
    elif intent.name == "not_sure":
        _unsure(t, prompt)
    elif intent.name == "problem":
        effects.pend(t, Pending("problem"))
    elif intent.name == "back":
        _back(t)
    elif intent.name == "nobody_came":
        _nobody_came(t, prompt)
    elif intent.name in WORDS:
        WORDS[intent.name](t, intent, prompt.item)
    else:
        unclear(t, prompt)


def _bare(t: Turning, intent: Word, prompt: Prompt) -> None:
    item = prompt.item
    if intent.name == "no" and t.job.theirs is not None:
        # Nothing else was asked that a no could answer.
        object_to_weight(t, intent, item)
        return
    critical = item is not None and item.critical and isinstance(item, Step | Gate)
    pulls = t.job.acts["winch"] in WINCH_RUNS
    names = critical and not pulls and intent.name != "no" and bool(prompt.answer.words)
    if names and t.job.unclear == 0:
        t.note("unclear", BOT, n=1)
        t.answer_sender("reask_state", word=choice_slots(prompt)["choices_spoken"])
    else:
        unclear(t, prompt)


def _unsure(t: Turning, prompt: Prompt) -> None:
    """Take "not sure": of an exchange in hand it is the way out, and nothing changes."""
    item = prompt.item
    if prompt.pending:
        t.note("unpended", BOT)
        t.answer_sender("unchanged")
    elif isinstance(item, Question) and t.sender_is_driver():
        if item.fact == "danger" and t.job.looked("danger"):
            effects.see_danger(t, "not sure")
        else:
            effects.not_sure(t, item)
    else:
        unclear(t, prompt)


def _nobody_came(t: Turning, prompt: Prompt) -> None:
    if t.job.acts["danger"] == "seen":
        t.note("handoff_wanted", reason="nobody_came")
    else:
        unclear(t, prompt)


def _back(t: Turning) -> None:
    """Offer to correct the last thing settled: its question again, or whether it still is so."""
    item = t.job.book.routine.items.get(t.job.last)
    if item is None or (isinstance(item, Question) and t.job.value(item.fact) is None):
        t.answer_sender("back_nothing")
    elif isinstance(item, Question):
        effects.pend(t, Pending("again", item=item.id))
    elif isinstance(item, Step | Gate):
        effects.pend(t, Pending("still", item=item.id))
    else:
        t.answer_sender("back_nothing")


_APPLY: dict[type, Callable[..., None]] = {
    Give: _give,
    Did: _did,
    Undid: _undid,
    Settled: _settled,
    Chosen: _chosen,
    Weighs: weighs,
    Measured: read_back_number,
    When: _when,
    Note: _note,
    Nothing: nothing,
    Word: _word,
}

"""Intents applied: who may say what, then the effect of each intent in order."""

from collections.abc import Callable

from flows.hearing.answers import ALARMS, SLOPES
from flows.hearing.notes import enough, uneven
from flows.hearing.prompts import Prompt, choice_slots, prompt_for
from flows.job import windows
from flows.job.acts import WINCH_RUNS, is_of, that_stands
from flows.job.events import Heard
from flows.job.facts import FACTS
from flows.job.intents import (
    Alarm,
    Chosen,
    Danger,
    Did,
    Give,
    Intent,
    Measured,
    Note,
    Nothing,
    Settled,
    Sloped,
    Undid,
    Unsettled,
    Weighs,
    When,
    Word,
)
from flows.job.state import Job, Pending
from flows.job.windows import claim, claimed_value
from flows.routine import card_waits
from flows.routine.items import Gate, HandOff, Item, Option, Photo, Question, Step, WaitStep
from flows.telling.labels import act_label, fact_label, fact_name, last_label, reason_of
from flows.telling.left_open import left_open
from flows.texts import phrases, word
from flows.turn import alarms, effects, media, news
from flows.turn.exchanges import IN_HAND, skip
from flows.turn.turning import BOT, Turning
from flows.turn.weighing import gave, object_to_weight, read_back_number, settle_theirs, weighs
from flows.turn.who_may import refusal
from flows.turn.words import WORDS


def apply(t: Turning, intents: tuple[Intent, ...], prompt: Prompt) -> None:
    """Apply intents in order; an intent that cannot be applied gets a sentence of its own.

    A strap through a wheel, or a line that holds instead of a strap, is no strap.
    """
    _count_afresh(t, intents)
    for intent in tuple(i for i in intents if i in NO_STRAP) or intents:
        if intent != Word("stop") or not _saw_danger(t):
            _apply_one(t, intent, prompt)


def _count_afresh(t: Turning, intents: tuple[Intent, ...]) -> None:
    """Forget how often somebody else was not understood, now that they are."""
    understood = bool(intents) and intents[0] != Nothing("unclear")
    if not t.sender_is_driver() and t.job.unclear_to[1] and understood:
        t.note("unclear", BOT, n=0, of=t.by)


def _saw_danger(t: Turning) -> bool:
    """Say whether danger was seen in this turn: that stops everything, and asks what helps."""
    return t.job.acts["danger"] == "seen" != t.before.acts["danger"]


def _apply_one(t: Turning, intent: Intent, prompt: Prompt) -> None:
    if isinstance(intent, Danger):
        effects.see_danger(t, intent.sign)
    elif isinstance(intent, Alarm):
        alarms.ask(t, intent, prompt)
    elif isinstance(intent, Chosen) and gave(t):
        settle_theirs(t, intent.option)
    elif isinstance(intent, Did | Undid) and _is_news(t, intent):
        news.doubt(t, intent)
    elif instead := refusal(t, intent):
        t.answer_sender(instead)
    else:
        _APPLY[type(intent)](t, intent, prompt)


def _is_news(t: Turning, intent: Intent) -> bool:
    return not t.sender_is_driver() and news.of_anybody(intent)


NO_STRAP = frozenset({Word("through_wheel"), Word("by_line")})
"""Words that make the rest of a message about straps count for nothing."""


def _give(t: Turning, intent: Give, prompt: Prompt) -> None:
    if _stops_winch(t, intent):
        _did(t, Did("winch_stops"), prompt)
        return
    item = _asking(prompt.item, intent.fact)
    again = t.job.pending is not None and t.job.pending.kind == "again"
    if again and item:
        t.note("unpended", BOT)
    if _is_known(t.job, intent):
        t.noted.append(fact_label(t.job, intent.fact, intent.value))
    elif intent == Give("danger", "seen"):
        effects.see_danger(t, "seen")
    else:
        _take_fact(t, intent, item, echoes=again or not item)


def _sloped(t: Turning, intent: Sloped, prompt: Prompt) -> None:
    """Read a slope back with both ends named; at its worst it counts at once where it is known.

    Somebody else's word for it is a fact like any other: the driver hears of it.
    """
    known = t.job.value("slope")
    is_worse = known is not None and intent.value == "uphill"
    if not t.sender_is_driver() or is_worse or known == intent.value:
        _give(t, Give("slope", intent.value), prompt)
        return
    item = _asking(prompt.item, "slope")
    effects.pend(t, Pending(SLOPES[intent.value], "slope", intent.value, item))


def _stops_winch(t: Turning, intent: Give) -> bool:
    """Say whether it is the winch that has stopped, wherever the vehicle is by now."""
    runs = t.job.acts["winch"] in WINCH_RUNS
    return intent.fact == "stop_at" and t.sender_is_driver() and runs


def _take_fact(t: Turning, intent: Give, item: str, *, echoes: bool) -> None:
    effects.give(t, intent.fact, intent.value, effects.how_said(t), item)
    if echoes and not _names_card(t, intent):
        t.noted.append(fact_label(t.job, intent.fact, intent.value))


def _is_known(job: Job, intent: Give) -> bool:
    known = job.facts.get(intent.fact)
    return known is not None and known.value == intent.value and known.how != "assumed"


def _names_card(t: Turning, intent: Give) -> bool:
    """Say whether a card was given whose variant is said in this turn: that names it already."""
    return intent.fact == "card" and any(one.key == "says.card_variant" for one in t.replies)


def _asking(item: Item | None, fact: str) -> str:
    """Return the question that asks for a fact, "" where the item is no such question."""
    return item.id if isinstance(item, Question) and item.fact == fact else ""


def _did(t: Turning, intent: Did, prompt: Prompt) -> None:
    item = prompt.item
    # Only its last act settles a step: "stopped" on the way up is not "on deck". Of several
    # disconnects the driver means the disconnect in question.
    if isinstance(item, Step) and item.acts and is_of(intent.act, item.acts[-1]):
        _settle(t, item, None)
        return
    if intent.act == "danger_released":
        t.answer_sender("danger_stays" if t.job.acts["danger"] == "seen" else "unclear_1")
        return
    if that_stands(t.job.acts, intent.act) is not None:
        return
    effects.do(t, intent.act)
    t.noted.append(act_label(intent.act))
    if intent.act == "warned":
        # Set out before it was asked for, so nobody has been told how far apart.
        t.answer_sender("warned_where")


def _undid(t: Turning, intent: Undid, prompt: Prompt) -> None:
    """Take an act back; "not yet" of an act that was never done is no news."""
    act = that_stands(t.job.acts, intent.act)
    if act is None:
        unclear(t, prompt)
        return
    if act == "danger_released":
        # A release taken back is danger again, never nothing.
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
    when, done = _when_and_done(intents)
    if when is None or done is None or not t.sender_is_driver():
        return False
    rest = _without(intents, when, done)
    if when.is_to_come:
        # To be done in five minutes is not done.
        t.answer_sender("when_ahead")
        rest = _without_acts(rest)
    elif _is_ahead(t, when):
        # The time is in doubt, the act is not: it counts from the earliest it can have been.
        t.answer_sender("when_ahead")
        rest = (done, *rest)
    elif not _do_at(t, done, when, prompt.item):
        return False
    apply(t, rest, prompt)
    return True


def _when_and_done(intents: tuple[Intent, ...]) -> tuple[When | None, Settled | Did | None]:
    """Return the first time, and the first act or step, among intents."""
    when = next((i for i in intents if isinstance(i, When)), None)
    return when, next((i for i in intents if isinstance(i, Settled | Did)), None)


def _without(intents: tuple[Intent, ...], *taken: Intent) -> tuple[Intent, ...]:
    return tuple(i for i in intents if i not in taken)


def _without_acts(intents: tuple[Intent, ...]) -> tuple[Intent, ...]:
    return tuple(i for i in intents if not isinstance(i, Settled | Did))


def _do_at(t: Turning, done: Settled | Did, when: When, item: Item | None) -> bool:
    """Record a step or neutral with its time; say whether the time had a place there."""
    if isinstance(item, Step) and (isinstance(done, Settled) or item.acts[-1:] == (done.act,)):
        _settle(t, item, when)
        return True
    if done != Did("neutral_selected"):
        return False
    effects.do(t, done.act, when=when)
    t.noted.append(act_label(done.act))
    return True


def _is_ahead(t: Turning, when: When) -> bool:
    stamped = t.event.stamped_ms if isinstance(t.event, Heard) else None
    return windows.is_ahead(when, t.at, stamped)


def _settle(t: Turning, item: Item, when: When | None) -> None:
    if isinstance(item, Photo):
        media.settle(t, item)
    elif isinstance(item, WaitStep) and card_waits.left_ns(t.job, item, t.at):
        t.answer_sender("wait_on")
    elif item.acts == ("danger_released",):
        _release(t, item, when)
    elif item.acts:
        for act in item.acts:
            effects.do(t, act, item.id, when)
    else:
        t.note("done", item=item.id)


def _release(t: Turning, item: Item, when: When | None) -> None:
    """Take a release from danger, which counts with its time only, after the danger was seen."""
    if when is None:
        t.answer_sender("reask_time", word=word("released_with_time"))
    elif _before_danger(t, when):
        t.answer_sender("release_early")
    else:
        effects.do(t, "danger_released", item.id, when)


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
    if pending is not None and prompt.pending == pending.kind:
        IN_HAND[pending.kind](t, intent.option, pending)
        _words_after_all(t, pending)
    elif isinstance(prompt.item, Gate):
        _go_through(t, prompt.item, next(o for o in prompt.item.options if o.id == intent.option))


def _words_after_all(t: Turning, pending: Pending) -> None:
    """Take words that were asked about as an emergency, once there is none, as the answer."""
    prompt = prompt_for(t.job)
    is_asked = prompt.item is not None and prompt.item.id == pending.item
    if pending.kind in ALARMS and pending.value and is_asked and not prompt.pending:
        _note(t, Note(pending.value), prompt)


def _go_through(t: Turning, gate: Gate, option: Option) -> None:
    """Take the option that was chosen at a gate."""
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
    if not _asking(prompt.item, "neutral_when"):
        unclear(t, prompt)
        return
    if _is_ahead(t, intent):
        t.answer_sender("when_ahead")
        return
    effects.earlier_window(t, intent)
    if intent.is_least:
        _ask_most(t, prompt)
        return
    t.note(
        "fact",
        name="neutral_when",
        value=claimed_value(intent),
        how=effects.how_said(t),
        claimed=claim(intent),
        item=prompt.item.id if prompt.item is not None else "",
    )


def _ask_most(t: Turning, prompt: Prompt) -> None:
    """Ask for the most that "over ten minutes" can be; the ten have shortened the window."""
    if t.job.unclear % 2:
        unclear(t, prompt)
        return
    t.note("unclear", BOT, n=t.job.unclear + 1)
    t.answer_sender("when_most")


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


NOT_ENOUGH = {"vin": "vin_again", "plate": "plate_again", "temperatures": "temperatures_three"}
"""What is said where a note does not hold what its fact needs."""


def _free_words(t: Turning, item: Question, text: str) -> None:
    """Take a fact in free words; a name is read back, words without enough in them asked again."""
    if FACTS[item.fact].is_name:
        effects.pend(t, Pending("name", item.fact, text, item.id))
    elif not enough(item.fact, text):
        t.answer_sender(NOT_ENOUGH[item.fact])
    else:
        _take_words(t, item, text)


def _take_words(t: Turning, item: Question, text: str) -> None:
    if t.job.pending is not None:
        # The driver went back to this question; the new words answer it.
        t.note("unpended", BOT)
    effects.give(t, item.fact, text, effects.how_said(t), item.id)
    if item.fact != "vin" and not t.by_voice:
        # The echo names the fact. A VIN and a voice note are read back instead.
        t.noted.append(fact_name(item.fact))
    if item.fact == "temperatures" and uneven(text):
        t.say("pack_uneven")


SET_ASIDE = frozenset({"problem", "back", "nobody_came", "skip", "cannot", "later", "hand_off"})
"""Words that would set a question aside: whether there is an emergency is answered first."""


def _word(t: Turning, intent: Word, prompt: Prompt) -> None:
    """Apply a word for any time; yes, no and ok answer only a question that asks for them."""
    if prompt.pending in ALARMS and intent.name in SET_ASIDE:
        # Understood, and not done: the question is asked again.
        t.repeat = True
    elif intent.name == "false_alarm" and t.job.acts["danger"] != "seen":
        _no_danger(t, intent, prompt)
    elif intent.name in {"yes", "no", "ok"}:
        _bare(t, intent, prompt)
    elif intent.name == "not_sure":
        _unsure(t, prompt)
    elif intent.name == "nobody_came":
        _nobody_came(t, prompt)
    else:
        _any_time(t, intent, prompt)


def _any_time(t: Turning, intent: Word, prompt: Prompt) -> None:
    """Apply a word that means the same whatever is open."""
    if intent.name == "problem":
        effects.pend(t, Pending("problem"))
    elif intent.name == "back":
        _back(t)
    elif intent.name in WORDS:
        WORDS[intent.name](t, intent, prompt.item)
    else:
        unclear(t, prompt)


def _no_danger(t: Turning, intent: Word, prompt: Prompt) -> None:
    """Take "false alarm" before any danger: it answers only the question whether there is one."""
    if intent.name == "false_alarm" and prompt.pending == "alarm_smoke":
        _chosen(t, Chosen("none"), prompt)
    else:
        unclear(t, prompt)


def _bare(t: Turning, intent: Word, prompt: Prompt) -> None:
    if t.job.acts["rolling"] == "rolling":
        # On the road nothing is asked that a yes could answer.
        unclear(t, prompt)
    elif intent.name == "no" and t.job.theirs is not None:
        # A weight somebody else gave is all that a no can answer here.
        object_to_weight(t, intent, prompt.item)
    elif intent.name == "no":
        nothing(t, Nothing("negated"), prompt)
    elif t.job.unclear == 0 and _wants_state(t, prompt):
        t.note("unclear", BOT, n=1)
        t.answer_sender("reask_state")
        t.repeat = True
    else:
        unclear(t, prompt)


def _wants_state(t: Turning, prompt: Prompt) -> bool:
    """Say whether a critical step is open, which only the name of its state settles."""
    item = prompt.item
    is_step = isinstance(item, Step | Gate) and item.critical and bool(prompt.answer.words)
    return is_step and t.job.acts["winch"] not in WINCH_RUNS


def _unsure(t: Turning, prompt: Prompt) -> None:
    """Take "not sure"; in an exchange it is the way out, and nothing changes."""
    item = prompt.item
    if prompt.pending in ALARMS:
        # Not known is taken at its worst.
        alarms.take(t, prompt.pending.removeprefix("alarm_"))
    elif prompt.pending:
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
    """Offer to correct the last item: ask its question again, or whether it still holds."""
    item = t.job.book.routine.items.get(t.job.last)
    if item is None or (isinstance(item, Question) and t.job.value(item.fact) is None):
        t.answer_sender("back_nothing")
    elif isinstance(item, Question):
        effects.pend(t, Pending("again", item=item.id))
    elif isinstance(item, Step | Gate):
        effects.pend(t, Pending("still", item=item.id))
    else:
        t.answer_sender("back_nothing")


# Not understood


def nothing(t: Turning, intent: Nothing, prompt: Prompt) -> None:
    """Say why nothing was taken, or that it was not understood."""
    heard = t.event
    is_step = prompt.answer.kind == "state" and t.sender_is_driver()
    key = "not_done" if intent.why == "negated" and is_step else intent.why
    known = {"empty", "too_long", "kind_first", "rest", "not_done"}
    if _only_unclear(t) or not isinstance(heard, Heard) or key not in known:
        unclear(t, prompt)
        return
    if t.sender_is_driver():
        t.note("unclear", BOT, n=t.job.unclear + 1)
    t.answer_sender(key, length=f"{len(heard.text):,}")


def _only_unclear(t: Turning) -> bool:
    """Say no more than that it was not understood: every other time, and while the winch runs.

    So the same sentence never comes twice running.
    """
    return t.job.unclear % 2 == 1 or t.job.acts["winch"] in WINCH_RUNS


def unsettled(t: Turning, intent: Unsettled, prompt: Prompt) -> None:
    """Ask what a state was said of, never with the word alone that would settle the step.

    Every other time only, and not while the winch runs: then it counts as not understood.
    """
    if _only_unclear(t) or t.job.acts["rolling"] == "rolling" or not t.sender_is_driver():
        unclear(t, prompt)
        return
    t.note("unclear", BOT, n=t.job.unclear + 1)
    t.answer_sender(asked_back(intent, prompt.item))


def asked_back(intent: Unsettled, item: Item | None) -> str:
    """Return the question that is asked about a state named among other words."""
    named = intent.act or (item.acts[-1] if item is not None and item.acts else "")
    table = phrases()["asked_back"]
    return next((key for key, acts in table.items() if named in acts), "what_is_done")


def unclear(t: Turning, prompt: Prompt) -> None:
    """Ask to say it again, then give the choices, then offer buttons or dispatch.

    While the winch runs each of these offers to stop it first. On the road nothing is offered.
    """
    if not t.sender_is_driver():
        _unclear_to(t)
        return
    n = t.job.unclear + 1
    t.note("unclear", BOT, n=n)
    level = _level(n)
    if t.job.acts["winch"] in WINCH_RUNS:
        t.answer_sender(f"unclear_pull_{level}")
        return
    if t.job.acts["rolling"] == "rolling":
        t.answer_sender(f"unclear_rolling_{2 - n % 2}")
        return
    key = _unclear_key(prompt, n)
    t.answer_sender(key, **choice_slots(prompt))
    # The ways on from a decision are told with what is decided.
    t.repeat = t.repeat or key == "unclear_choice"


def _unclear_key(prompt: Prompt, n: int) -> str:
    """Return the sentence for the n-th time that an answer was not understood.

    Whoever was not understood may mean the opposite: where a state is wanted, its word is never
    offered, and what cannot be told from the answer is said instead.
    """
    level = _level(n)
    if prompt.answer.kind == "state":
        return ("unclear_step", "unclear_state", "unclear_call")[level - 1]
    if isinstance(prompt.item, Gate) and not prompt.pending:
        return ("unclear_3", "unclear_choice")[n % 2]
    if prompt.pending in ALARMS:
        level = max(level, 2)
    if level > 1 and not prompt.answer.choices:
        level = 1 if n % 2 else 3
    return f"unclear_{level}"


def _unclear_to(t: Turning) -> None:
    """Tell somebody else that it was not understood, and then the words they may say."""
    who, often = t.job.unclear_to
    n = often + 1 if who == t.by else 1
    t.note("unclear", BOT, n=n, of=t.by)
    t.answer_sender(f"unclear_to_{_level(n)}")


def _level(n: int) -> int:
    """Return which text says it for the n-th time: 1, 2, 3, then 2 and 3 in turn."""
    return n if n < 3 else 2 + n % 2


_APPLY: dict[type, Callable[..., None]] = {
    Give: _give,
    Did: _did,
    Undid: _undid,
    Settled: _settled,
    Chosen: _chosen,
    Weighs: weighs,
    Measured: read_back_number,
    Sloped: _sloped,
    When: _when,
    Note: _note,
    Nothing: nothing,
    Unsettled: unsettled,
    Word: _word,
}

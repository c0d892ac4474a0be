"""A message read against the open question: an opening, notes by their heads, the rest."""

import re
from collections.abc import Iterator
from dataclasses import replace

from flows.hearing.answers import NOTHING, Answer
from flows.hearing.corrections import ender_said, retimed, with_distance, with_voltage
from flows.hearing.left_out import not_taken
from flows.hearing.lexicon import lexicon_of, universal
from flows.hearing.likely import likely
from flows.hearing.notes import enough, headed, parts_of, sorted_out
from flows.hearing.placing import facts_first, says_something
from flows.hearing.prompts import Prompt, prompt_for, theirs_for
from flows.hearing.sloping import sloped
from flows.hearing.understand import choice, understand
from flows.job.acts import WINCH_RUNS
from flows.job.events import Heard
from flows.job.intents import (
    Alarm,
    Chosen,
    Danger,
    Did,
    Give,
    Intent,
    Likely,
    Note,
    Nothing,
    Settled,
    Undid,
    Weighs,
    Word,
)
from flows.job.state import Pending
from flows.measures.tokens import tokens
from flows.routine.items import Step
from flows.telling.labels import fact_name
from flows.turn import effects
from flows.turn.applying import apply, settle_with_time
from flows.turn.headroom import take_ceiling
from flows.turn.news import UNASKED, in_reply
from flows.turn.turning import BOT, Turning
from flows.turn.weighing import gave


def names_danger(text: str) -> bool:
    """Say whether a text names a danger sign or says stop, whatever is open."""
    return understand(text, NOTHING, None)[0] == Word("stop") or isinstance(
        understand(text, NOTHING, None)[0], Danger
    )


WARNS = frozenset({"seen", "danger"})
"""The choices that say a danger is there. No other question and no menu offers them."""


def tells_danger(text: str, tap: str | None) -> bool:
    """Say whether words name a danger, or a button does: whatever is open, and however old it is.

    Examples
    --------
    >>> tells_danger("", "seen"), tells_danger("smoke", None), tells_danger("", "none")
    (True, True, False)
    """
    return tap in WARNS or names_danger(text)


NEUTRAL = frozenset({"neutral_selected", "neutral_confirmed"})


def read(t: Turning, heard: Heard, text: str, prompt: Prompt) -> tuple[Intent, ...]:
    """Return the meaning of words or a tap while a prompt is open."""
    if heard.tap is None:
        return _read_words(t, text, prompt.answer)
    return _read_tap(t, heard.tap, prompt.answer)


def _read_words(t: Turning, text: str, answer: Answer) -> tuple[Intent, ...]:
    said = _no_note(t, text, answer) or understand(text, answer, lexicon_of(t.job.book.library))
    if not isinstance(said[0], Danger | Alarm | Word) and ender_said(t.job, text):
        done = (one for one in said if _stays_done(t, one))
        return (*done, Undid("neutral_selected"))
    found = with_distance(with_voltage(said, text, answer), text, answer)
    return retimed(sloped(found, text, answer), text, answer, t.job)


def _read_tap(t: Turning, tap: str, answer: Answer) -> tuple[Intent, ...]:
    if tap == "not_sure":
        return (Word("not_sure"),)
    ids = [one for one, _ in answer.choices]
    if tap in ids:
        return choice(answer, ids.index(tap)) or (Nothing("unclear"),)
    return understand(tap.replace("_", " "), answer, lexicon_of(t.job.book.library))


def _stays_done(t: Turning, intent: Intent) -> bool:
    """Say whether an intent still counts after neutral has ended: any act but those of neutral."""
    if isinstance(intent, Settled):
        item = t.job.book.routine.items[intent.item]
        return isinstance(item, Step) and NEUTRAL.isdisjoint(item.acts)
    return isinstance(intent, Give) or (isinstance(intent, Did) and intent.act not in NEUTRAL)


def _no_note(t: Turning, text: str, answer: Answer) -> tuple[Intent, ...]:
    """Return the meaning of words that are no answer in free words; nothing where they are.

    A weight with its unit is a weight wherever it is said. Words without a VIN, or without every
    temperature, may tell something else.
    """
    if not _takes_words(answer) or not text:
        return ()
    other = understand(text, NOTHING, lexicon_of(t.job.book.library))
    weighs = any(isinstance(one, Weighs) for one in other)
    tells = not isinstance(other[0], Nothing | Word) and not enough(answer.fact, text)
    return other if weighs or tells else ()


def _takes_words(answer: Answer) -> bool:
    """Say whether free words that are no name answer a question for a fact."""
    return bool(answer.fact) and answer.takes_note and not answer.takes_name


def understood(t: Turning, heard: Heard, text: str) -> None:
    """Apply the meaning of words; those heard in a voice note once they are confirmed."""
    confirmed = _confirmed(t, heard, text)
    if confirmed is not None:
        text = confirmed
    text = _taken_over(t, text)
    if take_ceiling(t, text):
        return
    left = notes_taken(t, heard, text)
    if text and not left:
        return
    prompt = _prompt_of(t)
    intents = tuple(_without_news(t, heard, read(t, heard, left, prompt)))
    if heard.tap is None and intents == (Nothing("unclear"),):
        intents = _proposed(t, left, prompt) or intents
    if not settle_with_time(t, intents, prompt):
        apply(t, intents, prompt)
    if heard.tap is None:
        _say_not_taken(t, left, intents, prompt.answer)


def _proposed(t: Turning, text: str, prompt: Prompt) -> tuple[Intent, ...]:
    """Return the likeliest meaning of words that were not understood, to be proposed.

    Only at a first miss, to the driver who is asked; never in danger, on the road or while the
    winch runs.
    """
    is_else = prompt.pending or t.by_voice or t.job.paused is not None or t.job.unclear
    if is_else or _is_busy(t) or t.job.acts["winch"] in WINCH_RUNS:
        return ()
    meant = likely(text, prompt.answer)
    return (Likely(meant),) if isinstance(meant, Give | Settled) else ()


def _is_busy(t: Turning) -> bool:
    """Say whether nothing beside the matter in hand is said: in danger, on the road, to others."""
    acts = t.job.acts
    return acts["danger"] == "seen" or acts["rolling"] == "rolling" or not t.sender_is_driver()


_PARTS = re.compile(r"[,;!?\n]+|[:.](?!\d)")
TAKEN = frozenset({"act", "fact", "done", "retracted"})
"""Entries that tell of something taken from a message."""
ASKS = frozenset({"unclear", "alarmed"})
"""Entries beside which the message is asked about anyway."""


def _say_not_taken(t: Turning, text: str, intents: tuple[Intent, ...], answer: Answer) -> None:
    """Say what of a message was not taken, where something else was.

    Never where words are free, nor while danger is answered, on the road, or beside a question
    about the message itself.
    """
    kinds = {entry.kind for entry, _ in t.entries}
    took = not kinds.isdisjoint(TAKEN) and kinds.isdisjoint(ASKS)
    if answer.takes_note or answer.takes_name or _is_busy(t) or not took:
        return
    parts = tuple(filter(None, map(str.strip, _PARTS.split(text))))
    words = not_taken(parts, intents, answer, lexicon_of(t.job.book.library))
    if words:
        t.answer_sender("not_taken", words=words)


_CLAUSES = re.compile(r"[,;:!\n]+|\.(?!\d)")


def _taken_over(t: Turning, text: str) -> str:
    """Take "I'm taking over" first where it is said among other words; return the rest.

    What whoever takes over tells with it counts as that of the driver at the vehicle.
    """
    parts = [part.strip() for part in _CLAUSES.split(text) if part.strip()]
    rest = [part for part in parts if universal().get(tokens(part)) != "take_over"]
    if len(rest) == len(parts) or not rest or t.sender_is_driver():
        return text
    apply(t, (Word("take_over"),), UNASKED)
    return ", ".join(rest)


def _prompt_of(t: Turning) -> Prompt:
    """Return the question that the sender may answer; free words are the driver's own answer."""
    if gave(t):
        return theirs_for(t.job)
    prompt = prompt_for(t.job)
    is_others = prompt.answer.takes_note and not t.sender_is_driver()
    return UNASKED if is_others else prompt


REASON = Answer("note", takes_note=True)
GIVE_REASONS = frozenset({"skip", "cannot", "override", "settle"})


def _without_news(t: Turning, heard: Heard, intents: tuple[Intent, ...]) -> Iterator[Intent]:
    """Yield intents, the reason in them without the news that was told with it."""
    asks_why = _asks_why(t.job.pending)
    for one in intents:
        if isinstance(one, Word) and one.name in GIVE_REASONS and one.rest:
            yield replace(one, rest=_reason(t, heard, one.rest))
        elif isinstance(one, Note) and asks_why:
            reason = _reason(t, heard, one.text)
            yield from (Note(reason),) if reason else ()
        else:
            yield one


def _asks_why(pending: Pending | None) -> bool:
    return pending is not None and pending.kind in {"skip", "unseen"}


def _reason(t: Turning, heard: Heard, text: str) -> str:
    """Take the news in a reason; return the words that are left as the reason.

    "It was a crash" is no reason to leave a step out; it is what happened.
    """
    left = []
    for kind, words in sorted_out(text, REASON, lexicon_of(t.job.book.library)):
        if kind:
            _take_part(t, heard, kind, words)
        else:
            apply(t, in_reply(read(t, heard, words, UNASKED)), UNASKED)
            left.append(words)
    return ", ".join(left)


def _confirmed(t: Turning, heard: Heard, text: str) -> str | None:
    """Return the words heard before, if this is their yes; any words but a no replace them."""
    pending = t.job.pending
    if pending is None or pending.kind != "heard" or not t.sender_is_driver():
        return None
    said = read(t, heard, text, prompt_for(t.job))
    if said == (Chosen("yes"),):
        t.note("unpended", BOT)
        t.by_voice = True
        return str(pending.value or "")
    if isinstance(said[0], Nothing) and text:
        t.note("unpended", BOT)
    return None


def after_new_job(text: str) -> str:
    """Return the words of an opening after its "new job"."""
    index = text.lower().find("new job")
    return text[index + len("new job") :].strip(" ,.:;") if index >= 0 else ""


def opened_with(t: Turning, heard: Heard, text: str) -> None:
    """Take the facts of an opening, between commas; the rest of its words is the place."""
    where = ", ".join(filter(None, [_part_of_place(t, heard, part) for part in parts_of(text)]))
    if says_something(where) and t.job.ended is None:
        effects.give(t, "place", where, effects.how_said(t), "open.place")


def _part_of_place(t: Turning, heard: Heard, part: str) -> str:
    """Take the facts in one part of an opening; return the words that belong to the place."""
    found = headed(part, opens=True)
    if found is not None:
        _give_note(t, *found)
        return ""
    facts, rest = facts_first(part, _of_opening(t).answer, lexicon_of(t.job.book.library))
    if facts:
        apply(t, read(t, heard, facts, _of_opening(t)), _of_opening(t))
    if not rest:
        return ""
    intents = read(t, heard, rest, _of_opening(t))
    # After facts, only danger and a weight are no part of the place.
    no_place = isinstance(intents[0], Danger | Weighs)
    if isinstance(intents[-1], Alarm):
        # Asked about, and part of the place until then.
        apply(t, intents, _of_opening(t))
        return rest
    if isinstance(intents[0], Nothing) or (facts and not no_place):
        return rest
    apply(t, intents, _of_opening(t))
    return ""


def _of_opening(t: Turning) -> Prompt:
    """Return the open prompt, unless it takes free words: those may be the place."""
    prompt = prompt_for(t.job)
    return Prompt(None, NOTHING) if prompt.answer.takes_note else prompt


def notes_taken(t: Turning, heard: Heard, text: str) -> str:
    """Take the notes of a text, and the facts next to an answer in free words; return the rest.

    Facts alone do not answer a question for free words, which is asked again. Said once more,
    when they tell nothing new, they do.
    """
    prompt = prompt_for(t.job)
    if heard.tap is not None or prompt.answer.takes_name or _alarms(t, text, prompt.answer):
        return text
    parts = list(sorted_out(text, prompt.answer, lexicon_of(t.job.book.library)))
    kinds = {kind for kind, _ in parts}
    if kinds <= {""} or (kinds == {"facts"} and not _tells_more(t, heard, text)):
        return text
    for kind, words in parts:
        _take_part(t, heard, kind, words)
    return ", ".join(words for kind, words in parts if not kind)


def _alarms(t: Turning, text: str, answer: Answer) -> bool:
    """Say whether a text names a danger sign, says stop, or may be an emergency."""
    meant = understand(text, answer, lexicon_of(t.job.book.library))
    return names_danger(text) or any(isinstance(one, Alarm) for one in meant)


def _take_part(t: Turning, heard: Heard, kind: str, words: str) -> None:
    """Take one part of a text, by what it is: facts, a note of a fact, or neither."""
    if kind == "facts":
        apply(t, read(t, heard, words, Prompt(None, NOTHING)), Prompt(None, NOTHING))
    elif kind:
        _give_note(t, kind, words)


def _tells_more(t: Turning, heard: Heard, text: str) -> bool:
    """Say whether facts alone tell anything new, where a fact in free words is asked for."""
    if not prompt_for(t.job).answer.fact:
        return False
    told = read(t, heard, text, Prompt(None, NOTHING))
    return any(isinstance(one, Give) and t.job.value(one.fact) != one.value for one in told)


def _give_note(t: Turning, fact: str, words: str) -> None:
    effects.give(t, fact, words, effects.how_said(t))
    if fact != "vin":
        # A VIN is read back by itself.
        t.noted.append(fact_name(fact))

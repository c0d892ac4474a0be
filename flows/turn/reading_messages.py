"""What a message says, read against what is open: an opening, notes by their heads, the rest."""

from flows.hearing.answers import NOTHING, Answer
from flows.hearing.corrections import ender_said, retimed, with_distance, with_voltage
from flows.hearing.lexicon import lexicon_of
from flows.hearing.notes import enough, headed, parts_of, sorted_out
from flows.hearing.placing import facts_first, says_something
from flows.hearing.prompts import Prompt, prompt_for, theirs_for
from flows.hearing.understand import choice, understand
from flows.job.events import Heard
from flows.job.intents import (
    Chosen,
    Danger,
    Did,
    Give,
    Intent,
    Nothing,
    Settled,
    Undid,
    Weighs,
    Word,
)
from flows.routine.items import Step
from flows.telling.labels import fact_name
from flows.turn import effects
from flows.turn.applying import apply, settle_with_time
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
    """Return what words or a tap mean while a prompt is open."""
    answer = prompt.answer
    if heard.tap is None:
        said = _no_note(t, text, answer) or understand(
            text, answer, lexicon_of(t.job.book.library)
        )
        if not isinstance(said[0], Danger | Word) and ender_said(t.job, text):
            done = (one for one in said if _stays_done(t, one))
            return (*done, Undid("neutral_selected"))
        found = with_distance(with_voltage(said, text, answer), text, answer)
        return retimed(found, text, answer, t.job)
    if heard.tap == "not_sure":
        return (Word("not_sure"),)
    ids = [one for one, _ in answer.choices]
    if heard.tap in ids:
        return choice(answer, ids.index(heard.tap)) or (Nothing("unclear"),)
    return understand(heard.tap.replace("_", " "), answer, lexicon_of(t.job.book.library))


def _stays_done(t: Turning, intent: Intent) -> bool:
    """Say whether something counts beside what ends neutral: what was done, but for neutral."""
    if isinstance(intent, Settled):
        item = t.job.book.routine.items[intent.item]
        return isinstance(item, Step) and NEUTRAL.isdisjoint(item.acts)
    return isinstance(intent, Give) or (isinstance(intent, Did) and intent.act not in NEUTRAL)


def _no_note(t: Turning, text: str, answer: Answer) -> tuple[Intent, ...]:
    """Return what words mean that are no answer in free words: a weight, or no VIN; else nothing.

    A weight with its unit is one wherever it is said, and what holds no VIN, or not every
    temperature, may tell something else.
    """
    if not (answer.fact and answer.takes_note) or answer.takes_name or not text:
        return ()
    other = understand(text, NOTHING, lexicon_of(t.job.book.library))
    weighs = any(isinstance(one, Weighs) for one in other)
    tells = not isinstance(other[0], Nothing | Word) and not enough(answer.fact, text)
    return other if weighs or tells else ()


def understood(t: Turning, heard: Heard, text: str) -> None:
    """Apply what words mean, those that a voice note was heard to say once they are confirmed."""
    confirmed = _confirmed(t, heard, text)
    if confirmed is not None:
        text = confirmed
    left = notes_taken(t, heard, text)
    if text and not left:
        return
    prompt = theirs_for(t.job) if gave(t) else prompt_for(t.job)
    intents = read(t, heard, left, prompt)
    if not settle_with_time(t, intents, prompt):
        apply(t, intents, prompt)


def _confirmed(t: Turning, heard: Heard, text: str) -> str | None:
    """Return what was heard before, where its yes came; other words than a no take its place."""
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
    """Return what an opening says after its "new job"."""
    lowered = text.lower()
    place = lowered.find("new job")
    return text[place + len("new job") :].strip(" ,.:;") if place >= 0 else ""


def opened_with(t: Turning, heard: Heard, text: str) -> None:
    """Take the facts an opening brings, between commas; what is none of them is the place."""
    place: list[str] = []
    for part in parts_of(text):
        found = headed(part, opens=True)
        if found is not None:
            _give_note(t, *found)
            continue
        facts, rest = facts_first(part, _of_opening(t).answer, lexicon_of(t.job.book.library))
        if facts:
            apply(t, read(t, heard, facts, _of_opening(t)), _of_opening(t))
        if not rest:
            continue
        intents = read(t, heard, rest, _of_opening(t))
        # After facts only danger and a weight are no part of the place.
        if isinstance(intents[0], Nothing) or (
            facts and not isinstance(intents[0], Danger | Weighs)
        ):
            place.append(rest)
        else:
            apply(t, intents, _of_opening(t))
    where = ", ".join(place)
    if says_something(where) and t.job.ended is None:
        effects.give(t, "place", where, effects.how_said(t), "open.place")


def _of_opening(t: Turning) -> Prompt:
    """Return what is open, where that takes no free words: those may be the place."""
    prompt = prompt_for(t.job)
    return Prompt(None, NOTHING) if prompt.answer.takes_note else prompt


def notes_taken(t: Turning, heard: Heard, text: str) -> str:
    """Take the notes and, beside an answer in free words, the facts of a text; return the rest.

    Facts alone are no answer in free words, which are asked for again; said once more, when
    they tell nothing that is not known, they are.
    """
    prompt = prompt_for(t.job)
    if heard.tap is not None or prompt.answer.takes_name or names_danger(text):
        return text
    parts = list(sorted_out(text, prompt.answer, lexicon_of(t.job.book.library)))
    rest = [words for kind, words in parts if not kind]
    facts = [words for kind, words in parts if kind == "facts"]
    if len(rest) == len(parts) or (len(facts) == len(parts) and not _tells_more(t, heard, text)):
        return text
    for kind, words in parts:
        if kind == "facts":
            apply(t, read(t, heard, words, Prompt(None, NOTHING)), Prompt(None, NOTHING))
        elif kind:
            _give_note(t, kind, words)
    return ", ".join(rest)


def _tells_more(t: Turning, heard: Heard, text: str) -> bool:
    """Say whether facts alone, where a fact in free words is asked for, tell what is not known."""
    if not prompt_for(t.job).answer.fact:
        return False
    told = read(t, heard, text, Prompt(None, NOTHING))
    return any(isinstance(one, Give) and t.job.value(one.fact) != one.value for one in told)


def _give_note(t: Turning, fact: str, words: str) -> None:
    effects.give(t, fact, words, effects.how_said(t))
    if fact != "vin":
        # That one is read back by itself.
        t.noted.append(fact_name(fact))

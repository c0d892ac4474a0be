"""An answer by voice: taken and echoed, read back, or asked again.

A score says how sure the recogniser is; the harm of a wrong answer says how sure it has to be.
Words from a sound are marked as such, and the question they were heard under is checked.
"""

from flows.hearing.prompts import Prompt, prompt_for, theirs_for
from flows.job.events import Heard, Spoken
from flows.job.intents import (
    Alarm,
    Chosen,
    Danger,
    Give,
    Intent,
    Measured,
    Note,
    Nothing,
    Settled,
    Sloped,
    Weighs,
    When,
    Word,
)
from flows.job.state import Pending
from flows.routine.items import Gate, Question
from flows.turn import effects
from flows.turn.applying import apply
from flows.turn.emergencies import EMERGENCIES
from flows.turn.reading_messages import read, understood
from flows.turn.turning import Turning
from flows.turn.weighing import gave

TAKE, CHECK = 90, 40
"""From here on an answer is taken; from here on it is read back; below it is asked again."""
SURE_ENOUGH = frozenset({"correct", "affirmative", "that's it", "wrong", "negative"})
"""Yes and no that are not heard for each other."""
NOT_HEARD = {"empty": "voice_empty", "too_quiet": "voice_too_quiet",
             "too_long": "voice_too_long", "unreadable": "voice_unreadable",
             "no_engine": "voice_later"}  # fmt: skip
"""The sentence about a note in which nothing was heard, by the reason."""
_LETTERS = str.maketrans("", "", ".,!?")


def taken(t: Turning, heard: Heard, spoken: Spoken) -> None:
    """Take the words of a voice note, as far as they can be trusted."""
    if spoken.why:
        t.answer_sender(NOT_HEARD[spoken.why])
        return
    if spoken.opinion is not None and spoken.opinion.why:
        t.answer_sender("voice_no_opinion")
    prompt = theirs_for(t.job) if gave(t) else prompt_for(t.job)
    intents = read(t, heard, spoken.text, prompt)
    t.by_voice = True
    if _is_urgent(intents) and spoken.score >= CHECK:
        apply(t, intents, prompt)
    elif _is_unsure(spoken) or isinstance(intents[0], Nothing) or _is_late(t, spoken, prompt):
        apply(t, (Nothing("unclear"),), prompt)
    else:
        _take_understood(t, heard, spoken, intents, prompt)


def _take_understood(
    t: Turning, heard: Heard, spoken: Spoken, intents: tuple[Intent, ...], prompt: Prompt
) -> None:
    """Take words that mean something, check them with the driver, or ask for a longer phrase."""
    longer = _longer(intents, spoken.text, prompt)
    if longer:
        t.answer_sender(longer)
    elif _is_taken(spoken, intents, prompt):
        _take(t, heard, spoken, intents)
    elif prompt.pending or not t.sender_is_driver():
        # One exchange at a time: the open one is asked again.
        apply(t, (Nothing("unclear"),), prompt)
    else:
        item = "" if prompt.item is None else prompt.item.id
        effects.pend(t, Pending("heard", value=spoken.text, item=item))


def _take(t: Turning, heard: Heard, spoken: Spoken, intents: tuple[Intent, ...]) -> None:
    """Apply the words, with an echo of them unless a read-back of their own follows."""
    if spoken.is_free:
        if not _reads_back(intents, prompt_for(t.job)):
            t.answer_sender("voice_draft", heard=_bare(spoken.text))
    elif not _reads_back(intents, prompt_for(t.job)) and not isinstance(intents[0], Word):
        t.answer_sender("voice_took", heard=_bare(spoken.text))
    understood(t, heard, spoken.text)


def _bare(text: str) -> str:
    """Return a text without its last mark: the sentence around it has its own."""
    return text.rstrip(" .,!?")


def _is_urgent(intents: tuple[Intent, ...]) -> bool:
    first = intents[0]
    return isinstance(first, Danger | Alarm) or (
        isinstance(first, Word) and (first.name == "stop" or first.name in EMERGENCIES)
    )


def _is_unsure(spoken: Spoken) -> bool:
    return spoken.score < CHECK and not spoken.is_free


def _is_late(t: Turning, spoken: Spoken, prompt: Prompt) -> bool:
    """Say whether another question was open when it was heard, whose words mean other things."""
    return t.sender_is_driver() and spoken.under != prompt.key


def _is_taken(spoken: Spoken, intents: tuple[Intent, ...], prompt: Prompt) -> bool:
    if _reads_back(intents, prompt) or spoken.is_free:
        return True
    sure = spoken.score >= TAKE or (is_sure(spoken) and not _must_be_asked(prompt))
    return sure and not _counts(intents, spoken.text, prompt)


def is_sure(spoken: Spoken) -> bool:
    """Say whether a note was surely heard, by its score or because a second opinion agrees."""
    agreed = spoken.opinion is not None and spoken.opinion.agrees
    return spoken.score >= TAKE or (spoken.score >= CHECK and agreed)


def _must_be_asked(prompt: Prompt) -> bool:
    """Say whether no second opinion makes up for a middling score: a wrong word would do harm."""
    is_critical = prompt.item is not None and prompt.item.critical
    return is_critical or prompt.answer.risk == "explicit" or bool(prompt.pending)


def _reads_back(intents: tuple[Intent, ...], prompt: Prompt) -> bool:
    """Say whether an exchange of its own follows: of a deciding number, of a name."""
    names = prompt.answer.takes_name and isinstance(intents[0], Note)
    return names or any(isinstance(one, Weighs | Measured | Sloped) for one in intents)


def _counts(intents: tuple[Intent, ...], text: str, prompt: Prompt) -> bool:
    """Say whether a number decides: the time of neutral, the voltage of the supply."""
    if any(isinstance(one, When) and one != When(0) for one in intents):
        return True
    item = prompt.item
    asks_volts = isinstance(item, Question) and item.fact == "twelve_volt"
    said = text.lower().translate(_LETTERS)
    values = {"dead", "weak", "fine", "flat", "low", "full"}
    gives = any(isinstance(one, Give) for one in intents)
    return asks_volts and gives and values.isdisjoint(said.split())


def _longer(intents: tuple[Intent, ...], text: str, prompt: Prompt) -> str:
    """Return the request for a longer phrase, where a yes or no heard wrong would do harm."""
    if _is_long_enough(text) or prompt.pending == "heard":
        # A "heard" exchange is the second hearing: two mistakes would have to meet.
        return ""
    if prompt.answer.risk == "explicit" and intents == (Chosen("yes"),):
        return "voice_longer"
    if isinstance(prompt.item, Gate) and any(isinstance(one, Settled) for one in intents):
        # "No" and "go" are heard for each other, and this cannot be taken back.
        return "voice_go"
    none = Give("danger", "none") in intents or Chosen("none") in intents
    return "voice_no_danger" if none else ""


def _is_long_enough(text: str) -> bool:
    said = text.lower().translate(_LETTERS).strip()
    return len(said.split()) > 1 or said in SURE_ENOUGH

"""A second opinion on what was heard: asked where the first is not sure, and for free words.

It writes down what is said without knowing what was asked, so its words are read as anything
typed would be. Where they mean what the first one heard, the answer counts as sure, except what
is read back or asked again however sure it is (`flows/turn/voicing.py`).
"""

from dataclasses import dataclass, replace
from typing import Protocol

from bot.voice.model import Floats
from bot.voice.questions import Question
from bot.voice.recogniser import Guess
from bot.voice.score import Judged
from flows.job.events import Opinion, Spoken
from flows.texts.plainness import words
from flows.turn.voicing import CHECK, TAKE

NO_SPEECH = 0.33
"""From here on free words are not believed: the network itself says that nobody spoke."""


@dataclass(frozen=True, slots=True)
class Written:
    """What was written down, the likeliest text first; how likely nobody spoke, 0 to 1."""

    texts: tuple[str, ...]
    no_speech: float = 0.0

    @property
    def words(self) -> str:
        """The likeliest text, as free words; empty where nobody spoke."""
        return self.texts[0] if self.texts and self.no_speech < NO_SPEECH else ""


class Writer(Protocol):
    """Writes down what is said, without knowing what was asked."""

    engine: str
    version: str

    def write(self, sound: Floats) -> Written:
        """Return what was said in a sound of 16 kHz."""
        ...


def is_wanted(heard: Judged) -> bool:
    """Say whether a second opinion can change anything: not of what is sure, or asked again."""
    return bool(heard.text) and (heard.is_free or CHECK <= heard.score < TAKE)


def agreeing(question: Question, guess: Guess, written: Written) -> str | None:
    """Return the likeliest text that means what was heard; None where none does."""
    value = None if guess.meaning is None else guess.meaning.value
    meant = ((text, question.meant(text)) for text in written.texts)
    return next((text for text, found in meant if found and found.value == value), None)


def with_opinion(
    first: Spoken, question: Question, guess: Guess, written: Written, writer: Writer
) -> Spoken:
    """Return what was heard with a second opinion on it; free words are the second's own."""
    if first.is_free and written.words:
        does = words(written.words) == words(first.text)
        other = Opinion(first.text, first.engine, first.version, does)
        return replace(first, text=written.words, engine=writer.engine, version=writer.version,
                       opinion=other)  # fmt: skip
    same = None if first.is_free else agreeing(question, guess, written)
    text = same or next(iter(written.texts), "")
    own = Opinion(text, writer.engine, writer.version, same is not None)
    return replace(first, opinion=own)

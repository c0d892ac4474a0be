"""A second opinion on a voice note: asked if the first is not sure, and for free words.

It transcribes without knowing the question, so its words are read like typed words. If they mean
the same as the first answer, that answer counts as sure, unless it is read back or asked again
however sure it is (`flows/turn/voicing.py`).
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
"""From here on free words do not count: the network itself says that nobody spoke."""


@dataclass(frozen=True, slots=True)
class Written:
    """A transcription: texts, likeliest first, and the probability that nobody spoke."""

    texts: tuple[str, ...]
    no_speech: float = 0.0

    @property
    def words(self) -> str:
        """The likeliest text, as free words; empty if nobody spoke."""
        return self.texts[0] if self.texts and self.no_speech < NO_SPEECH else ""


class Writer(Protocol):
    """Transcribes speech without knowing the question."""

    engine: str
    version: str

    def write(self, sound: Floats) -> Written:
        """Return a transcription of a sound at 16 kHz."""
        ...


def is_wanted(heard: Judged) -> bool:
    """Say whether a second opinion matters: not if the first is sure, or asked again anyway."""
    return bool(heard.text) and (heard.is_free or CHECK <= heard.score < TAKE)


def agreeing(question: Question, guess: Guess, written: Written) -> str | None:
    """Return the likeliest text with the meaning that was heard; None if no text has it."""
    value = None if guess.meaning is None else guess.meaning.value
    meant = ((text, question.meant(text)) for text in written.texts)
    return next((text for text, found in meant if found and found.value == value), None)


def with_opinion(
    first: Spoken, question: Question, guess: Guess, written: Written, writer: Writer
) -> Spoken:
    """Return an answer with a second opinion on it; free words come from the second."""
    if first.is_free and written.words:
        does = words(written.words) == words(first.text)
        other = Opinion(first.text, first.engine, first.version, does)
        return replace(first, text=written.words, engine=writer.engine, version=writer.version,
                       opinion=other)  # fmt: skip
    same = None if first.is_free else agreeing(question, guess, written)
    text = same or next(iter(written.texts), "")
    own = Opinion(text, writer.engine, writer.version, same is not None)
    return replace(first, opinion=own)

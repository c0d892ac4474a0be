"""Hear an answer, freely and by the question's grammar, and judge how sure it is."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from bot.voice.automaton import Automata, Automaton
from bot.voice.beam import Text, listen
from bot.voice.model import RATE, Floats, Model
from bot.voice.questions import Meaning, Question
from bot.voice.sound import snr_db


@dataclass(frozen=True, slots=True)
class Signs:
    """The parts of a score; probabilities are less a share of their value without a sound.

    Parameters
    ----------
    share
        The value's share of all texts followed [natural logarithm, 0 at most].
    gap
        Its log-probability less that of the best free text, 0 at most.
    pin
        Its share of all values that the grammar allows, 0 to 1.
    per_letter
        Log-probability of its text per letter.
    over_silence
        How much likelier its text is with the sound than without [log-probability].
    letters
        The length of its text.
    snr_db
        The level of speech over its surroundings [dB].
    """

    share: float
    gap: float
    pin: float
    per_letter: float
    over_silence: float
    letters: int
    snr_db: float


@dataclass(frozen=True, slots=True)
class Guess:
    """An answer heard: its text and meaning, the free text, and the signs.

    `speech` is how much likelier the free text is with the sound than without [log-probability].
    """

    text: str
    meaning: Meaning | None
    free: str
    signs: Signs
    rivals: tuple[tuple[str, float], ...] = ()
    speech: float = 0.0


class Recogniser(Protocol):
    """Hears an answer to a question."""

    engine: str
    version: str

    def hear(self, question: Question, sound: Floats) -> Guess:
        """Return the answer heard in a sound at 16 kHz."""
        ...


WITHOUT = 0.25
"""The share of a text's log-probability without a sound that is subtracted.

The network has read a lot and likes to finish a phrase it was made to begin: "It is on" goes on to
"fire" whatever was said. Its transcription of silence measures that.
"""
SILENCE_S = 2.0
_FLOOR = 1e-4


class GrammarRecogniser:
    """The small network, constrained by the question's grammar."""

    def __init__(self, model: Model, engine: str, version: str) -> None:
        self.engine, self.version = engine, version
        self._model = model
        self._automata = Automata(model.vocabulary.branches())
        hiss = np.random.default_rng(1).standard_normal(int(SILENCE_S * RATE))
        self._silence = model.encode((_FLOOR * hiss).astype(np.float32))

    def hear(self, question: Question, sound: Floats) -> Guess:
        """Return the answer heard in a sound at 16 kHz."""
        listened = self._model.encode(sound)
        automaton = self._automata.of(question.shape)
        free = listen(self._model, listened, len(sound))
        ruled = listen(self._model, listened, len(sound), automaton)
        pool: dict[str, Text] = {}
        for found in (*free, *ruled):
            if found.text not in pool or found.score > pool[found.text].score:
                pool[found.text] = found
        texts = list(pool.values())
        known = self._model.likelihoods([text.tokens for text in texts], self._silence)
        allowed = {found.text for found in ruled}
        heard = [
            Followed(
                text.text, text.score, without, _meant(question, text.text, automaton, allowed)
            )
            for text, without in zip(texts, known, strict=True)
        ]
        return judged(heard, free[0] if free else Text("", -math.inf), snr_db(sound))


def _meant(
    question: Question, text: str, automaton: Automaton, allowed: set[str]
) -> Meaning | None:
    return question.meant(text) if text in allowed or automaton.accepts(text) else None


@dataclass(frozen=True, slots=True)
class Followed:
    """A text followed to its end: its log-probability with the sound and without."""

    text: str
    score: float
    without: float
    meaning: Meaning | None

    @property
    def net(self) -> float:
        """Its log-probability, less a share of its value without the sound."""
        return self.score - WITHOUT * self.without


def judged(heard: list[Followed], free: Text, snr: float) -> Guess:
    """Return the value with the largest share of all texts followed.

    Parameters
    ----------
    heard
        All texts followed, each once.
    free
        The likeliest text without a grammar.
    snr
        The level of speech over its surroundings [dB].
    """
    speech = max((one.score - one.without for one in heard if one.text == free.text), default=0.0)
    by_value = _by_value(heard)
    if not by_value:
        return Guess(
            free.text, None, free.text, Signs(-20.0, -20.0, 0.0, -5.0, 0.0, 1, snr), (), speech
        )
    whole = _sum(one.net for one in heard)
    nets = {value: _sum(one.net for one in some) for value, some in by_value.items()}
    value = max(nets, key=lambda one: nets[one])
    best = max(by_value[value], key=lambda one: one.net)
    signs = Signs(
        share=max(nets[value] - whole, -20.7),
        gap=min(best.score - free.score, 0.0),
        pin=math.exp(nets[value] - _sum(nets.values())),
        per_letter=best.score / max(len(best.text), 1),
        over_silence=best.score - best.without,
        letters=max(len(best.text), 1),
        snr_db=snr,
    )
    rivals = sorted(((one, math.exp(net - whole)) for one, net in nets.items()),
                    key=lambda one: -one[1])  # fmt: skip
    return Guess(best.text, best.meaning, free.text, signs, tuple(rivals[:4]), speech)


def _by_value(heard: list[Followed]) -> dict[str, list[Followed]]:
    """Return the texts that mean something, by their value."""
    found: dict[str, list[Followed]] = {}
    for text in heard:
        if text.meaning is not None:
            found.setdefault(text.meaning.value, []).append(text)
    return found


def _sum(logarithms: Iterable[float]) -> float:
    """Return the logarithm of a sum of probabilities."""
    values = list(logarithms)
    top = max(values)
    return top + math.log(sum(math.exp(one - top) for one in values))

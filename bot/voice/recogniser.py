"""Hear an answer: free and under the question's grammar, and how sure that is."""

import math
from dataclasses import dataclass
from typing import Protocol

from bot.voice.automaton import Automata, Automaton
from bot.voice.beam import Text, listen
from bot.voice.model import Floats, Model
from bot.voice.questions import Meaning, Question
from bot.voice.sound import snr_db


@dataclass(frozen=True, slots=True)
class Signs:
    """What a score is made of.

    Parameters
    ----------
    share
        The value's part of all that was followed, 0 to 1.
    gap
        Its log-probability less that of the best free text, 0 at most.
    pin
        Its part of what the grammar allows, 0 to 1.
    per_letter
        Log-probability of its text by letter.
    snr_db
        How far speech stands out of its surroundings [dB].
    """

    share: float
    gap: float
    pin: float
    per_letter: float
    snr_db: float
    letters: int = 0
    seconds: float = 0.0


@dataclass(frozen=True, slots=True)
class Guess:
    """What was heard: a text and its meaning under the question, the free text, the signs."""

    text: str
    meaning: Meaning | None
    free: str
    signs: Signs
    rivals: tuple[tuple[str, float], ...] = ()


class Recogniser(Protocol):
    """Hears an answer to a question."""

    engine: str
    version: str

    def hear(self, question: Question, sound: Floats) -> Guess:
        """Return what was said in a sound of 16 kHz."""
        ...


class GrammarRecogniser:
    """The small network held to the question's grammar."""

    def __init__(self, model: Model, engine: str, version: str) -> None:
        self.engine, self.version = engine, version
        self._model = model
        self._automata = Automata(model.vocabulary.branches())

    def hear(self, question: Question, sound: Floats) -> Guess:
        """Return what was said in a sound of 16 kHz."""
        listened = self._model.encode(sound)
        automaton = self._automata.of(question.shape)
        free = listen(self._model, listened, len(sound))
        held = listen(self._model, listened, len(sound), automaton)
        return judged(question, automaton, free, held, sound)


def judged(
    question: Question, automaton: Automaton, free: list[Text], held: list[Text], sound: Floats
) -> Guess:
    """Return the value that most of what was followed agrees on."""
    snr = snr_db(sound)
    best_free = free[0] if free else Text("", -math.inf)
    pool: dict[str, float] = {}
    allowed = {one.text for one in held}
    for one in (*free, *held):
        pool[one.text] = max(pool.get(one.text, -math.inf), one.score)
    top = max(pool.values(), default=0.0)
    whole = sum(math.exp(score - top) for score in pool.values())
    mass: dict[str, float] = {}
    best: dict[str, tuple[float, str, Meaning]] = {}
    pins: dict[str, float] = {}
    for text, score in pool.items():
        if text not in allowed and not automaton.accepts(text):
            continue
        meaning = question.meant(text)
        if meaning is None:
            continue
        mass[meaning.value] = mass.get(meaning.value, 0.0) + math.exp(score - top) / whole
        if score > best.get(meaning.value, (-math.inf,))[0]:
            best[meaning.value] = (score, text, meaning)
        pins[meaning.value] = pins.get(meaning.value, 0.0) + math.exp(score - top)
    if not mass:
        nothing = Signs(0.0, -20.0, 0.0, -5.0, snr)
        return Guess(best_free.text, None, best_free.text, nothing)
    value = max(mass, key=lambda one: mass[one])
    score, text, meaning = best[value]
    all_pins = sum(pins.values())
    signs = Signs(
        mass[value],
        min(score - best_free.score, 0.0) if free else 0.0,
        pins[value] / all_pins if all_pins else 0.0,
        score / max(len(text), 1),
        snr,
        len(text),
        len(sound) / 16000,
    )
    rivals = tuple(sorted(mass.items(), key=lambda one: -one[1])[:4])
    return Guess(text, meaning, best_free.text, signs, rivals)

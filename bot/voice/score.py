"""How sure an answer is, in percent, and whether it is free words instead."""

import math
from dataclasses import dataclass

from bot.voice.questions import Question
from bot.voice.recogniser import Guess, Signs

WEIGHTS = (0.697, 0.048, 3.417, 0.882, 0.256, -1.947)
"""Weights of the constant, share, pin, log-probability per letter and over silence, and of the
logarithm of the letters: a logistic regression over 1,206 tuning clips, right answers against
wrong answers and clips that are no answer."""
FREE_UNDER = 40
"""Under this score a question that takes free words takes them."""
SPEECH_FROM = 4.0
"""Free words with less than this over silence are noise [log-probability]: of 56 clips of noise
the highest was 3.6; of 373 clips with speech, some of them single words at 0 dB, one was below."""


@dataclass(frozen=True, slots=True)
class Judged:
    """An answer judged: its text, how sure it is, and whether it is free words."""

    text: str
    score: int
    is_free: bool = False


def percent(signs: Signs) -> int:
    """Return how sure a value is, 0 to 100.

    Examples
    --------
    >>> percent(Signs(-0.1, 0.0, 1.0, -0.05, 25.0, 20, 30.0)) >= 90
    True
    >>> percent(Signs(-9.0, -9.0, 0.5, -2.0, 3.0, 5, 8.0)) < 20
    True
    """
    values = (
        1.0, signs.share, signs.pin, signs.per_letter, signs.over_silence,
        math.log(signs.letters),
    )  # fmt: skip
    total = sum(weight * value for weight, value in zip(WEIGHTS, values, strict=True))
    return math.floor(100 / (1 + math.exp(-total)))


def judge(question: Question, guess: Guess) -> Judged:
    """Return the text of an answer, and how sure it is; no text for pure noise."""
    score = 0 if guess.meaning is None else percent(guess.signs)
    if question.is_free and score < FREE_UNDER:
        return Judged(guess.free if guess.speech >= SPEECH_FROM else "", score, is_free=True)
    return Judged(guess.text, score)

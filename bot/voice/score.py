"""How sure an answer is that was heard, in percent, and whether free words are meant instead."""

import math
from dataclasses import dataclass

from bot.voice.questions import Question
from bot.voice.recogniser import Guess, Signs

WEIGHTS = (0.697, 0.048, 3.417, 0.882, 0.256, -1.947)
"""Of the constant, the share, the pin, the log-probability a letter, that over silence, and the
logarithm of the letters: a logistic regression over 1,206 tuning clips, right answers against
wrong ones and what answers nothing."""
FREE_UNDER = 40
"""Under this a question that takes free words takes them."""
SPEECH_FROM = 4.0
"""Free words less likely than this over silence are noise [log-probability]: of 56 clips of noise
alone the most was 3.6; of 373 with speech, single words at 0 dB among them, one was below."""


@dataclass(frozen=True, slots=True)
class Judged:
    """What was heard: a text, how sure, and whether it is free words."""

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
    """Return what an answer is taken to say, and how sure that is; no text for noise alone."""
    score = 0 if guess.meaning is None else percent(guess.signs)
    if question.is_free and score < FREE_UNDER:
        return Judged(guess.free if guess.speech >= SPEECH_FROM else "", score, is_free=True)
    return Judged(guess.text, score)

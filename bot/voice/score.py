"""How sure an answer is that was heard, in percent, and whether free words are meant instead."""

import math
from dataclasses import dataclass

from bot.voice.questions import Question
from bot.voice.recogniser import Guess, Signs

WEIGHTS = (0.466, 0.162, 0.163, 3.773, 0.80)
"""Of the constant, the logarithm of the share, the gap, the pin and the log-probability a letter;
a logistic regression over the tuning clips, right answers against all others."""
LEAST_SHARE = 1e-9
FREE_UNDER = 40
"""Under this a question that takes free words takes them."""
LEAST_FREE = -1.2
"""Free words that are less likely than this by letter are noise [log-probability]."""


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
    >>> percent(Signs(0.95, 0.0, 1.0, -0.05, 30.0)), percent(Signs(0.001, -9.0, 0.5, -2.0, 8.0))
    (98, 35)
    """
    share = math.log(max(signs.share, LEAST_SHARE))
    values = (1.0, share, signs.gap, signs.pin, signs.per_letter)
    total = sum(weight * value for weight, value in zip(WEIGHTS, values, strict=True))
    return round(100 / (1 + math.exp(-total)))


def judge(question: Question, guess: Guess) -> Judged:
    """Return what an answer is taken to say, and how sure that is."""
    score = 0 if guess.meaning is None else percent(guess.signs)
    if question.is_free and score < FREE_UNDER:
        return Judged(guess.free, score, is_free=True)
    return Judged(guess.text, score)

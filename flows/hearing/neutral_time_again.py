"""Neutral's time, said again: "no, make that five minutes ago"."""

from flows.hearing.amounts import take_time
from flows.hearing.answers import NOTHING, Answer
from flows.hearing.lexicon import talk
from flows.hearing.matching import MARKS
from flows.job.intents import Did, Intent, Nothing, When
from flows.job.state import Job
from flows.measures import tokens


def retimed(found: tuple[Intent, ...], text: str, answer: Answer, job: Job) -> tuple[Intent, ...]:
    """Return what was meant; while it is in neutral a past time alone is when that began.

    Where a time is asked for it is the answer to that. Of two times the earlier one counts,
    whichever was said first: a hold never ends later for it.
    """
    tells_else = any(not isinstance(one, Nothing | When) for one in found)
    if tells_else or answer.takes_time or job.acts["gear"] != "neutral" or "?" in text:
        return found
    about = talk("retimes") | talk("fillers")
    left = [token for token in tokens(text) if token not in MARKS and (token,) not in about]
    when = take_time(left, NOTHING, timed="at" in left)
    is_past = when is not None and (when.ago_min is None or when.ago_min >= 0)
    alone = not [token for token in left if token not in {".", "at"}]
    return (Did("neutral_selected"), when) if when is not None and is_past and alone else found

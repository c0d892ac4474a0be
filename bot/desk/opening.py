"""A voice note from a driver without an open job: the words that open one, and danger.

An opening counts if it was surely heard; its answer names the job. Anything else is answered as
if it was typed outside a job: the driver is told how to open one.
"""

from flows.hearing.answers import Answer
from flows.hearing.prompts import Prompt
from flows.job.events import Heard, Spoken
from flows.job.intents import Word
from flows.measures.tokens import tokens
from flows.texts import phrases
from flows.turn.reading_messages import tells_danger
from flows.turn.voicing import CHECK, is_sure

_WORDS = tuple(tokens(one) for one in phrases()["universal"]["new_job"])
OPENING = Prompt(None, Answer("nothing", phrases=tuple((one, Word("new_job")) for one in _WORDS)))
"""The answer that a driver can give outside any job."""


def opens_by_voice(heard: Heard) -> bool:
    """Say whether a voice note surely opens a job."""
    spoken = heard.spoken
    if spoken is None or heard.who.role != "driver" or spoken.under != OPENING.key:
        return False
    return is_sure(spoken) and _said(spoken) in _WORDS


def warns_by_voice(heard: Heard) -> bool:
    """Say whether a voice note names a danger sign, by the same score as within a job."""
    spoken = heard.spoken
    return spoken is not None and spoken.score >= CHECK and tells_danger(spoken.text, None)


def _said(spoken: Spoken) -> tuple[str, ...]:
    return tokens(spoken.text.rstrip(" .,!?"))

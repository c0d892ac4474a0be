"""A reply: one message, not yet worded."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from flows.hearing.answers import NOTHING, Answer
from flows.job.state import Job
from flows.texts import sentences

Priority = Literal["reply", "note", "check", "stop"]
To = Literal["driver", "sender", "dispatchers", "owners"]


@dataclass(frozen=True, slots=True)
class Reply:
    """One message, not yet worded: its sentence, its slots, the answer it expects.

    `job` is the state at the time, from which the sentence's placeholders are filled.
    """

    to: To
    key: str
    job: Job
    priority: Priority = "reply"
    slots: Mapping[str, str] = field(default_factory=dict)
    item: str = ""
    ask: int | None = None
    answer: Answer = NOTHING
    variant: str = "spoken"


def priority_of(key: str) -> Priority:
    """Return the priority of a sentence, which is written with it."""
    priority: Priority = sentences()["says"][key]["priority"]
    return priority

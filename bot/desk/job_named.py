"""How a message names the job it is for, and the words left without the name.

A reference may stand anywhere: "job 12, override ...", "(job 1) smoke here", "smoke at job 1",
"I'm taking over job 1, it is on fire". It is cut out, and the rest is read like any other words.
"""

import re
from dataclasses import dataclass

from bot.record.rows import Chat
from flows.job.state import Job
from flows.measures.tokens import tokens
from flows.turn.reading_messages import tells_danger

TAKES_OVER = frozenset({("take", "over"), ("taking", "over"), ("i", "take", "over"),
                        ("i'm", "taking", "over"), ("i", "am", "taking", "over"),
                        ("i'll", "take", "over"), ("take",), ("i'll", "take")})  # fmt: skip
LEADS_TO_IT = frozenset({("of",), ("on",), ("for",), ("at",), ("in",), ("about",), ("with",)})
"""Words that a reference takes along when it is cut out: "status of job 2"."""
_REFERENCE = re.compile(r"\bjob\s+(?:#|no\.?\s+|number\s+)?(\d{1,9})(?!\w)", re.IGNORECASE)
_BETWEEN = re.compile(r"[^\w\s'\u2019#%/-]+(?!\d)|\n")
"""Marks between the clauses of a message; none inside a number."""


@dataclass(frozen=True, slots=True)
class _Named:
    """A reference: its job, the words before and after it in its clause, the other clauses."""

    number: int
    before: str
    after: str
    earlier: tuple[str, ...]
    later: tuple[str, ...]

    @property
    def counts(self) -> bool:
        """It begins or ends the message, stands alone, goes with taking over, or with danger."""
        begins = not self.before and not self.earlier
        ends = not self.after and not self.later
        alone = not self.before and not self.after
        return begins or ends or alone or self.is_taken_over or tells_danger(self.rest, None)

    @property
    def is_taken_over(self) -> bool:
        """It is said to be taken over."""
        return tokens(self.before) in TAKES_OVER

    @property
    def rest(self) -> str:
        """The words without it."""
        kept = ("take over", self.after) if self.is_taken_over else (self._joined(),)
        return ", ".join(filter(None, (*self.earlier, *kept, *self.later)))

    def _joined(self) -> str:
        """Return its clause without it, and without the small word that leads to it."""
        words = self.before.split()
        if words and tokens(words[-1]) in LEADS_TO_IT:
            words = words[:-1]
        return " ".join((*words, *self.after.split()))


def _found(text: str) -> _Named | None:
    match = _REFERENCE.search(text)
    if match is None:
        return None
    earlier, before = _apart(text[: match.start()], -1)
    later, after = _apart(text[match.end() :], 0)
    found = _Named(int(match[1]), before, after, earlier, later)
    return found if found.counts else None


def _apart(text: str, own: int) -> tuple[tuple[str, ...], str]:
    """Part words into their other clauses, and the first or last of them, its own."""
    clauses = [clause.strip() for clause in _BETWEEN.split(text)]
    clause = clauses.pop(own)
    return tuple(filter(None, clauses)), clause


def named(text: str | None) -> int | None:
    """Return the number of the job that a message names.

    Examples
    --------
    >>> named("job 12, override it"), named("(job 1) smoke here"), named("take over job 3")
    (12, 1, 3)
    >>> named("new job breakdown"), named("the job 2 guys left their cones here")
    (None, None)
    """
    found = _found(text or "")
    return None if found is None else found.number


def meant(text: str, job: Job, chat: Chat, *, is_given: bool = False) -> str:
    """Return what a message says to the job that it names; it may be given to the sender."""
    return after_name(text) or arriving(job, chat, is_given=is_given)


def after_name(text: str) -> str:
    """Return the words besides the job's name.

    Examples
    --------
    >>> after_name("job 12 override it"), after_name("I'm taking over job 1, it is on fire")
    ('override it', 'take over, it is on fire')
    >>> after_name('"job 1" take over'), after_name("smoke at job 1"), after_name("(job 1)")
    ('take over', 'smoke', '')
    """
    found = _found(text)
    return text if found is None else found.rest


def dangers_in(text: str) -> str:
    """Return the clauses of a text that tell danger; empty for none."""
    return ", ".join(one for one in _BETWEEN.split(text) if tells_danger(one, None))


def arriving(job: Job, chat: Chat, *, is_given: bool = False) -> str:
    """Return the meaning of a job's bare name: a driver arrives at its vehicle, or is back.

    Parameters
    ----------
    is_given
        A desk gave the job to this driver, who answers with its name on arrival.
    """
    is_free = job.at_vehicle is None or (is_given and job.at_vehicle != chat.person)
    if chat.role == "driver" and job.ended is None and is_free:
        return "take over"
    is_back = job.at_vehicle == chat.person and job.paused_why == "left"
    return "resume" if is_back else "status"

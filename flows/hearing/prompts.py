"""The open prompt: the exchange in hand, or the first item that is not settled."""

from collections import Counter
from dataclasses import dataclass
from functools import lru_cache

from flows.hearing.answers import ALARMS, NOTHING, Answer, answer_for, pending_answer
from flows.job.state import LOOK, Asked, Job
from flows.routine import card_waits
from flows.routine.card_waits import OVER
from flows.routine.items import Item, Question, WaitStep
from flows.texts import word


@dataclass(frozen=True, slots=True)
class Prompt:
    """The question that the driver has to answer: an item, or an exchange in hand.

    `detail` is the part of it that can change: a second look, the entry of a read-back.
    `of` is the item that an exchange in hand is about.
    """

    item: Item | None
    answer: Answer
    pending: str = ""
    detail: str = ""
    of: str = ""

    @property
    def key(self) -> str:
        """The name of the question, by which a change of it is noticed."""
        if self.pending:
            return f"{self.pending}:{self.of}"
        return self.item.id if self.item is not None else ""

    def is_asked_by(self, asked: Asked | None) -> bool:
        """Say whether this is the question that was put, in these words."""
        return asked is not None and (asked.item, asked.detail) == (self.key, self.detail)


def prompt_for(job: Job) -> Prompt:
    """Return the open prompt: danger and getting held come before an exchange in hand.

    A question whether there is an emergency comes before all but a winch that runs.
    """
    known: Prompt | None = job.memo.get("prompt")
    if known is None:
        known = job.memo["prompt"] = _prompt(job)
    return known


def _prompt(job: Job) -> Prompt:
    item = job.next_item
    if job.pending is not None and not _comes_first(job, item):
        of = job.book.routine.items.get(job.pending.item)
        answer, detail = pending_answer(job, job.pending), str(job.pending.seq)
        return Prompt(of or item, answer, job.pending.kind, detail, job.pending.item)
    if item is None:
        return Prompt(None, NOTHING)
    return Prompt(item, answer_for(job, item), detail=_detail(job, item))


def _detail(job: Job, item: Item) -> str:
    """Return the change in a question's words: a second look, a wait that is over."""
    if isinstance(item, WaitStep) and job.now is not None:
        return "" if card_waits.left_ns(job, item, job.now) else OVER
    return LOOK if isinstance(item, Question) and job.looked(item.fact) else ""


def theirs_for(job: Job) -> Prompt:
    """Return the prompt of somebody else who gave a weight: their own yes or no."""
    if job.theirs is None:
        return Prompt(None, NOTHING)
    return Prompt(None, pending_answer(job, job.theirs), job.theirs.kind, str(job.theirs.seq))


def open_for(job: Job, person: str) -> Prompt:
    """Return the prompt of somebody: the driver at the vehicle, or the giver of a weight."""
    if job.at_vehicle == person:
        return prompt_for(job)
    is_theirs = job.theirs is not None and job.theirs.by == person
    return theirs_for(job) if is_theirs else Prompt(None, NOTHING)


def _comes_first(job: Job, item: Item | None) -> bool:
    pending = job.pending
    if item is None or pending is None or pending.item == item.id:
        return False
    section = job.book.routine.section_of[item.id].id
    if pending.kind in ALARMS:
        return section == "rolling" or "winch_stops" in item.acts
    return section in {"rolling", "danger", "recover"}


def choice_slots(prompt: Prompt) -> dict[str, str]:
    """Return the choices as they are listed to someone who was not understood."""
    return dict(_choice_slots(prompt.answer))


@lru_cache(maxsize=1024)
def _choice_slots(answer: Answer) -> dict[str, str]:
    offered = answer.asks_for or [label for _, label in answer.choices]
    labels = _without_common_end(list(offered)) or [word("not_sure")]
    listed = [", ".join(labels[:-1]), labels[-1]] if labels[1:] else labels
    return {"choices_spoken": ", or ".join(listed), "choices_shown": ", ".join(labels)}


COMMON_TO = 3
"""So many choices that end in the same word are told without it."""


def _without_common_end(labels: list[str]) -> list[str]:
    """Return choices without the word that several of them end in: "small", not "small SUV".

    Examples
    --------
    >>> _without_common_end(["very small SUV", "small SUV", "midsize SUV", "large crossover"])
    ['very small', 'small', 'midsize', 'large crossover']
    >>> _without_common_end(["nose", "tail", "boxed in"])
    ['nose', 'tail', 'boxed in']
    """
    ends = Counter(label.rpartition(" ")[2] for label in labels if " " in label)
    common = {end for end, times in ends.items() if times >= COMMON_TO}
    return [
        label.rpartition(" ")[0] if label.rpartition(" ")[2] in common and " " in label else label
        for label in labels
    ]

"""Walks through one section: from any act state its entry contract allows, anything may happen.

Where the states of a section are too many to take one by one, many walks take them at random:
any combination to begin with, any number of disturbances on the way.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias, TypeVar

from flows.explore.moves import Move, answers
from flows.explore.partial import FACT
from flows.hearing.prompts import prompt_for
from flows.job.state import Job
from tests.explore.contracts import Alone, coming_to

T = TypeVar("T")
Draw: TypeAlias = Callable[[int], int]
"""Draws a number from 0 to below the one given, each as likely."""

LARGE = frozenset(
    {"scene", "margin", "access", "power", "cord", "turn", "plan", "attach", "skate", "slide",
     "neutral", "secure", "drop", "lower", "set_down", "hand_over"}
)  # fmt: skip
"""Sections of which the act states are too many to take one by one."""
STEPS = 40
"""The most that happens on one walk: some twice what a section has items."""
TRIES = 200
"""How often an entry is drawn until its contract allows one."""


@dataclass(frozen=True, slots=True)
class Walk:
    """One walk: what happened, in words, what was wrong at its end, and whether it was entered."""

    told: tuple[str, ...]
    faults: tuple[str, ...]
    entered: bool = True

    @property
    def trace(self) -> str:
        """What was wrong and how it came to that."""
        return "\n".join((*self.faults, *self.told))


Judge: TypeAlias = Callable[[Job], Iterable[str]]
"""Says what is wrong with a state, beside what is wrong with what led to it."""


def nothing_more(_job: Job) -> Iterable[str]:
    """Say nothing of a state beside what is wrong with what led to it."""
    return ()


def walks(alone: Alone, number: int, draw: Draw, judge: Judge = nothing_more) -> Iterator[Walk]:
    """Yield so many walks through a section; the same ones for the same draws.

    Parameters
    ----------
    alone
        The section.
    number
        How many walks, 1 or more.
    draw
        Makes every choice.
    judge
        Says what is wrong with each state where the section's own items are open.
    """
    arrived = coming_to(alone.scope, alone.section.id)
    for _ in range(number):
        yield _walk(alone, arrived, draw, judge)


def _walk(alone: Alone, arrived: Sequence[Job], draw: Draw, judge: Judge) -> Walk:
    job = _entry(alone, arrived, draw)
    if job is None:
        return Walk((), (), entered=False)
    told = [f"  entered with {_differences(job)}"]
    for _ in range(STEPS):
        found = alone.find(job)
        if found.where == "left" and not found.kept:
            return Walk(tuple(told), (alone.unkept,))
        if found.where != "inside":
            break
        if found.own and (judged := tuple(judge(job))):
            return Walk(tuple(told), judged)
        move = _next(alone, job, draw, own=found.own)
        told.append(f"  {prompt_for(job).key} > {move.words}")
        after, wrong = alone.tried(job, move)
        if wrong:
            return Walk(tuple(told), tuple(wrong))
        if after is None:
            break
        job = after
    return Walk(tuple(told), ())


def _next(alone: Alone, job: Job, draw: Draw, *, own: bool) -> Move:
    """Return what happens: an answer half of the time, so that the walk gets on."""
    straight = list(answers(job))
    if straight and (not own or draw(2)):
        return _one(straight, draw)
    return _one(list(alone.others(job)), draw)


def _entry(alone: Alone, arrived: Sequence[Job], draw: Draw) -> Job | None:
    """Return a job with act states and facts drawn at random that the entry contract allows."""
    for _ in range(TRIES):
        job = _one(list(alone.variants(_one(arrived, draw))), draw)
        # Half of them stay as they come, or few draws would meet the contract.
        drawn = {n: _one(sorted(of), draw) for n, of in alone.whole.items() if draw(2)}
        acts = job.acts.with_({n: v for n, v in drawn.items() if not n.startswith(FACT)})
        facts = {
            name: replace(fact, value=drawn.get(FACT + name, fact.value))
            for name, fact in job.facts.items()
        }
        entered = replace(job, book=alone.book, asked=None, acts=acts, facts=facts)
        if alone.may_enter(entered) and alone.find(entered).where == "inside":
            return entered
    return None


def _one(those: Sequence[T], draw: Draw) -> T:
    return those[draw(len(those))]


def _differences(job: Job) -> str:
    return ", ".join(f"{name} {value}" for name, value in sorted(job.acts.changed().items()))

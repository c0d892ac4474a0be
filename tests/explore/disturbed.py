"""Jobs that are disturbed, and disturbed again, wherever they are: what holds then, and in order.

Every straight state is a start. A disturbance is anything that can happen beside an answer; after
the second one the job goes straight on for a while. After every event the rules, the promises of a
turn and the written order are judged.
"""

import re
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from typing import TypeVar

from flows.explore.moves import (
    Move,
    Speaker,
    answers,
    any_time,
    due,
    late,
    offers,
    other_weights,
)
from flows.explore.search import Graph, Step, told
from flows.explore.whole import step
from flows.job.state import Job
from flows.routine.book import Book
from flows.texts import phrases
from flows.turn.turning import Turn
from tests.explore.order_checks import unmet
from tests.explore.words_asked import misspoken

T = TypeVar("T")
Draw = Callable[[int], int]
"""Draws a number from 0 to below the one given, each as likely."""
BETWEEN = 4
"""Fewer straight steps than this are between two disturbances."""
AFTER = 4
"""So many straight steps follow for each of them, after the last one."""


@dataclass(slots=True)
class Counts:
    """What was tried: states, jobs, events by kind, what disturbed a job, and what was wrong."""

    starts: int = 0
    jobs: int = 0
    events: Counter[str] = field(default_factory=Counter)
    kinds: Counter[tuple[str, ...]] = field(default_factory=Counter)
    wrong: Counter[str] = field(default_factory=Counter)

    @property
    def transitions(self) -> int:
        """How many events were played."""
        return self.events.total()


@dataclass(frozen=True, slots=True)
class Breach:
    """What is wrong, and how it came to that from the straight state it began in."""

    why: str
    start: Job
    steps: tuple[Step[Job], ...]

    @property
    def trace(self) -> str:
        """The breach with everything said since the start."""
        return "\n".join((self.why, *(line for one in self.steps for line in told(one))))


def starts_of(graph: Graph[Job]) -> tuple[Job, ...]:
    """Return every straight state that is not an end."""
    return tuple(node.state for node in graph.nodes.values() if node.state.ended is None)


def in_every_state(starts: Sequence[Job], draw: Draw, counts: Counts) -> Iterator[Breach]:
    """Disturb every straight state once in each way there is: one event of each kind, drawn."""
    for start in starts:
        for kind in KINDS:
            yield from _way(start, (kind,), draw, counts)


def pairs(starts: Sequence[Job], number: int, draw: Draw, counts: Counts) -> Iterator[Breach]:
    """Disturb so many straight states twice, with some straight steps between."""
    for _ in range(number):
        yield from _way(_one(starts, draw), (_one(KINDS, draw), _one(KINDS, draw)), draw, counts)


def _way(start: Job, disturbed: Sequence[str], draw: Draw, counts: Counts) -> Iterator[Breach]:
    """Play one way: disturbances of the kinds given, and straight steps behind each."""
    job, steps, kinds = start, [], []
    counts.jobs += 1
    for kind in disturbed:
        if job.ended is not None:
            break
        kinds.append(kind)
        straight = len(disturbed) * AFTER if len(kinds) == len(disturbed) else draw(BETWEEN)
        for taken in _played(job, _drawn(job, draw, kind), straight, draw):
            steps.append(taken)
            counts.events[taken.move.kind] += 1
            if taken.faults:
                counts.wrong.update(taken.faults)
                yield from (Breach(why, start, tuple(steps)) for why in taken.faults)
                return
            job = taken.states[0]
    counts.kinds[tuple(kinds)] += 1


def _played(job: Job, first: Move, number: int, draw: Draw) -> Iterator[Step[Job]]:
    """Yield a disturbance, and so many straight steps behind it, as far as there are any."""
    move: Move | None = first
    for _ in range(number + 1):
        if move is None or job.ended is not None:
            return
        taken = step(job, move, also=misread)
        yield taken
        if taken.faults:
            return
        job = taken.states[0]
        move = _answer(job, draw)


def misread(turn: Turn) -> Iterator[str]:
    """Yield what a turn asks for out of the written order, or by its words against the rules."""
    yield from (f"order: {why}" for why in unmet(turn.job))
    yield from misspoken(turn)


def _answer(job: Job, draw: Draw) -> Move | None:
    """Return a way straight on; None where there is none."""
    straight = [move for move in answers(job) if move.kind == "answer"]
    return _one(straight, draw) if straight else None


# What disturbs, a kind at a time: there are far more claims than dangers


@cache
def _at_any_time(book: Book) -> dict[str, list[Move]]:
    found: dict[str, list[Move]] = {}
    for move in any_time(book):
        found.setdefault(move.kind, []).append(move)
    return found


def _of_kind(job: Job, kind: str) -> list[Move]:
    always = _at_any_time(job.book)
    match kind:
        case "detour":
            return [move for move in answers(job) if move.kind == "detour"] or always["talk"]
        case "wait":
            timers = due(job, ("silence", "unanswered", "deferral", "recheck", "window"))
            return [*always["wait"], *timers, *late(job)]
        case "weighs":
            return list(other_weights(job)) or always["correct"]
        case "others":
            first = offers(job)[:1]
            speakers: tuple[Speaker, ...] = ("other driver", "dispatcher")
            theirs = (replace(one, speaker=who) for one in first for who in speakers)
            return [*always["others"], *(replace(one, kind="others") for one in theirs)]
        case _:
            return always[kind]


KINDS = ("talk", "word", "danger", "claim", "retract", "correct", "weighs", "wait", "others",
         "detour")  # fmt: skip


def _drawn(job: Job, draw: Draw, kind: str) -> Move:
    """Return a disturbance of a kind, in any of its wordings."""
    move = _one(_of_kind(job, kind), draw)
    return _worded(move, draw) if move.kind in {"claim", "retract", "correct"} else move


_GROUP = re.compile(r"\(([^()]*)\)")
BEFORE = ("", "", "okay, ", "um ", "yeah, ")
BEHIND = ("", "", " now", ", partner")
"""Words that say nothing, around those that do."""


def _worded(move: Move, draw: Draw) -> Move:
    """Return a move said in one of all the ways there are to say it."""
    ways = _wordings(move.kind, move.about, move.text)
    said = _GROUP.sub(lambda group: _one(group[1].split("|"), draw), _one(ways, draw))
    text = " ".join(f"{_one(BEFORE, draw)}{said}{_one(BEHIND, draw)}".split())
    return replace(move, text=text, said=text)


@cache
def _wordings(kind: str, about: str, text: str) -> tuple[str, ...]:
    """Return every phrase that means what a text does: the same act, or the same value."""
    if kind == "correct":
        values = phrases()["facts"].get(about, {}).get("values", {}).values()
        alike = (value["said"] for value in values if text in value["said"])
        return tuple(next(alike, [text]))
    table = phrases()["acts"].get(about, {})
    among = table.get("said" if kind == "claim" else "undone", [])
    return tuple(among) if text in among else (text,)


def _one(those: Sequence[T], draw: Draw) -> T:
    return those[draw(len(those))]

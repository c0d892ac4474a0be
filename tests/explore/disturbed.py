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
AFTER = 8
"""So many straight steps follow the last one."""


@dataclass(slots=True)
class Counts:
    """What was tried: jobs, events by kind, pairs of kinds, and what was wrong."""

    jobs: int = 0
    events: Counter[str] = field(default_factory=Counter)
    pairs: Counter[tuple[str, ...]] = field(default_factory=Counter)
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
        yield from _way(_one(starts, draw), (None, None), draw, counts)


def _way(
    start: Job, disturbed: Sequence[str | None], draw: Draw, counts: Counts
) -> Iterator[Breach]:
    """Play one way: disturbances of the kinds given, or of any, and straight steps behind each."""
    job, steps, kinds = start, [], []
    counts.jobs += 1
    for place, given in enumerate(disturbed):
        move = _drawn(job, draw, given)
        kinds.append(move.kind)
        straight = AFTER if place == len(disturbed) - 1 else draw(BETWEEN)
        for one in _with_straight(move, straight):
            moved = one if one is not None else _answer(job, draw)
            if moved is None or job.ended is not None:
                break
            taken = step(job, moved, also=_misread)
            steps.append(taken)
            counts.events[moved.kind] += 1
            if taken.faults:
                counts.wrong.update(taken.faults)
                yield from (Breach(why, start, tuple(steps)) for why in taken.faults)
                return
            job = taken.states[0]
    counts.pairs[tuple(kinds)] += 1


def _misread(turn: Turn) -> Iterator[str]:
    yield from (f"order: {why}" for why in unmet(turn.job))
    yield from misspoken(turn)


def _with_straight(move: Move, number: int) -> Iterator[Move | None]:
    yield move
    yield from (None for _ in range(number))


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


def _drawn(job: Job, draw: Draw, kind: str | None = None) -> Move:
    """Return a disturbance, each kind as likely, in any of its wordings."""
    move = _one(_of_kind(job, kind or _one(KINDS, draw)), draw)
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

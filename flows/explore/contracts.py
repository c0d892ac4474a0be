"""Each section alone: from every act state its entry contract allows, until it is left."""

from collections.abc import Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache, partial
from types import MappingProxyType
from typing import Literal

from flows.acts import ACTS, VARIABLES
from flows.advance import advance
from flows.book import Book
from flows.explore import moves as m
from flows.explore.ahead import (
    FREE_FACTS,
    Matters,
    fact_values,
    looked_at,
    of_first,
    of_item,
    position,
)
from flows.explore.checks import faults
from flows.explore.moves import Move, answers, due, event_of
from flows.explore.search import Graph, Node, Step, explore
from flows.explore.state import overlay, reduced
from flows.explore.unfixed import FACT, Partial, Tree, Values, cases, grow, leaves, partial_of
from flows.explore.whole import Whole, opened
from flows.facts import Fact
from flows.items import Question, Section
from flows.job import Job, Window
from flows.prompts import prompt_for
from flows.routine import Routine

MOST_STATES = 3_000
DANGER_ACTS = frozenset({"danger", "bystanders", "help"})
Where = Literal["inside", "left", "before", "ended", "impossible"]


@dataclass(frozen=True, slots=True)
class Found:
    """What is open in a case, and whether that is inside the section."""

    where: Where
    prompt: str = ""
    own: bool = False


class Alone:
    """The states of one section, with what comes before it settled and nothing behind it."""

    def __init__(self, book: Book, section: str) -> None:
        names = [one.id for one in book.routine.sections]
        kept = book.routine.sections[: names.index(section) + 1]
        last = tuple(one for one in book.routine.sections if one.id in book.routine.first)
        sections = kept if section not in book.routine.first else last
        self.book = Book(Routine(f"{section} alone", sections, book.routine.first), book.library)
        self.section: Section = next(one for one in sections if one.id == section)
        self.own = self._own()
        self.touched = self.own | of_first(self.book)
        self.whole = self._whole()
        self.moves = tuple(self._moves())
        self._trees: dict[Hashable, Tree[Found]] = {}

    def _own(self) -> Matters:
        """Return what the section's items and its contract look at."""
        total = Matters()
        for item in self.section.items:
            total |= of_item(self.book, item)
        for contract in (self.section.enters, self.section.leaves):
            total |= looked_at(self.book, contract)
        return total

    def _whole(self) -> dict[str, Values]:
        """Return what is undecided at first; what only the danger gate looks at is not."""
        acts = self.touched.acts - (frozenset() if self.section.id == "danger" else DANGER_ACTS)
        values = {n: frozenset(d) for n, d in VARIABLES.items() if n in acts}
        facts = {
            FACT + n: fact_values(self.book, n) for n in FREE_FACTS if n in self.touched.facts
        }
        return values | facts

    def _moves(self) -> Iterator[Move]:
        yield from m.words()
        yield from m.changes()
        for move in m.claims():
            act = ACTS[move.about]
            if self.own.acts & {act.variable, *dict(act.resets)}:
                yield move
        yield from (c for c in m.corrections(self.book) if c.about in self.own.facts)

    # The space

    def key(self, state: Partial) -> Hashable:
        """Return what tells a state from another: what was looked at to find what is open."""
        told_apart = frozenset(
            (name, values) for name, values in state.among.items() if values != self.whole[name]
        )
        return (told_apart, self._rest(state))

    def _rest(self, state: Partial) -> Hashable:
        """Return what a state has beside its undecided values."""
        job = state.job
        fixed = tuple(
            value for name, value in zip(VARIABLES, job.acts.values, strict=True)
            if name not in self.whole and name not in DANGER_ACTS
        )  # fmt: skip
        known = frozenset(
            (
                name,
                fact.how == "card",
                None if FACT + name in state.among else reduced(name, fact.value),
            )
            for name, fact in job.facts.items()
            if name in self.own.facts
        )
        return (known, fixed, self._danger(job), job.done, *overlay(job)[:-2])

    def _danger(self, job: Job) -> Hashable:
        """Return how far the danger gate has come; one that is over counts where it is read."""
        if job.acts["danger"] == "seen" or "danger" in self.own.acts:
            return (
                *(job.acts[name] for name in sorted(DANGER_ACTS)),
                job.value("released_by") is None,
            )
        return None

    def steps(self, state: Partial, level: int) -> Iterator[Step[Partial]]:
        """Yield every step from a state, in every case that it tells apart.

        While another section comes first, or the job is held or an exchange is in hand, only
        answers are taken: what else is said then is as well said before or after it.
        """
        found = self.find(state.job)
        if found.where != "inside":
            return
        for move in (*answers(state.job), *(self._others(state.job) if found.own else ())):
            for case in cases(state, partial(self._try, move=move)):
                yield self._step(case.partial, move, *case.result)

    def _others(self, job: Job) -> Iterator[Move]:
        yield from due(job, ("unanswered",))
        yield from m.late(job)
        yield from self.moves

    def _try(self, job: Job, move: Move) -> tuple[Job | None, list[str]]:
        if self.find(job).where == "impossible":
            return None, []
        event = event_of(move, job)
        try:
            turn = advance(job, event)
            wrong = faults(job, move, event, turn)
            if self.find(turn.job).where == "impossible":
                wrong.append("leads to a state that was taken to be impossible")
        except Exception as error:
            return None, [f"raised {type(error).__name__}: {error}"]
        return turn.job, wrong

    def _step(
        self, case: Partial, move: Move, after: Job | None, wrong: list[str]
    ) -> Step[Partial]:
        before = _representative(case)
        if after is None or wrong:
            return Step(move, before, faults=tuple(wrong))
        reached = partial_of(after, self.whole)
        return Step(move, before, tuple(self.narrowed(reached)), tuple(self._unkept(reached)))

    def _unkept(self, reached: Partial) -> Iterator[str]:
        """Prove the exit contract on every case that leaves the section."""
        for case in cases(reached, self._keeps):
            if not case.result:
                yield f"{self.section.id} is left without {self.section.leaves.name}"

    def _keeps(self, job: Job) -> bool:
        return self.find(job).where != "left" or self.section.leaves.holds(job)

    def narrowed(self, reached: Partial) -> Iterator[Partial]:
        """Yield the cases that finding what is open tells apart, as far as a state is in them."""
        rest = self._rest(reached)
        tree = self._trees.get(rest)
        if tree is None:
            among = {name: self.whole[name] for name in reached.among}
            tree = self._trees[rest] = grow(Partial(reached.job, among), self.find)
        for case in leaves(tree, reached.among):
            if case.result.where != "impossible":
                state = Partial(reached.job, case.partial.among)
                yield Partial(_representative(state, reached.among), state.among)

    def find(self, job: Job) -> Found:
        """Return where a job is, seen from this section."""
        if job.ended is not None:
            return Found("ended", job.ended.how)
        if not possible(job):
            return Found("impossible")
        prompt, item = prompt_for(job), job.next_item
        in_hand = job.pending is not None or job.held is not None
        if item is None:
            return Found("inside" if in_hand else "left", prompt.key)
        where = self.book.routine.section_of[item.id].id
        own = where == self.section.id
        inside = own or where in self.book.routine.first
        return Found("inside" if inside else "before", prompt.key, own and not in_hand)

    # Where it begins

    def starts(self, arrivals: Iterable[Job]) -> Iterator[Partial]:
        """Yield every state that the entry contract allows, for each job that arrives here."""
        for arrived in arrivals:
            for job in self._variants(arrived):
                start = replace(job, book=self.book, asked=None)
                among = {
                    name: values for name, values in self.whole.items()
                    if not name.startswith(FACT) or name.removeprefix(FACT) in job.facts
                }  # fmt: skip
                for case in cases(Partial(start, among), self._may_enter):
                    if case.result:
                        yield from self.narrowed(case.partial)

    def _variants(self, job: Job) -> Iterator[Job]:
        """Yield a job with a window and a danger that is over, where they are looked at."""
        now = job.now or m.START
        card = job.book.library.vehicles.get(job.value("card") or "")
        hold = None if card is None or card.neutral is None else card.neutral.hold_min
        with_window = (None, Window(1, now.mono_ns, now.boot, hold))
        for window in with_window if "gear" in self.own.acts else with_window[:1]:
            yield replace(job, window=window)
            if "danger" in self.own.acts:
                yield _released(replace(job, window=window))

    def _may_enter(self, job: Job) -> bool:
        return self.find(job).where == "inside" and self.section.enters.holds(job)


def _representative(case: Partial, within: Mapping[str, Values] = MappingProxyType({})) -> Job:
    """Return a job that stands for a case, one within the given values where there is one."""
    chosen = {n: min(v & within.get(n, v)) for n, v in case.among.items()}
    acts = case.job.acts.with_({n: v for n, v in chosen.items() if not n.startswith(FACT)})
    facts = {
        name: replace(fact, value=chosen.get(FACT + name, fact.value))
        for name, fact in case.job.facts.items()
    }
    return replace(case.job, acts=acts, facts=facts)


def possible(job: Job) -> bool:
    """Say whether a state can be: what every turn keeps, and exploration proves it keeps.

    Neutral is selected only with a hold that counts. The winch moves only once danger was looked
    for, and never while it stands. A danger sign is a fact as long as it is an act.
    """
    is_open = job.window is not None and job.window.state == "open"
    if job.acts["gear"] == "neutral" and not is_open:
        return False
    danger, looked = job.acts["danger"], job.value("danger")
    if job.acts["winch"] == "moving" and (danger == "seen" or looked is None):
        return False
    return looked == "seen" if danger == "seen" else danger == "released" or looked != "seen"


def _released(job: Job) -> Job:
    acts = job.acts.after("danger_seen").after("people_away").after("help_called")
    said = {name: Fact(value, "typed", m.DRIVER.id, job.seq) for name, value in
            (("danger", "seen"), ("released_by", "county service"))}  # fmt: skip
    return replace(job, acts=acts.after("danger_released"), facts={**job.facts, **said})


@cache
def arrivals(book: Book) -> dict[str, list[Job]]:
    """Return, for every section, a job of each card that comes to it straight."""
    graph: Graph[Job] = explore(Whole(0), [opened(book)], MOST_STATES)
    found: dict[str, dict[Hashable, Job]] = {}
    for node in graph.nodes.values():
        section = _section(node)
        if section is not None and (node.parent is None or _section(node.parent) != section):
            kind = (node.state.value("card"), node.state.verdict)
            found.setdefault(section, {}).setdefault(kind, node.state)
    return {section: list(jobs.values()) for section, jobs in found.items()}


def _section(node: Node[Job]) -> str | None:
    item = position(node.state)
    return None if item is None else node.state.book.routine.section_of[item.id].id


def explore_section(book: Book, section: str, *, first_only: bool = False) -> Graph[Partial]:
    """Explore one section alone."""
    alone = Alone(book, section)
    starts = list(alone.starts(arrivals(book).get(section, [])))
    return explore(alone, starts, MOST_STATES, first_only=first_only)


__all__ = ["Alone", "Question", "arrivals", "explore_section", "possible"]

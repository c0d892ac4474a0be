"""Each section alone: from every act state its entry contract allows, until it is left."""

from collections.abc import Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache, partial, reduce
from types import MappingProxyType
from typing import TYPE_CHECKING, Literal

from flows.cards.chosen import chosen_card
from flows.explore import moves as m
from flows.explore.cards import asked_of_card, card_conditions, to_rules, told
from flows.explore.checks import faults
from flows.explore.moves import Move, answers, due, event_of
from flows.explore.partial import FACT, Partial, Tree, Values, cases, grow, leaves, partial_of
from flows.explore.search import Graph, Node, Step, explore
from flows.explore.state import has_photos, overlay, reduced
from flows.explore.still_matters import (
    FREE_FACTS,
    Matters,
    fact_values,
    of_first,
    of_item,
    position,
)
from flows.explore.whole import straight_ways
from flows.hearing.prompts import prompt_for
from flows.job import windows
from flows.job.acts import ACTS, VARIABLES, WINCH_RUNS
from flows.job.facts import Fact
from flows.job.state import Job, Window
from flows.routine.book import Book
from flows.routine.carry import Routine
from flows.routine.condition import Condition
from flows.routine.items import Question
from flows.turn.advance import advance
from tests.explore.figured import figured

if TYPE_CHECKING:
    from flows.routine.items import Section

MOST_STATES = 20_000
HALTS = frozenset({"stop", "i am hurt"})
RESTARTS = frozenset({"hold", "lost", "take over"})
"""Words that put a whole section in doubt; here its acts are taken back one by one instead."""
ENTERED = Move("wait", "[the section is entered]", "nobody", timer="other", generation=-1)
DANGER_ACTS = frozenset({"danger", "bystanders", "help"})
Where = Literal["inside", "left", "before", "ended", "impossible"]


@dataclass(frozen=True, slots=True)
class Found:
    """What is open in a case, and whether that is inside the section."""

    where: Where
    prompt: str = ""
    own: bool = False
    kept: bool = False


class Alone:
    """The states of one section, with what comes before it settled and nothing behind it.

    `scope` is the book whose section says what is looked at, and whose ways come to it, where
    that is not the same one.
    """

    def __init__(self, book: Book, section: str, scope: Book | None = None) -> None:
        names = [one.id for one in book.routine.sections]
        kept = book.routine.sections[: names.index(section) + 1]
        last = tuple(one for one in book.routine.sections if one.id in book.routine.first)
        sections = kept if section not in book.routine.first else last
        self.book = Book(Routine(f"{section} alone", sections, book.routine.first), book.library)
        self.section: Section = next(one for one in sections if one.id == section)
        self.scope = scope or book
        self.own = _own(self.scope, section)
        asked = (one for one in self.scope.routine.sections if one.id == section)
        self.asks = {i.fact for one in asked for i in one.items if isinstance(i, Question)}
        self.asked = _asked(self.section, last)
        self.whole = self._whole()
        self.moves = tuple(self._moves())
        self._trees: dict[Hashable, Tree[Found]] = {}

    def _whole(self) -> dict[str, Values]:
        """Return what is undecided at first: all that the section itself looks at."""
        acts = {n: frozenset(d) for n, d in VARIABLES.items() if n in self.own.acts}
        acts.pop("danger", None)
        facts = {
            FACT + n: fact_values(self.book.library, n) for n in FREE_FACTS if n in self.own.facts
        }
        return acts | facts

    def _moves(self) -> Iterator[Move]:
        kept_out = RESTARTS if "winch" in self.own.acts else RESTARTS | HALTS
        yield from (one for one in m.words() if one.text not in kept_out)
        yield from m.changes()
        yield from (one for one in m.claims() if ACTS[one.about].variable in self.own.acts)
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
            (name, None if FACT + name in state.among else self._known(job, name, fact))
            for name, fact in job.facts.items()
            if name in self.own.facts
        )
        skips, pending, _theirs, paused, handoff, margin, pull, lift, *_ = overlay(job)
        seen = job.acts["danger"] == "seen"
        done = job.done & {item.id for item in self.section.items}
        photos = has_photos(job)
        ended = None if job.ended is None else job.ended.how
        return (known, fixed, seen, done, photos, skips, pending, paused, handoff, margin,
                pull, lift, ended, _window(job))  # fmt: skip

    def _known(self, job: Job, name: str, fact: Fact) -> Hashable:
        return (
            _card_kind(job, self.asked, self.own.acts)
            if name == "card"
            else reduced(name, fact.value)
        )

    def steps(self, state: Partial, level: int) -> Iterator[Step[Partial]]:
        """Yield every step from a state, in every case that it tells apart.

        While another section comes first, or the job is paused or an exchange is in hand, only
        answers are taken: what else is said then is as well said before or after it.
        """
        found = self.find(state.job)
        if found.where == "left" and not found.kept:
            yield Step(ENTERED, state.job, faults=(self.unkept,))
        if found.where != "inside":
            return
        straight = tuple(answers(state.job))[: 1 if state.job.paused else None]
        for move in (*straight, *(self.others(state.job) if found.own else ())):
            for case in cases(state, partial(self.tried, move=move)):
                yield self._step(case.partial, move, *case.result)

    def others(self, job: Job) -> Iterator[Move]:
        """Yield what can happen beside an answer."""
        yield from due(job, ("unanswered",))
        yield from m.late(job)
        yield from self.moves
        if "weight" in self.own.facts:
            yield from m.other_weights(job)

    def tried(self, job: Job, move: Move) -> tuple[Job | None, list[str]]:
        """Return what a move makes of a job, None where that cannot be, and what is wrong."""
        if not possible(job):
            return None, []
        event = event_of(move, job)
        try:
            turn = advance(job, event)
            wrong = faults(job, move, event, turn, thorough=False)
            if not possible(turn.job):
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
        return Step(move, before, tuple(self.narrowed(reached)))

    @property
    def unkept(self) -> str:
        """What is wrong with leaving the section so."""
        return f"{self.section.id} is left without {self.section.leaves.name}"

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
        in_hand = job.pending is not None or job.paused is not None
        kept = self.section.leaves.holds(job)
        if item is None:
            return Found("inside" if in_hand else "left", prompt.key, kept=kept)
        where = self.book.routine.section_of[item.id].id
        own = where == self.section.id
        inside = own or where == "recover"
        return Found("inside" if inside else "before", prompt.key, own and not in_hand, kept)

    # Where it begins

    def starts(self, arrivals: Iterable[Job]) -> Iterator[Partial]:
        """Yield every state that the entry contract allows, for each job that arrives here."""
        for arrived in arrivals:
            for job in self.variants(arrived):
                start = replace(job, book=self.book, asked=None)
                among = {
                    name: values for name, values in self.whole.items()
                    if not name.startswith(FACT) or name.removeprefix(FACT) in job.facts
                }  # fmt: skip
                for case in cases(Partial(start, among), self.may_enter):
                    if case.result:
                        yield from self.narrowed(case.partial)

    def variants(self, job: Job) -> Iterator[Job]:
        """Yield a job as it arrives, with an open neutral window too where one is looked at.

        And with a pull or a lift of each word, whatever it comes to by the cards there are; and
        with nothing known that the section itself asks.
        """
        for one in _interrupted(job, self.section.id):
            known = {n: f for n, f in one.facts.items() if n not in self.asks}
            unasked = () if len(known) == len(one.facts) else (replace(one, facts=known),)
            for entered in (one, *figured(one, self.section), *unasked):
                yield from self._windows(entered)

    def _windows(self, job: Job) -> Iterator[Job]:
        now = job.now or m.START
        card = chosen_card(job)
        way = None if card is None else card.first_way
        hold = None if way is None else way.hold_min
        yield replace(job, window=None)
        if "gear" in self.own.acts:
            for minutes in {hold, None}:
                yield replace(job, window=Window(1, now.mono_ns, now.boot, minutes))

    def may_enter(self, job: Job) -> bool:
        """Say whether the entry contract allows a job."""
        if not self.section.applies.holds(job) or not self.section.enters.holds(job):
            return False
        return self.find(job).where in {"inside", "left"}


@cache
def _own(book: Book, section: str) -> Matters:
    """Return what a section's items look at and do; of those that interrupt, what all do."""
    if section in book.routine.first:
        return of_first(book)
    items = (item for one in book.routine.sections if one.id == section for item in one.items)
    return reduce(Matters.__or__, (of_item(book, item) for item in items), Matters())


def _asked(section: "Section", first: Iterable["Section"]) -> tuple[Condition, ...]:
    """Return what is asked of a card in a section, in its contract and where it is interrupted."""
    contract = section.applies & section.enters & section.leaves
    return asked_of_card(
        (item, contract if one is section else one.applies)
        for one in (section, *first)
        for item in one.items
    )


def _interrupted(job: Job, section: str) -> Iterator[Job]:
    """Yield a job at what brings it into a section that comes before everything."""
    match section:
        case "danger":
            seen = Fact("seen", "typed", m.DRIVER.id, job.seq)
            acts = job.acts.after("danger_seen")
            yield replace(job, acts=acts, facts={**job.facts, "danger": seen})
            yield replace(job, facts={n: f for n, f in job.facts.items() if n != "danger"})
        case "handoff":
            yield replace(job, handoff="wanted")
        case _:
            yield job


def _representative(case: Partial, within: Mapping[str, Values] = MappingProxyType({})) -> Job:
    """Return a job that stands for a case, one within the given values where there is one."""
    chosen = {n: min(v & within.get(n, v)) for n, v in case.among.items()}
    acts = case.job.acts.with_({n: v for n, v in chosen.items() if not n.startswith(FACT)})
    facts = {
        name: replace(fact, value=chosen[FACT + name]) if FACT + name in chosen else fact
        for name, fact in case.job.facts.items()
    }
    return case.job.with_(acts=acts, facts=facts)


def possible(job: Job) -> bool:
    """Say whether a state can be: what every turn keeps, and exploration proves it keeps.

    Neutral is selected only with a hold that counts. The winch moves only once danger was looked
    for, unless it stands after the road, where that is asked anew; on the ground once the chocks
    have come out; and never while danger stands. A danger sign is a fact as long as it is an act.
    A cord that came out when tried is not stuck.
    """
    if job.value("cord") == "stuck" and "yes" in {
        job.value("cord_tried"),
        job.value("operator_freed"),
    }:
        return False
    is_open = job.window is not None and job.window.state == "open"
    if job.acts["gear"] == "neutral" and not is_open:
        return False
    danger, looked = job.acts["danger"], job.value("danger")
    never_looked = looked is None and job.acts["rolling"] == "parked"
    never_chocked = job.acts["chocks"] == "never" and job.acts["deck"] != "deck"
    if job.acts["winch"] in WINCH_RUNS and (danger == "seen" or never_looked or never_chocked):
        return False
    return looked == "seen" if danger == "seen" else danger == "released" or looked != "seen"


def _window(job: Job) -> Hashable:
    """Return how a window stands: warnings change what is said, the end is tried at once."""
    found = job.window
    if found is None or found.state == "closed":
        return None
    over = found.hold_min is not None and windows.left_ns(found, job.now or m.START) == 0
    return (found.state, found.hold_min is None, over)


@cache
def arrivals(book: Book) -> dict[str, list[Job]]:
    """Return, for every section, a job of each card that comes to it straight."""
    graph = straight_ways(book)
    found: dict[str, dict[Hashable, Job]] = {}
    for node in graph.nodes.values():
        section = _section(node)
        if section is not None and (node.parent is None or _section(node.parent) != section):
            kind = (
                _card_kind(node.state, card_conditions(), frozenset(VARIABLES)),
                node.state.verdict,
                node.state.pull_word,
                "goes_under" in _own(book, section).facts and node.state.value("goes_under"),
            )
            found.setdefault(section, {}).setdefault(kind, node.state)
    return {section: list(jobs.values()) for section, jobs in found.items()}


def _card_kind(job: Job, asked: tuple[Condition, ...], acts: frozenset[str]) -> Hashable:
    """Return what the rules and some conditions tell of a card: of those alike, one is enough."""
    card = str(job.value("card"))
    asks = tuple(told(job.book.library, one, card) for one in asked)
    return (to_rules(job.book.library, card, acts), asks)


def _section(node: Node[Job]) -> str | None:
    item = position(node.state)
    return None if item is None else node.state.book.routine.section_of[item.id].id


def coming_to(book: Book, section: str) -> list[Job]:
    """Return the jobs that come to a section; to one that interrupts, one in mid job."""
    coming = arrivals(book)
    if section in book.routine.first:
        return coming.get("neutral", [])[:1]
    return coming.get(section, [])


def explore_section(book: Book, section: str) -> Graph[Partial]:
    """Explore one section alone, from every state that its entry contract allows."""
    alone = Alone(book, section)
    return explore(alone, alone.starts(coming_to(book, section)), MOST_STATES)

"""Values that nobody has looked at yet: one exploration for all the states that agree elsewhere.

A section has to hold from every act state it may be entered with; spelled out, those are
millions. But a turn looks at few of them. An `Unfixed` stands for a set of values and ends the
run when a comparison would tell them apart; then, and only then, the case is split in two and
each half is run. What is never looked at is never split, so a handful of cases speaks for
every state there is, with the real routine running on real jobs.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from types import MappingProxyType
from typing import Generic, TypeVar

from typing_extensions import override

from flows.job.acts import VARIABLES, Acts
from flows.job.facts import Fact
from flows.job.state import Job

Values = frozenset[str]
T = TypeVar("T")
FACT = "fact "
PLACES = {name: place for place, name in enumerate(VARIABLES)}


class ToldApartError(BaseException):
    """A run compared a value that may be any of several: it has to be run on each half.

    No `except Exception` of the code that runs may take it for an error of its own.

    Attributes
    ----------
    name, value
        The value that was compared, and with what.
    """

    def __init__(self, name: str, value: str) -> None:
        super().__init__(f"{name} is {value}, or it is not")
        self.name, self.value = name, value


@dataclass(slots=True)
class Looks:
    """Whether comparisons are watched: while something runs, and no longer."""

    watched: bool = True


class Unfixed(str):
    """A value that may be any of several; it is a plain string until somebody compares it.

    Examples
    --------
    >>> looks = Looks()
    >>> chocks = Unfixed("chocks", frozenset({"in", "out"}), looks)
    >>> chocks == "never"
    False
    >>> chocks == "out"
    Traceback (most recent call last):
    flows.explore.partial.ToldApartError: chocks is out, or it is not
    """

    __slots__ = ("among", "looks", "name")
    name: str
    among: Values
    looks: Looks

    def __new__(cls, name: str, among: Values, looks: Looks) -> "Unfixed":
        """Return a value that reads as the first of its cases until it is split."""
        one = super().__new__(cls, first_of(among))
        one.name, one.among, one.looks = name, among, looks
        return one

    def _compare(self, other: str) -> None:
        if self.looks.watched and other in self.among:
            raise ToldApartError(self.name, other)

    @override
    def __eq__(self, other: object) -> bool:
        if self is other:
            return True
        if isinstance(other, str):
            self._compare(plain(other))
        return str.__eq__(self, other)

    @override
    def __ne__(self, other: object) -> bool:
        return not self == other

    @override
    def __hash__(self) -> int:
        self._compare(plain(self))
        return str.__hash__(self)

    @override
    def __str__(self) -> str:
        return self

    @override
    def __format__(self, spec: str) -> str:
        self._compare(plain(self))
        return str.__format__(self, spec)


def plain(value: str) -> str:
    """Return the plain string that a value reads as."""
    return first_of(value.among) if isinstance(value, Unfixed) else value


@lru_cache(maxsize=4096)
def first_of(among: Values) -> str:
    """Return the case that a value reads as."""
    return min(among)


@dataclass(frozen=True, slots=True)
class Partial:
    """A job of which some act states and facts may still be any of several values.

    `among` names them with the values that each may have, facts with a prefix; what it does
    not name is as it is in the job.
    """

    job: Job
    among: Mapping[str, Values]


def unfixed(partial: Partial, looks: Looks) -> Job:
    """Return the job with its undecided values watched."""
    values, facts = list(partial.job.acts.values), dict(partial.job.facts)
    for name, among in partial.among.items():
        value = _any_of(name, among, looks)
        if name in PLACES:
            values[PLACES[name]] = value
        elif (fact := facts.get(name.removeprefix(FACT))) is not None:
            facts[name.removeprefix(FACT)] = replace(fact, value=value)
    return partial.job.with_(acts=Acts(tuple(values)), facts=facts)


def _any_of(name: str, values: Values, looks: Looks) -> str:
    """Return a value that may be any of some; where there is only one, that one."""
    return Unfixed(name, values, looks) if len(values) > 1 else next(iter(values))


def _narrowed(job: Job, name: str, values: Values, looks: Looks) -> Job:
    """Return the job with one of its undecided values one of fewer.

    What was worked out without that value goes along.
    """
    value = _any_of(name, values, looks)
    if name.startswith(FACT):
        known = name.removeprefix(FACT)
        fact = replace(job.facts[known], value=value)
        return job.with_(facts={**job.facts, known: fact})
    place = PLACES[name]
    acts = job.acts.values
    return job.with_(acts=Acts((*acts[:place], value, *acts[place + 1 :])))


def partial_of(job: Job, whole: Mapping[str, Values]) -> Partial:
    """Return a job after a run as far as it is decided, where `whole` may be undecided."""
    acts = dict(zip(VARIABLES, job.acts.values, strict=True))
    facts = {FACT + name: fact.value for name, fact in job.facts.items()}
    among = {
        name: value.among if isinstance(value, Unfixed) else frozenset({value})
        for name, value in (acts | facts).items()
        if name in whole and value in whole[name]
    }
    plain_facts = {name: _plain(fact) for name, fact in job.facts.items()}
    bare = job.with_(acts=Acts(tuple(map(plain, job.acts.values))), facts=plain_facts)
    return Partial(bare, among)


def _plain(fact: Fact) -> Fact:
    value = fact.value
    return replace(fact, value=plain(value)) if isinstance(value, Unfixed) else fact


@dataclass(frozen=True, slots=True)
class Case(Generic[T]):
    """All the states in which a run goes the same way, and what it returned."""

    partial: Partial
    result: T


@dataclass(frozen=True, slots=True)
class Split(Generic[T]):
    """A comparison that told cases apart: a value is this one, or another."""

    name: str
    value: str
    same: "Tree[T]"
    other: "Tree[T]"


Tree = Case[T] | Split[T]


def grow(partial: Partial, run: Callable[[Job], T]) -> Tree[T]:
    """Run something on every case that it tells apart.

    Only a run that compares nothing undecided comes to its end.
    """
    looks = Looks()
    return _grown(partial, unfixed(partial, looks), run, looks)


def _grown(partial: Partial, job: Job, run: Callable[[Job], T], looks: Looks) -> Tree[T]:
    looks.watched = True
    try:
        return Case(partial, run(job))
    except ToldApartError as apart:
        name, value = apart.name, apart.value
    finally:
        looks.watched = False

    def half(values: Values) -> Tree[T]:
        among = {**partial.among, name: values}
        job_then = _narrowed(job, name, values, looks)
        return _grown(Partial(partial.job, among), job_then, run, looks)

    same = frozenset({value})
    return Split(name, value, half(same), half(partial.among[name] - same))


def leaves(
    tree: Tree[T], within: Mapping[str, Values] = MappingProxyType({})
) -> Iterator[Case[T]]:
    """Yield the cases that share a value with `within`, wherever that names one."""
    if isinstance(tree, Case):
        yield tree
        return
    values = within.get(tree.name)
    if values is None or tree.value in values:
        yield from leaves(tree.same, within)
    if values is None:
        yield from leaves(tree.other, within)
    elif others := values - {tree.value}:
        # What shares a value with the other half only by the one that is split off shares none.
        yield from leaves(tree.other, {**within, tree.name: others})


def cases(partial: Partial, run: Callable[[Job], T]) -> Iterator[Case[T]]:
    """Run something on every case that it tells apart, and yield each."""
    return leaves(grow(partial, run))

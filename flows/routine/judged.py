"""What of a routine applies to a job, judged again only where what was looked up has changed.

A job is made anew with every entry, and an entry changes little: a fact, an act state. Whether a
section applies and whether an item is open goes along from the job before, together with what was
looked up to tell. Only what looked up something that is no longer the very same is judged again.
"""

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterator, Mapping
from itertools import compress
from operator import is_not
from typing import Any

from flows.job.acts import Acts
from flows.job.facts import Fact
from flows.job.state import DECIDES_NEXT, FIGURES_STAND, Job

Judgement = Callable[[Job], bool]
Readers = defaultdict[Hashable, int]
"""The places, a bit each, that ever looked something up, by what it was."""
State = tuple[Mapping[str, Fact], tuple[str, ...], frozenset[str], tuple[object, ...]]

SINGLE = ("facts", "acts", "done")
"""Parts of a job of which it is noted what is looked up in them."""
REST = (*sorted(DECIDES_NEXT.difference(SINGLE)), *FIGURES_STAND)
"""What decides beside them, each looked up as a whole."""


class Judged:
    """The judgements on one job, each made when it is first asked for.

    Parameters
    ----------
    job
        The job.
    judgements
        What is judged, by its place: a bit each.
    readers
        One for all the jobs of a routine. It only grows: a reader too many costs a judgement.
    before
        The judgements on an earlier job; those that still stand are taken over.
    """

    __slots__ = ("judgements", "known", "looked_up", "readers", "state", "watched", "yes")

    def __init__(
        self,
        job: Job,
        judgements: Mapping[int, Judgement],
        readers: Readers,
        before: "Judged | None" = None,
    ) -> None:
        self.judgements, self.readers = judgements, readers
        rest = tuple([getattr(job, name) for name in REST])
        self.state: State = (job.facts, job.acts.values, job.done, rest)
        self.looked_up: list[Hashable] = []
        self.watched = _watched(job, self.looked_up.append)
        self.known = self.yes = 0
        if before is not None and readers is before.readers:
            changed = 0
            for name in _changes(before.state, self.state):
                changed |= readers.get(name, 0)
            self.known, self.yes = before.known & ~changed, before.yes & ~changed

    def __call__(self, place: int) -> bool:
        """Return the judgement at a place."""
        if not self.known & place:
            if self.judgements[place](self.watched):
                self.yes |= place
            for name in self.looked_up:
                self.readers[name] |= place
            self.looked_up.clear()
            self.known |= place
        return bool(self.yes & place)

    def perhaps(self, places: int) -> int:
        """Return those of some places that hold or are not judged yet."""
        return places & (self.yes | ~self.known)


def _changes(before: State, after: State) -> Iterator[Hashable]:
    """Yield what can be looked up and is not the very same as before."""
    (were, acted, marked, others), (facts, acts, done, rest) = before, after
    if facts is not were:
        yield from (n for n in {**were, **facts} if facts.get(n) is not were.get(n))
    if acts is not acted:
        yield from compress(range(len(acts)), map(is_not, acts, acted))
    yield from marked ^ done
    yield from compress(REST, map(is_not, rest, others))


class _Watched(Job):
    """A job that notes what is looked up in it."""


def _noting(name: str) -> property:
    def look_up(job: Job) -> object:
        job.__dict__["note"](name)
        return job.__dict__[name]

    return property(look_up)


for _name in REST:
    setattr(_Watched, _name, _noting(_name))


def _watched(job: Job, note: Callable[[Hashable], None]) -> Job:
    found = object.__new__(_Watched)
    acts: Any = _Noting(job.acts.values, note)
    found.__dict__.update(job.__dict__, note=note, acts=Acts(acts))
    found.__dict__.update(facts=_Noting(job.facts, note), done=_Noting(job.done, note))
    return found


class _Noting:
    """A collection that notes what is looked up in it, and can do nothing else."""

    __slots__ = ("_note", "_of")
    __iter__ = None

    def __init__(self, of: Any, note: Callable[[Hashable], None]) -> None:  # noqa: ANN401  of any kind
        self._of, self._note = of, note

    def get(self, name: str) -> object:
        self._note(name)
        return self._of.get(name)

    def __getitem__(self, place: int) -> object:
        self._note(place)
        return self._of[place]

    def __contains__(self, name: object) -> bool:
        self._note(name)
        return name in self._of

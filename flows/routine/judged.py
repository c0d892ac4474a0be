"""What of a routine applies to a job, judged again only where what was looked up has changed.

A job is made anew with every entry, and an entry changes little: a fact, an act state. Whether a
section applies and whether an item is open goes along from the job before, together with what was
looked up to tell. Only what looked up something that is no longer the very same is judged again.
"""

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable
from itertools import compress
from operator import is_, is_not
from typing import Any

from flows.job.acts import Acts
from flows.job.state import DECIDES_NEXT, FIGURES_STAND, Job

Judgement = Callable[[Job], bool]
Readers = defaultdict[Hashable, int]
"""The places, a bit each, that ever looked up a fact, an act state or a mark."""

REST = (*sorted(DECIDES_NEXT - {"facts", "acts", "done", "deferred"}), *FIGURES_STAND)
"""What decides beside single facts, act states and marks: all is judged again when it changes."""


class Judged:
    """The judgements on one job, each made when it is first asked for.

    Parameters
    ----------
    job
        The job.
    judgements
        What is judged, by its place.
    readers
        One for all the jobs of a routine. It only grows: a reader too many costs a judgement.
    before
        The judgements on an earlier job; those that still stand are taken over.
    """

    __slots__ = ("_judgements", "_looked_up", "_watched", "acts", "done", "facts", "known",
                 "readers", "rest", "yes")  # fmt: skip

    def __init__(
        self,
        job: Job,
        judgements: tuple[Judgement, ...],
        readers: Readers,
        before: "Judged | None" = None,
    ) -> None:
        self._judgements, self.readers = judgements, readers
        self.facts, self.acts, self.done = job.facts, job.acts.values, job.done
        self.rest = [getattr(job, name) for name in REST]
        self._looked_up: list[Hashable] = []
        self._watched = self._watching(job)
        self.known = self.yes = 0
        if before is not None and readers is before.readers:
            self._take_over(before)

    def _watching(self, job: Job) -> Job:
        """Return the job so that what is looked up in it is noted."""
        note = self._looked_up.append
        values: Any = _Noting(self.acts, note)
        watched = job.with_(
            facts=_Noting(self.facts, note), acts=Acts(values), done=_Noting(self.done, note)
        )
        for name in FIGURES_STAND:
            watched.__dict__[name] = getattr(job, name)
        return watched

    def _take_over(self, before: "Judged") -> None:
        if all(map(is_, self.rest, before.rest)):
            changed = 0
            for name in self._changes(before):
                changed |= self.readers.get(name, 0)
            self.known, self.yes = before.known & ~changed, before.yes & ~changed

    def _changes(self, before: "Judged") -> Iterable[Hashable]:
        """Yield the facts, act states and marks that are not the very same as before."""
        if self.facts is not before.facts:
            facts, were = self.facts, before.facts
            yield from (
                name for name in {**were, **facts} if facts.get(name) is not were.get(name)
            )
        if self.acts is not before.acts:
            yield from compress(range(len(self.acts)), map(is_not, self.acts, before.acts))
        yield from self.done ^ before.done

    def __call__(self, place: int) -> bool:
        """Return the judgement at a place."""
        bit = 1 << place
        if not self.known & bit:
            if self._judgements[place](self._watched):
                self.yes |= bit
            for name in self._looked_up:
                self.readers[name] |= bit
            self._looked_up.clear()
            self.known |= bit
        return bool(self.yes & bit)

    def perhaps(self, among: int) -> int:
        """Return those of some places, a bit each, that hold or are not judged yet."""
        return among & (self.yes | ~self.known)


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

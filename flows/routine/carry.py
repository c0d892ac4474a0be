"""The routine: the ordered sections, and which item is next."""

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass, fields
from functools import cached_property
from typing import TYPE_CHECKING

from flows.routine.former import former_texts
from flows.routine.items import Gate, Item, Section
from flows.routine.judged import Judged, Judgement, Readers
from flows.routine.sections.cord import CORD
from flows.routine.sections.drop import DROP, HAND_OVER, LOWER, SET_DOWN, UNSTRAP
from flows.routine.sections.first import CLOSE, DANGER, HANDOFF, OPEN, RECOVER
from flows.routine.sections.going import DESTINATION
from flows.routine.sections.plan import PLAN
from flows.routine.sections.power import ACCESS, POWER
from flows.routine.sections.pull import ATTACH, NEUTRAL
from flows.routine.sections.road import ROAD, ROLLING
from flows.routine.sections.scene import SCENE
from flows.routine.sections.secure import SECURE
from flows.routine.sections.skate import SKATE, SLIDE
from flows.routine.sections.turn import TURN
from flows.routine.sections.vehicle import MARGIN, VEHICLE

if TYPE_CHECKING:
    from flows.job.state import Job


@dataclass(frozen=True)
class Routine:
    """Ordered sections. `first` ones come before everything whenever they apply."""

    id: str
    sections: tuple[Section, ...]
    first: frozenset[str] = frozenset({"rolling", "danger", "recover", "handoff"})

    @cached_property
    def items(self) -> dict[str, Item]:
        """Every item by id."""
        return {item.id: item for section in self.sections for item in section.items}

    @cached_property
    def section_of(self) -> dict[str, Section]:
        """The section of every item, by item id."""
        return {item.id: section for section in self.sections for item in section.items}

    @cached_property
    def text(self) -> str:
        """Ids, order, conditions and acts, a line for each item."""
        return "\n".join(_described(section) for section in self.sections)

    @cached_property
    def digest(self) -> str:
        """SHA-256 over its text: which routine a job ran under."""
        return hashlib.sha256(self.text.encode()).hexdigest()

    def text_of(self, digest: str) -> str | None:
        """Return the text with a digest: its own, or a former one of it; None where neither is."""
        if digest == self.digest:
            return self.text
        return former_texts().get(digest)

    def open_items(self, job: "Job") -> Iterator[Item]:
        """Yield, in the order they are asked, the items that are wanted and not settled.

        What was put off comes back by itself before the next gate.
        """
        later = {one.item for one in job.deferred}
        waiting: list[Item] = []
        for item in self._open(job):
            if item.id in later:
                waiting.append(item)
                continue
            if isinstance(item, Gate):
                yield from waiting
                waiting = []
            yield item
        yield from waiting

    def _open(self, job: "Job") -> Iterator[Item]:
        judged = self._judged(job)
        for place, of_section, items in self._spans:
            if judged(place):
                left = judged.perhaps(of_section)
                while left:
                    lowest = left & -left
                    at = lowest.bit_length() - 1
                    if judged(at):
                        yield items[at - place - 1]
                    left ^= lowest

    def _judged(self, job: "Job") -> Judged:
        """Return the judgements on a job: on every section, and behind it on its items."""
        before: Judged | None = job.__dict__.get("judged")
        judged = Judged(job, self._judgements, self._readers, before)
        job.__dict__["judged"] = judged
        return judged

    @cached_property
    def _judgements(self) -> tuple[Judgement, ...]:
        return tuple(
            judgement
            for section in self.sections
            for judgement in (section.applies.holds, *(item.open for item in section.items))
        )

    @cached_property
    def _spans(self) -> tuple[tuple[int, int, tuple[Item, ...]], ...]:
        """The place of every section, those of its items as bits, and its items."""
        spans, place = [], 0
        for section in self.sections:
            many = len(section.items)
            spans.append((place, ((1 << many) - 1) << (place + 1), section.items))
            place += many + 1
        return tuple(spans)

    @cached_property
    def _readers(self) -> Readers:
        return Readers(int)


def _described(section: Section) -> str:
    lines = [f"{section.id}: {section.applies.name}"]
    for item in section.items:
        values = [
            getattr(value, "name", None) or repr(value)
            for value in (getattr(item, spec.name) for spec in fields(item))
        ]
        lines.append(f"  {type(item).__name__} {' | '.join(values)}")
    return "\n".join(lines)


CARRY = Routine(
    id="carry",
    sections=(
        ROLLING,
        DANGER,
        RECOVER,
        HANDOFF,
        OPEN,
        SCENE,
        VEHICLE,
        MARGIN,
        DESTINATION,
        ACCESS,
        POWER,
        CORD,
        TURN,
        PLAN,
        ATTACH,
        SKATE,
        SLIDE,
        NEUTRAL,
        SECURE,
        ROAD,
        DROP,
        UNSTRAP,
        LOWER,
        SET_DOWN,
        HAND_OVER,
        CLOSE,
    ),
)

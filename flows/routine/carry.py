"""The routine: the ordered sections, and which item is next."""

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass, fields
from functools import cached_property
from typing import TYPE_CHECKING

from flows.routine.former import former_texts
from flows.routine.items import Gate, HandOff, Item, Section
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
from flows.routine.sections.turn_round import TURN_ROUND
from flows.routine.sections.vehicle import MARGIN, VEHICLE

if TYPE_CHECKING:
    from flows.job.state import Job


@dataclass(frozen=True)
class Routine:
    """Ordered sections. Those in `first` come before all others whenever they apply.

    While the winch runs nothing else is asked: `halt`, the step that stops it, comes before any
    item that is neither of those sections nor the pull itself. What is handed over is held without
    the truck: `hold`, the step that chocks it, comes before any hand-off on the ground.
    """

    id: str
    sections: tuple[Section, ...]
    first: frozenset[str] = frozenset({"rolling", "danger", "recover", "handoff"})
    halt: str = "recover.stop"
    hold: str = "handoff.chock"

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

        A deferred item comes back by itself before the next gate.
        """
        later = {one.item for one in job.deferred}
        waiting: list[Item] = []
        for item in self._held_first(job):
            if item.id in later:
                waiting.append(item)
                continue
            if isinstance(item, Gate):
                yield from waiting
                waiting = []
            yield item
        yield from waiting

    def _held_first(self, job: "Job") -> Iterator[Item]:
        hold = self.items.get(self.hold)
        for item in self._winch_first(job):
            is_over = isinstance(item, HandOff) and not self._is_left_held(job, item)
            if hold is not None and is_over:
                yield hold
            yield item

    def _is_left_held(self, job: "Job", item: Item) -> bool:
        """Say whether nobody has to chock it for a hand-off, since it is held or others come."""
        is_first = self.section_of[item.id].id in self.first
        return is_first or job.acts["chocks"] == "in" or job.acts["deck"] == "deck"

    def _winch_first(self, job: "Job") -> Iterator[Item]:
        halt = self.items.get(self.halt)
        for item in self._open(job):
            if halt is not None and not self._may_be_asked(job, item):
                yield halt
            halt = None
            yield item

    def _may_be_asked(self, job: "Job", item: Item) -> bool:
        """Say whether an item may be asked as the winch is now: still, or running."""
        is_first = self.section_of[item.id].id in self.first
        return is_first or "winch_stops" in item.acts or job.acts["winch"] == "still"

    def _open(self, job: "Job") -> Iterator[Item]:
        judged = Judged(job, self._judgements, self._readers, job.__dict__.get("judged"))
        job.__dict__["judged"] = judged
        for section, items in self._places:
            left = judged.perhaps(section) and judged.perhaps(items)
            if left and judged(section):
                while left:
                    item = left & -left
                    if judged(item):
                        yield self._items[item]
                    left ^= item

    @cached_property
    def _judgements(self) -> dict[int, Judgement]:
        """What is judged, by its place, a bit each: a section, behind it its items, and so on."""
        found = (
            judgement
            for section in self.sections
            for judgement in (section.applies.holds, *(item.open for item in section.items))
        )
        return {1 << place: judgement for place, judgement in enumerate(found)}

    @cached_property
    def _places(self) -> tuple[tuple[int, int], ...]:
        """The place of every section, and those of its items together."""
        places, section = [], 1
        for one in self.sections:
            after = section << (len(one.items) + 1)
            places.append((section, after - 2 * section))
            section = after
        return tuple(places)

    @cached_property
    def _items(self) -> dict[int, Item]:
        """Every item by its place."""
        by_open = {item.open: item for item in self.items.values()}
        return {place: by_open[one] for place, one in self._judgements.items() if one in by_open}

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
        TURN_ROUND,
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

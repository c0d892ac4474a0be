"""Items: the questions, steps, figures and waits of a section. All are data.

Whether an item is settled is derived from facts and act states, never stored: a fact that
is corrected or an act that is taken back opens its item again by itself.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from typing_extensions import override

from flows.routine.condition import Condition

if TYPE_CHECKING:
    from flows.job.state import Job


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """The fields that every kind of item has.

    Parameters
    ----------
    applies
        When it is wanted at all.
    acts
        The acts that are done with it.
    critical
        Its answer names the state; it cannot be passed by "ok" or "all done".
    repeatable
        Doing it twice is harmless.
    usual_s
        How long it usually takes [s]; silence is measured from its end.
    skippable
        May be left out for a reason. Never where the safety rules need it.
    deferrable
        May wait two minutes, or until the next pause. Never where the safety rules need it.
    """

    id: str
    applies: Condition
    acts: tuple[str, ...] = ()
    critical: bool = False
    repeatable: bool = True
    usual_s: int = 20
    skippable: bool = False
    deferrable: bool = False

    def settled(self, job: "Job") -> bool:
        """Say whether nothing is left to ask here."""
        raise NotImplementedError

    def open(self, job: "Job") -> bool:
        """Say whether this item is wanted and not settled."""
        return (
            not self.settled(job)
            and self.applies.holds(job)
            and not any(skip.item == self.id for skip in job.skips)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Question(Item):
    """Asks for one fact."""

    fact: str

    @override
    def settled(self, job: "Job") -> bool:
        return job.value(self.fact) is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class Step(Item):
    """Has something done. Settled while its acts count as done; without acts, once it is done.

    `of` is the part that an end is lifted by.
    """

    of: str = ""

    @override
    def settled(self, job: "Job") -> bool:
        if not self.acts:
            return self.id in job.done
        return all(map(job.acts.holds, self.acts))


@dataclass(frozen=True, slots=True, kw_only=True)
class Wait(Step):
    """Waits, quiet, until its act is said: nothing is asked, no clock runs, nothing is sent."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WindowStep(Step):
    """A step that opens the neutral window."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Photo(Step):
    """Has a set of photos taken, in one message for all of them; any number may come.

    Parameters
    ----------
    wanted
        How many make the set; the last of them settles it, "done" settles it earlier.
    """

    wanted: int


@dataclass(frozen=True, slots=True, kw_only=True)
class WaitStep(Step):
    """A step that is done when enough time has passed, and not before.

    `waits` is a name in `flows/routine/card_waits.py`; `after` has the acts it counts from.
    """

    waits: str
    after: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure(Item):
    """Computes and tells a figure; open again when a fact under it changes."""

    rests_on: tuple[str, ...]

    @override
    def settled(self, job: "Job") -> bool:
        return job.margin_stands


@dataclass(frozen=True, slots=True, kw_only=True)
class PullPlan(Figure):
    """The figure of the pull: its load against the winch, its time against the neutral hold."""

    @override
    def settled(self, job: "Job") -> bool:
        return job.pull_stands


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftPlan(Figure):
    """The figure of a lift: an axle on a second truck with its dollies, or on dollies alone."""

    by: Literal["second_truck", "dollies"]

    @override
    def settled(self, job: "Job") -> bool:
        return job.lift_by(self.by) is not None


@dataclass(frozen=True, slots=True)
class Option:
    """One way on from a gate: facts it asks for again, or a hand-off, or the end.

    `moves_truck`: the truck is moved, and a line between it and the vehicle is in doubt.
    """

    id: str
    clears: tuple[str, ...] = ()
    hands_off: bool = False
    closes: bool = False
    moves_truck: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Gate(Item):
    """Waits for a decision. A pause has one option, "go", and is settled by its act."""

    options: tuple[Option, ...] = ()

    @override
    def settled(self, job: "Job") -> bool:
        return bool(self.acts) and all(map(job.acts.holds, self.acts))


@dataclass(frozen=True, slots=True, kw_only=True)
class HandOff(Item):
    """The limit of this routine: somebody who is named takes the vehicle over."""

    @override
    def settled(self, job: "Job") -> bool:
        return False


@dataclass(frozen=True, slots=True)
class Section:
    """Ordered items, and the act states it may be entered with and must leave.

    `enters` and `leaves` are conditions over act states, proven by exploration.
    """

    id: str
    applies: Condition
    items: tuple[Item, ...]
    enters: Condition
    leaves: Condition

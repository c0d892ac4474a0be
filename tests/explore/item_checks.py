"""What the written routine asks of its items themselves, before any state of a job."""

from collections.abc import Iterator

from flows.routine.carry import Routine
from flows.routine.items import Gate, Photo, Question, Step
from flows.rules.safety import NEVER_SKIPPED

DECIDING_FACTS = frozenset({"danger", "released_by", "received_by"})
NAMED = frozenset({"attach.sound", "skate.all", "drop.all"})
"""Steps that leave no act state, and whose answer names what was seen all the same."""


def misbuilt(routine: Routine) -> Iterator[str]:
    """Yield what is wrong with the items themselves: what is critical, what may be skipped.

    Every act that S1 to S8, S15 and S16 rest on is critical and has no skip; so is every pause
    and every decision. Devices on the road and photos are what may be left out for a reason.
    """
    for item in routine.items.values():
        decides = isinstance(item, Gate) or bool(NEVER_SKIPPED.intersection(item.acts))
        decides = decides or (isinstance(item, Question) and item.fact in DECIDING_FACTS)
        if (decides or (isinstance(item, Step) and item.acts)) and not item.critical:
            yield f"{item.id} is not critical"
        if item.id in NAMED and not item.critical:
            yield f"{item.id} is passed by a bare ok"
        if item.skippable and item.acts != ("warned",) and not isinstance(item, Photo):
            yield f"{item.id} may be skipped"

"""A section started again, where somebody lost track: what its steps left is not known."""

from typing import TYPE_CHECKING

from flows.job.acts import ACTS, UNKNOWN, WINCH_RUNS, worst
from flows.turn.effects import doubt
from flows.turn.turning import Turning

if TYPE_CHECKING:
    from flows.routine.items import Item


def restart_section(t: Turning, section_id: str) -> None:
    """Start a section again: what its steps left is not known; the record keeps it all."""
    items: tuple[Item, ...] = next(
        (s.items for s in t.job.book.routine.sections if s.id == section_id), ()
    )
    # A step that is not wanted as things stand was not this section's: its act stands.
    wanted = [item for item in items if item.applies.holds(t.job)]
    acts = [act for item in wanted for act in item.acts if t.job.acts.holds(act)]
    begun = t.job.acts.changed()
    states = {
        ACTS[act].variable: worst(ACTS[act].variable)
        for act in acts
        if ACTS[act].variable in begun and ACTS[act].variable != "rolling"
    }
    if t.job.acts["winch"] in WINCH_RUNS:
        states["winch"] = UNKNOWN
    doubt(t, states, tuple(item.id for item in items if item.id in t.job.done))

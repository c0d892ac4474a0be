"""Steps that neutral needs first, at the scene and at the drop alike."""

from flows import electrics as e, predicates as p
from flows.acts import NUMBERS
from flows.conditions import Condition
from flows.items import Step


def disconnects_closed(section: str, needs_ready: Condition) -> tuple[Step, ...]:
    """Return the steps that see each disconnect closed where the vehicle is not ready.

    Parameters
    ----------
    section
        What their ids begin with.
    needs_ready
        Where neutral needs the vehicle ready. Never asked of a damaged or flooded one.
    """
    return tuple(
        Step(
            id=f"{section}.disconnect_{n}",
            applies=needs_ready
            & p.ready_is_off
            & e.disconnect_may_be_open[n]
            & ~p.damaged_or_flooded,
            acts=(f"isolation_checked_{n}",),
            critical=True,
        )
        for n in NUMBERS
    )

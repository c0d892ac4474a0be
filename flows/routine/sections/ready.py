"""Steps shared by several sections: disconnects before neutral, and the pull onto the deck."""

from flows.job.acts import NUMBERS
from flows.routine.condition import Condition
from flows.routine.conditions import (
    electrics as e,
    general as g,
    holding as h,
)
from flows.routine.items import Gate, Item, Step


def disconnects_closed(section: str, before: Condition) -> tuple[Step, ...]:
    """Return the steps that see each disconnect closed where the vehicle is not ready.

    Parameters
    ----------
    section
        The beginning of their ids.
    before
        Where neutral is still to come. Never asked of a damaged or flooded vehicle.
    """
    return tuple(
        Step(
            id=f"{section}.disconnect_{n}",
            applies=before & g.ready_is_off & e.disconnect_may_be_open[n] & ~g.is_damaged,
            acts=(f"isolation_checked_{n}",),
            critical=True,
        )
        for n in NUMBERS
    )


def onto_the_deck(section: str, goes: Condition) -> tuple[Item, ...]:
    """Return the steps of the pull: chocks out, path empty, the winch, and Park on the deck.

    Parameters
    ----------
    section
        The beginning of their ids.
    goes
        Where only chocks and line still hold it.
    """
    on_its_way = h.on_the_ground & goes & g.chocks_are_out
    return (
        Step(
            id=f"{section}.chocks_out",
            applies=h.on_the_ground & goes,
            acts=("chocks_out",),
            critical=True,
            usual_s=30,
        ),
        Step(id=f"{section}.away", applies=on_its_way, acts=("path_empty",), critical=True),
        Gate(id=f"{section}.go", applies=on_its_way, acts=("winch_moves",), critical=True),
        Step(
            id=f"{section}.deck",
            applies=~h.winch_is_still,
            acts=("winch_stops", "on_deck"),
            critical=True,
            usual_s=300,
        ),
        Step(
            id=f"{section}.park",
            applies=~h.on_the_ground,
            acts=("park_set",),
            critical=True,
            usual_s=30,
        ),
    )

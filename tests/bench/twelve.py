"""Twelve plain questions as a routine of ours: what the peer of the benchmark asks, asked by us.

Ten questions of the carry without conditions, steps or figures, then who takes over, with the
name read back, which ends the job: twelve answers, eight of them typed and four by a button as
the peer's are. Entries, chain, signatures and rules are the same as ever.

python -m tests.bench.twelve FOLDER PLATFORM TOKEN
"""

from dataclasses import replace

from flows.routine.carry import CARRY, Routine
from flows.routine.condition import ALWAYS
from flows.routine.items import Item, Section
from tests.standin.child import main

ASKED = (
    "open.history", "open.place", "scene.facing", "vehicle.powertrain", "destination.where",
    "destination.asked_by", "destination.emergency", "destination.owner", "vehicle.drive",
    "attach.wheels", "handoff.who",
)  # fmt: skip
SAID = (
    "breakdown", "mile 12 northbound", "nose", "electric", "the county yard", "the owner",
    "planned", "owner on 555 0142", "rear", "all roll", "sam", "yes",
)  # fmt: skip


def _plain(item: Item) -> Item:
    return replace(item, applies=ALWAYS)


TWELVE = Routine(
    "twelve questions",
    (
        Section(
            id="open",
            applies=ALWAYS,
            items=tuple(_plain(CARRY.items[one]) for one in ASKED),
            enters=ALWAYS,
            leaves=ALWAYS,
        ),
    ),
    frozenset(),
)


if __name__ == "__main__":
    main(TWELVE)

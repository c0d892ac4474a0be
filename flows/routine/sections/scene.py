"""Scene: danger first, then people, traffic, the truck and the chocks."""

from flows.routine.condition import ALWAYS
from flows.routine.conditions import (
    general as g,
    holding as h,
    lifting as li,
    road as r,
)
from flows.routine.items import Gate, Option, Photo, Question, Section, Step

_UPHILL = h.uphill_of_truck & h.on_the_ground & ~r.has_left
# No line joins vehicle and truck while the truck moves, nor once it has moved.
_LINE_FIRST = (
    h.on_the_ground
    & ~r.has_left
    & (h.chocks_are_in | li.all_wheels_are_carried)
    & h.line_is_on
    & (h.uphill_of_truck | (h.line_is_in_doubt & ~h.truck_is_set))
)

SCENE = Section(
    id="scene",
    applies=ALWAYS,
    enters=ALWAYS,
    leaves=h.held & g.danger_was_looked_for,
    items=(
        Question(
            id="scene.danger",
            applies=ALWAYS,
            fact="danger",
            critical=True,
            usual_s=60,
        ),
        # At the drop where somebody came near since.
        Step(
            id="scene.people",
            applies=~r.has_left | (r.at_the_drop & g.people_are_in_doubt),
            acts=("people_back",),
            critical=True,
            usual_s=60,
        ),
        Step(
            id="scene.slacken",
            applies=_LINE_FIRST,
            acts=("line_slackened",),
            critical=True,
            usual_s=30,
        ),
        Step(
            id="scene.unhook",
            applies=_LINE_FIRST,
            acts=("unhooked", "line_off"),
            critical=True,
            usual_s=60,
        ),
        Step(
            id="scene.truck", applies=~r.has_left, acts=("truck_set",), critical=True, usual_s=60
        ),
        Step(
            id="scene.warn",
            applies=~r.has_left,
            acts=("warned",),
            critical=True,
            skippable=True,
            deferrable=True,
            usual_s=300,
        ),
        Step(
            id="scene.chock",
            applies=h.on_the_ground & ~h.chocks_were_taken_out & ~r.has_left,
            acts=("chocks_in",),
            critical=True,
            usual_s=60,
        ),
        Photo(
            id="scene.photos",
            applies=h.on_the_ground & ~h.line_is_on & ~r.has_left,
            skippable=True,
            usual_s=240,
            wanted=11,
        ),
        Question(id="scene.slope", applies=h.on_the_ground & ~r.has_left, fact="slope"),
        Question(
            id="scene.facing",
            applies=~r.has_left | (r.at_the_drop & r.is_aboard),
            fact="facing",
        ),
        Step(
            id="scene.down",
            applies=_UPHILL & h.deck_is_in_doubt,
            acts=("off_deck",),
            critical=True,
            usual_s=60,
        ),
        Gate(
            id="scene.uphill",
            applies=_UPHILL,
            options=(
                Option("moved", moves_truck=True),
                Option("hand_off", hands_off=True),
            ),
            critical=True,
            usual_s=300,
        ),
    ),
)

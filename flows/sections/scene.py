"""Scene: danger first, then people, traffic, the truck and the chocks."""

from flows import predicates as p
from flows.conditions import ALWAYS
from flows.items import Gate, Option, Question, Section, Step

SCENE = Section(
    id="scene",
    applies=ALWAYS,
    enters=ALWAYS,
    leaves=p.held & p.danger_was_looked_for,
    items=(
        Question(
            id="scene.danger",
            applies=ALWAYS,
            fact="danger",
            critical=True,
            usual_s=60,
        ),
        Step(id="scene.people", applies=ALWAYS, acts=("people_back",), critical=True, usual_s=60),
        Step(id="scene.truck", applies=ALWAYS, acts=("truck_set",), critical=True, usual_s=60),
        Step(
            id="scene.warn",
            applies=ALWAYS,
            acts=("warned",),
            critical=True,
            skippable=True,
            usual_s=300,
        ),
        Step(
            id="scene.chock",
            applies=p.on_the_ground & ~p.chocks_were_taken_out,
            acts=("chocks_in",),
            critical=True,
            usual_s=60,
        ),
        Question(id="scene.slope", applies=ALWAYS, fact="slope"),
        Question(id="scene.facing", applies=ALWAYS, fact="facing"),
        Gate(
            id="scene.uphill",
            applies=p.uphill_of_truck & p.on_the_ground,
            options=(
                Option("moved", clears=("slope", "facing")),
                Option("hand_off", hands_off=True),
            ),
            critical=True,
            usual_s=300,
        ),
    ),
)

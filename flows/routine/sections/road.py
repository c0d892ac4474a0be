"""The road: quiet while it rolls; then where it has stopped, and a check of the load."""

from flows.routine.condition import ALWAYS
from flows.routine.conditions import (
    holding as h,
    road as r,
)
from flows.routine.items import Gate, Question, Section, Step, Wait

ROLLING = Section(
    id="rolling",
    applies=r.is_rolling,
    enters=ALWAYS,
    leaves=~r.is_rolling,
    items=(Wait(id="rolling.wait", applies=r.is_rolling, acts=("arrives",), critical=True),),
)

ROAD = Section(
    id="road",
    applies=ALWAYS,
    enters=h.parked_on_deck & h.all_strapped & h.line_is_slack & ~r.has_left,
    leaves=r.at_the_drop,
    items=(
        Gate(id="road.go", applies=~r.has_left, acts=("departs",), critical=True, usual_s=90),
        Question(id="road.where", applies=r.has_left, fact="stop_at"),
        Question(
            id="road.temperatures",
            applies=r.has_left & r.damaged_electric,
            fact="temperatures",
            usual_s=180,
        ),
        Step(
            id="road.aboard",
            applies=r.stopped_on_the_way & ~r.is_aboard,
            acts=("on_deck",),
            critical=True,
            usual_s=60,
        ),
        Step(
            id="road.straps",
            applies=r.stopped_on_the_way,
            acts=("straps_checked",),
            critical=True,
            usual_s=180,
        ),
        Step(
            id="road.load",
            applies=r.stopped_on_the_way,
            acts=("load_checked",),
            critical=True,
            usual_s=120,
        ),
        Gate(
            id="road.on",
            applies=r.stopped_on_the_way,
            acts=("departs",),
            critical=True,
            usual_s=90,
        ),
    ),
)

"""The road: quiet while it rolls; where it stands then, and the load looked at again."""

from flows.routine import conditions as p
from flows.routine.condition import ALWAYS
from flows.routine.conditions import road_conditions as u
from flows.routine.items import Gate, Question, Section, Step, Wait

ROLLING = Section(
    id="rolling",
    applies=u.is_rolling,
    enters=ALWAYS,
    leaves=~u.is_rolling,
    items=(Wait(id="rolling.wait", applies=u.is_rolling, acts=("arrives",), critical=True),),
)

ROAD = Section(
    id="road",
    applies=ALWAYS,
    enters=p.parked_on_deck & p.all_strapped & p.line_is_slack & ~u.has_left,
    leaves=u.at_the_drop,
    items=(
        Gate(id="road.go", applies=~u.has_left, acts=("departs",), critical=True, usual_s=90),
        Question(id="road.where", applies=u.has_left, fact="stop_at"),
        Question(
            id="road.temperatures",
            applies=u.has_left & u.damaged_electric,
            fact="temperatures",
            usual_s=180,
        ),
        Step(
            id="road.aboard",
            applies=u.stopped_on_the_way & ~u.is_aboard,
            acts=("on_deck",),
            critical=True,
            usual_s=60,
        ),
        Step(
            id="road.straps",
            applies=u.stopped_on_the_way,
            acts=("straps_checked",),
            critical=True,
            usual_s=180,
        ),
        Step(
            id="road.load",
            applies=u.stopped_on_the_way,
            acts=("load_checked",),
            critical=True,
            usual_s=120,
        ),
        Gate(
            id="road.on",
            applies=u.stopped_on_the_way,
            acts=("departs",),
            critical=True,
            usual_s=90,
        ),
    ),
)

"""The pull planned before the line is on: the winch is strong enough, and the hold long enough.

How far it is pulled is asked only where the whole rope would take too long.
"""

from flows.job.facts import WEIGHT_RESTS_ON
from flows.routine.condition import ALWAYS
from flows.routine.conditions import (
    general as g,
    holding as h,
    road as r,
)
from flows.routine.items import Gate, Option, PullPlan, Question, Section
from flows.routine.sections.options import ANOTHER_TRUCK, HAND_OFF

PULL_RESTS_ON = (*WEIGHT_RESTS_ON, "truck", "slope", "ground", "pull_ft", "block")

_PULLED = g.in_neutral & h.is_hooked
_BEFORE = h.on_the_ground & ~_PULLED & ~r.has_left

PLAN = Section(
    id="plan",
    applies=_BEFORE,
    enters=ALWAYS,
    leaves=g.pull_fits | _PULLED | ~h.on_the_ground | r.has_left,
    items=(
        PullPlan(id="plan.figure", applies=ALWAYS, rests_on=PULL_RESTS_ON),
        Question(id="plan.block", applies=g.pull_is_weak, fact="block"),
        Question(id="plan.distance", applies=g.pull_wants_distance, fact="pull_ft", usual_s=60),
        Gate(
            id="plan.weak",
            applies=g.pull_is_weak & h.stands_apart,
            options=ANOTHER_TRUCK,
            critical=True,
            usual_s=300,
        ),
        Gate(
            id="plan.weak_tied",
            applies=g.pull_is_weak & ~h.stands_apart,
            options=(HAND_OFF,),
            critical=True,
            usual_s=300,
        ),
        Gate(
            id="plan.long",
            applies=g.pull_is_long & h.stands_apart,
            options=(
                Option("moved", clears=("pull_ft",), moves_truck=True),
                HAND_OFF,
            ),
            critical=True,
            usual_s=300,
        ),
        Gate(
            id="plan.long_tied",
            applies=g.pull_is_long & ~h.stands_apart,
            options=(HAND_OFF,),
            critical=True,
            usual_s=300,
        ),
    ),
)

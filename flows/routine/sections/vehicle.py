"""Vehicle, then truck and margin.

The card comes first where one question can offer all cards; where there are more, powertrain and
family come before it, as far as they are needed, and narrow the choice.
"""

from flows.job.facts import WEIGHT_RESTS_ON
from flows.routine.condition import ALWAYS
from flows.routine.conditions import (
    general as g,
    holding as h,
    road as r,
)
from flows.routine.items import Figure, Gate, Question, Section
from flows.routine.sections.options import ANOTHER_TRUCK, HAND_OFF

VEHICLE = Section(
    id="vehicle",
    applies=ALWAYS,
    enters=ALWAYS,
    leaves=ALWAYS,
    items=(
        Question(
            id="vehicle.powertrain",
            applies=g.cards_are_many | g.card_is_answered,
            fact="powertrain",
        ),
        Question(
            id="vehicle.family",
            applies=g.cards_are_many | (g.card_is_answered & g.class_is_open),
            fact="family",
        ),
        Question(id="vehicle.card", applies=ALWAYS, fact="card"),
        Question(id="vehicle.variant", applies=g.card_tells_variant, fact="variant"),
        Question(
            id="vehicle.size",
            applies=g.class_is_open & g.family_has_sizes,
            fact="weight_class",
        ),
        Question(id="vehicle.drive", applies=ALWAYS, fact="drive"),
    ),
)

MARGIN_RESTS_ON = (*WEIGHT_RESTS_ON, "truck", "facing", "passengers", "aboard")

MARGIN = Section(
    id="margin",
    applies=~r.at_the_drop,
    enters=ALWAYS,
    leaves=g.margin_allows | r.at_the_drop,
    items=(
        Question(id="margin.truck", applies=ALWAYS, fact="truck"),
        Figure(id="margin.figure", applies=ALWAYS, rests_on=MARGIN_RESTS_ON),
        # Nobody looks into it once it hangs on the line in neutral.
        Question(
            id="margin.load",
            applies=g.load_matters & h.on_the_ground & ~(g.in_neutral & h.is_hooked),
            fact="load_lb",
            usual_s=60,
        ),
        Gate(
            id="margin.no_go",
            applies=g.margin_is_no_go & h.stands_apart,
            options=ANOTHER_TRUCK,
            critical=True,
            usual_s=300,
        ),
        Gate(
            id="margin.no_go_tied",
            applies=g.margin_is_no_go & h.on_the_ground & ~h.stands_apart,
            options=(HAND_OFF,),
            critical=True,
            usual_s=300,
        ),
        Gate(
            id="margin.no_go_aboard",
            applies=g.margin_is_no_go & ~h.on_the_ground,
            options=(HAND_OFF,),
            critical=True,
            usual_s=300,
        ),
        Gate(
            id="margin.close",
            applies=g.margin_is_close & h.stands_apart,
            options=ANOTHER_TRUCK,
            critical=True,
            usual_s=300,
        ),
        Gate(
            id="margin.close_tied",
            applies=g.margin_is_close & ~h.stands_apart,
            options=(HAND_OFF,),
            critical=True,
            usual_s=300,
        ),
    ),
)

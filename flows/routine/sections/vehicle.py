"""Vehicle, then truck and margin.

The card comes first where one question can offer all of them; where there are more, powertrain
and family come before it, as far as they are needed, and leave fewer to choose from.
"""

from flows.job.facts import WEIGHT_RESTS_ON
from flows.routine import conditions as p
from flows.routine.condition import ALWAYS
from flows.routine.conditions import road_conditions as u
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
            applies=p.cards_are_many | p.card_is_answered,
            fact="powertrain",
        ),
        Question(
            id="vehicle.family",
            applies=p.cards_are_many | (p.card_is_answered & p.class_is_open),
            fact="family",
        ),
        Question(id="vehicle.card", applies=ALWAYS, fact="card"),
        Question(id="vehicle.variant", applies=p.card_tells_variant, fact="variant"),
        Question(
            id="vehicle.size",
            applies=p.class_is_open & p.family_has_sizes,
            fact="weight_class",
        ),
        Question(id="vehicle.drive", applies=ALWAYS, fact="drive"),
    ),
)

MARGIN_RESTS_ON = (*WEIGHT_RESTS_ON, "truck", "facing", "passengers", "aboard")

MARGIN = Section(
    id="margin",
    applies=~u.at_the_drop,
    enters=ALWAYS,
    leaves=p.margin_allows | u.at_the_drop,
    items=(
        Question(id="margin.truck", applies=ALWAYS, fact="truck"),
        Figure(id="margin.figure", applies=ALWAYS, rests_on=MARGIN_RESTS_ON),
        # Nobody looks into it once it is in neutral.
        Question(
            id="margin.load",
            applies=p.load_matters & p.on_the_ground & ~p.in_neutral,
            fact="load_lb",
            usual_s=60,
        ),
        Gate(
            id="margin.no_go",
            applies=p.margin_is_no_go & p.on_the_ground & ~p.line_is_on,
            options=ANOTHER_TRUCK,
            critical=True,
            usual_s=300,
        ),
        Gate(
            id="margin.no_go_tied",
            applies=p.margin_is_no_go & p.on_the_ground & p.line_is_on,
            options=(HAND_OFF,),
            critical=True,
            usual_s=300,
        ),
        Gate(
            id="margin.no_go_aboard",
            applies=p.margin_is_no_go & ~p.on_the_ground,
            options=(HAND_OFF,),
            critical=True,
            usual_s=300,
        ),
        Gate(
            id="margin.close",
            applies=p.margin_is_close,
            options=ANOTHER_TRUCK,
            critical=True,
            usual_s=300,
        ),
    ),
)

"""Destination: where it goes, whether they take it, who asked for it; before anybody touches it.

All of it usually comes in the dispatcher's opening message; the rest waits until danger, scene
and margin are settled, since a driver next to traffic answers those first.
"""

from flows.routine.condition import ALWAYS
from flows.routine.conditions import (
    general as g,
    road as r,
)
from flows.routine.items import Gate, Option, Question, Section

DESTINATION = Section(
    id="destination",
    applies=ALWAYS,
    enters=ALWAYS,
    leaves=~r.is_not_taken,
    items=(
        Question(id="destination.where", applies=ALWAYS, fact="destination"),
        Question(
            id="destination.takes", applies=~r.damaged_electric, fact="takes_it", usual_s=180
        ),
        Question(
            id="destination.takes_damaged",
            applies=r.damaged_electric,
            fact="takes_it",
            usual_s=180,
        ),
        Gate(
            id="destination.refused",
            applies=r.is_not_taken,
            options=(
                Option("another_place", clears=("destination", "takes_it")),
                Option("hand_off", hands_off=True),
            ),
            critical=True,
            usual_s=300,
        ),
        Question(id="destination.asked_by", applies=ALWAYS, fact="asked_by"),
        Question(id="destination.emergency", applies=ALWAYS, fact="emergency"),
        Question(id="destination.owner", applies=ALWAYS, fact="owner_contact"),
        # Which vehicle this is, before anybody touches it.
        Question(id="destination.plate", applies=ALWAYS, fact="plate"),
        # With card and plate its number can wait for the drop, away from traffic.
        Question(id="destination.vin", applies=g.has_no_card | g.plate_is_not_read, fact="vin"),
    ),
)

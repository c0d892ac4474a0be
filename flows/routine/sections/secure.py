"""Secure: a strap at each wheel, then the line comes off the load; the straps once more."""

from flows.job.acts import WHEELS
from flows.routine.condition import ALWAYS
from flows.routine.conditions import (
    holding as h,
    road as r,
)
from flows.routine.items import Photo, Question, Section, Step
from flows.routine.sections.skate import STOW

# The truck turns at the drop: what came off for the way down goes on again first.
_TURNS = r.at_the_drop & r.is_aboard & h.uphill_of_truck
# Off the deck at a stop, it first goes on again, or this is the drop.
_OFF = r.has_left & ~r.is_aboard
# Who left before it was done does it at the next stop.
_STANDING = h.all_strapped & (~r.has_left | r.stopped_on_the_way)

SECURE = Section(
    id="secure",
    applies=(~r.at_the_drop & ~_OFF) | _TURNS,
    enters=h.parked_on_deck & h.winch_is_still & ~r.has_left,
    leaves=(h.all_strapped & h.line_is_slack) | (r.at_the_drop & ~_TURNS) | _OFF,
    items=(
        # It left before Park was set, so the step at the scene that sets it no longer applies.
        Step(
            id="secure.park",
            applies=r.has_left & r.is_aboard & ~h.parked_on_deck,
            acts=("park_set",),
            critical=True,
            usual_s=30,
        ),
        *(
            Step(
                id=f"secure.{wheel}",
                applies=ALWAYS,
                acts=(f"strapped_{wheel}",),
                critical=True,
                usual_s=90,
            )
            for wheel in WHEELS
        ),
        Step(
            id="secure.slacken",
            applies=h.all_strapped,
            acts=("line_slackened",),
            critical=True,
            usual_s=30,
        ),
        *STOW,
        Step(id="secure.settle", applies=_STANDING, usual_s=120),
        Photo(
            id="secure.photos",
            applies=_STANDING,
            skippable=True,
            usual_s=120,
            wanted=5,
        ),
        Question(
            id="secure.temperatures",
            applies=r.damaged_electric & ~r.has_left,
            fact="temperatures",
            usual_s=180,
        ),
    ),
)

"""Secure: a strap at each wheel, then the line comes off the load; the straps once more."""

from flows.job.acts import WHEELS
from flows.routine import conditions as p
from flows.routine.condition import ALWAYS
from flows.routine.conditions import road_conditions as u
from flows.routine.items import Photo, Question, Section, Step
from flows.routine.sections.skate import STOW

SECURE = Section(
    id="secure",
    applies=~u.at_the_drop,
    enters=p.parked_on_deck & p.winch_is_still & ~u.has_left,
    leaves=(p.all_strapped & p.line_is_slack) | u.at_the_drop,
    items=(
        # It left before Park was set: what asks for that at the scene is behind it.
        Step(
            id="secure.park",
            applies=u.has_left & u.is_aboard & ~p.parked_on_deck,
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
            applies=p.all_strapped,
            acts=("line_slackened",),
            critical=True,
            usual_s=30,
        ),
        *STOW,
        Step(id="secure.settle", applies=p.all_strapped & ~u.has_left, usual_s=120),
        Photo(
            id="secure.photos",
            applies=p.all_strapped & ~u.has_left,
            skippable=True,
            usual_s=120,
            wanted=5,
        ),
        Question(
            id="secure.temperatures",
            applies=u.damaged_electric & ~u.has_left,
            fact="temperatures",
            usual_s=180,
        ),
    ),
)

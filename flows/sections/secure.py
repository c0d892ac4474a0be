"""Secure: a strap at each wheel, then the line comes off the load."""

from flows import predicates as p
from flows.acts import WHEELS
from flows.conditions import ALWAYS
from flows.items import Section, Step

SECURE = Section(
    id="secure",
    applies=ALWAYS,
    enters=p.parked_on_deck & p.winch_is_still,
    leaves=p.all_strapped & p.line_is_slack,
    items=(
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
    ),
)

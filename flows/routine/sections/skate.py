"""Skates and dollies: gear under wheels that do not roll, and the pull of a vehicle in Park.

The line holds it before anything goes under it. With a way into neutral the pull is like any
other. Without a way it slides up to the deck on skates, in Park, or rolls with the axle that Park
holds on dollies.
"""

from flows.job.facts import WEIGHT_RESTS_ON
from flows.routine.condition import ALWAYS
from flows.routine.conditions import (
    electrics as e,
    general as g,
    holding as h,
    lifting as li,
    road as r,
    under as u,
    waking as w,
)
from flows.routine.items import HandOff, LiftPlan, Section, Step
from flows.routine.sections.ready import onto_the_deck

_DOWN = h.on_the_ground & ~r.has_left
_NO_WAY = w.no_way_is_left & ~e.disconnect_may_be_why
STAYS_IN_PARK = _NO_WAY & ~u.is_out_of_park
BY_SKATES = u.skates_go_under & (g.wheels_do_not_roll | STAYS_IN_PARK)
BY_DOLLIES = u.dollies_go_under & g.wheels_do_not_roll
BY_BRAKED = u.dollies_free_it & STAYS_IN_PARK
REST_DRAGS = u.skates_go_under & g.wheels_do_not_roll & ~u.all_on_skates
IN_PARK = u.slides & (_NO_WAY | ~h.winch_is_still)
SLIDES = IN_PARK & ~h.parked_on_deck & ~r.has_left


_WANTED = _DOWN & (BY_SKATES | BY_DOLLIES | BY_BRAKED)

SKATE = Section(
    id="skate",
    applies=_WANTED,
    enters=h.held & h.line_is_tight,
    leaves=(h.held & h.line_is_tight & (u.something_is_under | u.slides)) | ~_WANTED,
    items=(
        LiftPlan(
            id="skate.figure",
            applies=BY_BRAKED,
            rests_on=(*WEIGHT_RESTS_ON, "truck"),
            by="dollies",
        ),
        HandOff(id="skate.too_weak", applies=BY_BRAKED & li.dollies_are_too_weak, usual_s=300),
        Step(
            id="skate.under",
            applies=BY_SKATES,
            acts=("skates_under",),
            critical=True,
            usual_s=180,
        ),
        Step(
            id="skate.all",
            applies=REST_DRAGS & STAYS_IN_PARK,
            critical=True,
            usual_s=180,
        ),
        Step(
            id="skate.dollies",
            applies=BY_DOLLIES & ~BY_SKATES,
            acts=("dollies_under",),
            critical=True,
            usual_s=300,
        ),
        Step(
            id="skate.braked",
            applies=BY_BRAKED,
            acts=("braked_on_dollies",),
            critical=True,
            usual_s=300,
        ),
        Step(
            id="skate.strap",
            applies=(BY_DOLLIES & ~BY_SKATES) | BY_BRAKED,
            acts=("dollies_strapped",),
            critical=True,
            usual_s=90,
        ),
    ),
)

SLIDE = Section(
    id="slide",
    applies=SLIDES,
    enters=h.held & (h.line_is_tight | ~h.on_the_ground),
    leaves=(h.parked_on_deck & h.winch_is_still) | ~SLIDES,
    items=onto_the_deck("slide", ALWAYS),
)

STOW = (
    Step(
        id="secure.stow",
        applies=h.all_strapped & (~r.has_left | r.stopped_on_the_way) & u.gear_rides_along,
        usual_s=90,
    ),
)
"""Skates and dollies ride along under it, tied down, for the way off the deck."""

OUT = (
    Step(
        id="drop.skates_out",
        applies=u.skates_are_left,
        acts=("skates_out",),
        critical=True,
        usual_s=120,
    ),
    Step(
        id="drop.dollies_out",
        applies=u.dollies_are_left,
        acts=("dollies_out",),
        critical=True,
        usual_s=180,
    ),
    Step(
        id="drop.lift_down",
        applies=u.an_end_is_left_up,
        acts=("set_down",),
        critical=True,
        usual_s=90,
    ),
)
"""Gear still under it comes out once it is chocked at the drop."""

"""Attach, then neutral and the pull onto the deck."""

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
from flows.routine.items import Gate, HandOff, LiftPlan, Question, Section, Step, WindowStep
from flows.routine.sections.ready import disconnects_closed, onto_the_deck
from flows.routine.sections.skate import SLIDES

ATTACH = Section(
    id="attach",
    applies=h.on_the_ground & ~r.has_left,
    enters=h.held & e.disconnect_settled & g.margin_allows,
    leaves=h.held & (h.line_is_tight | ~h.on_the_ground),
    items=(
        Question(id="attach.wheels", applies=ALWAYS, fact="wheels"),
        Question(id="attach.under", applies=g.wheels_do_not_roll, fact="goes_under"),
        LiftPlan(
            id="attach.dollies",
            applies=g.wheels_do_not_roll & u.dollies_go_under,
            rests_on=(*WEIGHT_RESTS_ON, "truck"),
            by="dollies",
        ),
        HandOff(
            id="attach.will_not_roll",
            applies=g.wheels_do_not_roll
            & ~u.something_is_under
            & (u.nothing_goes_under | (u.dollies_go_under & li.dollies_are_too_weak)),
            usual_s=300,
        ),
        HandOff(id="attach.turn", applies=g.facing_end_does_not_hold, usual_s=300),
        Question(id="attach.shown", applies=g.has_no_card, fact="point_shown", usual_s=120),
        HandOff(id="attach.no_point", applies=g.has_no_card & g.no_point_is_shown, usual_s=300),
        Step(
            id="attach.sound",
            applies=g.is_damaged & ~h.is_hooked,
            critical=True,
            usual_s=30,
        ),
        Step(
            id="attach.keep_off",
            applies=g.card_has_keep_off,
            acts=("keep_off_told",),
            critical=True,
            usual_s=10,
        ),
        Step(
            id="attach.hook",
            applies=ALWAYS,
            acts=("line_on", "hooked"),
            critical=True,
            usual_s=120,
        ),
        Step(
            id="attach.away",
            applies=~h.line_is_tight,
            acts=("path_empty",),
            critical=True,
        ),
        Step(
            id="attach.tension",
            applies=ALWAYS,
            acts=("tension_on",),
            critical=True,
            usual_s=30,
        ),
    ),
)

_NO_WAY = h.on_the_ground & ~g.in_neutral & w.no_way_is_left
_NEEDS_READY = h.on_the_ground & ~g.in_neutral & g.neutral_needs_ready

NEUTRAL = Section(
    id="neutral",
    applies=~h.parked_on_deck & ~r.has_left & ~SLIDES,
    enters=h.held & (h.line_is_tight | ~h.on_the_ground),
    leaves=(h.parked_on_deck & h.winch_is_still) | SLIDES | r.has_left,
    items=(
        Question(
            id="neutral.ready",
            applies=_NEEDS_READY & ~e.stays_open,
            fact="ready",
        ),
        *disconnects_closed("neutral", h.on_the_ground & ~g.in_neutral),
        Question(id="neutral.under", applies=_NO_WAY, fact="goes_under"),
        HandOff(
            id="neutral.no_way",
            applies=_NO_WAY & (~(u.skates_go_under | u.dollies_free_it) | u.gear_is_in_doubt),
            usual_s=300,
        ),
        # Its chocks may have come out for a pull in Park that is none any more.
        Step(
            id="neutral.chock",
            applies=h.on_the_ground & ~g.in_neutral & ~h.chocks_are_in,
            acts=("chocks_in",),
            critical=True,
            usual_s=60,
        ),
        Gate(
            id="neutral.pause",
            applies=h.on_the_ground & ~g.in_neutral,
            acts=("neutral_cleared",),
            critical=True,
        ),
        WindowStep(
            id="neutral.select",
            applies=h.on_the_ground,
            acts=("neutral_selected",),
            critical=True,
            usual_s=60,
        ),
        Question(id="neutral.when", applies=h.on_the_ground & g.in_neutral, fact="neutral_when"),
        Step(
            id="neutral.confirm",
            applies=h.on_the_ground & g.in_neutral,
            acts=("neutral_confirmed",),
            critical=True,
            usual_s=30,
        ),
        *onto_the_deck("neutral", g.neutral_stays),
    ),
)

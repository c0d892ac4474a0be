"""Attach, then neutral and the pull onto the deck."""

from flows.job.facts import WEIGHT_RESTS_ON
from flows.routine import conditions as p
from flows.routine.condition import ALWAYS
from flows.routine.conditions import (
    electrics as e,
    lifting as li,
    road_conditions as u,
    turning as t,
    waking as w,
)
from flows.routine.items import Gate, HandOff, LiftPlan, Question, Section, Step, WindowStep
from flows.routine.sections.ready import disconnects_closed, onto_the_deck
from flows.routine.sections.skate import SLIDES

ATTACH = Section(
    id="attach",
    applies=p.on_the_ground & ~u.has_left,
    enters=p.held & e.disconnect_settled & p.margin_allows,
    leaves=p.held & (p.line_is_tight | ~p.on_the_ground),
    items=(
        Question(id="attach.wheels", applies=ALWAYS, fact="wheels"),
        Question(id="attach.under", applies=p.wheels_do_not_roll, fact="goes_under"),
        LiftPlan(
            id="attach.dollies",
            applies=p.wheels_do_not_roll & t.dollies_go_under,
            rests_on=(*WEIGHT_RESTS_ON, "truck"),
            by="dollies",
        ),
        HandOff(
            id="attach.will_not_roll",
            applies=p.wheels_do_not_roll
            & (t.nothing_goes_under | (t.dollies_go_under & li.dollies_are_too_weak)),
            usual_s=300,
        ),
        HandOff(id="attach.turn", applies=p.facing_end_does_not_hold, usual_s=300),
        Question(id="attach.shown", applies=p.has_no_card, fact="point_shown", usual_s=120),
        HandOff(id="attach.no_point", applies=p.has_no_card & p.no_point_is_shown, usual_s=300),
        Step(
            id="attach.sound",
            applies=p.is_damaged & ~p.line_is_on,
            critical=True,
            usual_s=30,
        ),
        Step(id="attach.keep_off", applies=p.card_has_keep_off, usual_s=10),
        Step(
            id="attach.hook",
            applies=ALWAYS,
            acts=("line_on", "hooked"),
            critical=True,
            usual_s=120,
        ),
        Step(
            id="attach.away",
            applies=~p.line_is_tight,
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

_NO_WAY = p.on_the_ground & ~p.in_neutral & w.no_way_is_left
_NEEDS_READY = p.on_the_ground & ~p.in_neutral & p.neutral_needs_ready

NEUTRAL = Section(
    id="neutral",
    applies=~p.parked_on_deck & ~u.has_left & ~SLIDES,
    enters=p.held & (p.line_is_tight | ~p.on_the_ground),
    leaves=(p.parked_on_deck & p.winch_is_still) | SLIDES | u.has_left,
    items=(
        Question(
            id="neutral.ready",
            applies=_NEEDS_READY & ~e.stays_open,
            fact="ready",
        ),
        *disconnects_closed("neutral", _NEEDS_READY),
        Question(id="neutral.under", applies=_NO_WAY, fact="goes_under"),
        HandOff(
            id="neutral.no_way",
            applies=_NO_WAY & (~(t.skates_go_under | t.dollies_free_it) | t.gear_is_in_doubt),
            usual_s=300,
        ),
        Gate(
            id="neutral.pause",
            applies=p.on_the_ground & ~p.in_neutral,
            acts=("neutral_cleared",),
            critical=True,
        ),
        WindowStep(
            id="neutral.select",
            applies=p.on_the_ground,
            acts=("neutral_selected",),
            critical=True,
            usual_s=60,
        ),
        Question(id="neutral.when", applies=p.on_the_ground & p.in_neutral, fact="neutral_when"),
        Step(
            id="neutral.confirm",
            applies=p.on_the_ground & p.in_neutral,
            acts=("neutral_confirmed",),
            critical=True,
            usual_s=30,
        ),
        *onto_the_deck("neutral", p.neutral_stays),
    ),
)

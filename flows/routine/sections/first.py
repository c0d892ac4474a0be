"""Sections that come before all others: danger, holding the vehicle again, a hand-off."""

from flows.routine.condition import ALWAYS
from flows.routine.conditions import (
    electrics as e,
    general as g,
    holding as h,
    road as r,
    under as u,
)
from flows.routine.items import Gate, HandOff, Option, Question, Section, Step

_HELD_FIRST = h.winch_must_stop | h.loose | h.hold_is_over
_LOOK_FIRST = ~g.danger_was_looked_for & (_HELD_FIRST | g.handoff_is_wanted | r.has_left)

DANGER = Section(
    id="danger",
    applies=g.danger_is_seen | _LOOK_FIRST,
    enters=ALWAYS,
    leaves=~g.danger_is_seen & g.danger_was_looked_for,
    items=(
        Step(
            id="danger.winch",
            applies=g.danger_is_seen | _LOOK_FIRST,
            acts=("winch_stops",),
            critical=True,
            usual_s=5,
        ),
        Question(id="danger.look", applies=_LOOK_FIRST, fact="danger", critical=True, usual_s=60),
        Step(
            id="danger.people",
            applies=g.danger_is_seen,
            acts=("people_away",),
            critical=True,
            usual_s=60,
        ),
        Step(
            id="danger.call",
            applies=g.danger_is_seen,
            acts=("help_called",),
            critical=True,
            usual_s=120,
        ),
        HandOff(
            id="danger.stand_down",
            applies=g.danger_is_seen & g.handoff_is_wanted,
            usual_s=600,
        ),
        Question(
            id="danger.released_by",
            applies=g.danger_is_seen,
            fact="released_by",
            critical=True,
            usual_s=1800,
        ),
        Step(
            id="danger.released",
            applies=g.danger_is_seen,
            acts=("danger_released",),
            critical=True,
            usual_s=60,
        ),
    ),
)

RECOVER = Section(
    id="recover",
    applies=_HELD_FIRST & g.danger_was_looked_for,
    enters=ALWAYS,
    leaves=h.held,
    items=(
        Step(
            id="recover.stop",
            applies=h.winch_must_stop,
            acts=("winch_stops",),
            critical=True,
            usual_s=5,
        ),
        Step(
            id="recover.chock",
            applies=h.loose | h.hold_is_over,
            acts=("chocks_in",),
            critical=True,
            usual_s=20,
        ),
    ),
)

HANDOFF = Section(
    id="handoff",
    applies=g.handoff_is_wanted & g.danger_was_looked_for,
    enters=ALWAYS,
    leaves=ALWAYS,
    items=(
        Step(
            id="handoff.chock",
            applies=g.handoff_is_wanted & ~h.parked_on_deck,
            acts=("chocks_in",),
            critical=True,
            usual_s=30,
        ),
        HandOff(id="handoff.who", applies=g.handoff_is_wanted, usual_s=300),
    ),
)

OPEN = Section(
    id="open",
    applies=ALWAYS,
    enters=ALWAYS,
    leaves=ALWAYS,
    items=(
        Question(id="open.history", applies=ALWAYS, fact="history"),
        Question(id="open.place", applies=ALWAYS, fact="place", deferrable=True),
    ),
)

CLOSE = Section(
    id="close",
    applies=ALWAYS,
    enters=r.delivered & e.disconnect_settled & e.covers_are_on & u.nothing_is_left_under,
    leaves=e.disconnect_settled & e.covers_are_on,
    items=(
        Gate(id="close.skips", applies=g.skips_are_open, critical=True, usual_s=600),
        Gate(
            id="close.seal",
            applies=ALWAYS,
            options=(Option("close", closes=True),),
            critical=True,
            usual_s=60,
        ),
    ),
)

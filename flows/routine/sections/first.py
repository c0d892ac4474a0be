"""What comes before everything: the danger gate, getting back to held, a hand-off."""

from flows.routine import conditions as p
from flows.routine.condition import ALWAYS
from flows.routine.conditions import electrics as e, road_conditions as u, turning as t
from flows.routine.items import Gate, HandOff, Option, Question, Section, Step

_HELD_FIRST = p.winch_must_stop | p.loose | p.hold_is_over
_LOOK_FIRST = ~p.danger_was_looked_for & (_HELD_FIRST | p.handoff_is_wanted | u.has_left)

DANGER = Section(
    id="danger",
    applies=p.danger_is_seen | _LOOK_FIRST,
    enters=ALWAYS,
    leaves=~p.danger_is_seen & p.danger_was_looked_for,
    items=(
        Step(
            id="danger.winch",
            applies=p.danger_is_seen | _LOOK_FIRST,
            acts=("winch_stops",),
            critical=True,
            usual_s=5,
        ),
        Question(id="danger.look", applies=_LOOK_FIRST, fact="danger", critical=True, usual_s=60),
        Step(
            id="danger.people",
            applies=p.danger_is_seen,
            acts=("people_away",),
            critical=True,
            usual_s=60,
        ),
        Step(
            id="danger.call",
            applies=p.danger_is_seen,
            acts=("help_called",),
            critical=True,
            usual_s=120,
        ),
        HandOff(
            id="danger.stand_down",
            applies=p.danger_is_seen & p.handoff_is_wanted,
            usual_s=600,
        ),
        Question(
            id="danger.released_by",
            applies=p.danger_is_seen,
            fact="released_by",
            critical=True,
            usual_s=1800,
        ),
        Step(
            id="danger.released",
            applies=p.danger_is_seen,
            acts=("danger_released",),
            critical=True,
            usual_s=60,
        ),
    ),
)

RECOVER = Section(
    id="recover",
    applies=_HELD_FIRST & p.danger_was_looked_for,
    enters=ALWAYS,
    leaves=p.held,
    items=(
        Step(
            id="recover.stop",
            applies=p.winch_must_stop,
            acts=("winch_stops",),
            critical=True,
            usual_s=5,
        ),
        Step(
            id="recover.chock",
            applies=p.loose | p.hold_is_over,
            acts=("chocks_in",),
            critical=True,
            usual_s=20,
        ),
    ),
)

HANDOFF = Section(
    id="handoff",
    applies=p.handoff_is_wanted & p.danger_was_looked_for,
    enters=ALWAYS,
    leaves=ALWAYS,
    items=(
        Step(
            id="handoff.chock",
            applies=p.handoff_is_wanted & ~p.parked_on_deck,
            acts=("chocks_in",),
            critical=True,
            usual_s=30,
        ),
        HandOff(id="handoff.who", applies=p.handoff_is_wanted, usual_s=300),
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
    enters=u.delivered & e.disconnect_settled & e.covers_are_on & t.nothing_is_left_under,
    leaves=e.disconnect_settled & e.covers_are_on,
    items=(
        Gate(id="close.skips", applies=p.skips_are_open, critical=True, usual_s=600),
        Gate(
            id="close.seal",
            applies=ALWAYS,
            options=(Option("close", closes=True),),
            critical=True,
            usual_s=60,
        ),
    ),
)

"""The drop: the line holds it before a strap comes off, and before neutral; then the hand-over.

Five short sections, so that each can be proven from every act state it may be entered with.
"""

from flows.job.acts import WHEELS
from flows.routine.condition import ALWAYS
from flows.routine.conditions import (
    electrics as e,
    general as g,
    holding as h,
    road as r,
    under as u,
    waking as w,
)
from flows.routine.items import Gate, HandOff, Option, Photo, Question, Section, Step, WindowStep
from flows.routine.sections.ready import disconnects_closed
from flows.routine.sections.skate import IN_PARK, OUT, REST_DRAGS

_NO_HOLD = (
    (g.wheels_do_not_roll & ~u.something_is_under)
    | g.facing_end_does_not_hold
    | (g.has_no_card & g.no_point_is_shown)
)
_BEFORE = r.is_aboard & ~g.in_neutral
# Not ready, it is handed to nobody before its disconnects were looked at.
_UNSEEN = (
    _BEFORE
    & g.ready_is_off
    & ~g.is_damaged
    & (e.disconnect_may_be_open[1] | e.disconnect_may_be_open[2])
)
_NEEDS_READY = _BEFORE & g.neutral_needs_ready
_READY_TO_GO = r.is_aboard & (g.neutral_stays | IN_PARK)

_HELD = (
    # It moved while the line was on a vehicle that is down: the line comes off first.
    Step(
        id="drop.truck",
        applies=r.is_aboard | ~h.line_is_in_doubt,
        acts=("truck_set",),
        critical=True,
        usual_s=60,
    ),
    Question(id="drop.slope", applies=r.is_aboard, fact="slope"),
    Gate(
        id="drop.uphill",
        applies=r.is_aboard & h.uphill_of_truck,
        options=(
            Option("moved", clears=("slope",), moves_truck=True),
            Option("hand_off", hands_off=True),
        ),
        critical=True,
        usual_s=300,
    ),
    Question(id="drop.wheels", applies=r.is_aboard, fact="wheels"),
    Question(id="drop.shown", applies=r.is_aboard & g.has_no_card, fact="point_shown"),
    HandOff(id="drop.no_hold", applies=r.is_aboard & _NO_HOLD & ~_UNSEEN, usual_s=300),
    Question(id="drop.ready", applies=_NEEDS_READY & ~e.stays_open, fact="ready"),
    *disconnects_closed("drop", _BEFORE),
    HandOff(id="drop.no_way", applies=_BEFORE & w.no_way_is_left & ~u.slides, usual_s=300),
    Step(
        id="drop.keep_off",
        applies=r.is_aboard & g.card_has_keep_off,
        acts=("keep_off_told",),
        critical=True,
        usual_s=10,
    ),
    Step(
        id="drop.hook",
        applies=r.is_aboard,
        acts=("line_on", "hooked"),
        critical=True,
        usual_s=120,
    ),
    Step(
        id="drop.away",
        applies=r.is_aboard & ~h.line_is_tight,
        acts=("path_empty",),
        critical=True,
    ),
    Step(
        id="drop.tension",
        applies=r.is_aboard,
        acts=("tension_on",),
        critical=True,
        usual_s=30,
    ),
    Step(
        id="drop.all",
        applies=r.is_aboard & IN_PARK & REST_DRAGS,
        critical=True,
        usual_s=240,
    ),
)

_STRAPS = (
    Step(
        id="drop.straps",
        applies=r.is_aboard,
        acts=tuple(f"unstrapped_{wheel}" for wheel in WHEELS),
        critical=True,
        usual_s=180,
    ),
)

_DOWN = (
    Step(
        id="drop.chock",
        applies=r.is_aboard & ~g.neutral_stays & ~IN_PARK,
        acts=("chocks_in",),
        critical=True,
        usual_s=60,
    ),
    Gate(
        id="drop.pause",
        applies=_BEFORE & ~IN_PARK,
        acts=("neutral_cleared",),
        critical=True,
    ),
    WindowStep(
        id="drop.select",
        applies=r.is_aboard & ~IN_PARK,
        acts=("neutral_selected",),
        critical=True,
        usual_s=60,
    ),
    Question(id="drop.when", applies=r.is_aboard & g.in_neutral, fact="neutral_when"),
    Step(
        id="drop.confirm",
        applies=r.is_aboard & g.in_neutral,
        acts=("neutral_confirmed",),
        critical=True,
        usual_s=30,
    ),
    Step(
        id="drop.chocks_out",
        applies=_READY_TO_GO,
        acts=("chocks_out",),
        critical=True,
        usual_s=30,
    ),
    Step(
        id="drop.path",
        applies=_READY_TO_GO & g.chocks_are_out,
        acts=("path_empty",),
        critical=True,
    ),
    Gate(
        id="drop.go",
        applies=_READY_TO_GO & g.chocks_are_out,
        acts=("pays_out",),
        critical=True,
    ),
    Step(
        id="drop.down",
        applies=h.winch_is_still & h.deck_is_in_doubt,
        acts=("off_deck",),
        critical=True,
        usual_s=60,
    ),
    Step(
        id="drop.off",
        applies=~h.winch_is_still,
        acts=("winch_stops", "off_deck"),
        critical=True,
        usual_s=300,
    ),
)

_STANDS = (
    Step(id="drop.park", applies=ALWAYS, acts=("park_set",), critical=True, usual_s=30),
    Step(id="drop.chocked", applies=ALWAYS, acts=("chocks_in",), critical=True, usual_s=60),
    Step(id="drop.slacken", applies=ALWAYS, acts=("line_slackened",), critical=True, usual_s=30),
    Step(
        id="drop.unhook",
        applies=ALWAYS,
        acts=("unhooked", "line_off"),
        critical=True,
        usual_s=60,
    ),
)

_OVER = (
    *OUT,
    Photo(id="drop.photos", applies=ALWAYS, skippable=True, usual_s=240, wanted=11),
    Step(id="drop.told_open", applies=r.tagged_open, acts=("open_told",), critical=True),
    Step(
        id="drop.apart",
        applies=r.damaged_electric,
        acts=("stored_apart",),
        critical=True,
        usual_s=300,
    ),
    Question(id="drop.vin", applies=ALWAYS, fact="vin"),
    Question(id="drop.condition", applies=ALWAYS, fact="condition", usual_s=180),
    Question(id="drop.changes", applies=r.condition_changed, fact="changes", usual_s=120),
    Question(id="drop.key", applies=ALWAYS, fact="key_left"),
    Question(id="drop.received", applies=ALWAYS, fact="received_by", critical=True, usual_s=120),
)

DROP = Section(
    id="drop",
    applies=r.at_the_drop,
    enters=h.parked_on_deck & h.winch_is_still,
    leaves=~r.is_aboard | (h.line_is_tight & h.held),
    items=_HELD,
)

UNSTRAP = Section(
    id="unstrap",
    applies=r.at_the_drop,
    enters=h.parked_on_deck & h.line_is_tight & h.held & h.winch_is_still,
    leaves=~r.is_aboard | h.line_is_tight,
    items=_STRAPS,
)

LOWER = Section(
    id="lower",
    applies=r.at_the_drop,
    enters=h.parked_on_deck & r.straps_are_off & h.line_is_tight & h.winch_is_still,
    leaves=~r.is_aboard & ~h.deck_is_in_doubt & h.winch_is_still,
    items=_DOWN,
)

SET_DOWN = Section(
    id="set_down",
    applies=r.at_the_drop,
    enters=r.is_down & h.winch_is_still,
    leaves=r.delivered,
    items=_STANDS,
)

HAND_OVER = Section(
    id="hand_over",
    applies=r.at_the_drop,
    enters=r.delivered,
    leaves=r.delivered & e.disconnect_settled & u.nothing_is_left_under,
    items=_OVER,
)

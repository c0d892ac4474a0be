"""Turning round, or taking out: the truck has no end to hook, and a second truck gives it one.

The end at the truck has no holding point, but the far end has; or it is boxed in, and the second
truck reaches an end of it.

The second truck lifts that end by the tyres, dollies go under the axle that stays down, and it
is turned round, or taken out, at walking pace with every wheel carried. Then it is chocked again,
the truck comes back to it, and it is attached by the end that holds.
"""

from flows.job.facts import WEIGHT_RESTS_ON
from flows.routine.conditions import (
    electrics as e,
    general as g,
    holding as h,
    lifting as li,
    road as r,
    under as u,
)
from flows.routine.items import Gate, HandOff, LiftPlan, Option, Question, Section, Step
from flows.routine.sections.options import HAND_OFF

_HERE = h.on_the_ground & ~r.has_left
_TAKEN_OUT = li.is_boxed_in & li.an_end_holds
_WANTED = (g.facing_end_does_not_hold & li.far_end_holds) | _TAKEN_OUT
_UP = _WANTED & ~li.is_turned_round & ~li.wrong_end_is_up
_DOWN = li.is_up & ~_UP
_BEFORE = _UP & ~u.an_end_is_left_up
_NOBODY = _BEFORE & (li.no_second_truck | li.a_wheel_is_missing)
_REACH = _BEFORE & li.is_boxed_in & li.second_truck_comes
_BY = _UP & li.second_truck_comes & ~li.lift_is_no_go

_STANDS = (
    Step(id="turn.chock", applies=_BEFORE, acts=("chocks_in",), critical=True, usual_s=60),
    Step(
        id="turn.park",
        applies=_BEFORE & u.is_out_of_park,
        acts=("park_set",),
        critical=True,
        usual_s=30,
    ),
    Step(
        id="turn.slacken",
        applies=_BEFORE & h.line_is_on,
        acts=("line_slackened",),
        critical=True,
        usual_s=30,
    ),
    Step(
        id="turn.unhook",
        applies=_BEFORE & h.line_is_on,
        acts=("unhooked", "line_off"),
        critical=True,
        usual_s=60,
    ),
)

_WHO = (
    Question(id="turn.truck", applies=_BEFORE & ~li.is_boxed_in, fact="second_truck", usual_s=300),
    Question(
        id="turn.out_truck", applies=_BEFORE & li.is_boxed_in, fact="second_truck", usual_s=300
    ),
    HandOff(id="turn.no_truck", applies=_NOBODY & ~li.is_boxed_in, usual_s=300),
    HandOff(id="turn.no_way_out", applies=_NOBODY & li.is_boxed_in, usual_s=300),
    Question(id="turn.reach", applies=_REACH, fact="lift_end", usual_s=60),
    Gate(
        id="turn.unreached",
        applies=_REACH & li.no_end_is_reached,
        options=(
            Option("another_truck", clears=("second_truck",)),
            Option("look_again", clears=("lift_end",)),
            HAND_OFF,
        ),
        critical=True,
        usual_s=300,
    ),
    LiftPlan(
        id="turn.figure",
        applies=_BEFORE & li.second_truck_comes,
        rests_on=(*WEIGHT_RESTS_ON, "facing", "second_truck", "lift_end"),
        by="second_truck",
    ),
    Gate(
        id="turn.no_go",
        applies=_BEFORE & li.lift_is_no_go,
        options=(
            Option("another_truck", clears=("second_truck",)),
            HAND_OFF,
        ),
        critical=True,
        usual_s=300,
    ),
)

_LIFTED = (
    Step(
        id="turn.set",
        applies=_BY & ~u.an_end_is_left_up,
        acts=("lifter_set",),
        critical=True,
        usual_s=300,
    ),
    Step(id="turn.away", applies=_BY & ~u.an_end_is_left_up, acts=("path_empty",), critical=True),
    Gate(
        id="turn.pause", applies=_BY & ~u.an_end_is_left_up, acts=("lift_cleared",), critical=True
    ),
    Step(
        id="turn.lift_nose",
        applies=_BY & li.nose_is_lifted,
        acts=("front_lifted",),
        critical=True,
        usual_s=180,
        of="tyres",
    ),
    Step(
        id="turn.lift_tail",
        applies=_BY & li.tail_is_lifted,
        acts=("rear_lifted",),
        critical=True,
        usual_s=180,
        of="tyres",
    ),
    Step(id="turn.strap", applies=_UP, acts=("lift_strapped",), critical=True, usual_s=90),
    Step(id="turn.dollies", applies=_UP, acts=("dollies_under",), critical=True, usual_s=240),
    Step(
        id="turn.strap_dollies",
        applies=_UP,
        acts=("dollies_strapped",),
        critical=True,
        usual_s=90,
    ),
    Step(id="turn.chocks_out", applies=_UP, acts=("chocks_out",), critical=True, usual_s=30),
    Step(
        id="turn.path",
        applies=_UP & g.chocks_are_out,
        acts=("path_empty",),
        critical=True,
    ),
    Step(
        id="turn.turn",
        applies=_UP & g.chocks_are_out & ~li.is_boxed_in,
        acts=("turned",),
        critical=True,
        usual_s=240,
    ),
    Step(
        id="turn.out",
        applies=_UP & g.chocks_are_out & li.is_boxed_in,
        acts=("taken_out",),
        critical=True,
        usual_s=300,
    ),
)

_SET_DOWN = (
    Step(
        id="turn.swap",
        applies=_DOWN,
        acts=("dollies_out", "chocks_in"),
        critical=True,
        usual_s=240,
    ),
    Step(id="turn.down", applies=_DOWN, acts=("set_down",), critical=True, usual_s=90),
)

TURN_ROUND = Section(
    id="turn",
    applies=_HERE & (_WANTED | li.is_up),
    enters=h.held & e.disconnect_settled & g.margin_allows,
    leaves=h.held & (~li.is_up | ~h.on_the_ground),
    items=(*_STANDS, *_WHO, *_LIFTED, *_SET_DOWN),
)

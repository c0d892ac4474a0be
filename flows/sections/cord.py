"""Cord: the ordinary ways first, then the card's release behind its isolation."""

from flows import predicates as p
from flows.items import Gate, HandOff, Question, Section, Step

_FAILED = p.cord_is_stuck & p.ordinary_ways_failed
_BY_CARD = _FAILED & p.card_has_release & ~p.release_failed
_BY_OPERATOR = _FAILED & (~p.card_has_release | p.release_failed)
_ISOLATED = _BY_CARD & p.release_needs_isolation

CORD = Section(
    id="cord",
    applies=p.may_be_electric | p.isolation_was_opened | p.plug_is_in,
    enters=p.held,
    leaves=~p.plug_is_in & p.disconnect_settled & p.held,
    items=(
        Question(id="cord.state", applies=p.may_be_electric, fact="cord"),
        Step(
            id="cord.end_charging",
            applies=p.plug_is_in,
            acts=("charging_ended",),
            critical=True,
            usual_s=60,
        ),
        Step(id="cord.unlock", applies=p.cord_is_stuck, usual_s=30),
        Question(id="cord.try", applies=p.cord_is_stuck, fact="cord_tried"),
        Question(id="cord.operator", applies=_BY_OPERATOR, fact="operator_freed", usual_s=300),
        HandOff(id="cord.hand_off", applies=_BY_OPERATOR & p.operator_did_not_free, usual_s=300),
        Step(
            id="cord.open",
            applies=_ISOLATED,
            acts=("isolation_opened",),
            critical=True,
            usual_s=60,
        ),
        Step(
            id="cord.pin",
            applies=_ISOLATED,
            acts=("isolation_pinned",),
            critical=True,
            usual_s=30,
        ),
        Gate(
            id="cord.pause",
            applies=_BY_CARD,
            acts=("release_cleared",),
            critical=True,
        ),
        Step(
            id="cord.pull",
            applies=_BY_CARD,
            acts=("release_pulled",),
            critical=True,
            usual_s=30,
        ),
        Step(
            id="cord.out",
            applies=p.cord_is_free | _BY_CARD,
            acts=("plug_out",),
            critical=True,
            usual_s=30,
        ),
        Step(
            id="cord.unpin",
            applies=~p.plug_is_in & p.isolation_is_pinned & ~p.damaged_or_flooded,
            acts=("isolation_unpinned",),
            critical=True,
        ),
        Step(
            id="cord.close",
            applies=~p.plug_is_in & p.isolation_not_closed & ~p.damaged_or_flooded,
            acts=("isolation_closed",),
            critical=True,
        ),
        Step(
            id="cord.tag",
            applies=~p.plug_is_in & p.isolation_not_closed & p.damaged_or_flooded,
            acts=("isolation_tagged",),
            critical=True,
        ),
    ),
)

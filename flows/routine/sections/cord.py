"""Cord: the ordinary ways first, then the card's release behind its isolations."""

from collections.abc import Iterator

from flows.job.acts import NUMBERS
from flows.routine.conditions import (
    electrics as e,
    general as g,
    holding as h,
    under as u,
)
from flows.routine.items import Gate, HandOff, Item, Question, Section, Step, WaitStep

_FAILED = e.cord_is_stuck & e.ordinary_ways_failed
_BY_CARD = _FAILED & e.card_has_release & ~e.release_failed
_BY_OPERATOR = _FAILED & (~e.card_has_release | e.release_failed)
_ISOLATED = _BY_CARD & e.release_needs_isolation
_AFTER = ~e.plug_is_in


def _opening(n: int) -> Iterator[Item]:
    required = _ISOLATED & e.release_requires[n]
    yield Step(
        id=f"cord.open_{n}",
        applies=required,
        acts=(f"isolation_opened_{n}",),
        critical=True,
        usual_s=60,
    )
    yield Step(
        id=f"cord.pin_{n}",
        applies=required,
        acts=(f"isolation_pinned_{n}",),
        critical=True,
        usual_s=30,
    )


def _closing(n: int) -> Iterator[Item]:
    yield Step(
        id=f"cord.unpin_{n}",
        applies=_AFTER & e.isolation_is_pinned[n] & ~g.is_damaged,
        acts=(f"isolation_unpinned_{n}",),
        critical=True,
    )
    yield Step(
        id=f"cord.close_{n}",
        applies=_AFTER & e.isolation_not_closed[n] & ~g.is_damaged,
        acts=(f"isolation_closed_{n}",),
        critical=True,
    )


def _tagging(n: int) -> Iterator[Item]:
    yield Step(
        id=f"cord.tag_{n}",
        applies=_AFTER & e.isolation_not_closed[n] & g.is_damaged,
        acts=(f"isolation_tagged_{n}",),
        critical=True,
    )


CORD = Section(
    id="cord",
    applies=g.may_be_electric | e.isolation_was_opened | e.plug_is_in | ~e.covers_are_on,
    enters=h.held,
    leaves=~e.plug_is_in & e.disconnect_settled & e.covers_are_on & h.held,
    items=(
        Question(id="cord.state", applies=g.may_be_electric, fact="cord"),
        # Found while it was pulled or in neutral: no disconnect opens inside a neutral window.
        Step(
            id="cord.still",
            applies=e.plug_is_in & ~h.winch_is_still,
            acts=("winch_stops",),
            critical=True,
            usual_s=5,
        ),
        Step(
            id="cord.park",
            applies=e.plug_is_in & u.is_out_of_park,
            acts=("park_set",),
            critical=True,
            usual_s=30,
        ),
        Step(
            id="cord.end_charging",
            applies=e.plug_is_in,
            acts=("charging_ended",),
            critical=True,
            usual_s=60,
        ),
        Step(id="cord.unlock", applies=e.cord_is_stuck, usual_s=30),
        Question(id="cord.try", applies=e.cord_is_stuck, fact="cord_tried"),
        Question(id="cord.operator", applies=_BY_OPERATOR, fact="operator_freed", usual_s=300),
        HandOff(id="cord.hand_off", applies=_BY_OPERATOR & e.operator_did_not_free, usual_s=300),
        Step(
            id="cord.ajar",
            applies=_ISOLATED,
            acts=("left_ajar",),
            critical=True,
            usual_s=60,
        ),
        Step(
            id="cord.uncover",
            applies=_ISOLATED & e.isolations_are_covered,
            acts=("covers_off",),
            critical=True,
            usual_s=120,
        ),
        *(item for n in NUMBERS for item in _opening(n)),
        WaitStep(
            id="cord.wait",
            applies=_ISOLATED & e.isolations_need_waiting,
            acts=("isolations_waited",),
            critical=True,
            waits="isolations",
            after=tuple(f"isolation_opened_{n}" for n in NUMBERS),
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
            applies=e.cord_is_free | _BY_CARD,
            acts=("plug_out",),
            critical=True,
            usual_s=30,
        ),
        *(item for n in reversed(NUMBERS) for item in _closing(n)),
        *(item for n in NUMBERS for item in _tagging(n)),
        Step(
            id="cord.refit",
            applies=_AFTER & ~e.covers_are_on,
            acts=("covers_on",),
            critical=True,
            usual_s=120,
        ),
    ),
)

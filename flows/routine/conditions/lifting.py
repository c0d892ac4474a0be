"""Conditions of a lift: which end is up, by which truck, and whether that is allowed."""

from flows.routine.condition import View, condition
from flows.routine.conditions.holding import is_carried

NEAR = {"nose": "front", "tail": "rear"}
"""Which axle is at the end that faces the truck."""


@condition("card", "facing")
def far_end_holds(view: View) -> bool:
    """The card has a holding point at the end away from the truck."""
    far = {"nose": "tail", "tail": "nose"}.get(view.fact("facing") or "")
    return view.card is not None and view.card.holds.first(far) is not None


@condition("facing")
def nose_is_near(view: View) -> bool:
    """Its nose faces the truck."""
    return view.fact("facing") == "nose"


@condition("second_truck")
def second_truck_comes(view: View) -> bool:
    """A second truck, with a wheel lift, is named."""
    return view.fact("second_truck") not in {None, "none"}


@condition("second_truck")
def no_second_truck(view: View) -> bool:
    """No second truck comes."""
    return view.fact("second_truck") == "none"


@condition("wheels")
def a_wheel_is_missing(view: View) -> bool:
    """A wheel is missing, so an end has no two tyres to lift by, or to put on dollies."""
    return view.fact("wheels") == "missing"


@condition("lift")
def lift_is_no_go(view: View) -> bool:
    """The second truck or its dollies may not take it, by the figure."""
    return view.lift("second_truck") == "no-go"


@condition("lift")
def dollies_are_too_weak(view: View) -> bool:
    """The truck's dollies may not carry that axle, by the figure."""
    return view.lift("dollies") == "no-go"


@condition()
def is_up(view: View) -> bool:
    """An end is lifted, or may be, or dollies of the truck that turned it are under it."""
    on_dollies = view.act("dollies") != "none" and view.act("lifter") != "as_found"
    return view.act("lifted") != "none" or on_dollies


@condition("facing")
def wrong_end_is_up(view: View) -> bool:
    """The end away from the truck is lifted, or nobody knows which end is."""
    near = NEAR.get(view.fact("facing") or "")
    return view.act("lifted") not in {"none", near}


@condition()
def is_turned_round(view: View) -> bool:
    """It was turned round, and not yet set down."""
    return view.act("turned") == "turned"


@condition()
def all_wheels_are_carried(view: View) -> bool:
    """One end hangs strapped on a lift, and dollies are strapped under the other axle."""
    return is_carried(view)

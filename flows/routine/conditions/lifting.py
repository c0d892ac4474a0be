"""Conditions of a lift: which end is up, by which truck, and whether that is allowed."""

from flows.job.ends import OTHER_END, lifted_end
from flows.routine.condition import View, condition
from flows.routine.conditions.holding import is_carried

NEAR = {"nose": "front", "tail": "rear"}
"""Which axle is at an end."""


@condition("card", "facing")
def far_end_holds(view: View) -> bool:
    """The card has a holding point at the end away from the truck."""
    far = OTHER_END.get(view.fact("facing") or "")
    return view.card is not None and view.card.holds.first(far) is not None


@condition("facing")
def is_boxed_in(view: View) -> bool:
    """Boxed in: neither end faces the truck."""
    return view.fact("facing") == "boxed"


@condition("card", "point_shown")
def an_end_holds(view: View) -> bool:
    """Out of there it may be hooked: the card has an end that holds, or a point may be shown."""
    if view.card is None:
        return view.fact("point_shown") != "no"
    return any(view.card.holds.first(end) is not None for end in OTHER_END)


@condition("facing", "lift_end")
def nose_is_lifted(view: View) -> bool:
    """The second truck lifts its nose: that faces the truck, or is the end that can be reached."""
    return lifted_end(view.fact("facing"), view.fact("lift_end")) == "nose"


@condition("facing", "lift_end")
def tail_is_lifted(view: View) -> bool:
    """The second truck lifts its tail: that faces the truck, or is the end that can be reached."""
    return lifted_end(view.fact("facing"), view.fact("lift_end")) == "tail"


@condition("lift_end")
def no_end_is_reached(view: View) -> bool:
    """The second truck reaches neither end of it."""
    return view.fact("lift_end") == "neither"


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


@condition("facing", "lift_end")
def wrong_end_is_up(view: View) -> bool:
    """Another end is lifted than was meant to be, or nobody knows which end is."""
    end = lifted_end(view.fact("facing"), view.fact("lift_end"))
    return view.act("lifted") not in {"none", NEAR.get(end or "")}


@condition()
def is_turned_round(view: View) -> bool:
    """It was turned round or taken out on the lift, and not yet set down."""
    return view.act("turned") != "no"


@condition()
def all_wheels_are_carried(view: View) -> bool:
    """One end hangs strapped on a lift, and dollies are strapped under the other axle."""
    return is_carried(view)

"""Conditions of the gear under a vehicle that does not simply roll: skates, dollies, a lift."""

from flows.job.acts import UNKNOWN
from flows.routine.condition import View, condition
from flows.routine.conditions.holding import is_under, stays_in_park

# Skates and dollies


@condition("goes_under", "wheels")
def skates_go_under(view: View) -> bool:
    """Skates are here for the wheels that stay stopped; none goes under a missing wheel."""
    return view.fact("goes_under") == "skates" and view.fact("wheels") != "missing"


@condition("goes_under")
def dollies_go_under(view: View) -> bool:
    """Dollies are here for the axle that does not roll."""
    return view.fact("goes_under") == "dollies"


@condition("goes_under", "wheels")
def nothing_goes_under(view: View) -> bool:
    """Neither skates nor dollies are here, or only skates for a wheel that is missing."""
    gear = view.fact("goes_under")
    return gear == "none" or (gear == "skates" and view.fact("wheels") == "missing")


@condition("card", "goes_under", "wheels")
def dollies_free_it(view: View) -> bool:
    """Dollies are here, Park holds one axle by the card, and all other wheels roll."""
    holds = None if view.card is None else view.card.park_holds
    one_axle = holds is not None and holds.axle in {"front", "rear"}
    return one_axle and view.fact("goes_under") == "dollies" and view.fact("wheels") == "roll"


@condition()
def is_out_of_park(view: View) -> bool:
    """It is in neutral, or may be."""
    return view.act("gear") in {"neutral", UNKNOWN}


@condition()
def gear_is_in_doubt(view: View) -> bool:
    """Nobody knows whether it is in neutral or in Park."""
    return view.act("gear") == UNKNOWN


@condition("wheels")
def something_is_under(view: View) -> bool:
    """Dollies are under its wheels that do not roll, or skates where none is missing."""
    return is_under(view)


@condition()
def gear_rides_along(view: View) -> bool:
    """Skates or dollies are under it, and go along."""
    return view.act("skates") == "under" or view.act("dollies") in {"under", "braked"}


@condition("skate.all", "drop.all")
def all_on_skates(view: View) -> bool:
    """Skates were put under every wheel, not only under the stopped wheels."""
    return view.done("skate.all") or view.done("drop.all")


@condition()
def skates_are_left(view: View) -> bool:
    """Skates are under it, or may be."""
    return view.act("skates") != "none"


@condition()
def an_end_is_left_up(view: View) -> bool:
    """An end is lifted, or may be."""
    return view.act("lifted") != "none"


@condition()
def nothing_is_left_under(view: View) -> bool:
    """No skate, no dolly and no lift is under it."""
    return all(view.act(what) == "none" for what in ("skates", "dollies", "lifted"))


@condition()
def dollies_are_left(view: View) -> bool:
    """Dollies are under it, or may be."""
    return view.act("dollies") != "none"


@condition()
def slides(view: View) -> bool:
    """It stays in Park, on skates, or with the axle that Park holds on dollies."""
    return stays_in_park(view)

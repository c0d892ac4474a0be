"""Conditions of the destination, the road and the drop."""

from flows.job.acts import NUMBERS, UNKNOWN, WHEELS
from flows.routine.condition import View, condition

# Destination


@condition("history", "powertrain")
def damaged_electric(view: View) -> bool:
    """Damaged, flooded or once in danger, and perhaps with a battery that can burn days later."""
    return view.is_damaged and view.fact("powertrain") != "combustion"


@condition("condition")
def condition_changed(view: View) -> bool:
    """Its condition is not as it was picked up, or nobody is sure that it is."""
    return view.fact("condition") == "changed"


@condition("takes_it")
def is_not_taken(view: View) -> bool:
    """The destination does not take it, or nobody is sure that it does."""
    return view.fact("takes_it") == "no"


# On the road


@condition()
def is_rolling(view: View) -> bool:
    """The truck is on the road."""
    return view.act("rolling") == "rolling"


@condition()
def has_left(view: View) -> bool:
    """The truck has left the scene: it rolls, or stopped somewhere after that."""
    return view.act("rolling") != "parked"


@condition("stop_at")
def at_the_drop(view: View) -> bool:
    """The truck has stopped at the destination."""
    return view.act("rolling") == "stopped" and view.fact("stop_at") == "drop"


@condition("stop_at")
def stopped_on_the_way(view: View) -> bool:
    """The truck has stopped on the way."""
    return view.act("rolling") == "stopped" and view.fact("stop_at") == "way"


@condition()
def is_aboard(view: View) -> bool:
    """The vehicle is on the deck."""
    return view.act("deck") == "deck"


@condition()
def tagged_open(view: View) -> bool:
    """A disconnect goes over open, with its tag."""
    return any(
        view.act(f"tag.{n}") == "tagged"
        and view.act(f"isolation.{n}") in {"open", "pinned", UNKNOWN}
        for n in NUMBERS
    )


@condition()
def delivered(view: View) -> bool:
    """It is off the truck, in Park, chocked, with no line on it."""
    standing = {"deck": "ground", "gear": "park", "chocks": "in", "winch": "still"}
    off = {"line": "off", "hook": "off", "tension": "off"}
    return all(view.act(name) == value for name, value in (standing | off).items())


@condition()
def straps_are_off(view: View) -> bool:
    """Every strap is off."""
    return all(view.act(f"strap.{wheel}") == "off" for wheel in WHEELS)


@condition()
def is_down(view: View) -> bool:
    """It is on the ground, not surely in Park."""
    return view.act("deck") == "ground"

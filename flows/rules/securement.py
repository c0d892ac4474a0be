"""The rules for a vehicle that goes on the road, and for a vehicle that is left at the drop."""

from collections.abc import Mapping

from flows.job.acts import WHEELS
from flows.rules.world import World


def untied(world: World) -> str | None:
    """Return why it may not go on the road: the winch line, a missing strap; None if it may.

    Examples
    --------
    >>> from flows.job.acts import Acts
    >>> untied(World(acts=Acts.initial().after("on_deck")))
    'a strap is missing at a wheel'
    """
    if world.acts["tension"] != "off":
        return "the winch line still holds it"
    if world.acts["deck"] == "deck":
        strapped = all(world.acts[f"strap.{wheel}"] == "on" for wheel in WHEELS)
        return None if strapped else "a strap is missing at a wheel"
    tied = all(world.acts[p] == "on" for p in ("lift_straps", "dolly_straps", "chains"))
    return None if tied and world.acts["tow_lights"] == "on" else "lift and dollies are not tied"


def tied_to_truck(world: World) -> str | None:
    """Return why the truck may not move from where it stands, None if it may.

    A vehicle aboard goes along: in Park, strapped at every wheel, no line pulling. A vehicle on
    the ground stays, held by itself, with no line between the two.

    Examples
    --------
    >>> from flows.job.acts import Acts
    >>> tied_to_truck(World(acts=Acts.initial().after("chocks_in").after("line_on")))
    'a line may still join vehicle and truck'
    >>> tied_to_truck(World(acts=Acts.initial().after("chocks_in")))
    """
    acts = world.acts
    if acts["deck"] == "deck":
        return "it is not in Park" if world.is_out_of_park else untied(world)
    if acts["deck"] != "ground":
        return "nobody knows whether it is aboard"
    if (acts["line"], acts["hook"]) != ("off", "off"):
        return "a line may still join vehicle and truck"
    held = acts["chocks"] == "in" or world.is_carried
    return None if held else "it is not held without the truck"


_DROPPED = (
    ("the winch line still holds it", {"tension": "off"}),
    ("it is not off the deck", {"deck": "ground"}),
    ("the line is still on it", {"line": "off", "hook": "off"}),
    ("what carried it is still under it", {"skates": "none", "dollies": "none", "lifted": "none"}),
    ("it is not in Park and chocked", {"chocks": "in", "gear": "park"}),
)
"""Each reason why a vehicle is not yet dropped, with the act states that settle it."""


def left_standing(world: World) -> str | None:
    """Return why a vehicle that was dropped cannot be left yet, None if it can be."""
    return next((why for why, states in _DROPPED if not _are(world, states)), None)


def _are(world: World, states: Mapping[str, str]) -> bool:
    return all(world.acts[variable] == state for variable, state in states.items())

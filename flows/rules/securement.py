"""What the rules ask of a vehicle that goes on the road, and of one that is left at its place."""

from flows.job.acts import WHEELS
from flows.rules.world import World


def untied(world: World) -> str | None:
    """Return what keeps it from the road: the winch line, or a strap or a chain that is missing.

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


def left_standing(world: World) -> str | None:
    """Return what is still on it, or in doubt, where it was dropped."""
    if world.acts["tension"] != "off":
        return "the winch line still holds it"
    if world.acts["deck"] != "ground":
        return "it is not off the deck"
    if world.acts["line"] != "off" or world.acts["hook"] != "off":
        return "the line is still on it"
    if any(world.acts[what] != "none" for what in ("skates", "dollies", "lifted")):
        return "what carried it is still under it"
    held = world.acts["chocks"] == "in" and world.acts["gear"] == "park"
    return None if held else "it is not in Park and chocked"

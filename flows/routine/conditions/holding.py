"""Conditions of holding the vehicle: chocks, line and truck, and whether it could roll."""

from flows.job.acts import UNKNOWN, WHEELS, WINCH_RUNS
from flows.routine.condition import View, condition

# Where the vehicle is


@condition()
def on_the_ground(view: View) -> bool:
    """It is not, or not surely, on the deck."""
    return view.act("deck") != "deck"


@condition()
def stands_apart(view: View) -> bool:
    """It is on the ground, with neither line nor hook on it: the truck may go."""
    return all(view.act(name) == state for name, state in _APART.items())


_APART = {"deck": "ground", "line": "off", "hook": "off"}


@condition()
def deck_is_in_doubt(view: View) -> bool:
    """Nobody knows whether it is on the deck."""
    return view.act("deck") == UNKNOWN


@condition()
def parked_on_deck(view: View) -> bool:
    """It is on the deck with Park set."""
    return view.act("deck") == "deck" and view.act("gear") == "park"


@condition("slope")
def uphill_of_truck(view: View) -> bool:
    """It is uphill of the truck, where the line alone never holds it."""
    return view.fact("slope") == "uphill"


@condition()
def chocks_were_taken_out(view: View) -> bool:
    """The first chocking is over: the chocks came out, or are in doubt."""
    return view.act("chocks") in {"out", UNKNOWN}


@condition()
def chocks_are_in(view: View) -> bool:
    """It is chocked both ways."""
    return view.act("chocks") == "in"


# Holding it


def _line_holds(view: View) -> bool:
    """Line and hook are on, under tension, and it is level with or downhill of the truck."""
    tied = all(view.act(variable) == "on" for variable in ("line", "hook", "tension"))
    return tied and view.fact("slope") in {"level", "downhill"}


def _strapped(view: View) -> bool:
    return all(view.act(f"strap.{wheel}") == "on" for wheel in WHEELS)


def _is_out_of_park(view: View) -> bool:
    """Out of Park, or perhaps out of it."""
    return view.act("gear") in {"neutral", UNKNOWN}


def _line_is_in_doubt(view: View) -> bool:
    return UNKNOWN in (view.act("line"), view.act("hook"))


def is_under(view: View) -> bool:
    """Say whether dollies are under its wheels that do not roll, or skates where none is gone."""
    on_skates = view.act("skates") == "under" and view.fact("wheels") != "missing"
    return on_skates or view.act("dollies") == "under"


def is_carried(view: View) -> bool:
    """Say whether lift and dollies carry every wheel, strapped."""
    strapped = view.act("lift_straps") == view.act("dolly_straps") == "on"
    lifted = view.act("lifted") in {"front", "rear"}
    return lifted and strapped and view.act("dollies") == "under"


def stays_in_park(view: View) -> bool:
    """Say whether skates or dollies carry the wheels that Park holds, and it never left Park."""
    on_dollies = view.act("dollies") == "braked" and view.act("dolly_straps") == "on"
    carried = view.act("skates") == "under" or on_dollies
    return carried and not _is_out_of_park(view)


def _is_dragged(view: View) -> bool:
    return view.fact("wheels") not in {None, "roll"} and not is_under(view)


@condition("slope")
def loose(view: View) -> bool:
    """Neither chocks, straps nor a line that holds: chocks out or doubted, or in neutral."""
    if view.act("chocks") == "in" or is_carried(view):
        return False
    on_deck = view.act("deck") == "deck"
    return _could_roll_off(view) if on_deck else _could_roll_away(view)


def _could_roll_off(view: View) -> bool:
    """It could roll off the deck: out of Park, and neither straps nor line hold it."""
    return _is_out_of_park(view) and not _strapped(view) and not _line_holds(view)


def _could_roll_away(view: View) -> bool:
    """Unchocked on the ground, or out of Park there, it could roll with no line that holds."""
    if view.act("chocks") == UNKNOWN or _line_is_in_doubt(view):
        return True
    is_free = view.act("chocks") == "out" or _is_out_of_park(view)
    return is_free and not _line_holds(view)


@condition("window")
def hold_is_over(view: View) -> bool:
    """The neutral hold ran out before the vehicle was on the deck."""
    ended = view.window is not None and view.window.state == "ended"
    loose_since = ended and not stays_in_park(view) and not is_carried(view)
    return loose_since and view.act("deck") != "deck" and view.act("chocks") != "in"


@condition("slope", "margin", "window", "handoff", "wheels")
def winch_must_stop(view: View) -> bool:
    """The winch moves, or may, and a condition for the pull is no longer met."""
    if view.act("winch") == "still":
        return False
    barred = view.act("winch") == "moving" and _barred(view)
    return view.handoff is not None or barred or not _may_run_on(view)


def _may_run_on(view: View) -> bool:
    """The pull has what it needs: line, empty path, chocks out, wheels that roll or slide."""
    return (
        view.act("winch") in WINCH_RUNS
        and _line_holds(view)
        and view.act("path") == "empty"
        and view.act("chocks") == "out"
        and (stays_in_park(view) or _neutral_holds(view))
        and not _is_dragged(view)
    )


def _neutral_holds(view: View) -> bool:
    """Neutral is confirmed to stay, and its hold has not run out."""
    ended = view.window is not None and view.window.state == "ended"
    confirmed = view.act("neutral") == "confirmed"
    return view.act("gear") == "neutral" and confirmed and not ended


def _barred(view: View) -> bool:
    return view.verdict != "go" and not view.owner_decided


# Straps and line


@condition()
def all_strapped(view: View) -> bool:
    """A strap at each of the four wheels."""
    return _strapped(view)


@condition()
def line_is_on(view: View) -> bool:
    """Line or hook is on the vehicle, or may be."""
    return view.act("line") != "off" or view.act("hook") != "off"


@condition()
def is_hooked(view: View) -> bool:
    """Line and hook are on the vehicle."""
    return view.act("line") == view.act("hook") == "on"


@condition()
def line_is_tight(view: View) -> bool:
    """The line is on and under tension."""
    return view.act("line") == "on" and view.act("tension") == "on"


@condition()
def line_is_slack(view: View) -> bool:
    """No line pulls on the vehicle."""
    return view.act("tension") == "off"


@condition()
def winch_moves(view: View) -> bool:
    """The pull is under way."""
    return view.act("winch") == "moving"


@condition()
def winch_is_still(view: View) -> bool:
    """The winch does not move."""
    return view.act("winch") == "still"


@condition()
def line_is_in_doubt(view: View) -> bool:
    """The line was on and nobody knows whether it still is: it may hold, pull or drag."""
    return _line_is_in_doubt(view)


@condition()
def truck_is_set(view: View) -> bool:
    """The truck is in its working position, secured."""
    return view.act("truck") == "set"


# The contract of most sections


@condition("slope")
def held(view: View) -> bool:
    """Chocked both ways, or tied by a line that holds, or carried."""
    on = view.act("deck") == "deck" or is_carried(view)
    return view.act("chocks") == "in" or _line_holds(view) or on

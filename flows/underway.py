"""Conditions of where it goes, of the road and of the drop, beside those of `predicates`."""

from flows.conditions import View, condition

# Where it goes


@condition("history", "powertrain")
def damaged_electric(view: View) -> bool:
    """Damaged, flooded or once in danger, and perhaps with a battery that can burn late."""
    damaged = view.fact("history") != "breakdown" or view.act("danger") == "released"
    return damaged and view.fact("powertrain") != "combustion"


@condition("takes_it")
def is_not_taken(view: View) -> bool:
    """The place it is to go to does not take it, or nobody is sure that it does."""
    return view.fact("takes_it") == "no"

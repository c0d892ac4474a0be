"""Conditions of the high-voltage side: the charge cord and the disconnects behind it."""

from collections.abc import Mapping

from flows.job.acts import ISOLATIONS, NUMBERS, UNKNOWN
from flows.routine.condition import Condition, View, condition, numbered

_OPEN = frozenset({"open", "pinned", UNKNOWN})

# The cord


@condition("cord")
def plug_is_in(view: View) -> bool:
    """It is plugged in, free or stuck, and the plug has not come out."""
    return view.fact("cord") in {"free", "stuck"} and view.act("plug") != "out"


@condition("cord")
def cord_is_free(view: View) -> bool:
    """Plugged in and it will come out."""
    return view.fact("cord") == "free" and view.act("plug") != "out"


@condition("cord")
def cord_is_stuck(view: View) -> bool:
    """Plugged in and it will not come out."""
    return view.fact("cord") == "stuck" and view.act("plug") != "out"


@condition("cord_tried")
def ordinary_ways_failed(view: View) -> bool:
    """Unlocking and the charger's stop did not free it."""
    return view.fact("cord_tried") == "no"


@condition("card")
def card_has_release(view: View) -> bool:
    """The card gives a manual release that needs no more isolations than the routine handles."""
    release = view.card.cord_release if view.card is not None else None
    return release is not None and len(release.requires) <= len(ISOLATIONS)


@condition("release_freed")
def release_failed(view: View) -> bool:
    """The card's release was pulled and the plug still does not come out."""
    return view.fact("release_freed") == "no"


@condition("operator_freed")
def operator_did_not_free(view: View) -> bool:
    """The charger's operator could not free it either."""
    return view.fact("operator_freed") == "no"


# The disconnects


@condition("card")
def release_needs_isolation(view: View) -> bool:
    """The card's release requires an isolation opened and pinned."""
    return bool(view.card is not None and view.card.required)


@condition("card")
def isolations_need_waiting(view: View) -> bool:
    """The card asks to wait once an isolation that its release requires is open."""
    return view.card is not None and view.card.isolation_wait_min is not None


@condition("card")
def isolations_are_covered(view: View) -> bool:
    """The card names a cover over an isolation that its release requires."""
    return view.card is not None and bool(view.card.covers)


@condition()
def covers_are_on(view: View) -> bool:
    """No cover was taken off, or all are refitted."""
    return view.act("covers") == "on"


@condition()
def isolation_was_opened(view: View) -> bool:
    """An isolation was opened at some time in this job."""
    return any(view.act(name) != "as_found" for name in ISOLATIONS)


@condition("history")
def stays_open(view: View) -> bool:
    """A disconnect is open and stays open, on a damaged vehicle: it will never get ready."""
    return view.is_damaged and any(view.act(name) in _OPEN for name in ISOLATIONS)


@condition("ready", "history")
def disconnect_may_be_why(view: View) -> bool:
    """It is undamaged, not ready, and a disconnect was opened and not seen closed since."""
    opened = any(view.act(name) not in {"as_found", "checked"} for name in ISOLATIONS)
    return view.fact("ready") == "off" and opened and not view.is_damaged


@condition()
def disconnect_settled(view: View) -> bool:
    """No isolation is open, unless tagged to be handed over open."""
    return all(
        view.act(f"isolation.{n}") not in _OPEN or view.act(f"tag.{n}") == "tagged"
        for n in NUMBERS
    )


@numbered(NUMBERS, "card")
def release_requires(view: View, n: int) -> bool:
    """The card's release requires isolation {n} opened and pinned."""
    return view.card is not None and len(view.card.required) >= n


@numbered(NUMBERS)
def isolation_is_pinned(view: View, n: int) -> bool:
    """Isolation {n} is pinned open."""
    return view.act(f"isolation.{n}") == "pinned"


@numbered(NUMBERS)
def isolation_not_closed(view: View, n: int) -> bool:
    """Isolation {n} was opened, or is in doubt, and not confirmed closed since."""
    return view.act(f"isolation.{n}") in _OPEN


@numbered(NUMBERS)
def disconnect_may_be_open(view: View, n: int) -> bool:
    """Isolation {n} was opened in this job and not looked at again since it was closed."""
    return view.act(f"isolation.{n}") not in {"as_found", "checked"}


NUMBERED: Mapping[str, Condition] = {
    one.name.replace(" ", "_"): one
    for family in (
        release_requires,
        isolation_is_pinned,
        isolation_not_closed,
        disconnect_may_be_open,
    )
    for one in family.values()
}
"""The conditions of each isolation, by name and number."""

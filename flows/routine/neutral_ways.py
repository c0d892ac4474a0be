"""Ways into neutral: which of a card's ways works in the vehicle's present state."""

from typing import TYPE_CHECKING

from flows.cards.chosen import chosen_card
from flows.job.acts import ISOLATIONS, UNKNOWN

if TYPE_CHECKING:
    from collections.abc import Iterable

    from flows.cards.parts import NeutralWay
    from flows.cards.vehicle import VehicleCard
    from flows.job.state import Job


def usable_way(card: "VehicleCard", *, ready_off: bool, dead: bool) -> "NeutralWay | None":
    """Return the first of a card's ways that works, None where none does.

    Parameters
    ----------
    card
        The vehicle's card.
    ready_off
        The ready indication is off, or stays off.
    dead
        Nothing wakes it: neither ready nor 12 volts.
    """
    for way in card.neutral:
        awake = way.needs_ready or "12-volt" in way.needs
        if not (way.needs_ready and ready_off) and not (awake and dead):
            return way
    return None


def is_left(card: "VehicleCard | None", *, ready_off: bool, dead: bool) -> bool:
    """Say whether some way into neutral works.

    Without a card, or without a way on the card, the owner's manual gives the way: assume that
    it needs the ready indication, and so a vehicle that wakes.
    """
    if card is None or not card.neutral:
        return not (ready_off or dead)
    return usable_way(card, ready_off=ready_off, dead=dead) is not None


def stays_dark(damaged: bool, isolations: "Iterable[str]") -> bool:  # noqa: FBT001  one of two facts
    """Say whether the ready indication stays off: a disconnect stays open where damaged."""
    return damaged and any(state in {"open", "pinned", UNKNOWN} for state in isolations)


def way_of(job: "Job") -> "NeutralWay | None":
    """Return the way of the card that a job uses: the first that works, else the first."""
    card = chosen_card(job)
    if card is None:
        return None
    dark = stays_dark(job.is_damaged, [job.acts[name] for name in ISOLATIONS])
    way = usable_way(
        card,
        ready_off=dark or job.value("ready") == "off",
        dead=job.value("wakes") == "no",
    )
    return way or card.first_way

"""From the facts of a job to the inputs of its figures, and the figure's record."""

from dataclasses import replace
from typing import TYPE_CHECKING, Any, cast

from flows.cards.truck import TruckCard
from flows.cards.vehicle import VehicleCard
from flows.figures.margin import Load, Margin, Truck, margin, to_record
from flows.figures.narrowing import Known
from flows.figures.weight import (
    Drive,
    KnownWeight,
    PlanningWeight,
    Powertrain,
    class_ids,
    from_card,
    from_stated,
    sizes,
)

if TYPE_CHECKING:
    from flows.job import Job


def margin_inputs_known(job: "Job") -> bool:
    """Say whether enough is known for a margin."""
    return job.value("truck") in job.book.library.trucks


def conclude_margin(job: "Job") -> dict[str, Any]:
    """Compute the margin from what is known and return its record."""
    return to_record(worst_of(margins_of(job)))


def margins_of(job: "Job") -> tuple[Margin, ...]:
    """Return the margin from what is known, for each end that may be at the headboard.

    An assumed powertrain or drive counts as every row of the class table it could be.
    """
    truck_card = job.book.library.trucks[job.value("truck")]
    pct = job.book.library.company.close_at_pct
    return tuple(margin(truck_of(truck_card), load, pct) for load in _loads(job))


def worst_of(answers: tuple[Margin, ...]) -> Margin:
    """Return the worst answer: what is not known of a job is reckoned every way."""
    return max(answers, key=_severity)


def _severity(answer: Margin) -> tuple[int, int]:
    spare = answer.governing_margin_lb
    return (
        ("go", "close", "no-go").index(answer.verdict),
        1_000_000 if spare is None else -spare,
    )


def truck_of(card: TruckCard) -> Truck:
    """Return the figure's truck from its card; a wrecker carries nothing on a deck."""
    if card.deck is None:
        raise ValueError(f"truck {card.id} has no deck; choose a carrier")
    return Truck(
        empty_front_lb=card.ticket.front_lb,
        empty_rear_lb=card.ticket.rear_lb,
        gvwr_lb=card.gvwr_lb,
        gawr_front_lb=card.gawr_front_lb,
        gawr_rear_lb=card.gawr_rear_lb,
        wheelbase_in=card.wheelbase_in,
        headboard_in=card.deck.headboard_in,
        deck_length_in=card.deck.length_in,
    )


def _loads(job: "Job") -> list[Load]:
    vehicle = _vehicle(job)
    facing = job.value("facing")
    ways = {"nose": (True,), "tail": (False,)}.get(facing or "", (True, False))
    return [vehicle.load(nose_first=way) for way in ways]


def _vehicle(job: "Job") -> PlanningWeight:
    """What to reckon with: the class for what nobody measured, the card for what it says."""
    card = job.book.library.vehicles.get(job.value("card") or "")
    plan = known_of(job).plan()
    return plan if card is None else _with_lengths(plan, card)


def known_of(job: "Job") -> Known:
    """Return what is known of the vehicle's weight, for the figures."""
    card = job.book.library.vehicles.get(job.value("card") or "")
    powertrain = cast("Powertrain | None", _sure(job, "powertrain"))
    drive = cast("Drive | None", _sure(job, "drive"))
    return Known(_classes(job, card), powertrain, drive, _weight(job, card, powertrain))


def _sure(job: "Job", name: str) -> str | None:
    fact = job.facts.get(name)
    return None if fact is None or fact.how == "assumed" else str(fact.value)


def _classes(job: "Job", card: VehicleCard | None) -> tuple[str, ...]:
    """Classes that are left: the chosen one, the card's, those of the family, or all."""
    chosen = job.value("weight_class")
    if chosen in class_ids():
        return (str(chosen),)
    if card is not None and card.weight_class is not None:
        return (card.weight_class,)
    family = job.value("family")
    if family and family != "any":
        return tuple(size.class_id for size in sizes(family))
    return class_ids()


def _weight(
    job: "Job", card: VehicleCard | None, powertrain: Powertrain | None
) -> KnownWeight | None:
    """The driver's own number beats the card's; a ticket on the card gives the share too."""
    if job.value("weight") is not None:
        return from_stated(job.value("weight"), powertrain)
    if card is None or card.weights is None:
        return None
    axles = (card.weights.front_lb, card.weights.rear_lb)
    return from_card(card.weights.how, powertrain, axles=axles)


def _with_lengths(vehicle: PlanningWeight, card: VehicleCard) -> PlanningWeight:
    return replace(
        vehicle,
        wheelbase_in=card.wheelbase_in,
        front_overhang_in=card.front_overhang_in,
        rear_overhang_in=card.rear_overhang_in,
    )

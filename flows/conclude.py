"""From the facts of a job to the inputs of its figures, and the figure's record."""

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from flows.cards.parts import Split
from flows.cards.truck import TruckCard
from flows.cards.vehicle import VehicleCard
from flows.figures.margin import Load, Margin, Truck, margin, to_record
from flows.figures.weight import (
    Drive,
    KnownWeight,
    PlanningWeight,
    Powertrain,
    class_ids,
    from_stated,
    from_ticket,
    heaviest,
    planning,
    sizes,
)

if TYPE_CHECKING:
    from flows.job import Job


def margin_inputs_known(job: "Job") -> bool:
    """Say whether enough is known for a margin."""
    return job.value("truck") in job.book.library.trucks


def conclude_margin(job: "Job") -> dict[str, Any]:
    """Compute the margin from what is known and return its record.

    An assumed powertrain or drive counts as every row of the class table it could be; an
    end at the truck that is not known is reckoned both ways and the worse one kept.
    """
    truck_card = job.book.library.trucks[job.value("truck")]
    pct = job.book.library.company.close_at_pct
    answers = [margin(truck_of(truck_card), load, pct) for load in _loads(job)]
    return to_record(max(answers, key=_severity))


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
    powertrain: Powertrain | None = job.sure("powertrain")
    drive: Drive | None = job.sure("drive")
    vehicle = planning(_class(job, card, powertrain, drive), powertrain, drive)
    known = _known(job, card, powertrain)
    if known is not None:
        vehicle = vehicle.weighing(known)
    if card is None:
        return vehicle
    return _with_lengths(vehicle if card.split is None else _with_split(vehicle, card.split), card)


def _class(
    job: "Job", card: VehicleCard | None, powertrain: Powertrain | None, drive: Drive | None
) -> str:
    chosen = job.value("weight_class")
    if chosen in class_ids():
        return str(chosen)
    if card is not None and card.weight_class is not None:
        return card.weight_class
    family = job.value("family")
    left = [size.class_id for size in sizes(family)] if family and family != "any" else class_ids()
    return heaviest(left, powertrain, drive)


def _known(
    job: "Job", card: VehicleCard | None, powertrain: Powertrain | None
) -> KnownWeight | None:
    """The driver's own number beats the card's; a ticket on the card gives the share too."""
    if job.value("weight") is not None:
        return from_stated(job.value("weight"), powertrain)
    weights = None if card is None else card.weights
    if weights is None:
        return None
    if weights.total_lb is not None:
        return from_stated(weights.total_lb, powertrain)
    return from_ticket(*weights.by_axle) if weights.by_axle is not None else None


def _with_split(vehicle: PlanningWeight, split: Split) -> PlanningWeight:
    """Take the front share from the card, between its ends."""
    low_pm, high_pm = 10 * split.front_low_pct, 10 * split.front_high_pct
    return replace(
        vehicle,
        share_low_pm=low_pm,
        share_mid_pm=(low_pm + high_pm) // 2,
        share_high_pm=high_pm,
    )


def _with_lengths(vehicle: PlanningWeight, card: VehicleCard) -> PlanningWeight:
    return replace(
        vehicle,
        wheelbase_in=card.wheelbase_in,
        front_overhang_in=card.front_overhang_in,
        rear_overhang_in=card.rear_overhang_in,
    )

"""The vehicle card that was chosen for a job."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from flows.cards.vehicle import VehicleCard
    from flows.job.state import Job


def chosen_card(job: "Job") -> "VehicleCard | None":
    """Return the vehicle card of a job; None before one is chosen, and for "no card"."""
    return job.book.library.vehicles.get(job.value("card") or "")

"""The figure of a lift: the truck that lifts one end, and the dollies under the other axle."""

from fractions import Fraction
from typing import TYPE_CHECKING, Any

from flows.cards.truck import lifter
from flows.conclude import plan_of
from flows.figures.lifting import lift
from flows.figures.result import Held

if TYPE_CHECKING:
    from flows.job import Job

NO_DOLLIES = 0
"""What dollies carry that a truck does not have."""


def conclude_lift(job: "Job") -> dict[str, Any] | None:
    """Compute the lift of the end at the truck, and return its record; None without a truck.

    What hangs is held against half of the scaled front axle, which is a trade standard and not
    law, against the lift's rating at its reach, and the axle and truck; what rolls behind against
    the set of dollies. "close" from the company's own part of a limit on.
    """
    card = job.book.library.trucks.get(job.value("second_truck") or "")
    truck = None if card is None else lifter(card)
    if card is None or truck is None:
        return None
    nose_first = job.value("facing") != "tail"
    load = plan_of(job).load(nose_first=nose_first)
    found = lift(truck, load, dollies_of(job, card.id))
    governing = found.governing
    close_at = job.book.library.company.close_at_pct
    used = Fraction(0) if governing is None else _used(governing)
    word = "no-go" if found.is_over else "close" if used * 100 > close_at else "go"
    return {
        "word": word,
        "truck": card.id,
        "inputs": dict(found.inputs),
        "amounts": {one.name: one.value for one in found.amounts},
        "limits": [
            {"name": one.name, "load_lb": one.used, "limit_lb": one.bound, "source": one.source}
            for one in found.held
        ],
        "governing": "" if governing is None else governing.name,
        "left_lb": 0 if governing is None else governing.left,
        "source": found.source,
    }


def dollies_of(job: "Job", truck: str) -> int:
    """Return what the weakest dollies of a truck carry under an axle [lb], 0 without any."""
    return min(
        (
            one.axle_rating_lb or NO_DOLLIES
            for one in job.book.library.gear.values()
            if one.kind == "dolly" and truck in one.on
        ),
        default=NO_DOLLIES,
    )


def _used(one: Held) -> Fraction:
    return Fraction(one.used, max(one.bound, 1))

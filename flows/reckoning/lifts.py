"""The figures of a lift: a truck that lifts one end, and dollies under the other."""

from fractions import Fraction
from typing import TYPE_CHECKING, Any

from flows.cards.truck import lifter
from flows.figures.dollies import TAG_SOURCE, Dollies
from flows.figures.lifting import lift
from flows.figures.result import Check
from flows.job.ends import lifted_end
from flows.reckoning.margin_inputs import plan_of

if TYPE_CHECKING:
    from flows.job.state import Job

NO_DOLLIES = Dollies(0)
"""The dollies of a truck that does not have any."""


def conclude_lift(job: "Job", by: str) -> dict[str, Any] | None:
    """Compute a lift, and return its record; None while no truck is known.

    Parameters
    ----------
    job
        The job.
    by
        "second_truck", which lifts the end at the truck, or boxed in the end it reaches, and
        puts dollies under the other axle,
        or "dollies", those of the truck itself, under whichever axle does not roll.
    """
    return _by_second_truck(job) if by == "second_truck" else _by_dollies(job)


def _by_second_truck(job: "Job") -> dict[str, Any] | None:
    """Return the lift by a second truck: the hanging and the rolling axle against their limits.

    Half of the scaled front axle is a trade standard and not law. The lift goes up extended, so
    every limit counts there; retracted is listed too where the card rates that end.
    """
    card = job.book.library.trucks.get(job.value("second_truck") or "")
    truck = None if card is None else lifter(card)
    end = lifted_end(job.value("facing"), job.value("lift_end"))
    if card is None or truck is None or end is None:
        return None
    load = plan_of(job).load(nose_first=end == "nose")
    found = lift(truck, load, dollies_of(job, card.id))
    amounts = {one.name: one.value for one in found.amounts}
    record = _record(job, "second_truck", card.id, found.checks, found.source)
    return record | {"amounts": amounts, "notes": list(found.notes)}


def _by_dollies(job: "Job") -> dict[str, Any] | None:
    """Return the lift by dollies alone: the heavier axle at its worst share against the set."""
    truck = job.value("truck")
    if truck not in job.book.library.trucks:
        return None
    plan = plan_of(job)
    most = max(plan.share_high_pm, 1000 - plan.share_low_pm)
    held = tuple(dollies_of(job, truck).checks(Fraction(plan.high_lb * most, 1000)))
    rolling = {"rolling": held[0].used}
    return _record(job, "dollies", truck, held, TAG_SOURCE) | {"amounts": rolling}


def _record(
    job: "Job", by: str, truck: str, held: tuple[Check, ...], source: str
) -> dict[str, Any]:
    """Return a lift as the record keeps it; "close" from the company's percentage on."""
    governing = max(held, key=_used)
    close_at = job.book.library.company.close_at_pct
    is_over = any(one.left < 0 for one in held)
    return {
        "by": by,
        "word": "no-go" if is_over else "close" if _used(governing) * 100 > close_at else "go",
        "truck": truck,
        "limits": [
            {"name": one.name, "load_lb": one.used, "limit_lb": one.bound, "source": one.source}
            for one in held
        ],
        "governing": governing.name,
        "left_lb": governing.left,
        "source": source,
    }


def dollies_of(job: "Job", truck: str) -> Dollies:
    """Return the weakest set of dollies of a truck, by its rating or its tyres."""
    return min(
        (
            one.dollies()
            for one in job.book.library.gear.values()
            if one.kind == "dolly" and truck in one.on
        ),
        key=lambda one: one.carry_lb,
        default=NO_DOLLIES,
    )


def _used(one: Check) -> Fraction:
    return Fraction(one.used, max(one.bound, 1))

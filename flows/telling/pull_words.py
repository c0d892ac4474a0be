"""What the planned pull puts into a sentence."""

from collections.abc import Callable, Mapping
from typing import Any

from flows.job.state import Job
from flows.telling.card_words import minutes
from flows.texts import phrases, word


def _planned(job: Job) -> Mapping[str, Any]:
    return {} if job.pull is None else job.pull.result


def _told(job: Job) -> str:
    """Return the sentence of a pull that fits, by what is known of time and hold."""
    plan = _planned(job)
    if plan.get("hold_min") is None:
        return word("pull_unpromised")
    if plan.get("minutes") is None:
        return word("pull_untimed")
    return word("pull_timed").format(
        needs=minutes(plan["minutes"]).capitalize(), usable=minutes(plan["usable_min"])
    )


def _detail(job: Job) -> str:
    plan = _planned(job)
    ground = phrases()["facts"]["ground"]["values"][job.value("ground") or "hard"]["label"]
    return word("pull_detail").format(
        line=plan.get("line_lb", 0),
        rating=plan.get("rating_lb", 0),
        ground=ground,
        ft=plan.get("distance_ft", 0),
    )


def _number(name: str) -> Callable[[Job], str]:
    return lambda job: str(_planned(job).get(name) or 0)


OF_PULL: Mapping[str, Callable[[Job], str]] = {
    "pull_told": _told,
    "pull_detail": _detail,
    "pull_line": _number("line_lb"),
    "pull_rating": _number("rating_lb"),
    "pull_needs": lambda job: minutes(_planned(job).get("minutes") or 0),
    "pull_usable": lambda job: minutes(_planned(job).get("usable_min") or 0),
    "pull_fits_ft": _number("fits_ft"),
}
"""What fills a placeholder of the pull, by its name."""

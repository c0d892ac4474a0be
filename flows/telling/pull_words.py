"""How far it is pulled, as it is said, and what is said of the planned pull."""

from collections.abc import Callable, Mapping
from typing import Any

from flows.hearing.answers import Answer
from flows.job.intents import Intent, Measured, Nothing
from flows.job.state import Job
from flows.measures import find_length
from flows.reckoning.planning import MOST_FT
from flows.telling.card_words import minutes
from flows.texts import phrases, word

IN64_IN_FT = 64 * 12


def feet(found: tuple[Intent, ...], text: str, answer: Answer) -> tuple[Intent, ...]:
    """Return what was meant, a distance too where one is asked for and nothing else was.

    Of a part of a foot, and of several readings, the longer one counts.
    """
    if not answer.takes_feet or not isinstance(found[0], Nothing):
        return found
    said = find_length(text, bare=True, unit="ft")
    readings = () if said is None else said.readings
    longest = max((-(-one.high // IN64_IN_FT) for one in readings), default=0)
    return (Measured(answer.fact, longest),) if 1 <= longest <= MOST_FT else found


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

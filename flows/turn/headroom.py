"""A ceiling that somebody named, compared with the height of the truck, empty and loaded."""

from flows.hearing.answers import NOTHING
from flows.hearing.ceilings import ceiling_said
from flows.hearing.lexicon import lexicon_of
from flows.hearing.prompts import prompt_for
from flows.hearing.understand import understand
from flows.job.intents import Nothing
from flows.job.state import Job
from flows.telling.labels import fact_label
from flows.telling.slots import loaded_height_in
from flows.texts import word
from flows.turn import effects
from flows.turn.turning import Turning

RESTS_ON = ("ceiling_in", "truck", "card")
"""The facts whose change is a reason to compare anew."""


def take_ceiling(t: Turning, text: str) -> bool:
    """Take the height of a ceiling from anybody's words; say whether they said nothing else.

    Words around it are the answer where free words are asked for.
    """
    height, is_alone = ceiling_said(text)
    if height is None:
        return False
    if t.job.value("ceiling_in") != height:
        effects.give(t, "ceiling_in", height, effects.how_said(t))
    t.noted.append(fact_label(t.job, "ceiling_in", height))
    if prompt_for(t.job).answer.takes_note:
        return is_alone
    return isinstance(understand(text, NOTHING, lexicon_of(t.job.book.library))[0], Nothing)


def compare(t: Turning) -> None:
    """Say where the truck, or the load on it, is higher than the ceiling; never that it fits."""
    key = _too_high(t.job)
    if (
        not key
        or t.job.ended is not None
        or all(t.job.fact_seq(one) == t.before.fact_seq(one) for one in RESTS_ON)
    ):
        return
    truck = t.job.book.library.trucks[t.job.value("truck")]
    names = {"ceiling": _shown(t.job.value("ceiling_in")), "truck_height": _shown(truck.height_in)}
    t.say(key, "driver" if t.job.at_vehicle else "dispatchers", **names)


def _too_high(job: Job) -> str:
    """Return the sentence of what is too high; empty for nothing, or nothing to compare."""
    ceiling, truck = job.value("ceiling_in"), job.book.library.trucks.get(job.value("truck") or "")
    if ceiling is None or truck is None:
        return ""
    if truck.height_in > ceiling:
        return "ceiling_truck"
    carries = truck.deck is not None and job.value("card") is not None
    return _load_too_high(loaded_height_in(job), ceiling) if carries else ""


def _load_too_high(loaded: int | None, ceiling: int) -> str:
    if loaded is None:
        return "ceiling_unknown"
    return "ceiling_loaded" if loaded > ceiling else ""


def _shown(inches: int) -> str:
    feet, over = divmod(inches, 12)
    return word("height_shown").format(feet=feet, inches=over)

"""What is left open when a job ends: what whoever takes over has to be told."""

from collections.abc import Iterator

from flows.job.acts import CLAMPS, NUMBERS, POSTS, UNKNOWN
from flows.job.state import Job
from flows.texts import sentences


def left_open(job: Job) -> tuple[str, ...]:
    """Return the ids of what is open or in doubt, the most urgent first.

    The texts name each of them under ``[left_open]``.
    """
    return (*_at_the_vehicle(job), *_of_its_parts(job))


def left_open_label(one: str) -> str:
    """Return how something that is left open is called."""
    return str(sentences()["left_open"][one])


def _at_the_vehicle(job: Job) -> Iterator[str]:
    """Yield what may set it moving, or hurt somebody."""
    acts = job.acts
    aboard = acts["deck"] == "deck"
    if acts["danger"] == "seen":
        yield "danger"
    if acts["winch"] != "still":
        yield "winch"
    if acts["chocks"] != "in" and not aboard:
        yield "chocks"
    if aboard and acts["rolling"] != "parked":
        yield "aboard"
    if acts["gear"] in {"neutral", UNKNOWN}:
        yield "neutral"


def _of_its_parts(job: Job) -> Iterator[str]:
    """Yield what is on it, opened or left out."""
    acts = job.acts
    if acts["tension"] in {"on", UNKNOWN} or "on" in (acts["line"], acts["hook"]):
        yield "line"
    if any(acts[what] != "none" for what in ("lifted", "skates", "dollies")):
        yield "under"
    stands = [
        "tagged" if acts[f"tag.{n}"] == "tagged" else "disconnect"
        for n in NUMBERS
        if acts[f"isolation.{n}"] in {"open", "pinned", UNKNOWN}
    ]
    yield from sorted(set(stands))
    if acts["pack_switch"] != "off" or any(acts[f"clamp.{p}"] != "off" for p in (*CLAMPS, *POSTS)):
        yield "clamps"
    if acts["covers"] != "on":
        yield "covers"
    if job.value("cord") in {"free", "stuck"} and acts["plug"] != "out":
        yield "cord"
    if any(skip.settled_by is None for skip in job.skips):
        yield "skip"

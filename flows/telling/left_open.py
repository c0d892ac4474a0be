"""The things left open when a job ends, which whoever takes over has to be told."""

from collections.abc import Callable

from flows.job.acts import CLAMPS, NUMBERS, POSTS, UNKNOWN
from flows.job.state import Job
from flows.texts import sentences

Open = Callable[[Job], bool]


def _aboard(job: Job) -> bool:
    return job.acts["deck"] == "deck"


def _line(job: Job) -> bool:
    tension, line, hook = (job.acts[name] for name in ("tension", "line", "hook"))
    return tension in {"on", UNKNOWN} or "on" in (line, hook)


def _under(job: Job) -> bool:
    return any(job.acts[name] != "none" for name in ("lifted", "skates", "dollies"))


def _isolation_open(*, tagged: bool) -> Open:
    """Return the condition that an isolation is open, with its tag or without."""

    def is_open(job: Job) -> bool:
        numbers = [n for n in NUMBERS if job.acts[f"isolation.{n}"] in {"open", "pinned", UNKNOWN}]
        return any((job.acts[f"tag.{n}"] == "tagged") is tagged for n in numbers)

    return is_open


def _clamps(job: Job) -> bool:
    clamps = any(job.acts[f"clamp.{clamp}"] != "off" for clamp in (*CLAMPS, *POSTS))
    return clamps or job.acts["pack_switch"] != "off"


def _cord(job: Job) -> bool:
    return job.value("cord") in {"free", "stuck"} and job.acts["plug"] != "out"


LEFT_OPEN: tuple[tuple[str, Open], ...] = (
    # It may move, or hurt somebody.
    ("danger", lambda job: job.acts["danger"] == "seen"),
    ("winch", lambda job: job.acts["winch"] != "still"),
    ("chocks", lambda job: job.acts["chocks"] != "in" and not _aboard(job)),
    ("aboard", lambda job: _aboard(job) and job.acts["rolling"] != "parked"),
    ("neutral", lambda job: job.acts["gear"] in {"neutral", UNKNOWN}),
    # Still on it, opened, or left out.
    ("line", _line),
    ("under", _under),
    ("disconnect", _isolation_open(tagged=False)),
    ("tagged", _isolation_open(tagged=True)),
    ("clamps", _clamps),
    ("covers", lambda job: job.acts["covers"] != "on"),
    ("cord", _cord),
    ("skip", lambda job: any(skip.settled_by is None for skip in job.skips)),
)
"""Everything that can be left open, the most urgent first, with its condition."""


def left_open(job: Job) -> tuple[str, ...]:
    """Return the ids of everything that is open or in doubt, the most urgent first.

    The texts name each of them under ``[left_open]``.
    """
    return tuple(name for name, is_open in LEFT_OPEN if is_open(job))


def left_open_label(name: str) -> str:
    """Return how something that is left open is called."""
    return str(sentences()["left_open"][name])

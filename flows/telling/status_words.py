"""What of a job stands as done, is open or waits, in words."""

from flows.job.state import Job
from flows.measures.say import say_number
from flows.routine.items import Photo, Step
from flows.telling.labels import last_label
from flows.telling.left_open import left_open, left_open_label
from flows.texts import word


def open_skip_item(job: Job) -> str | None:
    """Return the first item that was left out and not settled."""
    return next((skip.item for skip in job.skips if skip.settled_by is None), None)


def skips_shown(job: Job) -> str:
    """Return what was left out and not settled."""
    return ", ".join(_open_skips(job)) or word("none")


def open_shown(job: Job) -> str:
    """Return what was left out, and what waits."""
    waits = [last_label(one.item) for one in job.deferred]
    return ", ".join([*_open_skips(job), *waits]) or word("none")


def _open_skips(job: Job) -> list[str]:
    return [last_label(skip.item) for skip in job.skips if skip.settled_by is None]


MOST_CONFIRMED = 9
"""How many steps a pause shows as done."""


def done_before(job: Job) -> list[str]:
    """Return what stands as done before the open item, the newest last, at most nine."""
    routine = job.book.routine
    found: dict[str, None] = {}
    for section in reversed([one for one in routine.sections if one.id not in routine.first]):
        for item in reversed(section.items):
            done = isinstance(item, Step) and item.settled(job) and item.applies.holds(job)
            if done and not (isinstance(item, Photo) and not job.photos.get(item.id)):
                found[last_label(item.id)] = None
                if len(found) == MOST_CONFIRMED:
                    return [*reversed(found)]
    return [*reversed(found)]


IN_A_SENTENCE = 3


def done_shown(job: Job) -> str:
    """Return what stands as done, a few in each sentence."""
    done = done_before(job)
    starts = range(0, len(done), IN_A_SENTENCE)
    return ".\n".join(", ".join(done[at : at + IN_A_SENTENCE]) for at in starts)


def waits_shown(job: Job) -> str:
    """Return what was put off."""
    return ", ".join(last_label(one.item) for one in job.deferred) or word("nothing")


def left_open_words(job: Job, most: int) -> str:
    """Return what is left open at the end, the most urgent first."""
    labels = [left_open_label(one) for one in left_open(job)[:most]]
    return ", ".join(labels) or word("nothing_open")


def open_spoken(job: Job) -> str:
    """Return how many things are open or wait."""
    count = len(_open_skips(job)) + len(job.deferred)
    return say_number(count) if count else word("none")

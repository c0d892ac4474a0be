"""The state of a job in words: done, left out, put off, open at its end."""

from flows.job.state import Job
from flows.measures.say import say_number
from flows.routine.items import Item, Photo, Step
from flows.telling.labels import last_label
from flows.telling.left_open import left_open, left_open_label
from flows.texts import word


def open_skip_item(job: Job) -> str | None:
    """Return the first item that was left out and not settled."""
    return next((skip.item for skip in job.skips if skip.settled_by is None), None)


def skips_shown(job: Job) -> str:
    """Return the steps left out and not settled."""
    return ", ".join(_open_skips(job)) or word("none")


def open_shown(job: Job) -> str:
    """Return the steps left out, and those put off."""
    waits = [last_label(one.item) for one in job.deferred]
    return ", ".join([*_open_skips(job), *waits]) or word("none")


def _open_skips(job: Job) -> list[str]:
    return [last_label(skip.item) for skip in job.skips if skip.settled_by is None]


MOST_CONFIRMED = 9
"""How many steps a pause shows as done."""


def done_before(job: Job) -> list[str]:
    """Return the steps done before the open item, the newest last, at most nine."""
    routine = job.book.routine
    sections = (one for one in reversed(routine.sections) if one.id not in routine.first)
    items = (item for section in sections for item in reversed(section.items))
    labels = dict.fromkeys(last_label(item.id) for item in items if _is_done(job, item))
    return [*labels][:MOST_CONFIRMED][::-1]


def _is_done(job: Job, item: Item) -> bool:
    """Say whether a step is done; a set of photos only with a photo in it."""
    if isinstance(item, Photo) and not job.photos.get(item.id):
        return False
    return isinstance(item, Step) and item.settled(job) and item.applies.holds(job)


IN_A_SENTENCE = 3


def done_shown(job: Job) -> str:
    """Return the steps done, a few in each sentence."""
    done = done_before(job)
    starts = range(0, len(done), IN_A_SENTENCE)
    return ".\n".join(", ".join(done[at : at + IN_A_SENTENCE]) for at in starts)


def waits_shown(job: Job) -> str:
    """Return the steps put off."""
    return ", ".join(last_label(one.item) for one in job.deferred) or word("nothing")


def left_open_words(job: Job, most: int) -> str:
    """Return the things left open at the end, the most urgent first."""
    labels = [left_open_label(one) for one in left_open(job)[:most]]
    return ", ".join(labels) or word("nothing_open")


def open_spoken(job: Job) -> str:
    """Return how many things are open or wait."""
    count = len(_open_skips(job)) + len(job.deferred)
    return say_number(count) if count else word("none")

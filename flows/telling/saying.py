"""Sentences filled: the words of each placeholder, from the state of a job."""

import string
from collections.abc import Callable, Mapping
from functools import cache

from flows.hearing.vins import OF_VIN
from flows.job import windows
from flows.job.events import MINUTE_NS, Moment
from flows.job.state import Job
from flows.measures.say import digits, say_number
from flows.telling import status_words
from flows.telling.card_words import OF_CARD, minutes
from flows.telling.labels import fact_label, last_label
from flows.telling.slots import OF_LIFT, OF_MARGIN, OF_NUMBERS, OF_PULL
from flows.texts import phrases, sentences, word


def last_value(job: Job) -> str:
    """Return the value given at the last question, in words."""
    item = job.book.routine.items.get(job.last)
    name = getattr(item, "fact", "")
    value = job.value(name) if name else None
    if value is None or (phrases()["facts"][name].get("values") is None and name not in _CHOSEN):
        return word("none") if value is None else brief(str(value))
    return fact_label(job, name, value)


LONGEST_WORDS = 40


def brief(words: str) -> str:
    """Return a person's own words, cut to fit into a sentence on a small screen.

    The record keeps all of them.

    Examples
    --------
    >>> brief("county fire"), brief("the county fire service and the second engine of it")
    ('county fire', 'the county fire service and the second ...')
    """
    flat = " ".join(words.split())
    if len(flat) <= LONGEST_WORDS:
        return flat
    return f"{flat[: LONGEST_WORDS - 1].rstrip()} ..."


_CHOSEN = frozenset({"card", "truck", "family", "weight_class", "weight", "pull_ft", "load_lb"})


def section_now(job: Job) -> str:
    """Return the section of the next item; danger and its like name the section they interrupt."""
    routine, item = job.book.routine, job.next_item
    if item is not None and routine.section_of[item.id].id not in routine.first:
        return routine.section_of[item.id].id
    opened = (routine.section_of[one.id].id for one in routine.open_items(job))
    return next((section for section in opened if section not in routine.first), "close")


def _section_at(job: Job) -> str:
    """Return the name of the open section, also of one that interrupts the others."""
    item = job.next_item
    section = section_now(job) if item is None else job.book.routine.section_of[item.id].id
    return str(sentences()["sections"][section])


def _guess(job: Job) -> str:
    """Return what is proposed for words that were not understood."""
    one = job.pending
    return word("nothing") if one is None else fact_label(job, one.fact, one.value)


class Slots(dict[str, str]):
    """Placeholders filled on first use, from the job and the slots of the message."""

    def __init__(self, job: Job, given: Mapping[str, str]) -> None:
        super().__init__(given)
        self.job = job

    def __missing__(self, key: str) -> str:
        value = _FILL[key](self.job)
        self[key] = value
        return value


def fill(template: str, job: Job, given: Mapping[str, str]) -> str:
    """Fill a sentence's placeholders.

    Raises
    ------
    KeyError
        For a placeholder that nothing fills.
    """
    return template.format_map(Slots(job, given)) if fields_of(template) else template


@cache
def fields_of(template: str) -> tuple[str, ...]:
    """Return the names of a sentence's placeholders."""
    return tuple(name for _, name, _, _ in string.Formatter().parse(template) if name)


def _next_label(job: Job) -> str:
    item = job.next_item
    return word("nothing") if item is None else last_label(item.id)


def _left_minutes(job: Job) -> int:
    at: Moment | None = job.now
    if job.window is None or at is None:
        return 0
    return windows.left_ns(job.window, at) // MINUTE_NS


def _window_shown(job: Job) -> str:
    window = job.window
    if window is None or window.state == "closed":
        return word("none")
    if window.state == "ended":
        return word("window_ended")
    if window.hold_min is None:
        return word("window_unpromised")
    return word("window_left").format(left=minutes(_left_minutes(job)))


def _window_spoken(job: Job) -> str:
    window = job.window
    if window is None or window.state == "closed":
        return word("window_none_spoken")
    if window.state == "ended":
        return word("window_over_spoken")
    if window.hold_min is None:
        return word("hold_not_known_spoken")
    left = _left_minutes(job)
    return minutes(left).capitalize() if left < 60 else word("window_long_spoken")


def _name(job: Job) -> str:
    """Return the name that is read back, in the person's own words."""
    pending = job.pending
    if pending is None or pending.kind != "name":
        return word("none")
    return brief(str(pending.value))


def _heard(job: Job) -> str:
    """Return the words of a voice note that are checked, without their last mark."""
    is_heard = job.pending is not None and job.pending.kind == "heard"
    said = str(job.pending.value) if is_heard and job.pending else word("none")
    return brief(said.rstrip(" .,!?"))


_FILL: dict[str, Callable[[Job], str]] = {
    "choices_spoken": lambda _job: word("not_sure"),
    "choices_shown": lambda _job: word("not_sure"),
    "ref": lambda job: digits(job.ref),
    "guess": _guess,
    "last_done": lambda job: last_label(job.last),
    "next_done": _next_label,
    "section_name": lambda job: sentences()["sections"][section_now(job)],
    **OF_CARD,
    **OF_MARGIN,
    **OF_PULL,
    **OF_LIFT,
    **OF_NUMBERS,
    **OF_VIN,
    "left": lambda job: minutes(_left_minutes(job)),
    "left_first": lambda job: minutes(_left_minutes(job)).capitalize(),
    "released_by": lambda job: brief(str(job.value("released_by") or word("not_known"))),
    "section_at": _section_at,
    "window_shown": _window_shown,
    "window_spoken": _window_spoken,
    "open_spoken": status_words.open_spoken,
    "dispatch_phone": lambda job: job.book.library.company.dispatch_phone,
    "usual_shown": lambda job: word("usual_mass"),
    "allowed_shown": lambda job: word("allowed_mass"),
    "open_skips": status_words.skips_shown,
    "open_shown": status_words.open_shown,
    "left_open_spoken": lambda job: status_words.left_open_words(job, most=2),
    "left_open_shown": lambda job: status_words.left_open_words(job, most=9),
    "photos_shown": lambda job: str(sum(job.photos.values())),
    "truck": lambda job: fact_label(job, "truck", job.value("truck")),
    "done_spoken": lambda job: say_number(len(status_words.done_before(job))).capitalize(),
    "done_shown": status_words.done_shown,
    "waits_shown": status_words.waits_shown,
    "destination": lambda job: brief(str(job.value("destination") or word("not_known"))),
    "last_value": last_value,
    "name": _name,
    "heard": _heard,
    "reason_shown": lambda job: sentences()["reasons"][
        job.ended.reason if job.ended and job.ended.reason else "wanted"
    ],
}

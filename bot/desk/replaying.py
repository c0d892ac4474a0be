"""From journal entries back to a job, by the fold alone."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from bot.record.errors import READING, UNREADABLE_ENTRY, StoreError
from flows.job.entries import Entry
from flows.job.events import Moment
from flows.job.folding import fold
from flows.job.intents import When
from flows.job.state import Envelope, Job
from flows.job.windows import claimed_wall_ms
from flows.measures.found import Clock


def rebuilt(job: Job, entries: Iterable[Mapping[str, Any]]) -> Job:
    """Return a job rebuilt from its entries, oldest first.

    Raises
    ------
    StoreError
        If an entry has another form than this program writes.
    """
    for entry in entries:
        try:
            job = fold(job, Entry(entry["kind"], entry["body"]), _envelope(entry))
        except READING as error:
            seq, why = entry.get("seq"), repr(error)
            raise StoreError(UNREADABLE_ENTRY, value=job.ref, seq=seq, why=why) from error
    return job


def _envelope(entry: Mapping[str, Any]) -> Envelope:
    times = entry["times"]
    at = Moment(written_ms(entry), int(times["mono_ns"]), times["boot"])
    return Envelope(at, entry["by"], entry["seq"])


def written_ms(entry: Mapping[str, Any]) -> int:
    """Return when an entry was written [ms UTC]."""
    return round(datetime.fromisoformat(entry["times"]["written"]).timestamp() * 1000)


def claimed_ms(entry: Entry, job: Job) -> int | None:
    """Return the wall time that an entry's speaker claims [ms UTC]; None for no claim."""
    claim = entry.body.get("claimed")
    if claim is None or job.now is None:
        return None
    if "ago_min" in claim:
        return int(job.now.wall_ms) - int(claim["ago_min"]) * 60_000
    clocks = tuple(Clock(*(int(part) for part in text.split(":"))) for text in claim["clock"])
    return claimed_wall_ms(When(None, clocks), job.now)

"""How long what is kept: personal values, places, messages and files go after their time.

Entries stay: they hold commitments, and so the chain can be checked when the values are gone.
A hold on a job stops all of it for that job, and for messages, which belong to no one job.
Both holds and erasures are entries of the company's chain.
"""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from bot.record.errors import StoreError, Words
from bot.record.media import media_path
from bot.record.private import commitments
from bot.record.reader import Reader
from bot.record.rows import COMPANY, Batch, NewEntry
from bot.record.store import Store
from flows.job.entries import Private
from flows.job.events import Moment
from flows.texts import packet_texts
from flows.turn.turning import BOT

VALUES_DAYS = 4 * 365 + 1
"""Nine months to claim, 120 days to answer and two years to sue are over three years (49 U.S.C.
14706(e), 49 CFR 370); a year beside them."""

PLACES_DAYS = 365
MESSAGES_DAYS = 365
DAY_MS = 86_400_000
HOLD, ERASED = "hold", "erased"

NO_SUCH_JOB = Words(
    "There is no job {value} in this record.",
    "Jobs are counted from 1; rollproof status lists them.",
    "Name one of them.",
)


@dataclass(frozen=True, slots=True)
class Going:
    """What has had its time in one job; or messages, of no one job.

    Attributes
    ----------
    job
        The job; 0 for messages.
    what
        "values", "places", "files" or "messages".
    marks
        The commitments whose values go, or the digests of the files.
    before_ms
        Messages received before this go [millisecond since 1970 UTC].
    """

    job: int
    what: str
    marks: tuple[str, ...] = ()
    before_ms: int = 0


@dataclass(frozen=True, slots=True)
class Hold:
    """A wish to hold a job against any erasure, or to let it go, and why."""

    job: int
    why: str
    is_set: bool = True


def holds_of(reader: Reader) -> dict[int, bool]:
    """Return the jobs that are held."""
    held: dict[int, bool] = {}
    for entry in reader.entries(COMPANY):
        if entry["kind"] == HOLD:
            held[int(entry["body"]["job"])] = entry["body"]["event"] == "set"
    return {job: True for job, is_held in held.items() if is_held}


def hold(store: Store, wish: Hold, at: Moment, zone: str) -> None:
    """Hold a job against any erasure, or let it go; the record says so, and why.

    Raises
    ------
    StoreError
        When there is no such job.
    """
    if not store.has_job(wish.job):
        raise StoreError(NO_SUCH_JOB, value=wish.job)
    event = "set" if wish.is_set else "released"
    body = {"job": str(wish.job), "event": event, "why": Private(wish.why)}
    store.commit(Batch(at, zone, entries=(NewEntry(COMPANY, HOLD, body, by=BOT),)))


def going(reader: Reader, now_ms: int) -> Iterator[Going]:
    """Yield what has had its time and is not held, oldest job first.

    A time runs from the last entry of an ended job; an open job keeps everything.
    """
    held = holds_of(reader)
    for job, state in reader.jobs().items():
        if state == "closed" and job not in held:
            yield from _of_job(reader, job, now_ms)
    before = now_ms - MESSAGES_DAYS * DAY_MS
    if not held and reader.messages_before(before):
        yield Going(COMPANY, "messages", before_ms=before)


def _of_job(reader: Reader, job: int, now_ms: int) -> Iterator[Going]:
    entries = [json.loads(line) for line in reader.lines(job)]
    age_days = (now_ms - _ms(entries[-1]["times"]["written"])) // DAY_MS
    places, values = _marks(reader, entries)
    if age_days >= PLACES_DAYS and places:
        yield Going(job, "places", places)
    if age_days < VALUES_DAYS:
        return
    if values:
        yield Going(job, "values", values)
    media = [
        e["body"]["sha256"] for e in entries if e["kind"] == "media" and "sha256" in e["body"]
    ]
    kept = tuple(one for one in dict.fromkeys(media) if media_path(reader.folder, one).exists())
    if kept:
        yield Going(job, "files", kept)


def _marks(
    reader: Reader, entries: list[dict[str, Any]]
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the commitments still kept: to places, and to everything else."""
    found: dict[bool, list[str]] = {True: [], False: []}
    for entry in entries:
        body = entry["body"]
        is_place = body.get("name") == "place" or body.get("kind") == "place"
        kept = [one for one in commitments(body) if reader.secret(one) is not None]
        found[is_place] += kept
    return tuple(found[True]), tuple(found[False])


def erase(store: Store, one: Going, at: Moment, zone: str) -> None:
    """Erase what has had its time, and say so in the record, which names no value."""
    body = {
        "job": str(one.job),
        "what": one.what,
        "count": len(one.marks),
        "marks": list(one.marks),
    }
    store.commit(Batch(at, zone, entries=(NewEntry(COMPANY, ERASED, body, by=BOT),)))
    if one.what == "messages":
        store.scrub(one.before_ms)
    elif one.what == "files":
        for mark in one.marks:
            media_path(store.folder, mark).unlink(missing_ok=True)
    else:
        store.erase(one.marks)


def _ms(written: str) -> int:
    return round(datetime.fromisoformat(written).astimezone(UTC).timestamp() * 1000)


def told(reader: Reader, found: list[Going]) -> Iterator[str]:
    """Yield in words what has had its time, and what is held."""
    texts = packet_texts()["kept"]
    held = sorted(holds_of(reader))
    if held:
        yield texts["holds"].format(jobs=", ".join(map(str, held)))
    if not found:
        yield texts["nothing"]
    for one in found:
        date = datetime.fromtimestamp(one.before_ms / 1000, UTC).date()
        text = texts["would_messages" if one.what == "messages" else "would"]
        yield text.format(job=one.job, what=one.what, count=len(one.marks), date=date)

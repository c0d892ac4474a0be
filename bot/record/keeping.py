"""Retention: personal values, places, messages and files are erased when their time is up.

Entries stay: they contain only commitments, so the chain can be checked without the values.
A hold on a job stops erasure for that job, and for messages, which belong to no single job.
Both holds and erasures are entries of the company's chain.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from bot.record.canonical import parse
from bot.record.chain import Problem
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
"""Nine months to claim, 120 days to answer and two years to sue take over three years (49 U.S.C.
14706(e), 49 CFR 370); one more year to be safe."""

PLACES_DAYS = 365
MESSAGES_DAYS = 365
DAY_MS = 86_400_000
HOLD, ERASED = "hold", "erased"

GONE = "A personal value is gone, and no entry says that it was erased: {mark}."

NO_SUCH_JOB = Words(
    "There is no job {value} in this record.",
    "Jobs are counted from 1; rollproof status lists them.",
    "Name one of them.",
)


NO_REASON = Words(
    "There is no reason for the hold on job {value}, or for its end.",
    "The record says why a job is kept from erasure, and why that ends.",
    "Give it with --why. Nothing was changed.",
)


@dataclass(frozen=True, slots=True)
class Expired:
    """Things of a job whose time is up; or messages, of any job.

    Attributes
    ----------
    job
        The job; 0 for messages.
    what
        "values", "places", "files" or "messages".
    marks
        The commitments whose values expired, or the digests of the files.
    before_ms
        Messages received before this expired [millisecond since 1970 UTC].
    """

    job: int
    what: str
    marks: tuple[str, ...] = ()
    before_ms: int = 0


@dataclass(frozen=True, slots=True)
class Hold:
    """A request to keep a job from any erasure, or to end that, and why."""

    job: int
    why: str
    is_set: bool = True


def jobs_on_hold(reader: Reader) -> set[int]:
    """Return the jobs from which nothing may be erased."""
    last_event = {
        int(entry["body"]["job"]): entry["body"]["event"]
        for entry in reader.entries(COMPANY)
        if entry["kind"] == HOLD
    }
    return {job for job, event in last_event.items() if event == "set"}


def erased_marks(reader: Reader, job: int | None = None) -> set[str]:
    """Return the commitments and the digests of files that an entry says were erased.

    Parameters
    ----------
    job
        Only what was erased of this job; None for all.
    """
    bodies = (one for one in _erasures(reader) if job is None or one.get("job") == str(job))
    return {str(mark) for body in bodies for mark in body.get("marks") or []}


def _erasures(reader: Reader) -> Iterator[Mapping[str, Any]]:
    said = (parse(line) for line in reader.lines(COMPANY) if '"kind":"erased"' in line)
    return (entry["body"] for entry in said if entry.get("kind") == ERASED)


def gone_values(reader: Reader) -> Iterator[Problem]:
    """Yield each personal value that is gone although no entry says that it was erased."""
    erased = erased_marks(reader)
    for job in reader.sizes():
        for line in reader.lines(job):
            entry = parse(line)
            for mark in commitments(entry["body"]):
                if mark not in erased and not reader.is_kept(mark):
                    yield Problem(str(job), entry["seq"], GONE.format(mark=mark[:16]))


def hold(store: Store, wish: Hold, at: Moment, zone: str) -> None:
    """Keep a job from any erasure, or end that; the record says so, and why.

    Raises
    ------
    StoreError
        When there is no such job, or no reason.
    """
    if not wish.why.strip():
        raise StoreError(NO_REASON, value=wish.job)
    if not store.has_job(wish.job):
        raise StoreError(NO_SUCH_JOB, value=wish.job)
    event = "set" if wish.is_set else "released"
    body = {"job": str(wish.job), "event": event, "why": Private(wish.why)}
    store.commit(Batch(at, zone, entries=(NewEntry(COMPANY, HOLD, body, by=BOT),)))


def expired(reader: Reader, now_ms: int) -> Iterator[Expired]:
    """Yield everything that may be erased now, oldest job first.

    Time counts from the last entry of an ended job; an open job keeps everything.
    """
    on_hold = jobs_on_hold(reader)
    needed = _needed_files(reader, now_ms, on_hold)
    for job, state in reader.jobs().items():
        if state == "closed" and job not in on_hold:
            yield from _expired_in(reader, job, now_ms, needed)
    before = now_ms - MESSAGES_DAYS * DAY_MS
    if not on_hold and reader.messages_before(before):
        yield Expired(COMPANY, "messages", before_ms=before)


def _needed_files(reader: Reader, now_ms: int, on_hold: set[int]) -> set[str]:
    """Return the digests of the files that a job names whose files may not be erased yet."""
    found: set[str] = set()
    for job, state in reader.jobs().items():
        entries = [parse(line) for line in reader.lines(job)]
        is_past = _age_days(entries, now_ms) >= VALUES_DAYS
        if state != "closed" or job in on_hold or not is_past:
            found |= set(_files_in(entries))
    return found


def _age_days(entries: list[dict[str, Any]], now_ms: int) -> int:
    """Return how long ago the last entry of a job was written [day]."""
    return (now_ms - _ms(entries[-1]["times"]["written"])) // DAY_MS


def _files_in(entries: list[dict[str, Any]]) -> list[str]:
    """Return the digests of the files that a job received."""
    return [e["body"]["sha256"] for e in entries if e["kind"] == "media" and "sha256" in e["body"]]


def _expired_in(reader: Reader, job: int, now_ms: int, needed: set[str]) -> Iterator[Expired]:
    entries = [parse(line) for line in reader.lines(job)]
    age_days = _age_days(entries, now_ms)
    places, values = _marks(reader, entries)
    if age_days >= PLACES_DAYS and places:
        yield Expired(job, "places", places)
    if age_days < VALUES_DAYS:
        return
    if values:
        yield Expired(job, "values", values)
    if kept := _kept_files(reader, entries, needed):
        yield Expired(job, "files", kept)


def _kept_files(
    reader: Reader, entries: list[dict[str, Any]], needed: set[str]
) -> tuple[str, ...]:
    """Return the digests of the files that a job received, that are here, and no other job needs.

    A file that two jobs received is one file: the last of them to expire erases it.
    """
    return tuple(
        sha256
        for sha256 in dict.fromkeys(_files_in(entries))
        if sha256 not in needed and media_path(reader.folder, sha256).exists()
    )


def _marks(
    reader: Reader, entries: list[dict[str, Any]]
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the commitments whose values are still here: places, then everything else."""
    found: dict[bool, list[str]] = {True: [], False: []}
    for entry in entries:
        body = entry["body"]
        is_place = body.get("name") == "place" or body.get("kind") == "place"
        kept = [mark for mark in commitments(body) if reader.is_kept(mark)]
        found[is_place] += kept
    return tuple(found[True]), tuple(found[False])


def erase(store: Store, old: Expired, at: Moment, zone: str) -> None:
    """Erase expired things, and say so in the record, without naming any value."""
    body = {
        "job": str(old.job),
        "what": old.what,
        "count": len(old.marks),
        "marks": list(old.marks),
    }
    store.commit(Batch(at, zone, entries=(NewEntry(COMPANY, ERASED, body, by=BOT),)))
    if old.what == "messages":
        store.scrub(old.before_ms)
    elif old.what == "files":
        for mark in old.marks:
            media_path(store.folder, mark).unlink(missing_ok=True)
    else:
        store.erase(old.marks)


def _ms(written: str) -> int:
    return round(datetime.fromisoformat(written).astimezone(UTC).timestamp() * 1000)


def in_words(reader: Reader, found: list[Expired]) -> Iterator[str]:
    """Yield sentences about the jobs on hold and about everything expired."""
    texts = packet_texts()["kept"]
    on_hold = sorted(jobs_on_hold(reader))
    if on_hold:
        yield texts["holds"].format(jobs=", ".join(map(str, on_hold)))
    if not found:
        yield texts["nothing"]
    for old in found:
        date = datetime.fromtimestamp(old.before_ms / 1000, UTC).date()
        text = texts["would_messages" if old.what == "messages" else "would"]
        yield text.format(job=old.job, what=old.what, count=len(old.marks), date=date)

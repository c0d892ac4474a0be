"""The last checkpoint seen: a small file next to the key, outside the data folder.

If somebody puts an older copy of the record in its place, that copy is intact by itself; only a
note kept elsewhere shows that it is older. This guards against mistakes, not against somebody
who can write both.
"""

import json
import os
from pathlib import Path
from typing import Any

from bot.record.canonical import canonical
from bot.record.chain import digest
from bot.record.errors import READING, StoreError, Words, translated
from bot.record.heads import SignedHead, read_note
from bot.record.media import opened_kept
from bot.record.reader import Reader
from bot.record.rows import COMPANY

BEHIND = Words(
    "The record in {value} is older than its last checkpoint: entry {seq} of job {job} is "
    "missing or different.",
    "A record continues from its last checkpoint; until then it can only be read.",
    "Put the newest copy back. If it is lost, run rollproof restore, which records the loss. "
    "Reading commands work: status, trail, packet, verify.",
)
BEHIND_HEAD = Words(
    "The record in {value} is not the one last signed: its signed head is number {number}, the "
    "note beside the key is number {noted}.",
    "A record continues from its last signed head; until then it can only be read.",
    BEHIND.todo,
)
_LARGEST = 65_536


def remember(path: Path, reader: Reader, job: int) -> None:
    """Note the newest entries of a job and of the company, in place of the last note."""
    heads = {str(chain): reader.head(chain) for chain in (COMPANY, job)}
    kept = {name: {"seq": head.seq, "head": head.digest} for name, head in heads.items() if head}
    partial = path.with_name(path.name + ".partial")
    with translated(path):
        with partial.open("wb") as file:
            file.write(canonical(kept))
            file.flush()
            os.fsync(file.fileno())
        partial.replace(path)


def is_there(path: Path) -> bool:
    """Say whether there is a readable note of a last checkpoint."""
    return bool(_read(path))


def missing(path: Path, reader: Reader) -> list[tuple[int, int]]:
    """Return the entries seen last that the record does not have, as (job, entry)."""
    found = _read(path)
    return [(job, seq) for job, seq, head in found if not _has(reader, job, seq, head)]


def behind_note(note: SignedHead | None, reader: Reader) -> bool:
    """Say whether a record is behind the head noted beside the key, or another than it.

    The note may be behind the record: it is written after it, without a wait for the disk.
    """
    if note is None:
        return False
    head = reader.signed_head()
    number = 0 if head is None else head.number
    return number < note.number or (number == note.number and head != note)


def refuse_older(path: Path, note: Path, reader: Reader) -> None:
    """Refuse to write to a record that is behind its last checkpoint, or its last signed head.

    Parameters
    ----------
    path
        The file of the last checkpoint seen.
    note
        The file of the last signed head.
    reader
        The record.

    Raises
    ------
    StoreError
        When it is behind; it can still be read.
    """
    for job, seq in missing(path, reader):
        raise StoreError(BEHIND, value=reader.folder, job=job, seq=seq)
    noted = read_note(note)
    if noted is not None and behind_note(noted, reader):
        head = reader.signed_head()
        number = 0 if head is None else head.number
        raise StoreError(BEHIND_HEAD, value=reader.folder, number=number, noted=noted.number)


def _has(reader: Reader, job: int, seq: int, head: str) -> bool:
    line = reader.line(job, seq)
    return line is not None and digest(line.encode()) == head


def _read(path: Path) -> list[tuple[int, int, str]]:
    """Read the file, as (job, entry, digest); empty if it does not exist, or is not readable."""
    try:
        with opened_kept(path) as file:
            found: dict[str, Any] = json.loads(file.read(_LARGEST))
        return [(int(job), int(last["seq"]), str(last["head"])) for job, last in found.items()]
    except (OSError, *READING):
        return []

"""The last checkpoint as it was seen: a small file beside the key, apart from the record.

An older copy of the record that is put in its place holds in itself; only what is kept
elsewhere tells that it is older. It helps against mistakes, not against who can write both.
"""

import json
import os
from pathlib import Path
from typing import Any

from bot.record.canonical import canonical
from bot.record.chain import digest
from bot.record.errors import StoreError, Words, translated
from bot.record.reader import Reader
from bot.record.rows import COMPANY

BEHIND = Words(
    "The record in {value} is older than its last checkpoint: entry {seq} of job {job} is "
    "missing or another.",
    "A record goes on from its last checkpoint; until then it is only read.",
    "Put the newest copy back. If it is lost, run rollproof restore, which records the loss. "
    "Reading commands work: status, trail, packet, verify.",
)
_LARGEST = 65_536


def remember(path: Path, reader: Reader, job: int) -> None:
    """Keep the newest entries of a job and of the company, in place of those before."""
    heads = {str(one): reader.head(one) for one in (COMPANY, job)}
    kept = {one: {"seq": head.seq, "head": head.digest} for one, head in heads.items() if head}
    partial = path.with_name(path.name + ".partial")
    with translated(path):
        with partial.open("wb") as file:
            file.write(canonical(kept))
            file.flush()
            os.fsync(file.fileno())
        partial.replace(path)


def missing(path: Path, reader: Reader) -> list[tuple[int, int]]:
    """Return which of the entries seen last the record does not have, as (job, entry)."""
    found = [(int(job), one["seq"], one["head"]) for job, one in _read(path).items()]
    return [(job, seq) for job, seq, head in found if not _has(reader, job, seq, head)]


def refuse_older(path: Path, reader: Reader) -> None:
    """Refuse to write to a record that is behind its last checkpoint.

    Raises
    ------
    StoreError
        When it is; reading goes on.
    """
    for job, seq in missing(path, reader):
        raise StoreError(BEHIND, value=reader.folder, job=job, seq=seq)


def _has(reader: Reader, job: int, seq: int, head: str) -> bool:
    line = reader.line(job, seq)
    return line is not None and digest(line.encode()) == head


def _read(path: Path) -> dict[str, Any]:
    """Read the file; empty where there is none, or it was cut off by a loss of power."""
    try:
        found = json.loads(path.read_bytes()[:_LARGEST])
    except (OSError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}

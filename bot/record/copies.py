"""Copying the record while it is in use, and restoring a record from a copy.

SQLite's own online backup makes the copy, so it is complete although the bot keeps writing.
The signing key and the platform's token are left out: whoever finds a copy can read it, but
cannot sign anything.
"""

import shutil
import sqlite3
import stat
from pathlib import Path

from bot.record.errors import NO_RECORD, StoreError, Words, translated
from bot.record.reader import open_reader
from bot.record.rows import COMPANY, Batch, NewEntry
from bot.record.schema import FILE_NAME, connect_to_read
from bot.record.seen import missing, remember
from bot.record.store import Store
from flows.job.events import Moment
from flows.turn.turning import BOT

THERE = Words(
    "There is already a record in {value}.",
    "A copy can only be restored into a folder without a record.",
    "Move that folder away first, and keep it. Nothing was changed.",
)
IN_THE_WAY = Words(
    "There is already something at {value}.",
    "A copy goes into a new folder.",
    "Name another folder. Nothing was changed.",
)
BAD_COPY = Words(
    "The copy in {value} is not intact: {why}",
    "A copy whose every chain is intact.",
    "Use another copy, but keep this one too. Nothing was changed.",
)


def back_up(data: Path, target: Path) -> int:
    """Copy record and files into a new folder; return how many files there are.

    Raises
    ------
    StoreError
        When there is no record, the folder exists already, or the copy is not intact.
    """
    if not (data / FILE_NAME).is_file():
        raise StoreError(NO_RECORD, value=data / FILE_NAME)
    if target.exists():
        raise StoreError(IN_THE_WAY, value=target)
    partial = target.with_name(target.name + ".partial")
    with translated(target):
        shutil.rmtree(partial, ignore_errors=True)
        try:
            partial.mkdir(mode=0o700, parents=True)
            _copy_record(data, partial)
            count = _copy_files(data, partial)
            _check(partial)
            partial.replace(target)
        finally:
            shutil.rmtree(partial, ignore_errors=True)
    return count


def _copy_record(data: Path, target: Path) -> None:
    source = connect_to_read(data / FILE_NAME)
    copy = sqlite3.connect(target / FILE_NAME)
    try:
        source.backup(copy)
        # A single file, complete by itself; opening the record sets its own mode again.
        copy.execute("PRAGMA journal_mode = DELETE")
    finally:
        copy.close()
        source.close()
    (target / FILE_NAME).chmod(0o600)


def _copy_files(data: Path, target: Path) -> int:
    if not (data / "files").is_dir():
        return 0
    # Nothing but plain files: what a link or a pipe leads to was never received.
    kept = [path for path in sorted((data / "files").iterdir())
            if path.suffix != ".partial" and stat.S_ISREG(path.lstat().st_mode)]  # fmt: skip
    (target / "files").mkdir(mode=0o700)
    for path in kept:
        shutil.copyfile(path, target / "files" / path.name, follow_symlinks=False)
    return len(kept)


def _check(folder: Path) -> None:
    with open_reader(folder) as reader:
        problems = reader.verify()
    for problem in problems:
        raise StoreError(BAD_COPY, value=folder, why=problem.what)


def check_copy(copy: Path, data: Path) -> None:
    """Check that a copy can be put back into a folder.

    Raises
    ------
    StoreError
        When the copy is not intact, or there is a record already.
    """
    if (data / FILE_NAME).exists():
        raise StoreError(THERE, value=data)
    _check(copy)


def put_back(copy: Path, data: Path) -> None:
    """Put the files of a copy back into a folder without a record; check it first."""
    with translated(data):
        data.mkdir(mode=0o700, parents=True, exist_ok=True)
        _copy_files(copy, data)
        _copy_record(copy, data)


def note_restored(store: Store, seen: Path, at: Moment, zone: str) -> list[tuple[int, int]]:
    """Write into a restored record which entries it has lost, as far as that is known.

    Returns
    -------
    list of tuple
        The entries seen last that are missing, as (job, entry).
    """
    lost = missing(seen, store)
    body = {"lost": [{"job": str(job), "seq": seq} for job, seq in lost]}
    store.commit(Batch(at, zone, entries=(NewEntry(COMPANY, "restored", body, by=BOT),)))
    remember(seen, store, COMPANY)
    return lost

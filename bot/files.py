"""Files as received: kept whole, under the name of their digest."""

import errno
import hashlib
import os
from pathlib import Path

from bot.inbound import MediaKind
from bot.journal.errors import DISK_FULL, NO_FOLDER, StoreError

LARGEST = 20 * 1024 * 1024


class FileRefusedError(Exception):
    """A file that cannot be kept."""


def keep(folder: Path, kind: MediaKind, path: str) -> tuple[MediaKind, str, int]:
    """Copy a file into the data folder by its SHA-256; return kind, digest and size.

    Raises
    ------
    FileRefusedError
        When it is not there, is no file, or is over 20 MB.
    StoreError
        When the data folder cannot take it; nothing of it is left there.
    """
    source = Path(path)
    try:
        if not source.is_file():
            raise FileRefusedError(f"{kind} is {path!r}, which is no file")
        if source.stat().st_size > LARGEST:
            raise FileRefusedError(f"{kind} is {source.stat().st_size} bytes; allowed: {LARGEST}")
        data = source.read_bytes()
    except (OSError, ValueError) as error:
        raise FileRefusedError(f"{kind} {path!r} cannot be read ({error})") from None
    return keep_bytes(folder, kind, data)


def keep_bytes(folder: Path, kind: MediaKind, data: bytes) -> tuple[MediaKind, str, int]:
    """Keep what was received by its SHA-256; return kind, digest and size.

    Raises
    ------
    StoreError
        When the data folder cannot take it; nothing of it is left there.
    """
    digest = hashlib.sha256(data).hexdigest()
    _keep(folder, digest, data)
    return kind, digest, len(data)


def drawing_path(folder: Path, sha256: str) -> Path:
    """Return where a drawing of this digest is kept."""
    return folder / "files" / f"{sha256}.svg"


def keep_drawing(folder: Path, svg: str) -> Path:
    """Keep a drawing under the name of its digest; return where.

    Raises
    ------
    StoreError
        When the data folder cannot take it; nothing of it is left there.
    """
    data = svg.encode()
    path = drawing_path(folder, hashlib.sha256(data).hexdigest())
    _keep(folder, path.name, data)
    return path


def _keep(folder: Path, name: str, data: bytes) -> None:
    """Write a file whole, or not at all."""
    target = folder / "files" / name
    try:
        if not target.exists():
            _write(target, data)
    except OSError as error:
        words = DISK_FULL if error.errno == errno.ENOSPC else NO_FOLDER
        raise StoreError(words, value=folder, why=error.strerror) from error


def _write(target: Path, data: bytes) -> None:
    target.parent.mkdir(mode=0o700, exist_ok=True)
    partial = target.with_suffix(".partial")
    try:
        with partial.open("wb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
        partial.replace(target)
    finally:
        partial.unlink(missing_ok=True)

"""Files as received: kept whole, under the name of their digest."""

import hashlib
import os
from pathlib import Path

from bot.inbound import MediaKind

LARGEST = 20 * 1024 * 1024


class FileRefusedError(Exception):
    """A file that cannot be kept."""


def keep(folder: Path, kind: MediaKind, path: str) -> tuple[MediaKind, str, int]:
    """Copy a file into the data folder by its SHA-256; return kind, digest and size.

    Raises
    ------
    FileRefusedError
        When it is not there, is no file, or is over 20 MB.
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
    digest = hashlib.sha256(data).hexdigest()
    target = folder / "files" / digest
    if not target.exists():
        target.parent.mkdir(mode=0o700, exist_ok=True)
        partial = target.with_suffix(".partial")
        with partial.open("wb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
        partial.replace(target)
    return kind, digest, len(data)

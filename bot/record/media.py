"""Files as received: kept complete, named by their digest, their type read from their content.

Every channel keeps the files it receives here: `keep` takes a path, `keep_bytes` their bytes.
A file's name and extension are ignored; its content is neither parsed nor changed.
"""

import errno
import hashlib
import os
import stat
from collections.abc import Mapping
from pathlib import Path
from typing import IO, Literal

from bot.record.errors import DISK_FULL, NO_FOLDER, StoreError
from flows.job.events import (
    Media as Media,  # noqa: PLC0414  the flows' own type of a file
    MediaKind as MediaKind,  # noqa: PLC0414  as above
)

LARGEST = 20 * 1024 * 1024
_PIECE = 1 << 20
NEEDED = 16
"""How many bytes at a file's start show its type."""

_PICTURES = ("image/jpeg", "image/png", "image/webp", "image/heic")
ALLOWED: Mapping[MediaKind, tuple[str, ...]] = {
    "photo": _PICTURES,
    "voice": ("audio/ogg", "audio/mp4", "audio/mpeg", "audio/wav"),
    "file": ("application/pdf", *_PICTURES),
}
"""The media types allowed for each kind."""

_STARTS = (
    (b"\xff\xd8\xff", "image/jpeg"),
    (b"\x89PNG\r\n\x1a\n", "image/png"),
    (b"%PDF-", "application/pdf"),
    (b"OggS\x00", "audio/ogg"),
    (b"ID3", "audio/mpeg"),
    (b"PK\x03\x04", "application/zip"),
    (b"\x1f\x8b\x08", "application/gzip"),
    (b"Rar!\x1a\x07", "application/vnd.rar"),
    (b"7z\xbc\xaf\x27\x1c", "application/x-7z-compressed"),
)
_RIFF = {b"WEBPVP": "image/webp", b"WAVE": "audio/wav"}
_BRANDS = {b"heic": "image/heic", b"heix": "image/heic", b"mif1": "image/heic",
           b"M4A ": "audio/mp4", b"mp42": "audio/mp4", b"isom": "audio/mp4"}  # fmt: skip


class FileRefusedError(Exception):
    """A file that cannot be kept."""


WRONG_TYPE = "{kind} {name!r} contains {found}; allowed: {allowed}"
EMPTY = "{kind} {name!r} is empty; allowed: 1 to {most} bytes"
TOO_LARGE = "{kind} is {size} bytes; allowed: {most}"
NO_FILE = "{kind} is {name!r}, which is not a file"
UNREADABLE = "{kind} {name!r} cannot be read ({why})"


def sniffed(data: bytes) -> str | None:
    r"""Return the media type that content shows at its start, None for an unknown type.

    By the patterns of the WHATWG MIME Sniffing Standard; HEIF's brands are those of
    ISO/IEC 23008-12. Archives are recognised so that a refusal can name their type.

    Examples
    --------
    >>> sniffed(b"\x89PNG\r\n\x1a\n...."), sniffed(b"PK\x03\x04...."), sniffed(b"hello")
    ('image/png', 'application/zip', None)
    """
    for start, found in _STARTS:
        if data.startswith(start):
            return found
    if data.startswith(b"RIFF"):
        return next((t for mark, t in _RIFF.items() if data[8:].startswith(mark)), None)
    if data[4:8] == b"ftyp":
        return _BRANDS.get(data[8:12])
    return None


def keep(folder: Path, kind: MediaKind, path: str) -> Media:
    """Copy a file into the data folder by its SHA-256.

    Raises
    ------
    FileRefusedError
        When it does not exist, is not a file, is over 20 MB, empty, or of a type not allowed.
    StoreError
        When it cannot be written to the data folder; no part of it is left there.
    """
    source = Path(path)
    try:
        if not source.is_file():
            raise FileRefusedError(NO_FILE.format(kind=kind, name=path))
        size = source.stat().st_size
        if size > LARGEST:
            raise FileRefusedError(TOO_LARGE.format(kind=kind, size=size, most=LARGEST))
        data = source.read_bytes()
    except (OSError, ValueError) as error:
        raise FileRefusedError(UNREADABLE.format(kind=kind, name=path, why=error)) from None
    return keep_bytes(folder, kind, data, path)


def keep_bytes(folder: Path, kind: MediaKind, data: bytes, name: str = "") -> Media:
    """Keep bytes that a channel received, unchanged; `name` is only for a refusal.

    Raises
    ------
    FileRefusedError
        When they are empty, over 20 MB, or of a type not allowed for the kind.
    StoreError
        When they cannot be written to the data folder; no part of them is left there.
    """
    if not data:
        raise FileRefusedError(EMPTY.format(kind=kind, name=name, most=LARGEST))
    if len(data) > LARGEST:
        raise FileRefusedError(TOO_LARGE.format(kind=kind, size=len(data), most=LARGEST))
    found = sniffed(data[:NEEDED])
    if found is None or found not in ALLOWED[kind]:
        allowed = ", ".join(ALLOWED[kind])
        shown = found or "no known type"
        raise FileRefusedError(
            WRONG_TYPE.format(kind=kind, name=name, found=shown, allowed=allowed)
        )
    digest = hashlib.sha256(data).hexdigest()
    _keep(folder, digest, data, digest)
    return Media(kind, digest, len(data), found)


FileState = Literal["here", "missing", "changed"]
"""Whether a file is kept as received; "changed" is other bytes, and anything but a plain file."""


def state_of(path: Path, sha256: str) -> FileState:
    """Say whether a kept file has the bytes of its digest; a link is never followed."""
    try:
        with opened_kept(path) as file:
            size = os.fstat(file.fileno()).st_size
            found = hashlib.sha256()
            while piece := file.read(min(_PIECE, size + 1)):
                found.update(piece)
                size -= len(piece)
                if size < 0:
                    return "changed"
    except FileNotFoundError:
        return "missing"
    except OSError:
        return "changed"
    return "here" if found.hexdigest() == sha256 else "changed"


def opened_kept(path: Path) -> IO[bytes]:
    """Open a kept file to read it.

    Raises
    ------
    OSError
        If there is none, or it is a link, a pipe, a device or a folder.
    """
    file = os.open(path, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK | os.O_CLOEXEC)
    if not stat.S_ISREG(os.fstat(file).st_mode):
        os.close(file)
        raise OSError(errno.EINVAL, "not a plain file")
    return os.fdopen(file, "rb")


def intact(path: Path, sha256: str) -> Path | None:
    """Return the path of a kept file; None unless its bytes are those received."""
    return path if state_of(path, sha256) == "here" else None


def media_path(folder: Path, sha256: str) -> Path:
    """Return the path of the file with this digest."""
    return folder / "files" / sha256


def drawing_path(folder: Path, sha256: str) -> Path:
    """Return the path of the drawing with this digest."""
    return folder / "files" / f"{sha256}.svg"


def keep_drawing(folder: Path, svg: str) -> Path:
    """Keep a drawing, named by its digest, and return its path.

    Raises
    ------
    StoreError
        When it cannot be written to the data folder; no part of it is left there.
    """
    data = svg.encode()
    sha256 = hashlib.sha256(data).hexdigest()
    path = drawing_path(folder, sha256)
    _keep(folder, path.name, data, sha256)
    return path


def stamp_path(folder: Path, sha256: str) -> Path:
    """Return the path of the time stamp for the message with this digest."""
    return folder / "files" / f"{sha256}.tsr"


def keep_stamp(folder: Path, sha256: str, stamp: bytes) -> None:
    """Keep a time stamp, named by the digest of the message that it stamps.

    Raises
    ------
    StoreError
        When it cannot be written to the data folder; no part of it is left there.
    """
    _keep(folder, stamp_path(folder, sha256).name, stamp, hashlib.sha256(stamp).hexdigest())


def _keep(folder: Path, name: str, data: bytes, sha256: str) -> None:
    """Write a file completely, or not at all; one that is here already stays."""
    target = folder / "files" / name
    try:
        if state_of(target, sha256) != "here":
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

"""Reads the files of a packet for `verify.py`, from a folder or a zip; refuses hostile packets.

A packet that cannot be one is refused before anything in it is used. A file in it that cannot be
read is named by each check that needs it, and the other checks go on.
"""

from __future__ import annotations

import base64
import hashlib
import json
import os
import re
import stat
import zipfile
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any, NoReturn, Union

PUBLIC_KEY = "data/proof/public-key.pem"
MOST_FILES, LARGEST_TEXT, LARGEST_FILE, MOST_BYTES = 20_000, 32 << 20, 64 << 20, 8 << 30
MOST_VALUES = 1_500_000
"""How many values a text may list: a reader needs some hundred bytes of memory for each."""
SAFE = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,99}")
PIECE, LOCAL = 1 << 20, 30
"""Bytes read at a time; bytes of a file's head in a zip."""


class NoPacketError(Exception):
    """A file or folder that cannot be a packet; nothing in it was used."""


class BadFileError(ValueError):
    """A file of a packet that cannot be read as what it should be."""


def check_name(name: str) -> None:
    """Refuse a name that could lead out of the packet, or hide in it."""
    parts = name.split("/")
    if len(name) > 250 or not all(SAFE.fullmatch(p) and ".." not in p for p in parts):
        raise NoPacketError(
            f"a file is named {name[:80]!r}; allowed: a-z, 0-9, - and . in folders"
        )


def plain_file(path: Path) -> IO[bytes]:
    """Open a plain file; refuse a pipe or a device, which may never end."""
    file = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    if not stat.S_ISREG(os.fstat(file).st_mode):
        os.close(file)
        raise NoPacketError(f"{path} is not a plain file")
    return os.fdopen(file, "rb")


class Folder:
    """The files of an unpacked packet."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.sizes: dict[str, int] = {}
        for path in self.root.rglob("*"):
            found = path.lstat()
            if stat.S_ISDIR(found.st_mode):
                continue
            name = path.relative_to(self.root).as_posix()
            if not stat.S_ISREG(found.st_mode):
                raise NoPacketError(f"{name[:80]!r} is a link or a device; allowed: plain files")
            check_name(name)
            self.sizes[name] = found.st_size
            if len(self.sizes) > MOST_FILES:
                raise NoPacketError(f"it has over {MOST_FILES} files")
        self.names = list(self.sizes)

    def open(self, name: str) -> IO[bytes]:
        """Open a file to read its bytes."""
        return plain_file(self.root / name)


class Zip:
    """The files of a packet as sent: stored without compression, so it cannot be a zip bomb.

    Their bytes are read as they lie there, without the zip's own check sums: the manifest has
    better ones, and a changed byte is then named with its file.
    """

    def __init__(self, path: Path) -> None:
        check_directory(path)
        self.path = path
        self.infos: dict[str, zipfile.ZipInfo] = {}
        try:
            with zipfile.ZipFile(path) as whole:
                for info in whole.infolist():
                    self.take(info)
        except (zipfile.BadZipFile, ValueError, NotImplementedError, OverflowError) as error:
            raise NoPacketError(f"the zip cannot be read ({error})") from error
        tops = {name.split("/")[0] for name in self.infos}
        if len(tops) != 1:
            raise NoPacketError(f"the zip has {len(tops)} folders at its top; allowed: 1")
        self.top = tops.pop() + "/"
        self.sizes = {name[len(self.top) :]: one.file_size for name, one in self.infos.items()}
        self.names = list(self.sizes)

    def take(self, info: zipfile.ZipInfo) -> None:
        """Add a file of the zip, or refuse the zip."""
        name = info.orig_filename
        check_name(name)
        if name in self.infos:
            raise NoPacketError(f"{name!r} is in the zip twice")
        kind = info.external_attr >> 16
        if stat.S_IFMT(kind) not in {0, stat.S_IFREG}:
            raise NoPacketError(f"{name!r} is not a plain file")
        stored = info.compress_type == zipfile.ZIP_STORED and info.file_size == info.compress_size
        if not stored or info.flag_bits & 1:
            raise NoPacketError(
                f"{name!r} is compressed or encrypted; packets store files as they are"
            )
        self.infos[name] = info

    def open(self, name: str) -> IO[bytes]:
        """Open the zip where a file's bytes begin."""
        at, file = self.infos[self.top + name].header_offset, plain_file(self.path)
        # Nobody's zip begins before its start, or behind what a disk holds.
        file.seek(at if 0 <= at < 1 << 48 else 0)
        head = file.read(LOCAL)
        if head[:4] != b"PK\x03\x04" or len(head) < LOCAL:
            file.close()
            raise BadFileError(f"{name} is not where the zip says")
        file.seek(int.from_bytes(head[26:28], "little") + int.from_bytes(head[28:30], "little"), 1)
        return file


def check_directory(path: Path) -> None:
    """Refuse a zip with an absurd list of files before reading the list."""
    with plain_file(path) as file:
        size = file.seek(0, 2)
        file.seek(max(0, size - 65_557))
        tail = file.read(65_557)
    start = tail.rfind(b"PK\x05\x06")
    if start < 0 or len(tail) < start + 22:
        raise NoPacketError("this is neither a folder nor a zip")
    count = int.from_bytes(tail[start + 10 : start + 12], "little")
    length = int.from_bytes(tail[start + 12 : start + 16], "little")
    if length > MOST_FILES * 400 or count > MOST_FILES:
        raise NoPacketError(
            f"the zip lists {count} files in {length} bytes; allowed: {MOST_FILES}"
        )


def opened(path: Path) -> Bag:
    """Open a packet: its folder, or its zip."""
    if not path.exists():
        raise NoPacketError(f"there is nothing at {path}")
    bag = Folder(path) if path.is_dir() else Zip(path)
    check_sizes(bag.sizes)
    for name in ("bagit.txt", "manifest-sha256.txt", "data/entries.jsonl"):
        if name not in bag.names:
            raise NoPacketError(f"{name} is missing")
    return bag


def check_sizes(sizes: dict[str, int]) -> None:
    """Refuse a packet that would take hours to read."""
    for name, size in sizes.items():
        if size > LARGEST_FILE:
            raise NoPacketError(f"{name} has {size} bytes; allowed: {LARGEST_FILE}")
    if sum(sizes.values()) > MOST_BYTES:
        raise NoPacketError(f"it has {sum(sizes.values())} bytes; allowed: {MOST_BYTES}")


if TYPE_CHECKING:
    Bag = Union[Folder, Zip]


def pieces(bag: Bag, name: str) -> Iterator[bytes]:
    """Yield the bytes of a file, a piece at a time; of as many as it should have."""
    left = bag.sizes[name]
    with closing(bag.open(name)) as file:
        while left:
            piece = file.read(min(PIECE, left))
            if not piece:
                return
            left -= len(piece)
            yield piece


def text_of(bag: Bag, name: str) -> str:
    """Read a whole text file."""
    if name not in bag.names:
        raise BadFileError(f"{name} is missing")
    if bag.sizes[name] > LARGEST_TEXT:
        raise BadFileError(f"{name} is larger than {LARGEST_TEXT} bytes")
    data = b"".join(pieces(bag, name))
    if sum(map(data.count, (b",", b"[", b"{", b"\n"))) > MOST_VALUES:
        raise BadFileError(f"{name} lists more than {MOST_VALUES} values")
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise BadFileError(f"{name} is not UTF-8 text") from error


def sha256(data: bytes) -> str:
    """Return the SHA-256 of bytes in hex."""
    return hashlib.sha256(data).hexdigest()


def digest_of(bag: Bag, name: str) -> str:
    """Return the SHA-256 of a file in hex; empty if it is not where the zip says."""
    found = hashlib.sha256()
    try:
        for piece in pieces(bag, name):
            found.update(piece)
    except BadFileError:
        return ""
    return found.hexdigest()


def bytes_of(bag: Bag, name: str, most: int) -> bytes:
    """Return the bytes of a small file; none if it is not there, or larger."""
    if name not in bag.names or bag.sizes[name] > most:
        return b""
    return b"".join(pieces(bag, name))


def key_of(bag: Bag) -> bytes:
    """Return the packet's public key; empty if it has none."""
    try:
        text = text_of(bag, PUBLIC_KEY)
        return base64.b64decode("".join(text.splitlines()[1:-1]), validate=True)[-32:]
    except ValueError:
        return b""


def canonical(value: Any) -> str:
    """Write a value in canonical form."""
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


# Entries: RFC 8785 lines, integers only.


def no_twins(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """Refuse an object with the same key twice."""
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("a key occurs twice")
    return found


def no_floats(text: str) -> NoReturn:
    """Refuse a number that is not an integer."""
    raise ValueError(f"{text[:20]} is not an integer")


def no_giants(text: str) -> int:
    """Refuse an integer that another program could not read; long ones take long to read."""
    if len(text) > 20:
        raise ValueError(f"{text[:20]}... is too large")
    return int(text)


def entry_of(line: str) -> dict[str, Any]:
    """Read a line; refuse it if two programs could read it differently."""
    entry = json.loads(line, object_pairs_hook=no_twins, parse_float=no_floats,
                       parse_int=no_giants, parse_constant=no_floats)  # fmt: skip
    if not isinstance(entry, dict):
        raise ValueError("not an object")  # noqa: TRY004  a value like any other that is wrong
    if canonical(entry) != line:
        raise ValueError("not in canonical form")
    return entry


def lines_of(bag: Bag, name: str) -> list[str]:
    """Return the lines of a file, without their ends; none if there is no such file."""
    if name not in bag.names:
        return []
    text = text_of(bag, name)
    lines: list[str] = text.split("\n")
    if lines.pop() != "":
        raise BadFileError(f"the last line of {name} has no end")
    return lines


def only_line(bag: Bag, name: str) -> dict[str, Any]:
    """Read a file of a single line; refuse one with more, which nobody would have checked."""
    lines = lines_of(bag, name)
    if len(lines) != 1:
        raise BadFileError(f"{name} has {len(lines)} lines")
    return entry_of(lines[0])

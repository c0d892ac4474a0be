"""Reads the files of a packet for `verify.py`, from a folder or a zip; refuses hostile packets."""

import base64
import hashlib
import json
import re
import stat
import zipfile
from pathlib import Path
from typing import IO, Any, NoReturn

PUBLIC_KEY = "data/proof/public-key.pem"
MOST_FILES, LARGEST_TEXT = 20_000, 64 << 20
SAFE = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,99}")


class NoPacketError(Exception):
    """A file or folder that cannot be a packet; nothing in it was used."""


def check_name(name: str) -> None:
    """Refuse a name that could lead out of the packet, or hide in it."""
    parts = name.split("/")
    if len(name) > 250 or not all(SAFE.fullmatch(p) and ".." not in p for p in parts):
        raise NoPacketError(
            f"a file is named {name[:80]!r}; allowed: a-z, 0-9, - and . in folders"
        )


class Folder:
    """The files of an unpacked packet."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.names: list[str] = []
        for path in self.root.rglob("*"):
            kind = path.lstat().st_mode
            if stat.S_ISDIR(kind):
                continue
            name = path.relative_to(self.root).as_posix()
            if not stat.S_ISREG(kind):
                raise NoPacketError(f"{name[:80]!r} is a link or a device; allowed: plain files")
            check_name(name)
            self.names.append(name)
            if len(self.names) > MOST_FILES:
                raise NoPacketError(f"it has over {MOST_FILES} files")

    def open(self, name: str) -> IO[bytes]:
        """Open a file to read its bytes."""
        return (self.root / name).open("rb")

    def size(self, name: str) -> int:
        """Return how many bytes a file has."""
        return (self.root / name).stat().st_size


class Zip:
    """The files of a packet as sent: stored without compression, so it cannot be a zip bomb."""

    def __init__(self, path: Path) -> None:
        check_directory(path)
        try:
            self.zip = zipfile.ZipFile(path)
        except (zipfile.BadZipFile, ValueError, NotImplementedError) as error:
            raise NoPacketError(f"the zip cannot be read ({error})") from error
        self.infos: dict[str, zipfile.ZipInfo] = {}
        for info in self.zip.infolist():
            self.take(info)
        tops = {name.split("/")[0] for name in self.infos}
        if len(tops) != 1:
            raise NoPacketError(f"the zip has {len(tops)} folders at its top; allowed: 1")
        self.top = tops.pop() + "/"
        self.names = [name.removeprefix(self.top) for name in self.infos]

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
        """Open a file to read its bytes."""
        return self.zip.open(self.infos[self.top + name])

    def size(self, name: str) -> int:
        """Return how many bytes a file has."""
        return self.infos[self.top + name].file_size


def check_directory(path: Path) -> None:
    """Refuse a zip with an absurd list of files before reading the list."""
    with path.open("rb") as file:
        size = file.seek(0, 2)
        file.seek(max(0, size - 65_557))
        tail = file.read()
    start = tail.rfind(b"PK\x05\x06")
    if start < 0 or len(tail) < start + 22:
        raise NoPacketError("this is neither a folder nor a zip")
    count = int.from_bytes(tail[start + 10 : start + 12], "little")
    length = int.from_bytes(tail[start + 12 : start + 16], "little")
    if length > MOST_FILES * 400 or count > MOST_FILES:
        raise NoPacketError(
            f"the zip lists {count} files in {length} bytes; allowed: {MOST_FILES}"
        )


def opened(path: Path) -> "Bag":
    """Open a packet: its folder, or its zip."""
    if not path.exists():
        raise NoPacketError(f"there is nothing at {path}")
    bag = Folder(path) if path.is_dir() else Zip(path)
    for name in ("bagit.txt", "manifest-sha256.txt", "data/entries.jsonl"):
        if name not in bag.names:
            raise NoPacketError(f"{name} is missing")
    return bag


Bag = Folder | Zip


def text_of(bag: Bag, name: str) -> str:
    """Read a whole text file."""
    if bag.size(name) > LARGEST_TEXT:
        raise NoPacketError(f"{name} is larger than {LARGEST_TEXT} bytes")
    with bag.open(name) as file:
        data = file.read(LARGEST_TEXT + 1)
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise NoPacketError(f"{name} is not UTF-8 text") from error


def sha256(data: bytes) -> str:
    """Return the SHA-256 of bytes in hex."""
    return hashlib.sha256(data).hexdigest()


def digest_of(bag: Bag, name: str) -> str:
    """Return the SHA-256 of a file in hex, reading it piece by piece."""
    found = hashlib.sha256()
    with bag.open(name) as file:
        while piece := file.read(1 << 20):
            found.update(piece)
    return found.hexdigest()


def bytes_of(bag: Bag, name: str, most: int) -> bytes:
    """Return the bytes of a small file; none if it is not there, or larger."""
    if name not in bag.names or bag.size(name) > most:
        return b""
    with bag.open(name) as file:
        return file.read(most)


def key_of(bag: Bag) -> bytes:
    """Return the packet's public key; empty if it has none."""
    text = text_of(bag, PUBLIC_KEY) if PUBLIC_KEY in bag.names else ""
    try:
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


def entry_of(line: str) -> dict[str, Any]:
    """Read a line; refuse it if two programs could read it differently."""
    entry = json.loads(line, object_pairs_hook=no_twins, parse_float=no_floats,
                       parse_constant=no_floats)  # fmt: skip
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
        raise NoPacketError(f"the last line of {name} has no end")
    return lines


def only_line(bag: Bag, name: str) -> dict[str, Any]:
    """Read a file of a single line; refuse one with more, which nobody would have checked."""
    lines = lines_of(bag, name)
    if len(lines) != 1:
        raise ValueError(f"{name} has {len(lines)} lines")
    return entry_of(lines[0])

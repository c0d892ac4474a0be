"""Files as evidence: we name them, their type comes from their content, bytes are as received."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from bot.record.media import NEEDED, drawing_path, media_path, sniffed

_ENDINGS = {
    "image/jpeg": "jpg",
    "image/png": "png",
    "image/webp": "webp",
    "image/heic": "heic",
    "audio/ogg": "ogg",
    "audio/mpeg": "mp3",
    "audio/mp4": "m4a",
    "audio/wav": "wav",
    "application/pdf": "pdf",
}
"""Any other type becomes an opaque .bin file."""

FOLDERS = {"photo": "photos", "voice": "voice", "file": "documents"}
SHOWN = frozenset({"jpg", "png", "webp"})
"""The kinds that a summary may show as a picture."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """A file named in an entry.

    Attributes
    ----------
    name
        Its name in the packet.
    path
        The path of its bytes; None if they are missing.
    seq
        The entry that names it.
    kind
        "photo", "voice", "file" or "drawing".
    sha256
        Its digest.
    item
        The item that was asked when it came; empty if none was.
    """

    name: str
    path: Path | None
    seq: int
    kind: str
    sha256: str
    item: str = ""


def evidence_of(entries: list[dict[str, Any]], folder: Path) -> list[Evidence]:
    """Return every file that a job's entries name, in order."""
    return [*_received(entries, folder), *_drawings(entries, folder)]


def _received(entries: list[dict[str, Any]], folder: Path) -> Iterator[Evidence]:
    counts = dict.fromkeys(FOLDERS, 0)
    items = {e["seq"]: e["body"].get("item", "") for e in entries if e["kind"] == "received"}
    for entry in entries:
        body = entry["body"]
        if not _names_a_file(entry):
            continue
        kind, sha256 = body["kind"], body["sha256"]
        counts[kind] += 1
        found = _existing(media_path(folder, sha256))
        ending = "bin" if found is None else ending_of(found)
        name = f"{FOLDERS[kind]}/{kind}-{counts[kind]:03d}.{ending}"
        item = items.get(body.get("receipt", -1), "")
        yield Evidence(name, found, entry["seq"], kind, sha256, item)


def _names_a_file(entry: Mapping[str, Any]) -> bool:
    body = entry["body"]
    is_media = entry["kind"] == "media" and body.get("kind") in FOLDERS
    return is_media and isinstance(body.get("sha256"), str)


def _existing(path: Path) -> Path | None:
    return path if path.is_file() else None


def _drawings(entries: list[dict[str, Any]], folder: Path) -> Iterator[Evidence]:
    for entry in entries:
        drawing: Mapping[str, Any] = entry["body"].get("drawing") or {}
        if entry["kind"] == "concluded" and "sha256" in drawing:
            found = _existing(drawing_path(folder, drawing["sha256"]))
            name = f"drawings/margin-{entry['seq']:05d}.svg"
            yield Evidence(name, found, entry["seq"], "drawing", drawing["sha256"])


def ending_of(path: Path) -> str:
    """Return the file name extension for a file's type, by its first bytes, not its name."""
    with path.open("rb") as file:
        found = sniffed(file.read(NEEDED))
    return _ENDINGS.get(found or "", "bin")

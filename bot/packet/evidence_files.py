"""Files as evidence: named by us, their type told from their content, bytes as received."""

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
"""What is none of them is kept as opaque bytes."""

FOLDERS = {"photo": "photos", "voice": "voice", "file": "documents"}
SHOWN = frozenset({"jpg", "png", "webp"})
"""The kinds that a summary may show as a picture."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """A file that an entry names.

    Attributes
    ----------
    name
        Its name in the packet.
    path
        Where its bytes lie; None where they are not at hand.
    seq
        The entry that names it.
    kind
        "photo", "voice", "file" or "drawing".
    sha256
        Its digest.
    item
        What was asked when it came; empty where nothing was.
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
        kind, sha256 = body.get("kind"), body.get("sha256")
        if entry["kind"] != "media" or kind not in FOLDERS or not isinstance(sha256, str):
            continue
        counts[kind] += 1
        path = media_path(folder, sha256)
        found = path if path.is_file() else None
        ending = "bin" if found is None else ending_of(found)
        name = f"{FOLDERS[kind]}/{kind}-{counts[kind]:03d}.{ending}"
        item = items.get(body.get("receipt", -1), "")
        yield Evidence(name, found, entry["seq"], kind, sha256, item)


def _drawings(entries: list[dict[str, Any]], folder: Path) -> Iterator[Evidence]:
    for entry in entries:
        drawing: Mapping[str, Any] = entry["body"].get("drawing") or {}
        if entry["kind"] == "concluded" and "sha256" in drawing:
            path = drawing_path(folder, drawing["sha256"])
            found = path if path.is_file() else None
            name = f"drawings/margin-{entry['seq']:05d}.svg"
            yield Evidence(name, found, entry["seq"], "drawing", drawing["sha256"])


def ending_of(path: Path) -> str:
    """Tell a file's type from how it begins; the name it was given plays no part."""
    with path.open("rb") as file:
        found = sniffed(file.read(NEEDED))
    return _ENDINGS.get(found or "", "bin")

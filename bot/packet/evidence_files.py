"""Files as evidence: we name them, their type comes from their content, bytes are as received."""

from collections.abc import Iterator, Mapping, Set
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal

from bot.record.media import NEEDED, drawing_path, media_path, opened_kept, sniffed, state_of

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
        The path of its bytes; None if they are not here as received.
    seq
        The entry that names it.
    kind
        "photo", "voice", "file" or "drawing".
    sha256
        Its digest.
    item
        The item that was asked when it came; empty if none was.
    state
        "here", "missing", "changed" (other bytes than received), or "erased" by an entry.
    """

    name: str
    path: Path | None
    seq: int
    kind: str
    sha256: str
    item: str = ""
    state: Literal["here", "missing", "changed", "erased"] = "here"

    @property
    def is_wrong(self) -> bool:
        """Whether it is not here as received, and no entry says why."""
        return self.state in {"missing", "changed"}


def evidence_of(
    entries: list[dict[str, Any]], folder: Path, erased: Set[str] = frozenset()
) -> list[Evidence]:
    """Return every file that a job's entries name, in order.

    Parameters
    ----------
    entries
        Of the job.
    folder
        The data folder.
    erased
        The digests of the files that an entry says were erased.
    """
    found = [*_received(entries, folder), *_drawings(entries, folder)]
    return [
        replace(file, state="erased")
        if file.state == "missing" and file.sha256 in erased
        else file
        for file in found
    ]


def _received(entries: list[dict[str, Any]], folder: Path) -> Iterator[Evidence]:
    counts = dict.fromkeys(FOLDERS, 0)
    items = {e["seq"]: e["body"].get("item", "") for e in entries if e["kind"] == "received"}
    for entry in entries:
        body = entry["body"]
        if not _names_a_file(entry):
            continue
        kind, sha256 = body["kind"], body["sha256"]
        counts[kind] += 1
        path = media_path(folder, sha256)
        state = state_of(path, sha256)
        ending = ending_of(path) if state == "here" else "bin"
        name = f"{FOLDERS[kind]}/{kind}-{counts[kind]:03d}.{ending}"
        item = items.get(body.get("receipt", -1), "")
        found = path if state == "here" else None
        yield Evidence(name, found, entry["seq"], kind, sha256, item, state)


def _names_a_file(entry: Mapping[str, Any]) -> bool:
    body = entry["body"]
    is_media = entry["kind"] == "media" and body.get("kind") in FOLDERS
    return is_media and isinstance(body.get("sha256"), str)


def _drawings(entries: list[dict[str, Any]], folder: Path) -> Iterator[Evidence]:
    for entry in entries:
        drawing: Mapping[str, Any] = entry["body"].get("drawing") or {}
        if entry["kind"] == "concluded" and "sha256" in drawing:
            path, sha256 = drawing_path(folder, drawing["sha256"]), drawing["sha256"]
            state = state_of(path, sha256)
            found = path if state == "here" else None
            name = f"drawings/margin-{entry['seq']:05d}.svg"
            yield Evidence(name, found, entry["seq"], "drawing", sha256, state=state)


def ending_of(path: Path) -> str:
    """Return the file name extension for a file's type, by its first bytes, not its name."""
    with opened_kept(path) as file:
        found = sniffed(file.read(NEEDED))
    return _ENDINGS.get(found or "", "bin")

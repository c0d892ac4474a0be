"""The photo sheet of a summary: each photo as a thumbnail, when it came, its camera's time."""

from collections.abc import Iterator, Mapping, Set
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bot.packet.evidence_files import Evidence
from bot.packet.pictures import thumbnails
from flows.telling.labels import last_label
from flows.texts import packet_texts

if TYPE_CHECKING:
    from bot.packet.drawn import Drawn

NEAR = timedelta(minutes=10)
"""A camera's time no further than this from when the photo came is not flagged."""


def photo_labels(drawn: "Drawn", sections: Set[str]) -> Iterator[tuple[str, Evidence]]:
    """Yield the photos of some sections, each with the label of the item that asked for it."""
    for file in drawn.case.files:
        if file.kind == "photo" and file.item.partition(".")[0] in sections:
            yield last_label(file.item), file


def photos(drawn: "Drawn", folder: Path) -> Iterator[dict[str, str]]:
    """Yield the data of each photo on the sheet, and put its thumbnail into the folder."""
    shown = [file for file in drawn.case.files if file.kind == "photo"]
    small = [folder / f"photo-{number}.jpg" for number in range(len(shown))]
    taken = thumbnails(
        [(file.path, copy) for file, copy in zip(shown, small, strict=True) if file.path]
    )
    for file, copy in zip(shown, small, strict=True):
        camera = taken.get(file.path, "") if file.path else ""
        yield _photo(drawn, file, drawn.case.entries[file.seq], copy, camera)


def _photo(
    drawn: "Drawn", file: Evidence, entry: Mapping[str, Any], small: Path, camera: str
) -> dict[str, str]:
    texts = packet_texts()["summary"]
    return {
        "name": file.name.partition("/")[2],
        "picture": small.name if small.is_file() else "",
        "label": drawn.time(entry) + (f", {last_label(file.item)}" if file.item else ""),
        "camera": camera_says(drawn, camera, came(entry["times"])) if camera else "",
        "note": texts["not_at_hand" if file.path is None else "no_picture"],
        "sha256": f"{file.sha256[:32]} {file.sha256[32:]}",
    }


def came(times: dict[str, str | None]) -> datetime:
    """Return when an entry's message came: the platform's stamp, else when it was written."""
    return datetime.fromisoformat(str(times["stamped"] or times["written"]))


def camera_says(drawn: "Drawn", camera: str, received: datetime) -> str:
    """Say a camera's time, and how far it is from when the photo came unless it is near.

    Parameters
    ----------
    camera
        ISO 8601; without an offset it is taken as the company's own time.
    received
        When the photo came.
    """
    texts = packet_texts()["summary"]
    at = datetime.fromisoformat(camera)
    at = at.replace(tzinfo=drawn.zone) if at.tzinfo is None else at
    said = str(texts["camera"].format(time=at.astimezone(drawn.zone).strftime("%Y-%m-%d %H:%M")))
    apart = at - received
    if abs(apart) <= NEAR:
        return said
    is_later = apart > timedelta()
    words = texts["camera_later"] if is_later else texts["camera_earlier"]
    return said + str(words.format(apart=_long(abs(apart))))


def _long(apart: timedelta) -> str:
    texts, minutes = packet_texts()["summary"], int(apart.total_seconds() // 60)
    if apart >= timedelta(days=2):
        return str(texts["days"].format(count=apart.days))
    return str(texts["hours_minutes"].format(hours=minutes // 60, minutes=minutes % 60))

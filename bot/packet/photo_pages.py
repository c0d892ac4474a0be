"""The photo sheet of a summary: each photo small, when it came, and what its camera said."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from bot.packet.evidence_files import Evidence
from bot.packet.pictures import thumbnails
from flows.telling.labels import last_label
from flows.texts import packet_texts

if TYPE_CHECKING:
    from bot.packet.summary import Drawn

NEAR = timedelta(minutes=10)
"""A camera's time this near to when the photo came is not flagged."""


def photo_labels(drawn: "Drawn", sections: tuple[str, ...]) -> Iterator[tuple[str, Evidence]]:
    """Yield the photos of some sections with what was asked when they came."""
    for one in drawn.case.files:
        if one.kind == "photo" and one.item.partition(".")[0] in sections:
            yield last_label(one.item), one


def photos(drawn: "Drawn", folder: Path) -> Iterator[dict[str, str]]:
    """Yield each photo as the sheet has it; its small copy is put into the folder."""
    texts = packet_texts()["summary"]
    by_seq = {entry["seq"]: entry for entry in drawn.case.entries}
    shown = [one for one in drawn.case.files if one.kind == "photo"]
    small = {one.name: folder / f"photo-{number}.jpg" for number, one in enumerate(shown)}
    taken = thumbnails([(one.path, small[one.name]) for one in shown if one.path is not None])
    for one in shown:
        entry = by_seq[one.seq]
        is_shown = small[one.name].is_file()
        label = drawn.time(entry) + (f", {last_label(one.item)}" if one.item else "")
        camera = taken.get(one.path, "") if one.path is not None else ""
        yield {"name": one.name.partition("/")[2],
               "picture": small[one.name].name if is_shown else "",
               "label": label,
               "camera": camera_says(drawn, camera, came(entry["times"])) if camera else "",
               "note": texts["not_at_hand" if one.path is None else "no_picture"],
               "sha256": f"{one.sha256[:32]} {one.sha256[32:]}"}  # fmt: skip


def came(times: dict[str, str | None]) -> datetime:
    """Return when something came: as the platform stamped it, else when it was written."""
    return datetime.fromisoformat(str(times["stamped"] or times["written"]))


def camera_says(drawn: "Drawn", camera: str, received: datetime) -> str:
    """Say a camera's time, and how far it is from when the photo came where that is not near.

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

"""Files as received: typed by content, kept complete, counted once their bytes are here."""

import hashlib
import io
import struct
import zipfile
import zlib
from collections.abc import Iterator
from pathlib import Path

import pytest

from bot.commands.demo import DRIVER, Player, parse
from bot.desk.desk import Desk
from bot.desk.inbound import Inbound
from bot.record.media import (
    ALLOWED,
    LARGEST,
    FileRefusedError,
    keep,
    keep_bytes,
    media_path,
    sniffed,
)
from flows.job.events import Media

# Patterns of the WHATWG MIME Sniffing Standard, sections 6.1 and 6.2; HEIF brands of
# ISO/IEC 23008-12 annex B and the brand M4A as registered at mp4ra.org, both from memory.
SIGNS = [
    ("ffd8ff", "image/jpeg"),
    ("89504e470d0a1a0a", "image/png"),
    ("52494646aabbccdd574542505650", "image/webp"),
    ("52494646aabbccdd57415645", "audio/wav"),
    ("4f67675300", "audio/ogg"),
    ("494433", "audio/mpeg"),
    ("255044462d", "application/pdf"),
    ("504b0304", "application/zip"),
    ("1f8b08", "application/gzip"),
    ("526172211a07", "application/vnd.rar"),
    ("000000186674797068656963", "image/heic"),
    ("00000020667479704d344120", "audio/mp4"),
]


def png() -> bytes:
    """Make a picture of one grey point, chunk by chunk as RFC 2083 says."""

    def chunk(name: bytes, body: bytes) -> bytes:
        mark = zlib.crc32(name + body)
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", mark)

    head = struct.pack(">IIBBBBB", 1, 1, 8, 0, 0, 0, 0)
    parts = chunk(b"IHDR", head), chunk(b"IDAT", zlib.compress(b"\0\x80")), chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts)


@pytest.mark.parametrize(("sign", "found"), SIGNS, ids=[found for _, found in SIGNS])
def test_content_shows_the_type(sign: str, found: str) -> None:
    data = bytes.fromhex(sign)
    assert sniffed(data + b"more") == found
    assert sniffed(data[:-1]) != found, "half a pattern is none"
    assert sniffed(b"\0" + data) is None, "nor one that begins later"


@pytest.mark.parametrize("data", [b"", b"GIF89a", b"<svg>", b"MZ", b"RIFF1234AVI ", b"ftypheic"])
def test_content_that_is_not_listed_has_no_type(data: bytes) -> None:
    assert sniffed(data) is None


def test_a_file_name_is_ignored(tmp_path: Path) -> None:
    (tmp_path / "data").mkdir()
    for name in ("damage.txt", "../x.jpg", "no extension"):
        (tmp_path / "a").mkdir(exist_ok=True)
        path = tmp_path / "a" / name
        path.write_bytes(png())
        kept = keep(tmp_path / "data", "photo", str(path))
        assert kept == Media("photo", hashlib.sha256(png()).hexdigest(), len(png()), "image/png")
    assert [one.name for one in (tmp_path / "data" / "files").iterdir()] == [kept.sha256]
    assert media_path(tmp_path / "data", kept.sha256).read_bytes() == png()


@pytest.mark.parametrize(
    ("kind", "data", "words"),
    [
        ("photo", b"PK\x03\x04 an archive", "application/zip"),
        ("photo", b"%PDF-1.7", "application/pdf"),
        ("photo", b"#!/bin/sh", "no known type"),
        ("voice", png(), "image/png"),
        ("file", b"OggS\0", "audio/ogg"),
        ("photo", b"", "empty"),
        ("photo", b"\xff\xd8\xff" + bytes(LARGEST), "bytes"),
    ],
)
def test_a_refused_file_leaves_nothing(kind: str, data: bytes, words: str, tmp_path: Path) -> None:
    with pytest.raises(FileRefusedError, match=words):
        keep_bytes(tmp_path, kind, data, "one.jpg")  # type: ignore[arg-type]  # of the list above
    assert list(tmp_path.iterdir()) == []


def test_the_largest_is_kept(tmp_path: Path) -> None:
    data = b"\xff\xd8\xff".ljust(LARGEST, b"\0")
    assert keep_bytes(tmp_path, "photo", data).size == LARGEST


def test_no_kind_takes_an_archive() -> None:
    assert not {"application/zip", "application/gzip", "application/vnd.rar"} & {
        one for kinds in ALLOWED.values() for one in kinds
    }


def test_t17_a_picture_that_is_also_an_archive_is_kept_as_a_picture(
    tmp_path: Path,
) -> None:
    archive = io.BytesIO()
    with zipfile.ZipFile(archive, "w") as out:
        out.writestr("../run.sh", "#!/bin/sh")
    both = png() + archive.getvalue()
    assert zipfile.is_zipfile(io.BytesIO(both)), "another reader takes it for an archive"
    kept = keep_bytes(tmp_path, "photo", both)
    assert kept.type == "image/png"
    assert media_path(tmp_path, kept.sha256).read_bytes() == both, "bytes as received"
    assert [one.name for one in (tmp_path / "files").iterdir()] == [kept.sha256]


def test_half_a_file_left_by_a_crash_is_completed(tmp_path: Path) -> None:
    kept = keep_bytes(tmp_path, "photo", png())
    media_path(tmp_path, kept.sha256).write_bytes(png()[:9])
    assert keep_bytes(tmp_path, "photo", png()) == kept
    assert media_path(tmp_path, kept.sha256).read_bytes() == png()


# A channel that fetches bytes after the message


@pytest.fixture
def at_photos(tmp_path: Path) -> Iterator[tuple[Player, Desk]]:
    player = Player(tmp_path)
    for text in ("new job breakdown", "mile 9", "none", "behind", "secured", "warned", "chocked"):
        player.step(parse(f"> {text}")[0])
    yield player, player.desk
    player.close()


def test_bytes_that_come_later_count_once_they_arrive(at_photos: tuple[Player, Desk]) -> None:
    player, desk = at_photos
    coming = Media("photo", ref="a name of the channel's own")
    (reply,) = desk.take(Inbound(DRIVER, "p1", media=coming), player.at).replies
    assert reply.body["spoken"] == "Received."
    job = desk.job(1)
    ((receipt, open_),) = job.receipts.items()
    assert (open_.kind, open_.item, open_.ref) == ("photo", "scene.photos", coming.ref)
    assert job.photos == {}
    kept = keep_bytes(player.store.folder, "photo", png())
    (reply,) = desk.fetched(1, receipt, kept, player.at)
    assert reply.body["spoken"] == "Photo one of eleven."
    assert desk.job(1).photos == {"scene.photos": 1}
    assert desk.job(1).receipts == {}
    assert desk.fetched(1, receipt, kept, player.at) == [], "twice is once"
    assert desk.job(1).photos == {"scene.photos": 1}
    files = [e["kind"] for e in player.store.entries(1) if e["kind"] in {"received", "media"}]
    assert files == ["received", "media"]


def test_bytes_that_never_come_are_reported(at_photos: tuple[Player, Desk]) -> None:
    player, desk = at_photos
    desk.take(Inbound(DRIVER, "p1", media=Media("photo", ref="x")), player.at)
    (receipt,) = desk.job(1).receipts
    (reply,) = desk.fetched(1, receipt, None, player.at)
    assert reply.body["spoken"].startswith("Note.")
    assert (desk.job(1).photos, desk.job(1).receipts) == ({}, {})


def test_the_last_photo_of_the_set_moves_on_by_itself(at_photos: tuple[Player, Desk]) -> None:
    player, _ = at_photos
    replies = [reply for step in parse("+ 11 photos") for reply in player.step(step)]
    assert replies[-1].body["item"] == "scene.slope"
    assert [reply.body["item"] for reply in replies[:10]] == ["scene.photos"] * 10

"""The customer's photos: the picture is all there, and nothing else that came with the file."""

import hashlib
import io
import json
from pathlib import Path

import pytest
from PIL import Image, PngImagePlugin

from bot.commands.demo import Player, conversation, parse
from bot.commands.proving import make_customer_copy
from bot.desk.inbound import Inbound
from bot.machine.settings import Settings
from bot.record.media import keep_bytes
from bot.record.reader import open_reader
from tests.packet.packets import caught_by, unpacked, with_key

# Exif 2.32 (CIPA DC-008), sections 4.6.4 to 4.6.6 and annex D; IPTC-IIM 4.2, dataset 2:80.
ARTIST, COPYRIGHT, MAKE, HOST = 0x013B, 0x8298, 0x010F, 0x013C
XP_AUTHOR, EXIF_IFD, GPS_IFD = 0x9C9D, 0x8769, 0x8825
OWNER, BODY_SERIAL, MAKER_NOTE, USER_COMMENT = 0xA430, 0xA431, 0x927C, 0x9286
SECRET = ("Dana Quill", "SN-4471-BODY", "danas-phone", "41 Wren Lane")
TURNED = 6


def camera_photo() -> bytes:
    """Return a JPEG with everything that cameras and phones write into one."""
    exif = Image.Exif()
    exif[0x0112] = TURNED
    exif[ARTIST] = exif[COPYRIGHT] = SECRET[0]
    exif[MAKE], exif[HOST] = SECRET[2], SECRET[2]
    exif[XP_AUTHOR] = SECRET[0].encode("utf-16-le")
    exif[EXIF_IFD] = {OWNER: SECRET[0], BODY_SERIAL: SECRET[1], MAKER_NOTE: SECRET[2].encode(),
                      USER_COMMENT: b"ASCII\0\0\0" + SECRET[3].encode(),
                      0x9003: "2026:05:28 14:27:05"}  # fmt: skip
    exif[GPS_IFD] = {1: "N", 2: (39.0, 44.0, 21.25), 3: "W", 4: (104.0, 59.0, 25.5)}
    picture = Image.effect_noise((320, 160), 90).convert("RGB")
    xmp = f"<x:xmpmeta xmlns:x='adobe:ns:meta/'>{SECRET[3]}</x:xmpmeta>".encode()
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=95, exif=exif, xmp=xmp, comment=SECRET[3].encode(),
                 icc_profile=b"\0" * 100 + SECRET[0].encode())  # fmt: skip
    said = b"\x1c\x02\x50" + len(SECRET[0]).to_bytes(2) + SECRET[0].encode()
    block = b"Photoshop 3.0\x00" + b"8BIM\x04\x04\x00\x00" + len(said).to_bytes(4) + said
    iptc = b"\xff\xed" + (len(block) + 2).to_bytes(2) + block
    # Behind the end of the picture: what phones append as a second picture or a film.
    return out.getvalue()[:2] + iptc + out.getvalue()[2:] + b"MotionPhoto " + SECRET[3].encode()


def with_texts() -> bytes:
    """Return a PNG with text chunks."""
    said, out = PngImagePlugin.PngInfo(), io.BytesIO()
    said.add_text("Author", SECRET[0])
    said.add_itxt("Location", SECRET[3])
    Image.new("RGBA", (30, 20), (200, 10, 10, 255)).save(out, "PNG", pnginfo=said)
    return out.getvalue()


PHOTOS = {"camera": camera_photo(), "texts": with_texts(), "broken": b"\xff\xd8\xff" + b"?" * 500}


@pytest.fixture(scope="module")
def data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("record") / "data"
    player = Player(folder)
    for step in parse(conversation("plain_carry").partition("+ 11 photos")[0]):
        player.step(step)
    for name, content in PHOTOS.items():
        media = keep_bytes(folder, "photo", content, name)
        player.desk.take(Inbound("driver:sam", name, media=media), player.at)
    for step in parse("> hold"):
        player.step(step)
    player.close()
    with_key(folder)
    return folder


@pytest.fixture(scope="module")
def top(data: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("copy")
    make_customer_copy(Settings(data), 1, folder / "copy.zip", max, seed="1")
    return unpacked(folder / "copy.zip", folder / "out")


def test_what_a_camera_wrote_is_not_in_the_copy(top: Path) -> None:
    hidden = [form for one in SECRET for form in (one.encode(), one.encode("utf-16-le"))]
    assert all(form in b"".join(PHOTOS.values()) for form in map(str.encode, SECRET))
    whole = b"".join(path.read_bytes() for path in sorted(top.rglob("*")) if path.is_file())
    assert [form for form in hidden if form in whole] == []
    for path in (top / "data/photos").iterdir():
        with Image.open(path) as picture:
            assert picture.getexif() == {}
            assert set(picture.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
            assert path.read_bytes().endswith(b"\xff\xd9")


def test_the_picture_itself_is_whole_and_upright(top: Path) -> None:
    names = sorted(path.name for path in (top / "data/photos").iterdir())
    # The third shows no picture, and nothing of it is given.
    assert names == ["photo-001.jpg", "photo-002.jpg"]
    with (
        Image.open(io.BytesIO(PHOTOS["camera"])) as was,
        Image.open(top / "data/photos/photo-001.jpg") as now,
    ):
        turned = was.transpose(Image.Transpose.ROTATE_270)
        assert now.size == turned.size == (160, 320)
        apart = [abs(a - b) for a, b in zip(turned.tobytes(), now.tobytes(), strict=True)]
        assert sum(apart) / len(apart) < 8


def test_the_record_names_both_digests_and_the_copy_shows_it(data: Path, top: Path) -> None:
    with open_reader(data) as reader:
        (line,) = [one for one in reader.lines(0) if json.loads(one)["kind"] == "copied"]
        assert not list(reader.verify())
    assert (top / "data/proof/copies.jsonl").read_text() == f"{line}\n"
    found = [(one["original"], one["copy"]) for one in json.loads(line)["body"]["photos"]]
    originals = [hashlib.sha256(PHOTOS[name]).hexdigest() for name in ("camera", "texts")]
    copies = [hashlib.sha256(path.read_bytes()).hexdigest()
              for path in sorted((top / "data/photos").iterdir())]  # fmt: skip
    assert found == list(zip(originals, copies, strict=True))
    shown = (top / "data/entries.jsonl").read_text()
    assert all(original in shown for original in originals)
    assert caught_by(top) == set()


def test_a_second_copy_is_the_same_and_adds_no_entry(
    data: Path, top: Path, tmp_path: Path
) -> None:
    with open_reader(data) as reader:
        before = reader.lines(0)
    make_customer_copy(Settings(data), 1, tmp_path / "again.zip", max, seed="1")
    with open_reader(data) as reader:
        assert reader.lines(0) == before
    again, first = tmp_path / "again.zip", top.parents[1] / "copy.zip"
    # The first one named its copies; both show the same line.
    assert again.read_bytes() == first.read_bytes()

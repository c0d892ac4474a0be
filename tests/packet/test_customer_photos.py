"""The customer's photos: the picture is all there, and nothing else that came with the file."""

import hashlib
import io
import json
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image, PngImagePlugin

from bot.commands.demo import Player, conversation, parse
from bot.commands.proving import make_customer_copy
from bot.desk.inbound import Inbound
from bot.machine.settings import Settings
from bot.packet.verify import check
from bot.record.media import keep_bytes
from bot.record.reader import open_reader
from tests.packet.packets import caught_by, redone, unpacked, with_key
from tests.packet.tampers import OURS, derived_again

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


HEIC = b"\0\0\0\x18ftypheic" + b"?" * 500
PHOTOS = {"camera": camera_photo(), "texts": with_texts(), "broken": b"\xff\xd8\xff" + b"?" * 500,
          "heic": HEIC}  # fmt: skip


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
    # The third and the fourth show no picture here, and nothing of them is given.
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


def test_a_photo_without_a_copy_is_named(data: Path, top: Path, tmp_path: Path) -> None:
    """To whoever makes the copy, to whoever reads it, and to whoever checks it."""
    sealed = make_customer_copy(Settings(data), 1, tmp_path / "again.zip", max, seed="1")
    with open_reader(data) as reader:
        seqs = {e["body"]["sha256"]: e["seq"] for e in reader.entries(1) if e["kind"] == "media"}
    readme = (top / "data/00-READ-ME-FIRST.txt").read_text()
    lacking = {one.name: one.lacks for one in check(top)}["each photo, written again"]
    for told, name, of in zip(sealed.left_out, ("broken", "heic"), ("jpg", "heic"), strict=True):
        seq = seqs[hashlib.sha256(PHOTOS[name]).hexdigest()]
        assert told.startswith(f"  entry {seq}: photo, left out")
        assert f"({of})" in told
        assert told in readme
        assert f"the photo of entry {seq} has no copy here: see the read-me" in lacking


def wrong_in(top: Path) -> set[str]:
    return {one.name for one in check(top) if one.wrong}


def other_picture(top: Path) -> None:
    (top / "data/photos/photo-001.jpg").write_bytes(
        (top / "data/photos/photo-002.jpg").read_bytes()
    )
    (top / "data/photos/photo-002.jpg").write_bytes(b"\xff\xd8\xff another")


def one_more(top: Path) -> None:
    (top / "data/photos/photo-009.jpg").write_bytes(b"\xff\xd8\xff another")


def none_named(top: Path) -> None:
    (top / "data/proof/copies.jsonl").write_bytes(b"")


def no_list(top: Path) -> None:
    (top / "data/proof/copies.jsonl").unlink()


def names_another(top: Path) -> None:
    path = top / "data/proof/copies.jsonl"
    digest = hashlib.sha256(PHOTOS["camera"]).hexdigest()
    path.write_text(path.read_text().replace(digest, "ab" * 32))


@pytest.mark.parametrize("do", [other_picture, one_more, none_named, no_list, names_another])
def test_a_copy_that_the_record_does_not_name_is_noticed(
    do: Callable[[Path], None], top: Path, tmp_path: Path
) -> None:
    """Also where whoever has the company's key signs all of it again."""
    copy = Path(shutil.copytree(top, tmp_path / "copy"))
    do(copy)
    derived_again(copy, "1")
    redone(copy, sign="1")
    assert "each photo, written again" in wrong_in(copy)
    assert wrong_in(top) == set()


RECEIPT = "job 1 entries 1 root 0123456789abcdef"
"""Of another record."""


def into(name: str, old: bytes, new: bytes) -> Callable[[Path], None]:
    def do(top: Path) -> None:
        before = (top / name).read_bytes() if (top / name).exists() else b""
        assert old in before
        (top / name).write_bytes(before.replace(old, new, 1))

    return do


VALUE = b'{"commitment":"ab","salt":"cd","value":"Dana"}\n'
PLANTED: dict[str, Callable[[Path], None]] = {
    "every file is listed and unchanged": into("data/place.txt", b"", b"9"),
    "the signature over the manifest": into("manifest-sha256.txt", b"a", b"b"),
    "the fingerprint you had before": lambda top: None,
    "a time stamp": into("manifest-sha256.txt.tsr", b"", b"junk"),
    "each entry shown was in the signed record": into("data/entries.jsonl", b"false", b"true"),
    "each photo, written again": other_picture,
    "each personal value shown": into("data/proof/values.jsonl", b"", VALUE),
    "the view for spreadsheets": into("data/entries.csv", b"\r\n", b"," + b"0" * 64 + b"\r\n"),
    "the files belong to these entries": into("data/summary.pdf", b"%PDF", b"%PDG"),
    "the receipt": lambda top: None,
}


@pytest.mark.parametrize("name", PLANTED)
def test_each_check_of_a_customers_copy_has_a_planted_failure(
    name: str, top: Path, tmp_path: Path
) -> None:
    copy = Path(shutil.copytree(top, tmp_path / "copy"))
    PLANTED[name](copy)
    known = "SHA256:another" if name == "the fingerprint you had before" else OURS
    assert name in {one.name for one in check(copy, RECEIPT, known) if one.wrong}


def test_every_check_of_a_customers_copy_is_planted(top: Path) -> None:
    assert {one.name for one in check(top, RECEIPT, OURS)} == set(PLANTED)

"""The summary: it says the same as the record; pictures are opened with care (T-13)."""

import struct
import zlib
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from PIL import Image

from bot.commands.bootstrap import book_for
from bot.commands.demo import Player, conversation, parse
from bot.desk.inbound import Inbound
from bot.machine.settings import Settings
from bot.packet.case import Case, read_case
from bot.packet.drawn import Drawn
from bot.packet.photo_pages import camera_says
from bot.packet.pictures import MOST_PIXELS, thumbnails
from bot.packet.summary import _said, summary
from bot.record.media import keep
from bot.record.reader import open_reader
from flows.texts.visible import visible
from tests.packet.packets import carried


def case_of(data: Path, job: int = 1) -> Case:
    with open_reader(data) as reader:
        return read_case(reader, job, book_for(Settings(data)))


def said(case: Case, folder: Path) -> dict[str, Any]:
    return _said(Drawn(case, ZoneInfo("America/Denver")), folder)


@pytest.fixture(scope="module")
def late(tmp_path_factory: pytest.TempPathFactory) -> Case:
    data = tmp_path_factory.mktemp("late") / "data"
    carried(data, "window_runs_out", photos=2)
    return case_of(data)


def test_the_window_that_ran_out_is_shown_as_such(late: Case, tmp_path: Path) -> None:
    page = said(late, tmp_path)
    first = page["windows"][0]
    assert first["over"]
    assert first["held"] == 30.0
    assert first["used"] == pytest.approx(30.0, abs=0.5)
    # Neutral window: a half, a sixth and a fifteenth of thirty minutes left, and the end.
    assert [round(mark["at"]) for mark in first["marks"]][:4] == [15, 25, 28, 30]
    assert any(one["value"].startswith("30") for one in page["headline"])


def asked(page: dict[str, Any], question: str) -> str:
    (lines,) = (one["lines"] for one in page["answers"] if one["name"] == question)
    return "\n".join(lines)


def test_caller_and_destination_are_on_the_first_page(late: Case, tmp_path: Path) -> None:
    page = said(late, tmp_path)
    # As the dispatcher of that conversation opened it; 49 CFR 373.101, 49 USC 13506(b)(3).
    assert asked(page, "Where?") == "From: mile 9. To: the county yard."
    assert "Tow asked for by: the owner. Kind of call: planned." in asked(page, "Who?")


def test_gaps_photos_and_unrecorded_facts_are_listed(tmp_path: Path) -> None:
    player = Player(tmp_path / "data")
    for step in parse("> new job crash\n> exit 9\n~ 45m\n> none\n~ wall +2h\n> behind"):
        player.step(step)
    player.close()
    page = said(case_of(tmp_path / "data"), tmp_path)
    assert any(one.startswith("45 minutes without an entry") for one in page["gaps"])
    assert any("changed by 7200 seconds" in one for one in page["gaps"])
    assert page["condition"][1]["rows"] == []
    assert {"kind": "gap", "words": "45 minutes without an entry"} in page["time_line"]
    assert asked(page, "Where?") == "From: exit 9."
    assert asked(page, "Photos?") == "Not recorded."


def test_skips_and_decisions_come_with_their_reasons(tmp_path: Path) -> None:
    player = Player(tmp_path / "data")
    for step in parse(conversation("corrected_weight_no_go")):
        if step.kind != "=":
            player.step(step)
    player.close()
    case = case_of(tmp_path / "data")
    page = said(case, tmp_path)
    verdicts = [one["verdict"] for one in page["figures"]]
    concluded = [e["body"]["result"]["verdict"] for e in case.entries if e["kind"] == "concluded"]
    assert verdicts == concluded
    assert "no-go" in verdicts
    for one, entry in zip(
        page["figures"], (e for e in case.entries if e["kind"] == "concluded"), strict=True
    ):
        assert len(one["inputs"]) == len(entry["body"]["result"]["inputs"])
        assert entry["body"]["result"]["governing"] in one["says"]
        assert (tmp_path / one["drawing"]).is_file()


def test_the_same_case_gives_the_same_bytes(late: Case) -> None:
    picture = b'<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"/>'
    one, two = (summary(late, "SHA256:x", picture) for _ in range(2))
    assert one == two
    assert one.startswith(b"%PDF-")


ODD = ["Отбуксировать к складу", "車は左側", "سيارة", "#let x = 1; $math$ @ref <label> *b* _i_",
       "`r` \\u{41} \\ // /* ", "x" * 3000, "\u202eevil\u202c", "🚗"]  # fmt: skip


def test_any_text_is_shown_as_text_and_never_run(tmp_path: Path) -> None:
    player = Player(tmp_path / "data")
    player.step(parse("> new job crash")[0])
    for text in ODD:
        player._send("driver:sam", text=text)
    player.close()
    case = case_of(tmp_path / "data")
    page = said(case, tmp_path)
    words = "\n".join(row["words"] for row in page["time_line"])
    assert all(visible(text) in words for text in ODD)
    assert "\u202e" not in words
    assert summary(case, "", b'<svg xmlns="http://www.w3.org/2000/svg"/>').startswith(b"%PDF-")


# Pictures


def png(width: int, height: int) -> bytes:
    """Write a PNG that claims a size but has almost no data."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        body = kind + data
        return struct.pack(">I", len(data)) + body + struct.pack(">I", zlib.crc32(body))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    rows = zlib.compress(bytes(100_000))
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


def test_a_photo_becomes_small_and_upright(tmp_path: Path) -> None:
    picture = Image.new("RGB", (2000, 1000), "navy")
    exif = Image.Exif()
    exif[0x0112] = 6  # EXIF 2.3: orientation, turned a quarter
    picture.save(tmp_path / "one.jpg", exif=exif)
    thumbnails([(tmp_path / "one.jpg", tmp_path / "small.jpg")])
    with Image.open(tmp_path / "small.jpg") as small:
        assert small.size == (320, 640)
        assert not small.getexif()


# Exif 2.32 (CIPA DC-008) section 4.6.5: DateTimeOriginal, OffsetTimeOriginal in the Exif IFD.
TAKEN, OFFSET, EXIF_IFD = 0x9003, 0x9011, 0x8769


def with_time(file: Path, taken: str, offset: str = "") -> Path:
    exif = Image.Exif()
    exif[EXIF_IFD] = {TAKEN: taken, **({OFFSET: offset} if offset else {})}
    Image.new("RGB", (40, 20), "navy").save(file, "JPEG", exif=exif)
    return file


def test_a_cameras_time_is_read(tmp_path: Path) -> None:
    plain = with_time(tmp_path / "plain.jpg", "2026:11:25 10:03:09")
    zoned = with_time(tmp_path / "zoned.jpg", "2026:11:25 10:03:09", "-07:00")
    odd = with_time(tmp_path / "odd.jpg", "2026:13:45 99:03:09")
    lies = with_time(tmp_path / "lies.jpg", "2026-11-25T10:03:09\n2026-11-25T10:03:09")
    none = tmp_path / "none.png"
    Image.new("RGB", (40, 20)).save(none)
    junk = tmp_path / "junk.jpg"
    junk.write_bytes(b"\xff\xd8\xff" + b"junk" * 100)
    shown = (none, plain, junk, odd, lies, zoned)
    taken = thumbnails([(one, tmp_path / f"{n}.small") for n, one in enumerate(shown)])
    assert taken == {plain: "2026-11-25T10:03:09", zoned: "2026-11-25T10:03:09-07:00"}


@pytest.mark.parametrize(
    ("camera", "says"),
    [
        ("2026-11-25T10:03:09-07:00", "Its camera's clock: 2026-11-25 10:03"),
        ("2026-11-25T10:05:00", "Its camera's clock: 2026-11-25 10:05"),
        ("2026-11-25T17:06:00+00:00", "Its camera's clock: 2026-11-25 10:06"),
        ("2026-11-25T07:48:00", "..., 2 h 12 min before it arrived: ask why"),
        ("2026-11-25T10:15:00", "..., 0 h 15 min AFTER it arrived: ask why"),
        ("2026-11-20T10:00:00", "..., 5 days before it arrived: ask why"),
    ],
)
def test_a_camera_that_says_another_time_is_flagged(late: Case, camera: str, says: str) -> None:
    drawn = Drawn(late, ZoneInfo("America/Denver"))
    came = datetime(2026, 11, 25, 17, 0, tzinfo=UTC)
    found = camera_says(drawn, camera, came)
    assert found == says if not says.startswith("...") else found.endswith(says[3:])


def test_the_photo_sheet_shows_a_cameras_time(tmp_path: Path) -> None:
    player = Player(tmp_path / "data")
    for step in parse("> new job breakdown\n> mile 9\n> none"):
        player.step(step)
    file = with_time(tmp_path / "old.jpg", "2019:01:02 03:04:05")
    media = keep(tmp_path / "data", "photo", str(file))
    player.desk.take(Inbound("driver:sam", "p1", media=media), player.at)
    player.close()
    (one,) = said(case_of(tmp_path / "data"), tmp_path)["photos"]
    assert one["camera"].startswith("Its camera's clock: 2019-01-02 03:04, ")
    assert "days before it arrived" in one["camera"]


@pytest.mark.parametrize(
    "content",
    [
        png(60_000, 60_000),
        png(MOST_PIXELS, 2),
        png(1_000, 1_000),
        b"\xff\xd8\xff" + b"junk" * 100,
        b"GIF89a" + bytes(50),
        b"%!PS-Adobe\n" + b"\xff\xd8\xff",
        b"",
    ],
    ids=["bomb", "wide bomb", "cut off", "junk", "not allowed", "program", "empty"],
)
def test_a_picture_made_to_hurt_is_not_shown(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "bad").write_bytes(content)
    Image.new("RGB", (20, 10)).save(tmp_path / "good.png")
    names = ("good.png", "bad", "good.png")
    thumbnails([(tmp_path / one, tmp_path / f"{n}.jpg") for n, one in enumerate(names)])
    assert [(tmp_path / f"{n}.jpg").exists() for n in range(3)] == [True, False, True]

"""Files as received: whoever changes, swaps, links or takes away one is told of."""

import os
import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from bot.commands.cli import main
from bot.packet.verify import check
from bot.record.keeping import Expired, erase, erased_marks
from bot.record.media import keep_bytes, media_path, state_of
from bot.record.reader import open_reader
from bot.record.schema import FILE_NAME
from tests.bot.turns import NOW
from tests.packet.packets import JPEG, carried, unpacked, with_key, written


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("record") / "data"
    carried(folder, "hold_and_resume", photos=2)
    return folder


@pytest.fixture
def data(made: Path, tmp_path: Path) -> Path:
    copy = Path(shutil.copytree(made, tmp_path / "data"))
    with_key(copy)
    return copy


def photos(data: Path) -> list[Path]:
    return sorted(path for path in (data / "files").iterdir() if not path.suffix)


def flipped(data: Path) -> None:
    content = bytearray(photos(data)[0].read_bytes())
    content[-9] ^= 1
    photos(data)[0].write_bytes(content)


def swapped(data: Path) -> None:
    one, two = photos(data)
    one.write_bytes(two.read_bytes())


def longer(data: Path) -> None:
    with photos(data)[0].open("ab") as file:
        file.write(b"more")


def linked(data: Path) -> None:
    """A link to the right bytes elsewhere is none of ours either."""
    path = photos(data)[0]
    path.rename(data.with_name("elsewhere"))
    path.symlink_to(data.with_name("elsewhere"))


def linked_out(data: Path) -> None:
    photos(data)[0].unlink()
    secret = data.with_name("secret")
    secret.write_text("not for the packet")
    photos_there = data / "files"
    (photos_there / names(data)[0]).symlink_to(secret)


def names(data: Path) -> list[str]:
    with open_reader(data) as reader:
        return sorted(e["body"]["sha256"] for e in reader.entries(1) if e["kind"] == "media")


def piped(data: Path) -> None:
    path = photos(data)[0]
    path.unlink()
    os.mkfifo(path)


def folder_there(data: Path) -> None:
    path = photos(data)[0]
    path.unlink()
    path.mkdir()


def gone(data: Path) -> None:
    photos(data)[0].unlink()


def all_gone(data: Path) -> None:
    shutil.rmtree(data / "files")


TAMPERS = (flipped, swapped, longer, linked, linked_out, piped, folder_there, gone, all_gone)


by_name = pytest.mark.parametrize("tamper", TAMPERS, ids=lambda one: one.__name__)


@by_name
def test_a_file_that_is_not_as_received_is_told_by_verify_and_backup(
    data: Path, tamper: Callable[[Path], None], capsys: pytest.CaptureFixture[str]
) -> None:
    """Both said nothing and returned 0."""
    wanted = names(data)
    assert main(["verify", "--data", str(data)]) == 0
    tamper(data)
    capsys.readouterr()
    assert main(["verify", "--data", str(data)]) == 1
    out = capsys.readouterr().out
    assert "FAILS  every file as received" in out
    assert any(one in out for one in wanted)
    assert main(["backup", str(data.with_name("copy")), "--data", str(data)]) == 1
    assert any(one in capsys.readouterr().err for one in wanted)


@pytest.mark.parametrize("tamper", [flipped, linked_out, all_gone], ids=lambda one: one.__name__)
def test_a_packet_leaves_out_what_is_not_as_received_and_says_so(
    data: Path, tamper: Callable[[Path], None], capsys: pytest.CaptureFixture[str]
) -> None:
    """Whatever was there went into it, also what a link led to."""
    wanted = names(data)
    tamper(data)
    out_of = data.with_name("job-1.zip")
    assert main(["packet", "1", "--data", str(data), "--out", str(out_of)]) == 1
    assert any(one in capsys.readouterr().err for one in wanted)
    assert b"not for the packet" not in out_of.read_bytes()
    top = unpacked(out_of, data.with_name("out"))
    assert any(one in (top / "data/00-READ-ME-FIRST.txt").read_text("utf-8") for one in wanted)
    # What is packed is intact, and what is not is said to be not there.
    found = {one.name: one for one in check(top)}
    assert not [one.name for one in found.values() if one.wrong]
    assert found["each file as received"].state == "NOT THERE"


def erased_by_entry(data: Path) -> None:
    with written(data) as store:
        erase(store, Expired(1, "files", tuple(names(data))), NOW, "UTC")


def test_a_file_that_an_entry_erased_is_told_apart_from_a_missing_one(data: Path) -> None:
    erased_by_entry(data)
    assert main(["verify", "--data", str(data)]) == 0
    out = data.with_name("job-1.zip")
    assert main(["packet", "1", "--data", str(data), "--out", str(out)]) == 0
    top = unpacked(out, data.with_name("out"))
    text = (top / "data/00-READ-ME-FIRST.txt").read_text("utf-8")
    assert text.count("photo, lawfully erased.") == 2
    with open_reader(data) as reader:
        assert set(names(data)) <= erased_marks(reader)


def test_a_value_deleted_without_an_entry_is_not_lawfully_erased(
    data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    conn = sqlite3.connect(data / FILE_NAME)
    conn.execute("DELETE FROM private WHERE digest = (SELECT min(digest) FROM private)")
    conn.commit()
    conn.close()
    assert main(["verify", "--data", str(data)]) == 1
    assert "no entry says that it was erased" in capsys.readouterr().out


def test_a_planted_file_does_not_keep_the_one_that_comes(tmp_path: Path) -> None:
    """One of the same length, or a link, was taken for it."""
    picture = JPEG + bytes(500)
    kept = keep_bytes(tmp_path, "photo", picture)
    path = media_path(tmp_path, kept.sha256)
    path.write_bytes(bytes(len(picture)))
    assert state_of(path, kept.sha256) == "changed"
    keep_bytes(tmp_path, "photo", picture)
    assert path.read_bytes() == picture
    path.unlink()
    (tmp_path / "other").write_bytes(bytes(len(picture)))
    path.symlink_to(tmp_path / "other")
    keep_bytes(tmp_path, "photo", picture)
    assert state_of(path, kept.sha256) == "here"
    assert (tmp_path / "other").read_bytes() == bytes(len(picture))

"""Packets built to harm the person who checks them are refused, with a reason (T-30)."""

import json
import os
import struct
import subprocess
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from bot.commands.cli import main
from bot.packet.checking import check_packet
from bot.packet.reading import NoPacketError, check_name
from tests.packet.packets import ALONE, carried, packed, unpacked


@pytest.fixture(scope="module")
def packet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("record")
    carried(folder / "data", "hold_and_resume", photos=0)
    return packed(folder / "data", folder / "job-1.zip")


def with_member(packet: Path, target: Path, info: zipfile.ZipInfo, content: bytes = b"x") -> Path:
    """Copy a packet and add a file to its zip."""
    target.write_bytes(packet.read_bytes())
    with zipfile.ZipFile(target, "a") as out:
        out.writestr(info, content)
    return target


def refused(path: Path) -> str:
    result = check_packet(path)
    assert result.code == 2
    assert result.checks == ()
    return result.refused


BAD_NAMES = [
    "../outside.txt", "job-1/../outside.txt", "/etc/passwd", "job-1/data/..", "job-1//x",
    "job-1\\data\\x", "C:/x", "job-1/data/a:b", "job-1/data/.hidden", "job-1/data/\u202egpj.exe",
    "job-1/data/" + "a" * 300, "job-1/data/a b", "job-1/data/x\x01y", "", "job-1/data/-rf",
]  # fmt: skip


@pytest.mark.parametrize("name", BAD_NAMES)
def test_names_that_lead_out_or_hide_are_refused(packet: Path, tmp_path: Path, name: str) -> None:
    info = zipfile.ZipInfo("placeholder")
    info.filename = info.orig_filename = name
    assert "is named" in refused(with_member(packet, tmp_path / "bad.zip", info))
    with pytest.raises(NoPacketError):
        check_name(name)


def test_a_link_in_a_zip_is_refused(packet: Path, tmp_path: Path) -> None:
    info = zipfile.ZipInfo("job-1/data/link")
    info.create_system, info.external_attr = 3, 0o120777 << 16
    path = with_member(packet, tmp_path / "bad.zip", info, b"/etc/passwd")
    assert "not a plain file" in refused(path)


def test_a_link_or_a_pipe_in_a_folder_is_refused(packet: Path, tmp_path: Path) -> None:
    top = unpacked(packet, tmp_path / "out")
    (top / "data/link.txt").symlink_to("/etc/passwd")
    assert "a link or a device" in refused(top)
    (top / "data/link.txt").unlink()
    os.mkfifo(top / "data/pipe.txt")
    assert "a link or a device" in refused(top)
    (top / "data/pipe.txt").unlink()
    (top / "data/folder").symlink_to("/etc")
    assert "a link or a device" in refused(top)


def test_a_bomb_is_refused_before_it_is_read(packet: Path, tmp_path: Path) -> None:
    info = zipfile.ZipInfo("job-1/data/bomb.txt")
    info.compress_type = zipfile.ZIP_DEFLATED
    path = with_member(packet, tmp_path / "bad.zip", info, bytes(50_000_000))
    assert path.stat().st_size < packet.stat().st_size + 100_000
    assert "compressed or encrypted" in refused(path)


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_a_name_twice_is_refused(packet: Path, tmp_path: Path) -> None:
    info = zipfile.ZipInfo("job-1/data/entries.jsonl")
    assert "is in the zip twice" in refused(with_member(packet, tmp_path / "bad.zip", info))


def test_absurd_counts_are_refused_before_they_are_read(packet: Path, tmp_path: Path) -> None:
    content = bytearray(packet.read_bytes())
    end = content.rfind(b"PK\x05\x06")
    for place, form, number in ((10, "<H", 0xFFFF), (12, "<I", 0xFFFFFFF0)):
        bad = bytearray(content)
        struct.pack_into(form, bad, end + place, number)
        (tmp_path / "bad.zip").write_bytes(bad)
        assert "allowed: 20000" in refused(tmp_path / "bad.zip")


def test_two_folders_at_the_top_are_refused(packet: Path, tmp_path: Path) -> None:
    path = with_member(packet, tmp_path / "bad.zip", zipfile.ZipInfo("job-2/x.txt"))
    assert "2 folders at its top" in refused(path)


@pytest.mark.parametrize("content", [b"", b"PK\x05\x06", b"not a zip" * 100, b"\x00" * 70_000])
def test_a_file_that_is_not_a_packet_is_refused(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "bad.zip").write_bytes(content)
    assert refused(tmp_path / "bad.zip")


def test_a_folder_that_is_not_a_packet_is_refused(tmp_path: Path) -> None:
    assert "bagit.txt is missing" in refused(tmp_path)
    assert "there is nothing" in refused(tmp_path / "gone")


def rewritten(top: Path, name: str, change: Callable[[bytes], bytes]) -> None:
    path = top / name
    path.write_bytes(change(path.read_bytes()))


BREAKS: dict[str, Callable[[bytes], bytes]] = {
    "no end": lambda text: text[:-1],
    "no utf-8": lambda text: b"\xff" + text,
    "a key twice": lambda text: text.replace(b'{"body"', b'{"v":1,"body"', 1),
    "a float": lambda text: text.replace(b'"seq":0', b'"seq":0.0', 1),
    "deep": lambda text: b"[" * 100_000 + b"]" * 100_000 + b"\n" + text,
    "no object": lambda text: b"7\n" + text,
    "spaces": lambda text: text.replace(b'"seq":0', b'"seq": 0', 1),
    "empty": lambda _: b"",
}
ANYWHERE = {"no end", "no utf-8", "deep", "no object"}
FILES = ("entries.jsonl", "proof/values.jsonl", "proof/keys.jsonl")
BROKEN = [(name, file) for name in BREAKS for file in FILES[: 3 if name in ANYWHERE else 1]]


@pytest.mark.parametrize(("name", "file"), BROKEN)
def test_broken_lines_are_reported_and_never_raise(
    packet: Path, tmp_path: Path, name: str, file: str
) -> None:
    top = unpacked(packet, tmp_path / "out")
    before = (top / "data" / file).read_bytes()
    rewritten(top, f"data/{file}", BREAKS[name])
    assert (top / "data" / file).read_bytes() != before
    result = check_packet(top)
    assert result.code in {1, 2}
    done = subprocess.run(ALONE, cwd=top, capture_output=True, text=True, check=False)
    assert done.returncode == result.code
    assert done.stderr == ""


def test_only_listed_names_are_opened(packet: Path, tmp_path: Path) -> None:
    top = unpacked(packet, tmp_path / "out")
    rewritten(top, "manifest-sha256.txt", lambda text: text + b"0" * 64 + b"  ../../secret\n")
    assert "'../../secret'" in refused(top)


def test_the_command_reports_in_words_and_in_json(
    packet: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["verify", str(packet)]) == 0
    assert "FAILS" not in capsys.readouterr().out
    assert main(["verify", str(packet), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["code"] == 0
    assert not [one["check"] for one in found["checks"] if one["wrong"]]
    # What is not there does not hold, and says so.
    absent = {one["check"]: one for one in found["checks"] if one["not_there"]}
    assert "a time stamp" in absent
    assert not any(one["holds"] for one in absent.values())
    top = unpacked(packet, tmp_path / "out")
    rewritten(top, "data/receipt.txt", lambda text: text + b"!")
    assert main(["verify", str(top), "--json"]) == 1
    wrong = next(one for one in json.loads(capsys.readouterr().out)["checks"] if one["wrong"])
    assert wrong["wrong"] == ["data/receipt.txt was changed"]
    assert main(["verify", str(top)]) == 1
    assert "FAILS  every file is listed and unchanged" in capsys.readouterr().out
    assert main(["verify", str(tmp_path / "gone"), "--json"]) == 2
    assert "refused" in json.loads(capsys.readouterr().out)

"""`rollproof doctor` finds what is wrong, says what to do, and changes nothing."""

import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from bot.commands import doctor
from bot.commands.cli import main
from bot.commands.doctor import examine
from bot.record.schema import FILE_NAME
from tests.standin.child import enrol
from tests.standin.server import TOKEN


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    data = tmp_path / "data"
    enrol(data, {501: "owner:kim", 502: "driver:sam"})
    (data / "token").write_text(TOKEN)
    (data / "token").chmod(0o600)
    return data


def ill(folder: Path, name: str | None = "a_bot") -> list[str]:
    return [one.says for one in examine(folder, lambda: name) if not one.is_well]


def test_a_folder_that_is_well(folder: Path) -> None:
    assert ill(folder) == []
    assert len(list(examine(folder, lambda: "a_bot"))) == 7


def no_token(folder: Path) -> None:
    (folder / "token").unlink()


def bad_token(folder: Path) -> None:
    (folder / "token").write_text("what")


def readable(folder: Path) -> None:
    (folder / FILE_NAME).chmod(0o644)


def parked(folder: Path) -> None:
    conn = sqlite3.connect(folder / FILE_NAME)
    conn.execute("""INSERT INTO outbox (channel, chat, seq, body, state)
        VALUES ('telegram', 'driver:sam', 1, '{}', 'parked')""")
    conn.commit()
    conn.close()


def apart(folder: Path) -> None:
    conn = sqlite3.connect(folder / FILE_NAME)
    conn.execute("""INSERT INTO inbox (channel, chat, ext_id, body, body_digest, wall_ms, mono_ns,
        boot, state) VALUES ('telegram', 'x', '1', '{}', 'x', 1, '1', 'b', 'quarantined')""")
    conn.commit()
    conn.close()


def no_record(folder: Path) -> None:
    for path in folder.glob(f"{FILE_NAME}*"):
        path.unlink()


@pytest.mark.parametrize(
    ("spoil", "says"),
    [
        (no_token, "There is no token yet."),
        (bad_token, "does not hold a valid token"),
        (readable, "chmod 600"),
        (parked, "1 replies could not be delivered"),
        (apart, "1 messages could not be read"),
        (no_record, "no record"),
    ],
)
def test_what_is_wrong_is_found(folder: Path, spoil: Callable[[Path], None], says: str) -> None:
    spoil(folder)
    (found,) = ill(folder)
    assert says in found


def test_a_disk_that_is_nearly_full(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(doctor, "LEAST_FREE", 1 << 62)
    assert "MB free" in ill(folder)[0]


def test_a_platform_that_does_not_answer(folder: Path) -> None:
    assert "doesn't answer" in ill(folder, None)[0]


def test_the_command_exits_by_what_it_found(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("ROLLPROOF_PLATFORM", "http://127.0.0.1:9")
    before = {path: path.read_bytes() for path in folder.iterdir() if path.is_file()}
    assert main(["doctor", "--data", str(folder)]) == 1
    shown = capsys.readouterr().out
    assert shown.count("LOOK") == 1
    assert TOKEN not in shown
    assert {p: p.read_bytes() for p in before} == before
    assert main(["doctor", "--data", str(folder / "none")]) == 1

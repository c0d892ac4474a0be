"""Opening: a single writer, no newer form, and disks that are full, read-only or locked."""

import os
import sqlite3
import subprocess
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from bot.record import errors, schema
from bot.record.errors import StoreError
from bot.record.reader import open_reader
from bot.record.rows import Batch
from bot.record.schema import FILE_NAME, migrate
from bot.record.store import Store, open_store
from tests.bot.turns import NOW, SALT, ZONE, dump, fact, first_turn, refusal, second_turn, tampered

NEWEST = len(schema.MIGRATIONS)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with open_store(tmp_path / "data", salt=SALT) as opened:
        yield opened


def open_files() -> int:
    return len(os.listdir("/dev/fd"))  # noqa: PTH208  a path object would list itself too


def test_durability_is_chosen_at_opening(store: Store) -> None:
    pragmas = ("journal_mode", "synchronous", "foreign_keys", "secure_delete", "user_version")
    found = [store._db.execute(f"PRAGMA {name}").fetchone()[0] for name in pragmas]
    # SQLite's documentation of PRAGMA synchronous: 2 is FULL.
    assert found == ["wal", 2, 1, 1, NEWEST]


def test_only_the_owner_can_read_the_folder(tmp_path: Path) -> None:
    folder = tmp_path / "deep" / "data"
    with open_store(folder, salt=SALT) as store:
        store.commit(first_turn())
        for path in (folder, *folder.iterdir()):
            assert path.stat().st_mode & 0o077 == 0, path.name


def test_a_record_reopens_unchanged(tmp_path: Path) -> None:
    with open_store(tmp_path, salt=SALT) as store:
        store.commit(first_turn())
    before = dump(tmp_path / FILE_NAME)
    with open_store(tmp_path, salt=SALT) as store:
        assert dump(tmp_path / FILE_NAME) == before
        assert store.commit(replace(second_turn(0), inbox_id=None))[0].seq == 2


def test_one_folder_has_one_writer(store: Store) -> None:
    files = open_files()
    error = refusal(lambda: open_store(store._path.parent, salt=SALT))
    assert error.words is errors.IN_USE
    assert open_files() == files
    assert str(os.getpid()) in error.what
    with open_reader(store._path.parent) as reader:
        assert reader.jobs() == {}


@pytest.mark.parametrize("opener", [open_reader, lambda folder: open_store(folder, salt=SALT)])
def test_a_newer_record_is_not_touched(tmp_path: Path, opener: Callable[[Path], Store]) -> None:
    with open_store(tmp_path, salt=SALT) as store:
        store.commit(first_turn())
    tampered(tmp_path, "PRAGMA user_version = 7")
    before = (tmp_path / FILE_NAME).read_bytes()
    files = open_files()
    error = refusal(lambda: opener(tmp_path))
    assert open_files() == files
    assert error.words is errors.NEWER
    assert error.value == 7
    assert str(NEWEST) in error.allowed
    assert (tmp_path / FILE_NAME).read_bytes() == before
    # After the refusal the folder is free again.
    tampered(tmp_path, f"PRAGMA user_version = {NEWEST}")
    open_store(tmp_path, salt=SALT).close()


def test_a_database_of_another_program_is_not_touched(tmp_path: Path) -> None:
    tampered(tmp_path, "CREATE TABLE recipes (name TEXT)")
    before = (tmp_path / FILE_NAME).read_bytes()
    assert refusal(lambda: open_store(tmp_path, salt=SALT)).words is errors.FOREIGN
    assert (tmp_path / FILE_NAME).read_bytes() == before


def test_a_file_that_is_not_a_database_is_not_touched(tmp_path: Path) -> None:
    (tmp_path / FILE_NAME).write_text("not a database, but long enough to look like one" * 50)
    assert refusal(lambda: open_store(tmp_path, salt=SALT)).words is errors.DAMAGED
    assert (tmp_path / FILE_NAME).read_text().startswith("not a database")


def test_a_folder_that_is_a_file_refuses(tmp_path: Path) -> None:
    (tmp_path / "data").write_text("")
    assert refusal(lambda: open_store(tmp_path / "data", salt=SALT)).words is errors.NO_FOLDER


def test_reading_needs_a_record(tmp_path: Path) -> None:
    assert refusal(lambda: open_reader(tmp_path)).words is errors.NO_RECORD
    assert list(tmp_path.iterdir()) == []


def test_a_later_version_is_reached_in_one_transaction_or_not_at_all(store: Store) -> None:
    store.commit(first_turn())
    column = "ALTER TABLE chats ADD COLUMN language TEXT"
    with pytest.raises(sqlite3.OperationalError):
        migrate(store._db, NEWEST, [*schema.MIGRATIONS, (column, "NO SUCH STATEMENT")])
    assert store._db.execute("PRAGMA user_version").fetchone()[0] == NEWEST
    assert len(store._db.execute("SELECT * FROM chats").description) == 5
    migrate(store._db, NEWEST, [*schema.MIGRATIONS, (column,)])
    assert store._db.execute("PRAGMA user_version").fetchone()[0] == NEWEST + 1
    assert len(store._db.execute("SELECT * FROM chats").description) == 6
    assert store.verify() == []


@pytest.mark.parametrize("version", range(1, NEWEST))
def test_every_earlier_form_opens_and_keeps_its_rows(tmp_path: Path, version: int) -> None:
    with open_store(tmp_path, salt=SALT) as store:
        inbox_id = store.receive("lines", "driver:sam", "m1", {"text": "yes"}, NOW).id
        store.commit(first_turn())
        store.commit(second_turn(inbox_id))
        wanted = [store.lines(job) for job in (0, 1, 2)]
    # The same rows in a file of the earlier form, which opening migrates.
    rows = dump(tmp_path / FILE_NAME)
    (tmp_path / "old").mkdir()
    old = sqlite3.connect(tmp_path / "old" / FILE_NAME)
    for statements in schema.MIGRATIONS[:version]:
        for statement in statements:
            old.execute(statement)
    old.execute(f"PRAGMA user_version = {version}")
    for table in ("journal", "private", "inbox", "chats"):
        width = len(old.execute(f"SELECT * FROM {table}").description)  # noqa: S608  fixed names
        marks = ", ".join("?" * width)
        old.executemany(
            f"INSERT INTO {table} VALUES ({marks})",  # noqa: S608  fixed names
            [row[:width] for row in rows[table]],
        )
    old.commit()
    old.close()
    with open_store(tmp_path / "old", salt=SALT) as store:
        assert [store.lines(job) for job in (0, 1, 2)] == wanted
        assert store.verify() == []
        assert [chat.chat for chat in store.chats()] == ["dispatcher:dee", "driver:sam"]


def test_a_full_disk_loses_nothing(store: Store) -> None:
    store.commit(first_turn())
    inbox_id = store.receive("lines", "driver:sam", "m2", {"text": "done"}, NOW).id
    before = dump(store._path)
    pages = store._db.execute("PRAGMA page_count").fetchone()[0]
    long = "x" * 20_000
    store._db.execute(f"PRAGMA max_page_count = {pages}").fetchall()
    turn = replace(second_turn(inbox_id), entries=(fact(1, long),))
    for call in (
        lambda: store.commit(turn),
        lambda: store.receive("lines", "driver:sam", "m3", {"text": long}, NOW),
    ):
        error = refusal(call)
        assert error.words is errors.DISK_FULL
        assert FILE_NAME in error.what
        assert dump(store._path) == before
    store._db.execute(f"PRAGMA max_page_count = {pages + 1000}").fetchall()
    store.commit(replace(turn, chats=()))
    assert len(store.entries(1)) == 2
    assert store.verify() == []


def test_a_record_that_cannot_be_written_says_so(tmp_path: Path) -> None:
    with open_store(tmp_path, salt=SALT) as store:
        store.commit(first_turn())
    before = dump(tmp_path / FILE_NAME)

    def connect(path: Path) -> sqlite3.Connection:
        return sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True)

    with open_store(tmp_path, salt=SALT, connect=connect) as store:
        for call in (
            lambda: store.receive("lines", "driver:sam", "m2", {}, NOW),
            lambda: store.commit(Batch(NOW, ZONE, entries=(fact(1),))),
            lambda: store.mark_sent([1]),
            lambda: store.erase(["ab"]),
        ):
            assert refusal(call).words is errors.READ_ONLY
        assert len(store.entries(1)) == 1
    assert dump(tmp_path / FILE_NAME) == before


def test_a_record_locked_by_another_program_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(schema, "BUSY_MS", 0)
    with open_store(tmp_path, salt=SALT) as store:
        store.commit(first_turn())
        other = sqlite3.connect(tmp_path / FILE_NAME)
        other.execute("BEGIN IMMEDIATE")
        for call in (
            lambda: store.receive("lines", "driver:sam", "m2", {}, NOW),
            lambda: store.commit(Batch(NOW, ZONE, entries=(fact(1),))),
        ):
            assert refusal(call).words is errors.LOCKED
        other.close()
        store.commit(Batch(NOW, ZONE, entries=(fact(1),)))
        assert len(store.entries(1)) == 2


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """Mount a real disk of one megabyte."""
    folder = tmp_path / "disk"
    folder.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", "size=1m", "rollproof-test", str(folder)]
    try:
        subprocess.run(command, check=True, capture_output=True)
    except (OSError, subprocess.CalledProcessError):
        pytest.skip("needs the right to mount a small disk")
    yield folder
    subprocess.run(["umount", str(folder)], check=True)


def fill(path: Path) -> None:
    with path.open("wb") as file:
        while True:
            file.write(b"\0" * 4096)
            file.flush()


def test_a_real_full_disk_loses_nothing(small_disk: Path) -> None:
    with open_store(small_disk / "data", salt=SALT) as store:
        store.commit(first_turn())
        with pytest.raises(OSError, match="No space"):
            fill(small_disk / "filler")
        got = 0

        def receive() -> object:
            return store.receive("lines", "driver:sam", f"m{got}", {"text": "x" * 4000}, NOW)

        while True:
            try:
                receive()
            except StoreError as error:
                assert error.words is errors.DISK_FULL  # noqa: PT017  the loop ends here
                break
            got += 1
        assert len(store.unfinished()) == got
        (small_disk / "filler").unlink()
        receive()
        assert len(store.unfinished()) == got + 1
        store.commit(Batch(NOW, ZONE, entries=(fact(1),)))
        assert store.verify() == []


def test_a_read_only_disk_can_be_read_and_says_that_it_cannot_be_written(
    small_disk: Path,
) -> None:
    folder = small_disk / "data"
    with open_store(folder, salt=SALT) as store:
        store.commit(first_turn())
    subprocess.run(["mount", "-o", "remount,ro", str(small_disk)], check=True)
    error = refusal(lambda: open_store(folder, salt=SALT))
    assert error.words is errors.NO_FOLDER
    assert "Read-only" in error.what
    with open_reader(folder) as reader:
        assert len(reader.entries(1)) == 1
        assert reader.verify() == []

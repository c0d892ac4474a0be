"""A crash at any statement leaves all or nothing, and the next run continues from there."""

import signal
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from bot.record import errors, schema
from bot.record.errors import AlreadyDoneError
from bot.record.heads import Binder
from bot.record.keys import scripted_signer
from bot.record.reach import check_head
from bot.record.reader import open_reader
from bot.record.schema import FILE_NAME
from bot.record.store import Store, open_store
from tests.bot.crashing import Crash, CrashingConnection, image
from tests.bot.turns import NOW, SALT, dump, first_turn, refusal, second_turn


def received_and_committed(store: Store) -> None:
    inbox_id = store.receive("lines", "driver:sam", "m2", {"text": "done"}, NOW).id
    store.commit(second_turn(inbox_id))


def run_until_crash(folder: Path, stop_at: int, *, after: bool = False) -> CrashingConnection:
    """Run receive and commit on a fresh record that dies; leave its disk in folder/image."""

    def connect(path: Path) -> sqlite3.Connection:
        return sqlite3.connect(path, factory=CrashingConnection)

    store = open_store(folder / "data", salt=SALT, connect=connect)
    store.bind(Binder(scripted_signer("1")))
    conn = store._db.conn
    assert isinstance(conn, CrashingConnection)
    store.commit(first_turn())
    conn.arm(stop_at, after=after)
    try:
        received_and_committed(store)
    except Crash:
        assert conn.dead
    image(folder / "data", folder / "image")
    store.close()
    return conn


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> tuple[list[str], list[object]]:
    """The statements of an undisturbed run, and the tables before, between and after."""
    folder = tmp_path_factory.mktemp("whole")
    statements = run_until_crash(folder, 0).statements
    after = dump(folder / "image" / FILE_NAME)
    states: list[object] = []
    with open_store(folder / "again", salt=SALT) as store:
        store.bind(Binder(scripted_signer("1")))
        store.commit(first_turn())
        states.append(dump(store._path))
        store.receive("lines", "driver:sam", "m2", {"text": "done"}, NOW)
        states.append(dump(store._path))
    return statements, [*states, after]


@pytest.mark.parametrize("after", [False, True])
def test_a_crash_at_any_statement_leaves_all_or_nothing(
    tmp_path: Path, whole: tuple[list[str], list[object]], *, after: bool
) -> None:
    statements, states = whole
    assert statements.count("COMMIT") == 2
    assert len(statements) > 12
    assert states[0] != states[1] != states[2]
    for stop_at in range(1, len(statements) + 1):
        folder = tmp_path / str(stop_at)
        conn = run_until_crash(folder, stop_at, after=after)
        assert conn.dead
        assert conn.statements == statements[: stop_at if after else stop_at - 1]
        left = conn.statements.count("COMMIT")
        assert dump(folder / "image" / FILE_NAME) == states[left], f"at statement {stop_at}"
        # A received message is answered now; an answered message is not answered again.
        with open_store(folder / "image", salt=SALT) as store:
            store.bind(Binder(scripted_signer("1")))
            assert check_head(store).covered == store.sizes()
            assert store.verify() == []
            assert len(store.unfinished()) == (1 if left == 1 else 0)
            received = store.receive("lines", "driver:sam", "m2", {"text": "done"}, NOW)
            assert received.fresh is (left == 0)
            if left == 2:
                with pytest.raises(AlreadyDoneError):
                    store.commit(second_turn(received.id))
            else:
                store.commit(second_turn(received.id))
            assert store.verify() == []
        assert dump(folder / "image" / FILE_NAME) == states[2]


def test_after_a_crash_while_making_the_record_it_can_be_made(tmp_path: Path) -> None:
    made = 0
    for stop_at in range(1, 60):
        folder = tmp_path / str(stop_at)

        def connect(path: Path, stop_at: int = stop_at) -> sqlite3.Connection:
            conn = sqlite3.connect(path, factory=CrashingConnection)
            conn.arm(stop_at)
            return conn

        try:
            open_store(folder, salt=SALT, connect=connect).close()
        except Crash:
            made += 1
        with open_store(folder, salt=SALT) as store:
            store.commit(first_turn())
            assert store.verify() == []
    # At least every table, index and trigger was a crash point.
    assert len(schema.MIGRATIONS[0]) < made < 59


def test_a_killed_process_leaves_its_last_turn_and_frees_the_folder(tmp_path: Path) -> None:
    script = f"""
import sys
from pathlib import Path
from bot.record.rows import Moment
from bot.record.store import open_store
store = open_store(Path({str(tmp_path)!r}), salt=lambda *_: "00")
store.receive("lines", "driver:sam", "m1", {{"text": "yes"}}, Moment(1, 1, "b1"))
print("received", flush=True)
sys.stdin.read()
"""
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "text": True}
    with subprocess.Popen([sys.executable, "-c", script], **pipes) as process:  # type: ignore[call-overload]
        assert process.stdout.readline() == "received\n"
        error = refusal(lambda: open_store(tmp_path, salt=SALT))
        assert error.words is errors.IN_USE
        assert str(process.pid) in error.what
        with open_reader(tmp_path) as reader:
            assert len(reader.unfinished()) == 1
        process.send_signal(signal.SIGKILL)
        process.wait()
    with open_store(tmp_path, salt=SALT) as store:
        assert [message.body for message in store.unfinished()] == [{"text": "yes"}]

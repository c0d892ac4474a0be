"""A loss of power: the disk has what was waited for, and nothing that anybody was told of is lost.

SQLite's documentation of WAL and of PRAGMA synchronous: a commit under FULL waits until the log
is on the disk, with all that was written to it before; one under NORMAL waits for nothing, and a
loss of power may take it back.
"""

import asyncio
import os
import shutil
import sqlite3
from collections.abc import Awaitable, Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from typing_extensions import override

from bot.channels.telegram.service import AT_ONCE
from bot.record.heads import Binder, read_note
from bot.record.keys import scripted_signer
from bot.record.reach import check_head
from bot.record.reader import open_reader
from bot.record.schema import FILE_NAME, connect
from bot.record.seen import behind_note
from bot.record.store import open_store
from tests.bot.test_air_channel import PHOTO, SAM, opened, said_by_sam
from tests.bot.turns import NOW, SALT, first_turn, second_turn
from tests.standin.phones import Phones

FILES = (FILE_NAME, f"{FILE_NAME}-wal")


class Disk:
    """What of a record is on the disk: its files as they were when it was last waited for."""

    def __init__(self, folder: Path, image: Path) -> None:
        self.folder, self.image, self.waits = folder, image, 0
        image.mkdir()

    def keep(self) -> None:
        self.waits += 1
        for name in FILES:
            if (self.folder / name).exists():
                shutil.copyfile(self.folder / name, self.image / name)

    def connection(self, path: Path) -> sqlite3.Connection:
        disk = self

        class Waiting(sqlite3.Connection):
            """Does not wait for the real disk; keeps what a wait would have put there."""

            full = False

            @override
            def execute(self, sql: str, parameters: Any = (), /) -> sqlite3.Cursor:
                if "synchronous =" in sql:
                    self.full = "FULL" in sql
                done = super().execute(sql.replace("= FULL", "= NORMAL"), parameters)
                if sql == "COMMIT" and self.full:
                    disk.keep()
                return done

        connect(path).close()
        return sqlite3.connect(path, factory=Waiting)

    def fsync(self, number: int) -> None:
        if Path(f"/proc/self/fd/{number}").readlink().name == FILES[1]:
            self.keep()

    def rows(self, sql: str) -> list[Any]:
        """Return what a record opened from the disk alone would have."""
        copy = self.image.with_name("looked at")
        shutil.rmtree(copy, ignore_errors=True)
        shutil.copytree(self.image, copy)
        with closing(sqlite3.connect(copy / FILE_NAME)) as found:
            return [row[0] for row in found.execute(sql)]

    def cut(self) -> None:
        """Leave in the folder what is on the disk, as after a loss of power."""
        (self.folder / f"{FILE_NAME}-shm").unlink(missing_ok=True)
        for name in FILES:
            (self.folder / name).unlink(missing_ok=True)
            shutil.copyfile(self.image / name, self.folder / name)


@pytest.fixture
def disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Disk:
    found = Disk(tmp_path / "data", tmp_path / "disk")
    monkeypatch.setattr(os, "fsync", found.fsync)
    return found


def on_phones(disk: Disk, play: Callable[[Phones], Awaitable[None]]) -> None:
    async def run() -> None:
        async with Phones(disk.folder, connection=disk.connection) as phones:
            watch(phones, disk)
            await play(phones)

    asyncio.run(run())


def watch(phones: Phones, disk: Disk) -> None:
    """Hold the disk against what the platform is told: confirmed updates, and replies."""
    confirm, send = phones.platform.world.confirm, phones.service._sender.send

    def confirmed(offset: int) -> None:
        numbers = {one["update_id"] for one in phones.platform.world.updates()}
        gone = {f"{one}" for one in numbers if one < offset}
        kept = set(disk.rows("SELECT ext_id FROM inbox"))
        assert gone <= kept, "confirmed before it was on the disk"
        confirm(offset)

    async def sent(queued: Any, address: int) -> Any:
        assert queued.reply.id in disk.rows("SELECT id FROM outbox"), "sent before it was kept"
        return await send(queued, address)

    phones.platform.world.confirm = confirmed  # type: ignore[method-assign]
    phones.service._sender.send = sent  # type: ignore[method-assign]


def test_what_is_received_is_written_without_waiting_and_a_turn_waits(disk: Disk) -> None:
    with open_store(disk.folder, salt=SALT, connect=disk.connection) as store:
        before = disk.waits
        store.receive("lines", "driver:sam", "m1", {"text": "ja"}, NOW)
        assert disk.waits == before
        assert disk.rows("SELECT ext_id FROM inbox") == []
        store.sync()
        assert disk.waits == before + 1
        assert disk.rows("SELECT ext_id FROM inbox") == ["m1"]
        store.sync()
        assert disk.waits == before + 1, "there was nothing left to wait for"
        store.receive("lines", "driver:sam", "m2", {"text": "ja"}, NOW)
        sent = store.commit(first_turn())
        assert disk.waits == before + 2, "a turn waits once, for what came before it too"
        assert disk.rows("SELECT ext_id FROM inbox") == ["m1", "m2"]
        store.sync()
        assert disk.waits == before + 2
        store.mark_sent([one.id for one in sent])
        assert disk.waits == before + 2


def test_the_signed_head_is_on_the_disk_with_its_entries_and_the_note_never_ahead(
    disk: Disk,
) -> None:
    note = disk.folder.with_name("record.head")
    with open_store(disk.folder, salt=SALT, connect=disk.connection) as store:
        store.bind(Binder(scripted_signer("1"), note))
        inbox_id = store.receive("lines", "driver:sam", "m1", {"text": "ja"}, NOW).id
        store.commit(first_turn())
        store.commit(second_turn(inbox_id))
        store.receive("lines", "driver:sam", "m2", {"text": "ja"}, NOW)
    disk.cut()
    with open_reader(disk.folder) as reader:
        found = check_head(reader)
        assert (found.problems, found.number) == ((), 2)
        assert found.covered == reader.sizes()
        # The disk had waited for the record before the note was written.
        assert read_note(note) == reader.signed_head()
        assert not behind_note(read_note(note), reader)


def test_a_write_that_fails_leaves_the_next_turn_waiting_for_the_disk(disk: Disk) -> None:
    with open_store(disk.folder, salt=SALT, connect=disk.connection) as store:
        with pytest.raises(UnicodeEncodeError):
            store.receive("lines", "driver:\ud800", "m1", {}, NOW)
        before = disk.waits
        store.commit(first_turn())
        assert disk.waits == before + 1


def test_nothing_is_confirmed_and_nothing_sent_before_it_is_on_the_disk(disk: Disk) -> None:
    async def play(phones: Phones) -> None:
        await opened(phones)
        for word in ("none", "behind", "secured", "warned", "chocked"):
            await phones.say(SAM, word)
        world, sam = phones.platform.world, phones.accounts[SAM]
        # A message that waits for its file leads to nothing yet, and is confirmed all the same.
        world.sends(sam, "photo", PHOTO)
        before = disk.waits
        await phones.service.poller.once()
        assert len(phones.store.unfinished()) == 1
        assert disk.waits == before + 1
        await phones.service.poller.once()
        assert phones.unread() == []
        await phones.settled()
        # More than are applied at once.
        for number in range(AT_ONCE + 3):
            world.says(sam, f"wibble {number}")
        await phones.hears()
        await phones.hears()
        assert phones.unread() == []
        assert len(said_by_sam(phones)) > AT_ONCE

    on_phones(disk, play)


def test_power_is_cut_and_the_platform_brings_what_it_was_not_told_to_forget(disk: Disk) -> None:
    async def play(phones: Phones) -> None:
        await opened(phones)
        await phones.say(SAM, "none")
        world, sam = phones.platform.world, phones.accounts[SAM]
        for word in ("behind", "secured"):
            world.says(sam, word)
        # Received, and power fails before anything waits for the disk.
        for update in phones.unread():
            phones.service.intake.keep(update, phones.clock.now())
        assert len(phones.store.unfinished()) == 2
        await phones.stop()
        disk.cut()
        await phones.start()
        assert phones.store.unfinished() == []
        watch(phones, disk)
        await phones.hears()
        assert said_by_sam(phones)[-3:] == ["none", "behind", "secured"]

    on_phones(disk, play)

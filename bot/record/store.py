"""The journal's only writer: it receives a message, then writes everything that its turn makes.

`Store.receive` keeps a message. `Store.commit` writes its effects in one transaction: entries,
replies, timers, chats, and the message as settled. A crash at any statement leaves all of it or
nothing, and settling a message twice is refused.

`commit` waits for the disk, and so for everything written before it. Nothing else waits: if the
process is killed, the system still has its writes, and a loss of power can only undo writes that
nobody was told about. `Store.sync` waits for the disk before the platform is told that it may
forget messages, settled or not.
"""

import logging
import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import astuple, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from typing_extensions import override

from bot.record import people
from bot.record.canonical import plain
from bot.record.chain import GENESIS, digest, link
from bot.record.entry import AFTER_END, compose
from bot.record.errors import (
    ALREADY_DONE,
    DUPLICATE_ID,
    JOB_OVER,
    NOT_NEXT,
    NOT_SCRUBBED,
    UNKNOWN_MESSAGE,
    AlreadyDoneError,
    DuplicateIdError,
    StoreError,
    translated,
)
from bot.record.heads import Binder
from bot.record.lock import FolderLock
from bot.record.private import Salt, Secret, conceal
from bot.record.reader import Reader, open_database
from bot.record.rows import (
    Batch,
    Head,
    Moment,
    NewEntry,
    NewReply,
    Received,
    Reply,
    Stranger,
    Timer,
    Unreadable,
)
from bot.record.schema import FILE_NAME, Connect, connect, migrate, settle, version_of

if TYPE_CHECKING:
    from sqlite_utils import Database

LOG = logging.getLogger(__name__)

_RECEIVE = """INSERT INTO inbox
    (channel, chat, ext_id, body, body_digest, wall_ms, mono_ns, boot)
    VALUES (?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (channel, chat, ext_id) DO NOTHING"""
_RECEIVED = "SELECT id, body_digest FROM inbox WHERE channel = ? AND chat = ? AND ext_id = ?"
_SETTLE = "UPDATE inbox SET state = ?, error = ? WHERE id = ? AND state = 'new'"
_APPEND = "INSERT INTO journal (job, seq, line, digest) VALUES (?, ?, ?, ?)"
_KEEP = "INSERT INTO private (digest, salt, value) VALUES (?, ?, ?)"
_QUEUE = "INSERT INTO outbox (channel, chat, seq, inbox_id, body) VALUES (?, ?, ?, ?, ?)"
_MARK = "UPDATE outbox SET state = ? WHERE id = ? AND state = 'pending'"
_TRY = "UPDATE outbox SET sent_as = ? WHERE id = ? AND state = 'pending'"
_DELIVER = "UPDATE outbox SET state = 'sent', sent_as = ? WHERE id = ?"
_KNOCK = """INSERT OR REPLACE INTO strangers (account, seen, refused_ms, tries, locked_until_ms)
    VALUES (?, ?, ?, ?, ?)"""
_BOARD = "INSERT OR REPLACE INTO boards (job, chat, sent_as) VALUES (?, ?, ?)"
_FORGET = "DELETE FROM boards WHERE job = ? AND chat = coalesce(?, chat)"
_DROP = "DELETE FROM timers WHERE job = ? AND name = ?"
_SET = """INSERT OR REPLACE INTO timers
    (job, name, generation, due_mono_ns, boot, due_wall_ms, payload)
    VALUES (?, ?, ?, ?, ?, ?, ?)"""
_STATE = "UPDATE jobs SET state = ? WHERE job = ?"
_SCRUB_IN = "UPDATE inbox SET body = '{}' WHERE state <> 'new' AND wall_ms < ?"
_SCRUB_OUT = """UPDATE outbox SET body = '{}' WHERE state <> 'pending' AND id < coalesce(
    (SELECT min(o.id) FROM outbox AS o JOIN inbox AS i ON i.id = o.inbox_id WHERE i.wall_ms >= ?),
    (SELECT max(id) + 1 FROM outbox))"""
_ERASE = "DELETE FROM private WHERE digest = ?"
_APART: Mapping[str, str] = {
    "inbox": "UPDATE inbox SET state = 'quarantined', error = 'it cannot be read' WHERE id = ?",
    "outbox": "UPDATE outbox SET state = 'parked' WHERE id = ?",
    "timers": "UPDATE timers SET payload = '{}', due_mono_ns = '0' WHERE job = ? AND name = ?",
}
"""What becomes of a row that cannot be read; a timer is due at once, and its job says the rest."""


class Store(Reader):
    """A journal opened for writing; locks its data folder until closed.

    Every method raises `StoreError` if the database fails, and then has written nothing.
    """

    def __init__(self, db: "Database", path: Path, salt: Salt, lock: FolderLock) -> None:
        super().__init__(db, path)
        self._salt = salt
        self._lock = lock
        self._is_owed = False
        self._binder: Binder | None = None
        self._added: list[tuple[int, str]] = []

    def bind(self, binder: Binder) -> None:
        """Have every commit from now on move the signed head."""
        binder.load(self)
        self._binder = binder

    @override
    def close(self) -> None:
        """Close the file and release the data folder."""
        super().close()
        self._lock.release()

    def receive(
        self, channel: str, chat: str, ext_id: str, body: Mapping[str, Any], moment: Moment
    ) -> Received:
        """Put a message into the inbox; after `sync` or a `commit` the platform may forget it.

        Parameters
        ----------
        channel, chat
            Where it came from.
        ext_id
            Its id there, unique in its chat.
        body
            The message itself, any JSON.
        moment
            When it came.

        Returns
        -------
        Received
            Its number, and whether it is new; a repeat changes nothing.

        Raises
        ------
        DuplicateIdError
            If the same id came before with another body.
        """
        text = plain(body)
        mark = digest(text.encode("ascii"))
        when = (moment.wall_ms, str(moment.mono_ns), moment.boot)
        with translated(self._path), self._unhurried():
            added = self._db.execute(_RECEIVE, (channel, chat, ext_id, text, mark, *when))
            if added.rowcount == 1:
                return Received(int(added.lastrowid or 0), fresh=True)
            number, known = self._db.execute(_RECEIVED, (channel, chat, ext_id)).fetchone()
        if known != mark:
            raise DuplicateIdError(DUPLICATE_ID, value=ext_id, chat=chat)
        return Received(number, fresh=False)

    @contextmanager
    def at_once(self) -> Iterator[None]:
        """Keep several messages in one transaction: all of them, or none."""
        with translated(self._path), self._unhurried():
            yield

    def commit(self, batch: Batch) -> list[Reply]:
        """Write everything of a turn in one transaction.

        Returns
        -------
        list of Reply
            The batch's replies with their numbers, in order.

        Raises
        ------
        AlreadyDoneError
            If the message was settled before.
        CanonicalError
            If an entry contains a value that is not allowed.
        StoreError
            If the message or a chat is unknown, or an entry is not the next of its job.
        """
        with translated(self._path), self._bound(), self._db.atomic():
            # First, so that a second run stops here and the file is locked from the start.
            self._settle(batch)
            self._append(self._begun(batch), batch)
            self._append(batch.entries, batch)
            people.enrol(self._db, batch.chats)
            self._many(_STATE, [(state, job) for job, state in batch.states])
            self._many(_DROP, batch.dropped)
            self._many(_SET, [_timer_row(timer) for timer in batch.timers])
            replies = self._queue(_placed(self._seal(batch), batch.replies), batch.inbox_id)
            if self._binder is not None and self._added:
                self._binder.move(self._db, self, self._added)
        self._is_owed = False
        return replies

    @contextmanager
    def _bound(self) -> Iterator[None]:
        """Let the signed head follow a commit, or stay where it was if the commit fails."""
        self._added = []
        try:
            yield
        except BaseException:
            if self._binder is not None and self._added:
                self._stay(self._binder)
            raise
        if self._binder is not None and self._added:
            self._binder.moved()

    def _stay(self, binder: Binder) -> None:
        """Read the head again, as it was before the commit that failed."""
        try:
            binder.load(self)
        except StoreError:
            LOG.exception("the signed head cannot be read again")

    def _begun(self, batch: Batch) -> Iterator[NewEntry]:
        if self._binder is not None and batch.entries:
            yield from self._binder.begins()

    def sync(self) -> None:
        """Wait for the disk, unless a commit has done so since the last message came."""
        if not self._is_owed:
            return
        with translated(self._path):
            log = os.open(f"{self._path}-wal", os.O_RDONLY)
            try:
                os.fsync(log)
            finally:
                os.close(log)
        self._is_owed = False

    def set_apart(self, rows: Iterable[Unreadable]) -> None:
        """Set apart what waits and cannot be read, so that the rest goes on."""
        for row in rows:
            LOG.error("%s of the record cannot be read: it is set apart", row)
            self._write(_APART[row.table], [(row.number, *filter(None, [row.name]))])

    def mark_sent(self, ids: Iterable[int]) -> None:
        """Note that replies were delivered."""
        self._mark("sent", ids)

    def mark_tried(self, numbers: Iterable[int], *, has_failed: bool = False) -> None:
        """Note that replies are about to be sent: from now on they may have arrived.

        Parameters
        ----------
        has_failed
            They were refused: they have certainly not arrived.
        """
        self._write(_TRY, [(None if has_failed else "", number) for number in numbers])

    def mark_delivered(self, sent: Iterable[tuple[int, str]]) -> None:
        """Note that replies were delivered, each with the id that the platform gave it."""
        self._write(_DELIVER, [(sent_as, number) for number, sent_as in sent])

    def keep_stranger(self, stranger: Stranger) -> None:
        """Note how often an unknown person wrote."""
        self._write(_KNOCK, [astuple(stranger)])

    def keep_board(self, job: int, chat: str, sent_as: str) -> None:
        """Note which message of a chat is kept up to date for a job."""
        self._write(_BOARD, [(job, chat, sent_as)])

    def forget_boards(self, jobs: Iterable[int], chat: str | None = None) -> None:
        """Note that the messages of jobs are kept up to date no longer, in one chat or in all."""
        self._write(_FORGET, [(job, chat) for job in jobs])

    def mark_parked(self, ids: Iterable[int]) -> None:
        """Note that replies cannot be delivered, for example to a closed chat."""
        self._mark("parked", ids)

    def erase(self, digests: Iterable[str]) -> None:
        """Erase personal values for good, from the write-ahead log as well; their entries stay.

        Only the side table is erased: messages and replies keep their own text.

        Raises
        ------
        StoreError
            If another program is reading the record, so that its log cannot be cleared yet.
        """
        with translated(self._path), self._db.atomic():
            self._many(_ERASE, [(digest,) for digest in digests])
        self._clear_log()

    def scrub(self, before_ms: int) -> None:
        """Remove the text of settled messages received before a time, and of their replies.

        Raises
        ------
        StoreError
            If another program is reading the record, so that its log cannot be cleared yet.
        """
        with translated(self._path), self._db.atomic():
            self._db.execute(_SCRUB_OUT, (before_ms,))
            self._db.execute(_SCRUB_IN, (before_ms,))
        self._clear_log()

    def _clear_log(self) -> None:
        with translated(self._path):
            busy, *_ = self._db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
        if busy:
            raise StoreError(NOT_SCRUBBED, value=self._path)

    def _mark(self, state: str, ids: Iterable[int]) -> None:
        self._write(_MARK, [(state, number) for number in ids])

    def _write(self, sql: str, rows: Iterable[tuple[Any, ...]]) -> None:
        with translated(self._path), self._unhurried():
            self._many(sql, rows)

    @contextmanager
    def _unhurried(self) -> Iterator[None]:
        """Write in a separate transaction that does not wait for the disk."""
        self._is_owed = True
        if self._db.conn.in_transaction:
            with self._db.atomic():
                yield
            return
        self._db.execute("PRAGMA synchronous = NORMAL")
        try:
            with self._db.atomic():
                yield
        finally:
            self._db.execute("PRAGMA synchronous = FULL")

    def _settle(self, batch: Batch) -> None:
        if batch.inbox_id is None:
            return
        state = "done" if batch.fault is None else "quarantined"
        changed = self._db.execute(_SETTLE, (state, batch.fault, batch.inbox_id))
        if changed.rowcount == 1:
            return
        known = self.message(batch.inbox_id)
        if known is None:
            raise StoreError(UNKNOWN_MESSAGE, value=batch.inbox_id)
        raise AlreadyDoneError(ALREADY_DONE, value=batch.inbox_id, state=known.state)

    def _seal(self, batch: Batch) -> list[NewReply]:
        said: list[NewReply] = []
        for made in () if batch.sealing is None else batch.sealing(self):
            if isinstance(made, NewReply):
                said.append(made)
            else:
                self._append((made,), batch)
        return said

    def _append(self, entries: Iterable[NewEntry], batch: Batch) -> None:
        heads: dict[int, Head] = {}
        lines: list[tuple[int, int, str, str]] = []
        kept: list[Secret] = []
        over: dict[int, bool] = {}
        for new in entries:
            if new.kind not in AFTER_END and over.setdefault(new.job, self._is_over(new.job)):
                raise StoreError(JOB_OVER, value=new.kind, job=new.job)
            before = heads.get(new.job) or self.head(new.job) or Head(-1, GENESIS)
            line, mark, found = self._line(new, before, batch)
            heads[new.job] = Head(before.seq + 1, mark)
            lines.append((new.job, before.seq + 1, line, mark))
            kept += found
        self._many(_APPEND, lines)
        self._added += [(job, line) for job, _, line, _ in lines]
        self._many(_KEEP, [(secret.digest, secret.salt, secret.value) for secret in kept])

    def _is_over(self, job: int) -> bool:
        return bool(self._rows("SELECT 1 FROM jobs WHERE job = ? AND state = 'closed'", (job,)))

    def _line(self, new: NewEntry, before: Head, batch: Batch) -> tuple[str, str, list[Secret]]:
        seq = before.seq + 1
        if new.seq not in (None, seq):
            raise StoreError(NOT_NEXT, value=new.seq, job=new.job, allowed=seq)
        body, kept = conceal(new.body, lambda index: self._salt(new.job, seq, index))
        entry = compose(new, seq, body, batch.moment, batch.zone)
        return (*link(before.digest, entry), kept)

    def _queue(self, replies: Sequence[NewReply], inbox_id: int | None) -> list[Reply]:
        counts: dict[str, int] = {}
        for new in replies:
            counts[new.chat] = counts.get(new.chat, 0) + 1
        free = {chat: people.reserve(self._db, chat, count) for chat, count in counts.items()}
        queued: list[Reply] = []
        for new in replies:
            queued.append(self._reply(new, free[new.chat], inbox_id))
            free[new.chat] += 1
        return queued

    def _reply(self, new: NewReply, seq: int, inbox_id: int | None) -> Reply:
        text = plain(new.body)
        added = self._db.execute(_QUEUE, (new.channel, new.chat, seq, inbox_id, text))
        number = int(added.lastrowid or 0)
        return Reply(number, new.channel, new.chat, seq, inbox_id, new.body, "pending")

    def _many(self, sql: str, rows: Iterable[tuple[Any, ...]]) -> None:
        rows = tuple(rows)
        if rows:
            self._db.conn.executemany(sql, rows)


def _placed(sealed: Iterable[NewReply], replies: Sequence[NewReply]) -> list[NewReply]:
    """Return replies with what the sealing made: under one of them, or ahead of all."""
    ahead: list[NewReply] = []
    placed = list(replies)
    for made in sealed:
        mine = [n for n, one in enumerate(placed) if one.chat == made.chat and one.body["shown"]]
        if made.under and mine:
            under = placed[mine[-1]]
            shown = f"{under.body['shown']}\n{made.body['shown']}"
            placed[mine[-1]] = replace(under, body={**under.body, "shown": shown})
        elif made.under != "or_not":
            ahead.append(made)
    return [*ahead, *placed]


def open_store(folder: Path, *, salt: Salt, connect: Connect = connect) -> Store:
    """Open a data folder's journal for writing; make it if it does not exist.

    Parameters
    ----------
    folder
        The data folder.
    salt
        Makes salts: `bot.record.private.random_salt`, or `seeded_salt` for scripts.
    connect
        Opens the file.

    Returns
    -------
    Store
        To be closed by the caller.

    Raises
    ------
    StoreError
        If another process has the folder, the file cannot be opened or written, is not a
        record of ours, or was written by a newer version.
    """
    lock = FolderLock(folder)
    path = folder / FILE_NAME
    try:
        db = open_database(path, connect)
    except BaseException:
        lock.release()
        raise
    store = Store(db, path, salt, lock)
    try:
        with translated(path):
            settle(db.conn)
            migrate(db, version_of(db.conn, path))
    except BaseException:
        store.close()
        raise
    return store


def _timer_row(timer: Timer) -> tuple[Any, ...]:
    due = (str(timer.due_mono_ns), timer.boot, timer.due_wall_ms)
    return (timer.job, timer.name, timer.generation, *due, plain(timer.payload))

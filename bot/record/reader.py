"""Reading a journal; nothing here writes."""

import json
import logging
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Self, TypeVar

from bot.record import people
from bot.record.canonical import parse
from bot.record.chain import Problem, commitment_to, verify_lines
from bot.record.errors import (
    NO_RECORD,
    READING,
    UNREADABLE_ENTRY,
    CanonicalError,
    StoreError,
    translated,
)
from bot.record.heads import SignedHead
from bot.record.private import commitments, reveal
from bot.record.rows import (
    Chat,
    Head,
    JobState,
    Message,
    Moment,
    Reply,
    Stranger,
    Timer,
    Unreadable,
)
from bot.record.schema import FILE_NAME, KNOWN, SAID, Connect, connect_to_read, version_of

if TYPE_CHECKING:
    from sqlite_utils import Database

LOG = logging.getLogger(__name__)

Row = tuple[Any, ...]
Made = TypeVar("Made", Message, Reply, Timer)

NOT_COMMITTED = "Entry {seq} commits to another value than is kept for {digest}."
UNCLAIMED = "A personal value is kept that no entry commits to: {digest}."

_MESSAGE = """SELECT id, channel, chat, ext_id, body, wall_ms, mono_ns, boot, state, error
    FROM inbox"""
_REPLY = "SELECT id, channel, chat, seq, inbox_id, body, state FROM outbox"
_TIMER = "SELECT job, name, generation, due_mono_ns, boot, due_wall_ms, payload FROM timers"

_UNFINISHED = f"{_MESSAGE} WHERE state = 'new' ORDER BY id"
_PENDING = f"{_REPLY} WHERE state = 'pending' ORDER BY id"
_SECRET = "SELECT salt, value FROM private WHERE digest = ?"  # noqa: S105  no secret, a statement

_MARKS = " -.,/'"
_PLAIN = (
    "replace(" * len(_MARKS)
    + "upper(value)"
    + "".join(f", '{mark.replace(chr(39), chr(39) * 2)}', '')" for mark in _MARKS)
)
_MATCHES = f"IN (SELECT digest FROM private WHERE {_PLAIN} LIKE ?)"  # noqa: S608  constants only
_SAYING = f"""SELECT job FROM journal WHERE job > 0 AND {SAID} {_MATCHES}
    UNION SELECT job FROM journal WHERE job > 0 AND {KNOWN} {_MATCHES} ORDER BY job"""  # noqa: S608  constants only
NEWEST_JOBS = 1000
"""Files that an ended job lacks are looked for in so many of the newest jobs."""

_LACKING = """SELECT job FROM journal WHERE job > (SELECT max(job) FROM jobs) - ?
    AND job IN (SELECT job FROM jobs WHERE state = 'closed')
    AND (instr(line, '"kind":"received"') OR instr(line, '"kind":"media'))
    GROUP BY job HAVING sum(json_extract(line, '$.kind') = 'received')
    > sum(json_extract(line, '$.body.receipt') IS NOT NULL) ORDER BY job"""


class Reader:
    """A journal opened for reading; `folder` is its data folder.

    Every method raises `StoreError` when the database fails.
    """

    def __init__(self, db: "Database", path: Path) -> None:
        self._db = db
        self._path = path
        self.folder = path.parent

    def close(self) -> None:
        """Close the file."""
        self._db.conn.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    @contextmanager
    def snapshot(self) -> Iterator[None]:
        """Read the record as it is now, while another program may go on writing."""
        with translated(self._path), self._db.atomic():
            yield

    def lines(self, job: int) -> list[str]:
        """Read the chain of a job, as written."""
        return [line for (line,) in self._rows(_chain("line"), (job, 0))]

    def line(self, job: int, seq: int) -> str | None:
        """Read a line of a chain; None if there is no such line."""
        sql = "SELECT line FROM journal WHERE job = ? AND seq = ?"
        return next((line for (line,) in self._rows(sql, (job, seq))), None)

    def entries(self, job: int, start: int = 0) -> list[dict[str, Any]]:
        """Read the entries of a job from ``start`` on, with the personal values still kept.

        A commitment reads ``{"commitment": hex, "value": value}``; if its value was erased,
        the value is None and ``erased`` is true.
        """
        found = []
        for entry in self.each_entry(job, start):
            if isinstance(entry, StoreError):
                raise entry
            found.append(entry)
        return found

    def each_entry(self, job: int, start: int = 0) -> Iterator[dict[str, Any] | StoreError]:
        """Read the entries of a job one by one; of one that cannot be read, why."""
        for line, seq in self._rows(_chain("line, seq"), (job, start)):
            try:
                entry = parse(line)
                yield {**entry, "body": reveal(entry["body"], self.secret)}
            except (StoreError, *READING) as error:
                why = error.what if isinstance(error, StoreError) else error
                yield StoreError(UNREADABLE_ENTRY, value=job, seq=seq, why=why)

    def count(self, job: int, kind: str) -> int:
        """Count the entries of a kind in a job's chain; none of them is read."""
        sql = "SELECT count(*) FROM journal WHERE job = ? AND json_extract(line, '$.kind') = ?"
        return int(self._rows(sql, (job, kind))[0][0])

    def head(self, job: int) -> Head | None:
        """Find the last entry of a chain, or None before the first."""
        sql = "SELECT seq, digest FROM journal WHERE job = ? ORDER BY seq DESC LIMIT 1"
        return next((Head(*row) for row in self._rows(sql, (job,))), None)

    def last_written_ms(self, job: int) -> int:
        """Return when the last entry of a chain was written [ms UTC]; 0 before the first."""
        sql = """SELECT json_extract(line, '$.times.written') FROM journal WHERE job = ?
            ORDER BY seq DESC LIMIT 1"""
        times = (datetime.fromisoformat(written) for (written,) in self._rows(sql, (job,)))
        return next((round(time.timestamp() * 1000) for time in times), 0)

    def heads(self) -> dict[int, Head]:
        """Find the last entry of every chain, by job; the company's chain is job 0."""
        # SQLite takes a bare column from the row with the maximum.
        sql = "SELECT job, max(seq), digest FROM journal GROUP BY job ORDER BY job"
        return {job: Head(seq, digest) for job, seq, digest in self._rows(sql)}

    def sizes(self) -> dict[int, int]:
        """Count the entries of every chain, by job; the company's chain is job 0."""
        sql = """SELECT job, (SELECT max(seq) + 1 FROM journal AS j WHERE j.job = one.job)
            FROM (SELECT 0 AS job UNION ALL SELECT job FROM jobs) AS one ORDER BY job"""
        return {job: size for job, size in self._rows(sql) if size}

    def signed_head(self) -> SignedHead | None:
        """Read the head that the last commit signed; None if there is none."""
        if not self.has_heads():
            return None
        rows = self._rows("SELECT number, chains, root, key, signature FROM signed_head")
        return next((SignedHead(*row) for row in rows), None)

    def signed_chains(self) -> list[tuple[int, int, str]]:
        """List what the head keeps of each chain: its job, its size, the nodes of its tree."""
        if not self.has_heads():
            return []
        rows = self._rows("SELECT job, size, nodes FROM signed_chains ORDER BY job")
        return [(job, size, nodes) for job, size, nodes in rows]

    def has_heads(self) -> bool:
        """Say whether the record's form has a signed head."""
        return bool(self._rows("SELECT 1 FROM sqlite_master WHERE name = 'signed_head'"))

    def jobs(self) -> dict[int, JobState]:
        """List every job with its state; the company's chain is no job."""
        return dict(self._rows("SELECT job, state FROM jobs ORDER BY job"))

    def open_jobs(self) -> list[int]:
        """List the open jobs."""
        return [
            job for (job,) in self._rows("SELECT job FROM jobs WHERE state = 'open' ORDER BY job")
        ]

    def jobs_lacking_files(self) -> list[int]:
        """List the ended jobs, among the newest, that still wait for a file."""
        return [job for (job,) in self._rows(_LACKING, (NEWEST_JOBS,))]

    def has_job(self, job: int) -> bool:
        """Say whether there is a job of this number."""
        return bool(self._rows("SELECT 1 FROM jobs WHERE job = ?", (job,)))

    def next_job(self) -> int:
        """Return the number of the next new job; jobs count from 1 without gaps."""
        return int(self._rows("SELECT coalesce(max(job), 0) + 1 FROM journal")[0][0])

    def jobs_opened(self, start_ms: int, end_ms: int) -> list[int]:
        """List the jobs opened between two times, the second excluded [ms UTC]."""
        sql = """SELECT jobs.job, json_extract(line, '$.times.written') FROM jobs
            JOIN journal ON journal.job = jobs.job AND journal.seq = 0 ORDER BY jobs.job"""
        times = ((job, datetime.fromisoformat(written)) for job, written in self._rows(sql))
        return [job for job, time in times if start_ms <= time.timestamp() * 1000 < end_ms]

    def jobs_saying(self, plain: str) -> list[int]:
        """List the jobs in whose words or personal facts letters and digits follow one another.

        Parameters
        ----------
        plain
            Letters, in capitals, and digits; what stands between them in the record is ignored.
        """
        like = f"%{plain}%"
        return [job for (job,) in self._rows(_SAYING, (like, like))]

    def message(self, inbox_id: int) -> Message | None:
        """Read a message of the inbox; None if there is no such message."""
        rows = self._rows(f"{_MESSAGE} WHERE id = ?", (inbox_id,))
        return next(_readable(rows, _message), None)

    def last_said(self, channel: str, chat: str, most: int) -> list[str]:
        """List the texts that a chat sent last, at most so many, in order."""
        sql = """SELECT json_extract(body, '$.text') FROM inbox
            WHERE channel = ? AND chat = ? AND json_extract(body, '$.text') IS NOT NULL
            ORDER BY id DESC LIMIT ?"""
        return [text for (text,) in reversed(self._rows(sql, (channel, chat, most)))]

    def unfinished(self) -> list[Message]:
        """List the messages received but not settled, in order of receipt."""
        return list(_readable(self._rows(_UNFINISHED), _message))

    def quarantined(self) -> int:
        """Count the messages that could not be used and were set apart."""
        return int(self._rows("SELECT count(*) FROM inbox WHERE state = 'quarantined'")[0][0])

    def pending(self) -> list[Reply]:
        """List the replies not sent yet, in order."""
        return list(_readable(self._rows(_PENDING), _reply))

    def tried(self, boot: str) -> set[int]:
        """Return the replies not noted as sent that may have arrived, by number.

        Parameters
        ----------
        boot
            The boot of now. After another boot, notes of the last moments may be lost: then every
            reply may have arrived.
        """
        sql = """SELECT id FROM outbox WHERE state = 'pending' AND (sent_as = ''
            OR ? IS NOT (SELECT boot FROM inbox ORDER BY id DESC LIMIT 1))"""
        return {number for (number,) in self._rows(sql, (boot,))}

    def outbox_for(self, inbox_id: int) -> list[Reply]:
        """List the replies that a message caused, in any chat, in order.

        This includes replies of timers that the message set off, where time passes only by
        messages: their body names the message as ``turn``.
        """
        sql = f"""{_REPLY} WHERE inbox_id = :id
            OR (inbox_id IS NULL AND json_extract(body, '$.turn') = :id) ORDER BY id"""
        return list(_readable(self._rows(sql, {"id": inbox_id}), _reply))

    def reply(self, chat: str, seq: int) -> Reply | None:
        """Read a reply by its number in its chat; None if there is no such reply."""
        rows = self._rows(f"{_REPLY} WHERE chat = ? AND seq = ?", (chat, seq))
        return next(_readable(rows, _reply), None)

    def reply_row(self, number: int) -> Reply | None:
        """Read a reply by its number in the outbox; None if there is no such reply."""
        rows = self._rows(f"{_REPLY} WHERE id = ?", (number,))
        return next(_readable(rows, _reply), None)

    def reply_sent_as(self, chat: str, sent_as: str) -> Reply | None:
        """Read the reply that a platform delivered to a chat with the id ``sent_as``."""
        rows = self._rows(f"{_REPLY} WHERE chat = ? AND sent_as = ?", (chat, sent_as))
        return next(_readable(rows, _reply), None)

    def parked(self) -> list[Reply]:
        """List the replies that could not be delivered, in order."""
        return list(_readable(self._rows(f"{_REPLY} WHERE state = 'parked' ORDER BY id"), _reply))

    def stranger(self, account: str) -> Stranger:
        """Read how often an unknown person wrote."""
        sql = """SELECT account, seen, refused_ms, tries, locked_until_ms FROM strangers
            WHERE account = ?"""
        return next((Stranger(*row) for row in self._rows(sql, (account,))), Stranger(account))

    def boards(self) -> dict[tuple[int, str], str]:
        """List the living messages: by job and chat, the platform's id of the message."""
        return {(job, chat): sent_as for job, chat, sent_as in
                self._rows("SELECT job, chat, sent_as FROM boards")}  # fmt: skip

    def timers(self, job: int | None = None) -> list[Timer]:
        """List the timers of a job, or of all jobs."""
        sql = f"{_TIMER} WHERE job = coalesce(?, job) ORDER BY job, name"
        return list(_readable(self._rows(sql, (job,)), _timer))

    def due_timers(self, moment: Moment) -> list[Timer]:
        """List the timers due now, longest overdue first.

        Timers of an earlier boot come first and are always due, because the time since that
        boot is unknown. Wall time is not used, because somebody may set it.
        """
        sql = f"""{_TIMER} WHERE boot <> :boot OR CAST(due_mono_ns AS INTEGER) <= :mono_ns
            ORDER BY boot = :boot, CAST(due_mono_ns AS INTEGER), job, name"""
        now = {"boot": moment.boot, "mono_ns": moment.mono_ns}
        return list(_readable(self._rows(sql, now), _timer))

    def unreadable(self, is_line: Callable[[Mapping[str, Any]], bool]) -> list[Unreadable]:
        """List what waits and cannot be read: messages, replies, timers.

        Parameters
        ----------
        is_line
            Whether a reply's body has all that a channel shows.
        """
        messages = _unreadable(self._rows(_UNFINISHED), _message)
        replies = _unreadable(self._rows(_PENDING), lambda row: _line_in(row, is_line))
        timers = _unreadable(self._rows(f"{_TIMER} ORDER BY job, name"), _timer)
        return [
            *(Unreadable("inbox", number) for number, *_ in messages),
            *(Unreadable("outbox", number) for number, *_ in replies),
            *(Unreadable("timers", job, name) for job, name, *_ in timers),
        ]

    def messages_before(self, wall_ms: int) -> int:
        """Count the settled messages received before a time that still have their text."""
        sql = "SELECT count(*) FROM inbox WHERE state <> 'new' AND wall_ms < ? AND body <> '{}'"
        return int(self._rows(sql, (wall_ms,))[0][0])

    def chats(self) -> list[Chat]:
        """List all enrolled chats, by name."""
        with translated(self._path):
            return people.read_chats(self._db)

    def chat(self, name: str) -> Chat | None:
        """Read a chat; None if it is not enrolled."""
        with translated(self._path):
            return people.read_chat(self._db, name)

    def verify(self, seen: Mapping[int, Head] | None = None) -> list[Problem]:
        """Check every chain and every personal value still kept.

        Parameters
        ----------
        seen
            Heads known from an earlier time, by job, such as from checkpoints. Without them
            neither a lost tail nor a completely rewritten chain can be noticed.

        Returns
        -------
        list of Problem
            At most one per chain, and one per value that does not match.
        """
        seen = seen or {}
        claimed: set[str] = set()
        with translated(self._path), self._db.atomic():
            jobs = {job for (job,) in self._rows("SELECT DISTINCT job FROM journal")} | set(seen)
            found = [
                problem
                for job in sorted(jobs)
                for problem in self._verify(job, seen.get(job), claimed)
            ]
            kept = {digest for (digest,) in self._rows("SELECT digest FROM private")}
        stray = sorted(kept - claimed)
        return found + [Problem(None, -1, UNCLAIMED.format(digest=digest)) for digest in stray]

    def _verify(self, job: int, seen: Head | None, claimed: set[str]) -> Iterator[Problem]:
        rows = self._rows(_chain("line, seq, digest"), (job, 0))
        known = {seq: digest for _, seq, digest in rows}
        if seen is not None:
            known[seen.seq] = seen.digest
        yield from verify_lines([line for line, _, _ in rows], known, job=str(job))
        for line, seq, _ in rows:
            for digest in commitments(_body(line)):
                claimed.add(digest)
                if self.is_kept(digest) and self.secret(digest) is None:
                    yield Problem(str(job), seq, NOT_COMMITTED.format(seq=seq, digest=digest))

    def secret(self, digest: str) -> tuple[str, Any] | None:
        """Read a personal value with its salt; None if it was erased, or is another value."""
        for salt, value in self._rows(_SECRET, (digest,)):
            try:
                if commitment_to(salt, value) == digest:
                    return salt, json.loads(value)
            except (StoreError, *READING):
                return None
        return None

    def is_kept(self, digest: str) -> bool:
        """Say whether a personal value is here; `secret` says whether it is the right one."""
        return bool(self._rows(_SECRET, (digest,)))

    def _rows(self, sql: str, values: tuple[object, ...] | dict[str, object] = ()) -> list[Row]:
        with translated(self._path):
            return self._db.execute(sql, values).fetchall()


def open_reader(folder: Path, *, connect: Connect = connect_to_read) -> Reader:
    """Open an existing journal for reading, also while the bot runs.

    Parameters
    ----------
    folder
        The data folder.
    connect
        Opens the file.

    Returns
    -------
    Reader
        To be closed by the caller.

    Raises
    ------
    StoreError
        If it does not exist, cannot be opened, or was written by a newer version.
    """
    path = folder / FILE_NAME
    if not path.is_file():
        raise StoreError(NO_RECORD, value=path)
    return Reader(open_database(path, connect), path)


def open_database(path: Path, connect: Connect) -> "Database":
    """Open the file and make sure that this program can read it.

    Raises
    ------
    StoreError
        If it cannot be opened, is not a record of ours, or was written by a newer version.
    """
    from sqlite_utils import Database  # noqa: PLC0415  slow to import

    with translated(path):
        conn = connect(path)
        try:
            version_of(conn, path)
            return Database(conn, execute_plugins=False)
        except BaseException:
            conn.close()
            raise


def _chain(columns: str) -> str:
    return f"SELECT {columns} FROM journal WHERE job = ? AND seq >= ? ORDER BY seq"  # noqa: S608  fixed names


def _body(line: str) -> object:
    """Return the body of a line; None if it is unreadable, which checking its chain reports."""
    try:
        return parse(line).get("body")
    except CanonicalError:
        return None


def _message(row: Row) -> Message:
    number, channel, chat, ext_id, body, wall_ms, mono_ns, boot, state, error = row
    moment = Moment(wall_ms, int(mono_ns), boot)
    return Message(number, channel, chat, ext_id, _object(body), moment, state, error)


def _reply(row: Row) -> Reply:
    number, channel, chat, seq, inbox_id, body, state = row
    return Reply(number, channel, chat, seq, inbox_id, _object(body), state)


def _timer(row: Row) -> Timer:
    job, name, generation, due_mono_ns, boot, due_wall_ms, payload = row
    due = int(due_mono_ns)
    return Timer(job, name, generation, due, boot, due_wall_ms, _object(payload))


def _object(text: str) -> dict[str, Any]:
    found = json.loads(text)
    if not isinstance(found, dict):
        raise ValueError("not an object")  # noqa: TRY004  a value like any other that is wrong
    return found


def _line_in(row: Row, is_line: Callable[[Mapping[str, Any]], bool]) -> Reply:
    reply = _reply(row)
    if not is_line(reply.body):
        raise ValueError("no line")
    return reply


def _readable(rows: Iterable[Row], make: Callable[[Row], Made]) -> Iterator[Made]:
    """Yield what rows hold; one that cannot be read is passed over: `unreadable` names it."""
    for row in rows:
        try:
            made = make(row)
        except READING:
            LOG.error("a row of the record cannot be read: %s", row[:2])  # noqa: TRY400  no trace
            continue
        yield made


def _unreadable(rows: Iterable[Row], make: Callable[[Row], object]) -> Iterator[Row]:
    for row in rows:
        try:
            make(row)
        except READING:
            yield row

"""The journal's tables; opening a database and migrating it to this version."""

import os
import sqlite3
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from bot.record.errors import FOREIGN, NEWER, StoreError

if TYPE_CHECKING:
    from sqlite_utils import Database

FILE_NAME = "rollproof.db"
"""The record's file in the data folder."""

BUSY_MS = 2000
"""How long to wait for another program that has locked the file [millisecond]."""

Connect = Callable[[Path], sqlite3.Connection]
"""Opens the file; tests pass connections that stop, fill up or only read."""

Migration = Sequence[str]
"""Statements from a version to the next, in one transaction."""

SAID = "json_extract(line, '$.body.text.commitment')"
"""The personal value under an entry's words; an index finds entries by it."""

KNOWN = "json_extract(line, '$.body.value.commitment')"
"""The personal value of a fact; an index finds entries by it."""

_VERSION_1: Migration = (
    """CREATE TABLE jobs (
        job INTEGER PRIMARY KEY,
        state TEXT NOT NULL CHECK (state IN ('open', 'closed'))
    )""",
    """CREATE TABLE journal (
        job INTEGER NOT NULL CHECK (job >= 0),
        seq INTEGER NOT NULL,
        line TEXT NOT NULL,
        digest TEXT NOT NULL,
        PRIMARY KEY (job, seq)
    ) WITHOUT ROWID""",
    """CREATE TRIGGER journal_in_sequence BEFORE INSERT ON journal
    WHEN NEW.seq IS NOT (SELECT coalesce(max(seq), -1) + 1 FROM journal WHERE job = NEW.job)
    BEGIN SELECT RAISE(ABORT, 'journal: entry out of sequence'); END""",
    """CREATE TRIGGER journal_jobs_without_gaps BEFORE INSERT ON journal
    WHEN NEW.seq = 0 AND NEW.job > (SELECT coalesce(max(job), 0) + 1 FROM journal)
    BEGIN SELECT RAISE(ABORT, 'journal: job number leaves a gap'); END""",
    """CREATE TRIGGER journal_opens_job AFTER INSERT ON journal
    WHEN NEW.seq = 0 AND NEW.job > 0
    BEGIN INSERT INTO jobs VALUES (NEW.job, 'open'); END""",
    """CREATE TRIGGER journal_no_update BEFORE UPDATE ON journal
    BEGIN SELECT RAISE(ABORT, 'journal: entries are never changed'); END""",
    """CREATE TRIGGER journal_no_delete BEFORE DELETE ON journal
    BEGIN SELECT RAISE(ABORT, 'journal: entries are never deleted'); END""",
    """CREATE TABLE private (
        digest TEXT PRIMARY KEY,
        salt TEXT NOT NULL,
        value TEXT NOT NULL
    ) WITHOUT ROWID""",
    """CREATE TABLE inbox (
        id INTEGER PRIMARY KEY,
        channel TEXT NOT NULL,
        chat TEXT NOT NULL,
        ext_id TEXT NOT NULL,
        body TEXT NOT NULL,
        body_digest TEXT NOT NULL,
        wall_ms INTEGER NOT NULL,
        mono_ns TEXT NOT NULL,
        boot TEXT NOT NULL,
        state TEXT NOT NULL DEFAULT 'new' CHECK (state IN ('new', 'done', 'quarantined')),
        error TEXT,
        UNIQUE (channel, chat, ext_id)
    )""",
    "CREATE INDEX inbox_unfinished ON inbox (id) WHERE state = 'new'",
    """CREATE TABLE chats (
        chat TEXT PRIMARY KEY,
        person TEXT NOT NULL,
        role TEXT NOT NULL,
        focus_job INTEGER REFERENCES jobs (job),
        next_seq INTEGER NOT NULL DEFAULT 1
    ) WITHOUT ROWID""",
    """CREATE TABLE outbox (
        id INTEGER PRIMARY KEY,
        channel TEXT NOT NULL,
        chat TEXT NOT NULL REFERENCES chats (chat),
        seq INTEGER NOT NULL CHECK (seq > 0),
        inbox_id INTEGER REFERENCES inbox (id),
        body TEXT NOT NULL,
        state TEXT NOT NULL DEFAULT 'pending' CHECK (state IN ('pending', 'sent', 'parked')),
        UNIQUE (chat, seq)
    )""",
    "CREATE INDEX outbox_pending ON outbox (id) WHERE state = 'pending'",
    "CREATE INDEX outbox_answers ON outbox (inbox_id)",
    """CREATE TABLE timers (
        job INTEGER NOT NULL,
        name TEXT NOT NULL,
        generation INTEGER NOT NULL,
        due_mono_ns TEXT NOT NULL,
        boot TEXT NOT NULL,
        due_wall_ms INTEGER NOT NULL,
        payload TEXT NOT NULL,
        PRIMARY KEY (job, name)
    ) WITHOUT ROWID""",
)

_VERSION_2: Migration = (
    "ALTER TABLE outbox ADD COLUMN sent_as TEXT",
    "CREATE INDEX outbox_sent_as ON outbox (chat, sent_as) WHERE sent_as IS NOT NULL",
    """CREATE TABLE strangers (
        account TEXT PRIMARY KEY,
        seen INTEGER NOT NULL,
        refused_ms INTEGER NOT NULL,
        tries INTEGER NOT NULL,
        locked_until_ms INTEGER NOT NULL
    ) WITHOUT ROWID""",
    """CREATE TABLE boards (
        job INTEGER NOT NULL REFERENCES jobs (job),
        chat TEXT NOT NULL REFERENCES chats (chat),
        sent_as TEXT NOT NULL,
        PRIMARY KEY (job, chat)
    ) WITHOUT ROWID""",
)
"""For a channel with a platform: the id with which it delivered a reply, how often an unknown
person wrote, and the message of each job that is kept up to date in each dispatcher's chat."""

_VERSION_3: Migration = (
    """CREATE TABLE signed_chains (
        job INTEGER PRIMARY KEY,
        size INTEGER NOT NULL,
        nodes TEXT NOT NULL
    ) WITHOUT ROWID""",
    """CREATE TABLE signed_head (
        id INTEGER PRIMARY KEY CHECK (id = 1),
        number INTEGER NOT NULL,
        chains INTEGER NOT NULL,
        root TEXT NOT NULL,
        key TEXT NOT NULL,
        signature TEXT NOT NULL
    )""",
    """INSERT INTO signed_head SELECT 1, 0, 0, '', '', ''
    WHERE EXISTS (SELECT 1 FROM journal)""",
)
"""For the signed head: the unfinished tree over each chain, and the signature over all of them. A
record from before gets a head numbered 0, signed by nobody: its first commit begins the count."""

_VERSION_4: Migration = (
    f"CREATE INDEX journal_said ON journal ({SAID})",
    f"CREATE INDEX journal_known ON journal ({KNOWN})",
)
"""For finding the jobs in which something was said."""

MIGRATIONS: Sequence[Migration] = (_VERSION_1, _VERSION_2, _VERSION_3, _VERSION_4)
"""Each migrates from its index, as ``user_version``, to the next; the first makes the tables."""


def connect(path: Path) -> sqlite3.Connection:
    """Open the file for this process, readable by its owner only."""
    os.close(os.open(path, os.O_RDWR | os.O_CREAT, 0o600))
    return sqlite3.connect(path)


def connect_to_read(path: Path) -> sqlite3.Connection:
    """Open an existing file without ever writing to it, even on a read-only disk."""
    log = path.with_name(path.name + "-wal")
    # Without a log next to it SQLite would have to create it, which a read-only disk refuses.
    closed = not log.exists() and not os.access(path.parent, os.W_OK)
    flags = "mode=ro&immutable=1" if closed else "mode=ro"
    found = sqlite3.connect(f"{path.absolute().as_uri()}?{flags}", uri=True)
    # Bytes that are no text are read as such, so that the check of their entry names them.
    found.text_factory = lambda data: data.decode("utf-8", "replace")
    return found


def version_of(conn: sqlite3.Connection, path: Path, newest: int = len(MIGRATIONS)) -> int:
    """Read the version of a database before anything in it is changed.

    Raises
    ------
    StoreError
        If it is newer than ``newest``, or not a record of ours.
    """
    version = int(conn.execute("PRAGMA user_version").fetchone()[0])
    if version > newest:
        raise StoreError(NEWER, value=version, allowed=newest, path=path)
    if version == 0 and conn.execute("SELECT 1 FROM sqlite_master LIMIT 1").fetchone():
        raise StoreError(FOREIGN, value=path)
    return version


def settle(conn: sqlite3.Connection) -> None:
    """Set this connection to prefer durability to speed."""
    for pragma in (
        f"busy_timeout = {BUSY_MS}",
        "journal_mode = WAL",
        "synchronous = FULL",
        "foreign_keys = ON",
        "secure_delete = ON",
    ):
        conn.execute(f"PRAGMA {pragma}")


def migrate(db: "Database", version: int, migrations: Sequence[Migration] = MIGRATIONS) -> None:
    """Migrate a database to the newest version, each step in a transaction."""
    for number, statements in enumerate(migrations[version:], start=version + 1):
        with db.atomic():
            for statement in statements:
                db.execute(statement)
            db.execute(f"PRAGMA user_version = {number}")

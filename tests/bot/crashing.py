"""A connection that dies at a chosen statement, and the disk as it leaves it."""

import shutil
import sqlite3
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from typing_extensions import override

from bot.record.schema import FILE_NAME


class Crash(BaseException):
    """The process died here; nobody may catch it, as nobody could catch a real one."""


class CrashingConnection(sqlite3.Connection):
    """Counts its statements and dies just before the chosen one, or just after it.

    Once dead it executes nothing at all, so that no clean-up tidies what a real crash leaves.
    Closing is still possible: take `image` of the files before that.

    Attributes
    ----------
    stop_at
        The statement to die at, from 1; 0 for never.
    after
        Whether that statement is still executed.
    statements
        Those executed so far.
    """

    stop_at = 0
    after = False
    dead = False

    def __init__(self, *args: Any, **keywords: Any) -> None:
        super().__init__(*args, **keywords)
        self.statements: list[str] = []

    def arm(self, stop_at: int, *, after: bool = False) -> None:
        """Count from here and die at a statement."""
        self.stop_at, self.after = stop_at, after
        self.statements.clear()

    @override
    def execute(self, sql: str, parameters: Any = (), /) -> sqlite3.Cursor:
        self._before(sql)
        cursor = super().execute(sql, parameters)
        self._done()
        return cursor

    @override
    def executemany(self, sql: str, parameters: Iterable[Any], /) -> sqlite3.Cursor:
        self._before(sql)
        cursor = super().executemany(sql, parameters)
        self._done()
        return cursor

    @override
    def executescript(self, sql_script: str, /) -> sqlite3.Cursor:
        raise AssertionError("executescript commits on its own: " + sql_script)

    @override
    def commit(self) -> None:
        raise AssertionError("commits belong to atomic()")

    @override
    def rollback(self) -> None:
        self._before("ROLLBACK")
        super().rollback()

    def _before(self, sql: str) -> None:
        if self.dead:
            raise Crash
        if len(self.statements) + 1 == self.stop_at and not self.after:
            self._die()
        self.statements.append(sql)

    def _done(self) -> None:
        if len(self.statements) == self.stop_at and self.after:
            self._die()

    def _die(self) -> None:
        self.dead = True
        raise Crash


def image(folder: Path, to: Path) -> Path:
    """Copy the files as a dead process leaves them: database and log, but no shared memory."""
    to.mkdir()
    for suffix in ("", "-wal"):
        file = folder / (FILE_NAME + suffix)
        if file.exists():
            shutil.copyfile(file, to / file.name)
    return to

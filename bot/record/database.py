"""The record's one connection: single statements, and transactions of several."""

import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager


class Database:
    """A connection on which every statement outside a transaction is committed at once.

    Parameters
    ----------
    conn
        The connection, in no transaction.
    """

    def __init__(self, conn: sqlite3.Connection) -> None:
        self.conn = conn
        conn.isolation_level = None
        self.execute("PRAGMA recursive_triggers = ON")

    def execute(self, sql: str, values: Sequence[object] = ()) -> sqlite3.Cursor:
        """Run one statement."""
        return self.conn.execute(sql, values)

    @contextmanager
    def atomic(self) -> Iterator[None]:
        """Write all statements of the block, or none of them."""
        self.conn.execute("BEGIN")
        try:
            yield
            self.conn.execute("COMMIT")
        except BaseException:
            if self.conn.in_transaction:
                self.conn.execute("ROLLBACK")
            raise

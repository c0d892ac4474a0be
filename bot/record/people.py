"""The enrolled chats, and the numbers of their replies."""

from collections.abc import Iterable
from typing import TYPE_CHECKING

from bot.record.errors import UNKNOWN_CHAT, StoreError
from bot.record.rows import Chat

if TYPE_CHECKING:
    from sqlite_utils import Database

_READ = "SELECT chat, person, role, focus_job, next_seq FROM chats"
_ENROL = """INSERT INTO chats (chat, person, role, focus_job) VALUES (?, ?, ?, ?)
    ON CONFLICT (chat) DO UPDATE
    SET person = excluded.person, role = excluded.role, focus_job = excluded.focus_job"""
_COUNT = "UPDATE chats SET next_seq = next_seq + ? WHERE chat = ? RETURNING next_seq"


def read_chats(db: "Database") -> list[Chat]:
    """List all enrolled chats, by name."""
    return [Chat(*row) for row in db.execute(f"{_READ} ORDER BY chat")]


def read_chat(db: "Database", chat: str) -> Chat | None:
    """Read a chat, or None if it is not enrolled."""
    row = db.execute(f"{_READ} WHERE chat = ?", (chat,)).fetchone()
    return Chat(*row) if row else None


def enrol(db: "Database", chats: Iterable[Chat]) -> None:
    """Add chats, or change them without changing the count of their replies."""
    for chat in chats:
        db.execute(_ENROL, (chat.chat, chat.person, chat.role, chat.focus_job))


def reserve(db: "Database", chat: str, count: int) -> int:
    """Reserve the numbers of the next replies to a chat and return the first.

    Raises
    ------
    StoreError
        If the chat is not enrolled.
    """
    rows = db.execute(_COUNT, (count, chat)).fetchall()
    if not rows:
        raise StoreError(UNKNOWN_CHAT, value=chat)
    return int(rows[0][0]) - count

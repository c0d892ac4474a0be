"""Two turns that between them write one of everything, and how to look at what they left."""

import sqlite3
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import pytest

from bot.record.errors import StoreError
from bot.record.private import seeded_salt
from bot.record.rows import Batch, Chat, Moment, NewEntry, NewReply, Timer
from bot.record.schema import FILE_NAME

SALT = seeded_salt("1")
NOW = Moment(1_000_000, 5_000_000_000, "b1")
ZONE = "America/Denver"
SAM = Chat("driver:sam", "p1", "driver")
DEE = Chat("dispatcher:dee", "p2", "dispatcher")


@dataclass(frozen=True)
class Hidden:
    private_value: object


def fact(job: int, text: str = "seen", **more: object) -> NewEntry:
    return NewEntry(job, "fact", {"text": text, **more}, by="p1", vehicle="p1")


def said(chat: str, text: str) -> NewReply:
    return NewReply("lines", chat, {"spoken": text})


def timer(name: str, due_s: int, boot: str = "b1", job: int = 1) -> Timer:
    return Timer(job, name, 1, due_s * 10**9, boot, due_s * 1000, {"item": name})


def first_turn(inbox_id: int | None = None) -> Batch:
    return Batch(
        NOW,
        ZONE,
        inbox_id,
        entries=(fact(0, "crew"), fact(1, "opened")),
        replies=(said("driver:sam", "Is it safe?"),),
        chats=(SAM, DEE),
        timers=(timer("window", 60), timer("silence", 90)),
    )


def second_turn(inbox_id: int) -> Batch:
    """One of everything that a turn can write."""
    return Batch(
        NOW,
        ZONE,
        inbox_id,
        entries=(
            fact(1, "place", place=Hidden({"lat": 39_740_000}), plate=Hidden("ABC 123")),
            fact(1, "parked"),
            fact(2, "opened"),
        ),
        replies=(
            said("driver:sam", "One."),
            said("dispatcher:dee", "Two."),
            said("driver:sam", "Three."),
        ),
        chats=(replace(SAM, focus_job=2),),
        timers=(timer("window", 120), timer("chock", 30)),
        dropped=((1, "silence"),),
        states=((1, "closed"),),
    )


def dump(path: Path) -> dict[str, list[tuple[object, ...]]]:
    """Read every table with a plain connection."""
    tables = ("journal", "private", "inbox", "outbox", "timers", "chats", "jobs",
              "signed_chains", "signed_head")  # fmt: skip
    conn = sqlite3.connect(path)
    try:
        return {name: conn.execute(f"SELECT * FROM {name}").fetchall() for name in tables}  # noqa: S608
    finally:
        conn.close()


def tampered(folder: Path, *statements: str) -> None:
    """Change a closed record as one who holds the file can."""
    conn = sqlite3.connect(folder / FILE_NAME)
    triggers = conn.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall()
    for (name,) in triggers:
        conn.execute(f"DROP TRIGGER {name}")
    # An index over what a line says would stop one that is no line.
    indexes = conn.execute(
        "SELECT name FROM sqlite_master WHERE type = 'index' AND sql LIKE '%json%'"
    )
    for (name,) in indexes.fetchall():
        conn.execute(f"DROP INDEX {name}")
    for statement in statements:
        conn.execute(statement)
    conn.commit()
    conn.close()


def refusal(call: Callable[[], object]) -> StoreError:
    with pytest.raises(StoreError) as caught:
        call()
    return caught.value

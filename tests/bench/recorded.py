"""What a real conversation hands to each part, kept so that the part can be timed alone."""

import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any
from unittest import mock

from typing_extensions import override

from bot.commands.demo import Player, conversation, parse
from bot.desk import desk
from bot.record.rows import Batch
from bot.record.schema import connect
from bot.record.store import Store
from flows.job.events import Event
from flows.job.state import Job
from flows.turn.advance import advance
from flows.turn.turning import Turn


@dataclass
class Recorded:
    """One conversation: its turns, and what the store was given, in order.

    Attributes
    ----------
    turns
        (job, event, turn) of every event but the first, which opens the job.
    steps
        A message to receive, as the arguments, or a batch to commit.
    """

    turns: list[tuple[Job, Event, Turn]] = field(default_factory=list)
    steps: list[tuple[Any, ...] | Batch] = field(default_factory=list)

    @property
    def batches(self) -> list[Batch]:
        return [step for step in self.steps if isinstance(step, Batch)]


def record(name: str) -> Recorded:
    """Play a recorded conversation and keep what its parts were given."""
    found = Recorded()
    with tempfile.TemporaryDirectory() as folder, _watched(found):
        player = Player(Path(folder))
        for step in parse(conversation(name)):
            player.step(step)
        player.close()
    return found


@contextmanager
def _watched(found: Recorded) -> Iterator[None]:
    receive, commit = Store.receive, Store.commit

    def advanced(job: Job, event: Event) -> Turn:
        turn = advance(job, event)
        found.turns.append((job, event, turn))
        return turn

    def received(store: Store, *given: Any) -> Any:
        found.steps.append(given)
        return receive(store, *given)

    def committed(store: Store, batch: Batch) -> Any:
        # Seals rest on the store that made them, and number the entries behind them.
        entries = tuple(replace(entry, seq=None) for entry in batch.entries)
        found.steps.append(replace(batch, entries=entries, sealing=None))
        return commit(store, batch)

    with (
        mock.patch.object(desk, "advance", advanced),
        mock.patch.object(Store, "receive", received),
        mock.patch.object(Store, "commit", committed),
    ):
        yield


@dataclass(frozen=True)
class Statement:
    """A statement that writes, with its values; several rows of them when `many`."""

    sql: str
    values: tuple[Any, ...]
    many: bool = False


class WatchedConnection(sqlite3.Connection):
    """Keeps every statement that writes."""

    written: list[Statement]

    @override
    def execute(self, sql: str, parameters: Any = (), /) -> sqlite3.Cursor:
        if sql.split(maxsplit=1)[0] in {"INSERT", "UPDATE", "DELETE"}:
            self.written.append(Statement(sql, tuple(parameters)))
        return super().execute(sql, parameters)

    @override
    def executemany(self, sql: str, parameters: Any, /) -> sqlite3.Cursor:
        self.written.append(Statement(sql, tuple(parameters), many=True))
        return super().executemany(sql, parameters)


def watched_connection(path: Path) -> WatchedConnection:
    """Open a file so that what is written is kept."""
    connect(path).close()
    found = sqlite3.connect(path, factory=WatchedConnection)
    found.written = []
    return found

"""A whole plain carry, from the first message to the sealed record: time a turn, bytes a job."""

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from bot.commands.demo import Player, conversation, parse
from bot.record.schema import FILE_NAME


@contextmanager
def player() -> Iterator[Player]:
    """Give a desk of its own, on a disk it waits for."""
    with tempfile.TemporaryDirectory() as folder:
        found = Player(Path(folder))
        try:
            yield found
        finally:
            found.close()


def turns(name: str) -> int:
    """Return how many messages and photos a conversation has."""
    steps = parse(conversation(name))
    photos = sum(int(step.text.split()[0]) for step in steps if step.kind == "+")
    return photos + sum(step.kind == ">" for step in steps)


def played(name: str) -> None:
    """Play a recorded conversation from end to end."""
    with player() as found:
        for step in parse(conversation(name)):
            found.step(step)


def rows(name: str) -> Iterator[str]:
    """Yield what the record of a conversation weighs."""
    with player() as found:
        for step in parse(conversation(name)):
            found.step(step)
        lines = found.store.lines(1)
        size = sum(len(line.encode()) + 1 for line in lines)
        folder = found.store.folder
        photos = sum(path.stat().st_size for path in (folder / "files").iterdir())
        whole = sum(path.stat().st_size for path in folder.glob(f"{FILE_NAME}*"))
    yield f"record of {name}: {len(lines)} entries, {size:,} bytes as lines"
    yield f"    {size // len(lines)} bytes an entry, {size // turns(name)} bytes a turn"
    yield f"    database with its log {whole:,} bytes, files {photos:,} bytes"

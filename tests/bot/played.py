"""Each recorded conversation, played once at the desk for all tests of a process that judge it.

Playing one takes half a second, and the same play is judged for what it asserts, its wording, its
record and its likeness over the platform. `tests/conftest.py` gives all tests of one conversation
to one process.
"""

from dataclasses import dataclass
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from bot.commands.demo import Player, conversation, parse
from bot.desk.replaying import rebuilt
from bot.record.rows import Reply
from flows.job.state import Job
from tests.bot.checks import Watch
from tests.bot.scripted import Line, Script, chains, play, script_of

COMPANY = 0
"""The chain of what belongs to no job."""


@dataclass(frozen=True)
class Played:
    """What a recorded conversation came to.

    Attributes
    ----------
    failed
        The first assertion of its own that does not hold; the conversation goes on after it.
    replies
        Every message, in order.
    lines, entries
        Every chain as written and as read, the company's under 0.
    verified, unfinished
        What the record has to say of itself at the end.
    jobs, rebuilt
        Every job as the desk holds it, and as its entries make it.
    """

    failed: AssertionError | None
    replies: tuple[Reply, ...]
    lines: dict[int, list[str]]
    entries: dict[int, list[dict[str, Any]]]
    verified: list[Any]
    unfinished: list[Any]
    jobs: dict[int, Job]
    rebuilt: dict[int, Job]


@cache
def played(name: str) -> Played:
    """Play a recorded conversation at the desk."""
    with TemporaryDirectory() as folder:
        watch = Watch(Player(Path(folder)))
        try:
            failed = _step_through(name, watch)
            return _found(watch, failed)
        finally:
            watch.player.close()


def _step_through(name: str, watch: Watch) -> AssertionError | None:
    failed = None
    for step in parse(conversation(name)):
        try:
            watch.step(step)
        except AssertionError as error:
            failed = failed or error
    return failed


def _found(watch: Watch, failed: AssertionError | None) -> Played:
    store, desk = watch.player.store, watch.player.desk
    jobs = sorted(store.jobs())
    entries = {ref: store.entries(ref) for ref in (COMPANY, *jobs)}
    return Played(
        failed,
        tuple(watch.replies),
        {ref: store.lines(ref) for ref in (COMPANY, *jobs)},
        entries,
        store.verify(),
        store.unfinished(),
        {ref: desk.job(ref) for ref in jobs},
        {ref: rebuilt(Job(ref, watch.job.book), entries[ref]) for ref in jobs},
    )


@dataclass(frozen=True)
class OverLines:
    """A script, the output of the lines channel for each line of it, and every chain it left."""

    script: Script
    turns: list[list[Line]]
    chains: dict[int, list[str]]


def over(folder: Path, script: Script) -> OverLines:
    """Play a script over the lines channel."""
    return OverLines(script, play(folder, script), chains(folder))


@cache
def over_lines(name: str) -> OverLines:
    """Play a recorded conversation over the lines channel, once as well."""
    with TemporaryDirectory() as folder:
        return over(Path(folder), script_of(parse(conversation(name))))

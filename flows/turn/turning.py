"""A turn, made by one event: entries, replies and the timers wanted after it."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from flows.job.entries import Entry
from flows.job.events import Event, Heard, Moment
from flows.job.folding import fold
from flows.job.state import Envelope, Job
from flows.telling.reply import Reply, To, priority_of

BOT = "bot"


@dataclass(frozen=True, slots=True)
class Timer:
    """A timer that is wanted: its name, generation, and when it is due by the boot clock."""

    name: str
    generation: int
    due_ns: int
    boot: str


@dataclass(frozen=True, slots=True)
class Turn:
    """The outcome of one event. The job after it is the fold of its entries.

    `deck_empty` says that what ended jobs left on its truck came off.
    """

    job: Job
    entries: tuple[tuple[Entry, str], ...]
    replies: tuple[Reply, ...]
    timers: tuple[Timer, ...]
    deck_empty: bool = False


class Turning:
    """A turn in the making: each note is folded at once, so the rest of the turn sees it."""

    def __init__(self, job: Job, event: Event) -> None:
        self.before = job
        self.job = job
        self.event = event
        self.at: Moment = event.at
        self.by = event.who.id if isinstance(event, Heard) else BOT
        self.entries: list[tuple[Entry, str]] = []
        self.replies: list[Reply] = []
        self.noted: list[str] = []
        self.repeat = False
        self.resumed = False
        self.aboard_changed = False
        self.deck_empty = False
        self.by_voice = False

    def note(self, kind: Any, by: str | None = None, /, **body: Any) -> int:  # noqa: ANN401  any JSON
        """Add an entry and fold it; return its number."""
        entry = Entry(kind, body)
        author = self.by if by is None else by
        seq = self.job.seq
        self.entries.append((entry, author))
        self.job = fold(self.job, entry, Envelope(self.at, author, seq))
        return seq

    def start_over(self, entries: Iterable[tuple[Entry, str]]) -> None:
        """Start the turn again with these entries, each under its author."""
        self.job, self.entries = self.before, []
        for entry, author in entries:
            self.note(entry.kind, author, **entry.body)

    def say(self, key: str, to: To = "driver", /, **slots: str) -> None:
        """Add a message that asks nothing."""
        self.replies.append(Reply(to, f"says.{key}", self.job, priority_of(key), slots))

    def sender_is_driver(self) -> bool:
        """Say whether the event comes from the driver at the vehicle."""
        return isinstance(self.event, Heard) and self.event.who.id == self.job.at_vehicle

    def answer_sender(self, key: str, /, **slots: str) -> None:
        """Say something to whoever spoke."""
        self.say(key, "driver" if self.sender_is_driver() else "sender", **slots)

    def alarm(self, key: str, *, escalates: bool, within_s: int = 120) -> None:
        """Say something that wants an acknowledgement, and keep that it does."""
        quiet = self.job.acts["rolling"] == "rolling"
        self.note("alarmed", BOT, key=key, escalates=escalates and not quiet, within_s=within_s)
        self.say(key)

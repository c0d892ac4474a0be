"""The rows of the journal's tables, as they are written and read."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal, TypeAlias

from flows.job.events import Moment as Moment  # noqa: PLC0414  the flows' own moments

if TYPE_CHECKING:
    from bot.record.reader import Reader

JobState = Literal["open", "closed"]
MessageState = Literal["new", "done", "quarantined"]
ReplyState = Literal["pending", "sent", "parked"]

COMPANY = 0
"""The chain of entries that belong to no job: crew, cards, exports."""


@dataclass(frozen=True, slots=True)
class NewEntry:
    """An entry to add.

    Attributes
    ----------
    job
        The job, from 1 without gaps; 0 for the company's chain.
    kind
        The kind of entry, such as "fact".
    body
        Its content; personal values are objects with a ``private_value``.
    by
        Who said it: a person's id, or "bot".
    vehicle
        Who is at the vehicle: a person's id, or None.
    claimed_ms
        When the speaker says it happened [millisecond since 1970 UTC], or None.
    stamped_ms
        When the platform stamped it [millisecond since 1970 UTC], or None.
    seq
        The number that it must get, if the caller depends on it; None for the next number.
    """

    job: int
    kind: str
    body: Mapping[str, object]
    by: str
    vehicle: str | None = None
    claimed_ms: int | None = None
    stamped_ms: int | None = None
    seq: int | None = None


@dataclass(frozen=True, slots=True)
class NewReply:
    """A reply to send.

    Attributes
    ----------
    body
        Any JSON.
    under
        For what a sealing makes: "or_alone" puts its text under the last reply to the chat, so
        that it stands between nothing, and sends it by itself if there is none; "or_not" leaves
        it out then.
    """

    channel: str
    chat: str
    body: Mapping[str, Any]
    under: Literal["", "or_alone", "or_not"] = ""


Sealing: TypeAlias = Callable[["Reader"], Iterator["NewEntry | NewReply"]]
"""Makes entries and replies from the lines just written; each is written before the next."""


@dataclass(frozen=True, slots=True)
class Timer:
    """A wake-up of a job; at most one per job and name.

    Attributes
    ----------
    job, name
        Which timer.
    generation
        How often it was set; a tick with a lower count is obsolete.
    due_mono_ns
        When it is due on the boot-time clock of ``boot`` [nanosecond].
    boot
        Id of the boot that set it.
    due_wall_ms
        The same in wall time, for display [millisecond since 1970 UTC].
    payload
        Any JSON, returned to the caller.
    """

    job: int
    name: str
    generation: int
    due_mono_ns: int
    boot: str
    due_wall_ms: int
    payload: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Chat:
    """An enrolled chat.

    Attributes
    ----------
    chat
        Its name, such as "driver:sam".
    person
        Id of the person, such as "p1".
    role
        "driver", "dispatcher" or "owner".
    focus_job
        The job it talks about, or None.
    next_seq
        Number of its next reply, from 1; the store counts, and ignores it when writing.
    """

    chat: str
    person: str
    role: str
    focus_job: int | None = None
    next_seq: int = 1


@dataclass(frozen=True, slots=True)
class Batch:
    """Everything that a turn writes, in one transaction.

    Attributes
    ----------
    moment
        When it is written.
    zone
        Time zone to note with the times, as an IANA name.
    inbox_id
        The message it settles, or None (a tick).
    fault
        Why the message could not be used: it becomes "quarantined" instead of "done".
    entries, replies
        In order.
    chats, timers
        To add, or to replace those of the same name.
    dropped
        Timers to remove, as (job, name); before ``timers`` are set.
    sealing
        Makes more entries from the lines just written, and replies that go before the others.
    states
        Jobs that reopen or close, as (job, state); a job opens with its first entry.
    """

    moment: Moment
    zone: str
    inbox_id: int | None = None
    fault: str | None = None
    entries: tuple[NewEntry, ...] = ()
    replies: tuple[NewReply, ...] = ()
    chats: tuple[Chat, ...] = ()
    timers: tuple[Timer, ...] = ()
    dropped: tuple[tuple[int, str], ...] = ()
    states: tuple[tuple[int, JobState], ...] = ()
    sealing: Sealing | None = None


@dataclass(frozen=True, slots=True)
class Received:
    """A message that is safely in the inbox; ``fresh`` is False for a repeat."""

    id: int
    fresh: bool


@dataclass(frozen=True, slots=True)
class Message:
    """A row of the inbox."""

    id: int
    channel: str
    chat: str
    ext_id: str
    body: dict[str, Any]
    moment: Moment
    state: MessageState
    error: str | None


@dataclass(frozen=True, slots=True)
class Reply:
    """A row of the outbox; ``seq`` counts from 1 in its chat, ``inbox_id`` is its message."""

    id: int
    channel: str
    chat: str
    seq: int
    inbox_id: int | None
    body: Mapping[str, Any]
    state: ReplyState


@dataclass(frozen=True, slots=True)
class Unreadable:
    """A row of a queue that cannot be read: its table, its number or its job, a timer's name."""

    table: Literal["inbox", "outbox", "timers"]
    number: int
    name: str = ""


@dataclass(frozen=True, slots=True)
class Stranger:
    """How often an unknown person wrote; nothing else about them is kept.

    Attributes
    ----------
    account
        The platform's id of the person.
    seen
        How many messages came.
    refused_ms
        When they were last refused [millisecond since 1970 UTC].
    tries
        Wrong invites in a row.
    locked_until_ms
        Until when their invites are ignored [millisecond since 1970 UTC].
    """

    account: str
    seen: int = 0
    refused_ms: int = 0
    tries: int = 0
    locked_until_ms: int = 0


@dataclass(frozen=True, slots=True)
class Head:
    """The last entry of a chain."""

    seq: int
    digest: str

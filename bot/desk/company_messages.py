"""Messages outside any job: lines to chats, written in one transaction with their entries."""

from collections.abc import Iterable, Sequence

from bot.desk.batches import Cause
from bot.desk.outgoing import Line
from bot.record.rows import Batch, Chat, NewEntry, NewReply, Reply
from bot.record.store import Store


class CompanyMessages:
    """Writes entries and lines that concern the company, and no job.

    Parameters
    ----------
    store
        The record.
    zone
        The company's time zone.
    channel
        The channel's name in the outbox.
    """

    def __init__(self, store: Store, zone: str, channel: str) -> None:
        self._store = store
        self._zone = zone
        self._channel = channel

    def write(
        self,
        cause: Cause,
        lines: Iterable[Line] = (),
        entries: Sequence[NewEntry] = (),
        chats: Sequence[Chat] = (),
        fault: str | None = None,
    ) -> list[Reply]:
        """Write entries, chats and lines, and settle the message they answer, in one transaction.

        Parameters
        ----------
        cause
            The time, and the message that is settled.
        fault
            Why that message could not be used.
        """
        replies = tuple(NewReply(self._channel, chat, body) for chat, body in lines)
        return self._store.commit(
            Batch(cause.at, self._zone, cause.inbox, fault, tuple(entries), replies, tuple(chats))
        )

    def chats_of(self, role: str) -> list[str]:
        """Return the chats that have a role."""
        return [chat.chat for chat in self._store.chats() if chat.role == role]

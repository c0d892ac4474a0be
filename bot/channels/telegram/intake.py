"""From a raw update in the inbox to what the desk takes: who, which question, which words."""

import hashlib
import logging
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from telegram import Bot

from bot.channels.telegram import CHANNEL
from bot.channels.telegram.buttons import resolved
from bot.channels.telegram.front_desk import FrontDesk, open_to_voice
from bot.channels.telegram.pacing import Bucket, Rates
from bot.channels.telegram.updates import Seen, read, sender_of
from bot.channels.text import clean
from bot.desk.batches import Cause
from bot.desk.company import Company
from bot.desk.company_messages import line
from bot.desk.crew import Member
from bot.desk.inbound import Inbound
from bot.record.errors import DuplicateIdError
from bot.record.rows import Message, Moment, Reply
from flows.hearing.answers import NOTHING
from flows.hearing.prompts import Prompt
from flows.job.events import Media, Spoken
from flows.texts import air_texts
from flows.turn.reading_messages import tells_danger

LOG = logging.getLogger(__name__)
SLOWED_PER_S = 1 / 60
MOST_FILES = 300


def account_of(number: int) -> str:
    """Return the account of a person at the platform: its number, never the name they chose."""
    return f"{CHANNEL}:{number}"


@dataclass(frozen=True, slots=True)
class Brought:
    """What became of the file that an update brought.

    Parameters
    ----------
    media
        The file, where it came.
    no_file
        The sentence that says why it did not come.
    spoken
        What was heard of it, where it is a voice note.
    is_part
        Whether it is one of an album, and not the last: nothing is said to it.
    """

    media: Media | None = None
    no_file: str = ""
    spoken: Spoken | None = None
    is_part: bool = False


NO_FILE = Brought()


class Intake:
    """Keeps updates, and applies those that are kept.

    Parameters
    ----------
    company, front
        What it works with.
    bot
        The library's bot, for its types.
    rates
        How much one person may say.
    """

    def __init__(self, company: Company, front_desk: FrontDesk, bot: Bot, rates: Rates) -> None:
        self._rates = rates
        self._desk = company.desk
        self._store = company.store
        self._crew = company.crew
        self._messages = company.messages
        self._key = company.key
        self._front_desk = front_desk
        self._bot = bot
        self._floods: dict[str, Bucket] = {}
        self._told: dict[str, Bucket] = {}

    def keep(self, update: Mapping[str, Any], at: Moment) -> None:
        """Put a raw update into the inbox; of a stranger only a counter is kept.

        Raises
        ------
        StoreError
            If the record cannot be written: the update must not be confirmed.
        """
        sender = sender_of(update)
        if sender is not None and self._crew.by_account(account_of(sender)) is None:
            self._front_desk.stranger(sender, update, at)
            return
        account = "" if sender is None else account_of(sender)
        number, body = str(update.get("update_id")), {"update": update}
        try:
            self._store.receive(CHANNEL, account, number, body, at)
        except DuplicateIdError:
            # The platform begins its numbers anew after a quiet week: the same number, another
            # update.
            digest = hashlib.sha256(repr(update).encode()).hexdigest()[:12]
            self._store.receive(CHANNEL, account, f"{number}:{digest}", body, at)

    def read(self, row: Message) -> Seen | None:
        """Read a kept update; one that cannot be read is kept apart, and its sender is told."""
        try:
            return read(row.body["update"], self._bot) or Seen("silent", 0)
        except Exception:
            LOG.exception("update %s cannot be read; it is kept apart", row.id)
            return None

    def set_apart(self, row: Message) -> list[Reply]:
        """Quarantine an update that cannot be read, with words to whoever sent it."""
        member = self._crew.by_account(row.chat)
        lines = [] if member is None else [(member.chat, line(air_texts()["says"]["other"]))]
        cause = Cause(self._desk.received(row), row.id)
        return self._messages.write(cause, lines, fault="the update cannot be read")

    def settle(self, row: Message, seen: Seen, brought: Brought = NO_FILE) -> list[Reply]:
        """Apply a kept update that was read, with the file it brought."""
        cause = Cause(self._desk.received(row), row.id)
        member = self._crew.by_account(account_of(seen.account))
        if member is None or seen.what == "silent":
            return self._messages.write(cause)
        if seen.what == "moved":
            return self._front_desk.moved(seen.account, seen.moved_to, cause)
        if seen.what in {"blocked", "unblocked"}:
            return self._front_desk.left(member, seen.what, cause)
        message = self._message(row, seen, member, brought)
        key = self._word(seen, message, member, cause, brought.no_file)
        if key is not None:
            lines = [(member.chat, line(air_texts()["says"][key]))] if key else []
            return self._messages.write(cause, lines)
        handled = self._front_desk.take(member, message, cause)
        return self._desk.settle(message, cause.at, row.id) if handled is None else handled

    def _word(
        self, seen: Seen, message: Inbound, member: Member, cause: Cause, no_file: str
    ) -> str | None:
        """Return the kind word for what is no answer; empty for silence, None for an answer."""
        is_danger = tells_danger(message.text or "", message.tap)
        if self._floods_in(member, cause.at) and not is_danger:
            bucket = self._told.setdefault(member.chat, Bucket(SLOWED_PER_S, 1))
            return "" if bucket.take(_s(cause.at)) else "slow_down"
        if seen.what in {"not_theirs", "other"}:
            return seen.what
        if no_file and not message.text:
            return "" if message.part else no_file
        is_press = seen.what == "pressed"
        return "past" if is_press and message.tap is None and not message.text else None

    def is_full(self, seen: Seen) -> bool:
        """Say whether the sender's job holds as many files as one job may."""
        member = self._crew.by_account(account_of(seen.account))
        chat = None if member is None else self._store.chat(member.chat)
        if chat is None or chat.focus_job is None:
            return False
        entries = self._store.entries(chat.focus_job)
        return len([one for one in entries if one["kind"] == "media"]) >= MOST_FILES

    def asked(self, seen: Seen) -> Prompt:
        """Return what the sender is asked now."""
        member = self._crew.by_account(account_of(seen.account))
        found = None if member is None else self._desk.open_to(member.chat)
        return open_to_voice(Prompt(None, NOTHING) if found is None else found)

    def proves(self, seen: Seen) -> int | None:
        """Return which reply of ours an update proves to have arrived."""
        found = resolved(self._key, seen.data) if seen.what == "pressed" else None
        return None if found is None else found[0]

    def _message(self, row: Message, seen: Seen, member: Member, brought: Brought) -> Inbound:
        answered, tap = self._answered(seen, member)
        text = None if seen.text is None else clean(seen.text)
        if tap is not None and tap.startswith("job "):
            # A job is named in words, whoever says them, and no question asked for it.
            answered, text, tap = None, tap, None
        job = None if answered is None else answered.body.get("job")
        return Inbound(
            member.chat,
            row.ext_id,
            seen.stamped_ms,
            # A reply to a message of ours that is not known answers nothing.
            answered.seq if answered is not None else 0 if seen.answers is not None else None,
            int(job) if job is not None and answered and "ask" in answered.body else None,
            str(seen.message) if seen.what == "edited" else None,
            text if text is not None or tap or brought.media or seen.place else "",
            tap,
            brought.media,
            seen.place,
            spoken=brought.spoken,
            part=brought.is_part,
        )

    def _answered(self, seen: Seen, member: Member) -> tuple[Reply | None, str | None]:
        """Return the reply of ours that an update answers, and the choice it took."""
        if seen.answers is not None:
            return self._store.reply_sent_as(member.chat, str(seen.answers)), None
        found = resolved(self._key, seen.data) if seen.what == "pressed" else None
        reply = None if found is None else self._store.reply_row(found[0])
        if found is None or reply is None or reply.chat != member.chat:
            return None, None
        offered = reply.body.get("expects", {}).get("choices", ())
        return (reply, offered[found[1]]["id"]) if found[1] < len(offered) else (None, None)

    def _floods_in(self, member: Member, at: Moment) -> bool:
        bucket = self._floods.setdefault(
            member.chat, Bucket(self._rates.said_per_s, self._rates.said_burst)
        )
        return bucket.take(_s(at)) > 0


def _s(at: Moment) -> float:
    return at.mono_ns / 1e9

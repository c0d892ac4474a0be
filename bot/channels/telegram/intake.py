"""From a raw update in the inbox to a message for the desk: sender, question, words."""

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
    """Return a person's account at the platform: by number, never by the name they chose."""
    return f"{CHANNEL}:{number}"


@dataclass(frozen=True, slots=True)
class Brought:
    """The file that an update brought, or the reason for none.

    Parameters
    ----------
    media
        The file, if it came.
    no_file
        The key of the sentence that says why it did not come.
    spoken
        The words heard in it, if it is a voice note.
    is_part
        Whether it belongs to an album and is not the last: it gets no answer.
    """

    media: Media | None = None
    no_file: str = ""
    spoken: Spoken | None = None
    is_part: bool = False


NO_FILE = Brought()


class Intake:
    """Keeps updates, and applies them.

    Parameters
    ----------
    company, front_desk
        The company, and its front desk.
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
        """Put a raw update into the inbox; for a stranger, only count it.

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
            # The platform restarts its numbers after a quiet week: an old number, a new update.
            digest = hashlib.sha256(repr(update).encode()).hexdigest()[:12]
            self._store.receive(CHANNEL, account, f"{number}:{digest}", body, at)

    def read(self, row: Message) -> Seen | None:
        """Read a kept update; None if it cannot be read."""
        try:
            return read(row.body["update"], self._bot) or Seen("silent", 0)
        except Exception:
            LOG.exception("update %s cannot be read; it is quarantined", row.id)
            return None

    def set_apart(self, row: Message) -> list[Reply]:
        """Quarantine an update that cannot be read, and tell its sender."""
        member = self._crew.by_account(row.chat)
        lines = [] if member is None else [(member.chat, line(air_texts()["says"]["other"]))]
        cause = Cause(self._desk.received(row), row.id)
        return self._messages.write(cause, lines, fault="the update cannot be read")

    def settle(self, row: Message, seen: Seen, brought: Brought = NO_FILE) -> list[Reply]:
        """Apply a kept update after it was read, with the file it brought."""
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
        """Return the key of the sentence for a message that is no answer.

        Empty to stay silent; None if the message is an answer.
        """
        if self._floods_in(member, cause.at) and not _tells_danger(message):
            return self._slow_down(member, cause.at)
        if seen.what in {"not_theirs", "other"}:
            return seen.what
        if no_file and not message.text:
            return "" if message.part else no_file
        return "past" if _is_past(seen, message) else None

    def _slow_down(self, member: Member, at: Moment) -> str:
        """Return the sentence that asks to slow down; empty if it was said a moment ago."""
        bucket = self._told.setdefault(member.chat, Bucket(SLOWED_PER_S, 1))
        return "" if bucket.take(_s(at)) else "slow_down"

    def is_full(self, seen: Seen) -> bool:
        """Say whether the sender's job has as many files as a job may have."""
        member = self._crew.by_account(account_of(seen.account))
        chat = None if member is None else self._store.chat(member.chat)
        if chat is None or chat.focus_job is None:
            return False
        return self._store.count(chat.focus_job, "media") >= MOST_FILES

    def asked(self, seen: Seen) -> Prompt:
        """Return the question that the sender is asked now."""
        member = self._crew.by_account(account_of(seen.account))
        found = None if member is None else self._desk.open_to(member.chat)
        return open_to_voice(Prompt(None, NOTHING) if found is None else found)

    def proves(self, seen: Seen) -> int | None:
        """Return the reply of ours that an update proves to have arrived; None for no proof."""
        found = resolved(self._key, seen.data) if seen.what == "pressed" else None
        return None if found is None else found[0]

    def _message(self, row: Message, seen: Seen, member: Member, brought: Brought) -> Inbound:
        answered, tap = self._answered(seen, member)
        text = None if seen.text is None else clean(seen.text)
        if tap is not None and tap.startswith("job "):
            # The button names a job: the same as the words, and an answer to no question.
            answered, text, tap = None, tap, None
        has_other = bool(tap or brought.media or seen.place)
        return Inbound(
            member.chat,
            row.ext_id,
            seen.stamped_ms,
            to=_number_of(answered, seen),
            job=_job_of(answered),
            edit_of=str(seen.message) if seen.what == "edited" else None,
            text=text if has_other else text or "",
            tap=tap,
            media=brought.media,
            place=seen.place,
            spoken=brought.spoken,
            part=brought.is_part,
        )

    def _answered(self, seen: Seen, member: Member) -> tuple[Reply | None, str | None]:
        """Return the reply of ours that an update answers, and the choice that was tapped."""
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


def _tells_danger(message: Inbound) -> bool:
    return tells_danger(message.text or "", message.tap)


def _is_past(seen: Seen, message: Inbound) -> bool:
    """Say whether a button was pressed that no longer means anything."""
    return seen.what == "pressed" and message.tap is None and not message.text


def _number_of(answered: Reply | None, seen: Seen) -> int | None:
    """Return the number of our message that an update answers; 0 for a message not known."""
    if answered is not None:
        return answered.seq
    return None if seen.answers is None else 0


def _job_of(answered: Reply | None) -> int | None:
    """Return the job whose question an update answers."""
    if answered is None or "ask" not in answered.body:
        return None
    job = answered.body.get("job")
    return None if job is None else int(job)


def _s(at: Moment) -> float:
    return at.mono_ns / 1e9

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
from bot.channels.telegram.pacing import Bucket, Pace
from bot.channels.telegram.updates import Seen, read, sender_of
from bot.channels.text import clean
from bot.desk.batches import Cause
from bot.desk.company import Company
from bot.desk.crew import Member
from bot.desk.inbound import Inbound
from bot.desk.outgoing import Line, line
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
    pace
        How much one person may say, and the clock that goes by.
    """

    def __init__(self, company: Company, front_desk: FrontDesk, bot: Bot, pace: Pace) -> None:
        self._rates, self._now = pace.rates, pace.now
        self._desk = company.desk
        self._store = company.store
        self._crew = company.crew
        self._messages = company.messages
        self._clock = company.clock
        self._key = company.key
        self._front_desk = front_desk
        self._bot = bot
        self._floods: dict[str, Bucket] = {}
        self._told: dict[str, Bucket] = {}
        self._resting: dict[str, float] = {}
        self._calm: set[int] = set()

    def is_ours(self, update: Mapping[str, Any]) -> bool:
        """Say whether an update comes from the crew, or from nobody."""
        sender = sender_of(update)
        return sender is None or self._crew.by_account(account_of(sender)) is not None

    def keep(self, update: Mapping[str, Any], at: Moment) -> None:
        """Put a raw update into the inbox; for a stranger, only count it.

        Raises
        ------
        StoreError
            If the record cannot be written: the update must not be confirmed.
        """
        sender = sender_of(update)
        if sender is not None and not self.is_ours(update):
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
        if seen.what == "in_group":
            self._front_desk.answer_group(seen.moved_to, member)
        message = self._message(row, seen, member, brought)
        key = self._word(seen, message, brought.no_file)
        if key is not None:
            return self._messages.write(cause, _saying(member, key))
        handled = self._front_desk.take(member, message, cause)
        return self._desk.settle(message, cause.at, row.id) if handled is None else handled

    @staticmethod
    def _word(seen: Seen, message: Inbound, no_file: str) -> str | None:
        """Return the key of the sentence for a message that is no answer.

        Empty to stay silent; None if the message is an answer.
        """
        if seen.what in {"not_theirs", "other"}:
            return seen.what
        if no_file and not message.text:
            return "" if message.part else no_file
        return "past" if _is_past(seen, message) else None

    def begin(self) -> None:
        """Begin to go through the messages that wait, in order of receipt."""
        self._resting = {}

    def rests(self, row: Message) -> float:
        """Return how long a message waits, if its sender says too much at once [s].

        Nothing is dropped, and nothing overtakes: all later messages of that person wait too.
        Danger and a pressed button wait for nothing.
        """
        if row.chat in self._resting:
            wait_s = self._resting[row.chat]
        else:
            bucket = self._floods.setdefault(
                row.chat, Bucket(self._rates.said_per_s, self._rates.said_burst)
            )
            wait_s = bucket.take(self._now())
        if not wait_s or not row.chat or self._is_urgent(row):
            return 0.0
        self._resting[row.chat] = wait_s
        return wait_s

    def _is_urgent(self, row: Message) -> bool:
        if row.id in self._calm:
            return False
        update = row.body.get("update", {})
        content = update.get("message") or update.get("edited_message") or {}
        said = content.get("text") or content.get("caption") or ""
        if "callback_query" in update or tells_danger(clean(str(said)), None):
            return True
        self._calm.add(row.id)
        return False

    def slow_down(self) -> list[Reply]:
        """Ask those whose messages wait to slow down, unless that was said a moment ago."""
        self._calm = self._calm if self._resting else set()
        members = filter(None, map(self._crew.by_account, self._resting))
        new = (one for one in members if not self._was_told(one))
        told = [(one.chat, line(air_texts()["says"]["slow_down"])) for one in new]
        return self._messages.write(Cause(self._clock.now()), told) if told else []

    def _was_told(self, member: Member) -> bool:
        bucket = self._told.setdefault(member.chat, Bucket(SLOWED_PER_S, 1))
        return bucket.take(self._now()) > 0

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


def _saying(member: Member, key: str) -> list[Line]:
    """Return the line that says a sentence to a member; none for an empty key."""
    return [(member.chat, line(air_texts()["says"][key]))] if key else []


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

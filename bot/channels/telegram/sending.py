"""One reply to the platform, and the outcome."""

import logging
from collections.abc import Awaitable, Callable, Iterator
from dataclasses import dataclass
from typing import Any, Literal

from telegram import LinkPreviewOptions
from telegram.constants import MessageLimit
from telegram.error import (
    BadRequest,
    ChatMigrated,
    Forbidden,
    NetworkError,
    RetryAfter,
    TelegramError,
)

from bot.channels.shown import shown_text
from bot.channels.telegram.buttons import mark
from bot.channels.telegram.transport import Api, NotSentError, seconds_to_wait
from bot.record.errors import StoreError
from bot.record.rows import Reply
from flows.texts import air_texts
from flows.texts.visible import visible

LOG = logging.getLogger(__name__)
NO_PREVIEW = LinkPreviewOptions(is_disabled=True)
LONGEST = int(MessageLimit.MAX_TEXT_LENGTH)
MARK_OF_PART = "({number} of {count})\n"
LONGEST_LABEL = 60
MOST_UPLOAD = 45_000_000
"""The most bytes of a file in one message; the platform takes 50 MB with all that is around it."""

URGENT = frozenset({"stop", "check"})
CLOSED_CHAT = ("chat not found", "user is deactivated", "peer_id_invalid")

Markup = dict[str, Any]
"""Buttons under a message, or a keyboard of words, as the platform takes them."""

Attachment = tuple[str, bytes]
"""A file that goes with a reply: its name and its content."""

Attach = Callable[[Reply], Awaitable[Attachment | None]]
"""Makes the file that goes with a reply."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """The outcome of sending a reply.

    Parameters
    ----------
    how
        "sent"; "wait" so many seconds; "not_sent" for certain; "uncertain" if it may have been;
        "closed" for a chat that takes nothing from us; "refused" for an invalid message.
    sent_as
        The platform's id of the message.
    wait_s
        How long to wait [s].
    why
        The platform's words, for the log: never the message's own.
    moved_to
        The chat's new address, if it is closed because it moved.
    """

    how: Literal["sent", "wait", "not_sent", "uncertain", "closed", "refused"]
    sent_as: str = ""
    wait_s: float = 0.0
    why: str = ""
    moved_to: int | None = None


@dataclass
class Queued:
    """A reply on its way: whether it may have arrived already, or comes later than it was said.

    What leads to it goes ahead of it in the same message.
    """

    reply: Reply
    is_repeat: bool = False
    is_late: bool = False
    led_by: tuple[Reply, ...] = ()

    @property
    def rows(self) -> list[int]:
        """The numbers of the replies in the message, in order."""
        return [one.id for one in (*self.led_by, self.reply)]

    def text(self) -> str:
        """Return the text of the message; empty for a silent one."""
        before = f"{air_texts()['says']['earlier']} " if self.is_late else ""
        first, *rest = (*self.led_by, self.reply)
        shown = [shown_text(first.body, is_repeat=self.is_repeat, before=before)]
        shown += [shown_text(one.body, is_repeat=False) for one in rest]
        return "\n".join(shown)

    def spoken(self) -> str:
        """Return the message as it is said."""
        said = (str(one.body.get("spoken", "")) for one in (*self.led_by, self.reply))
        return " ".join(filter(None, said))

    @property
    def urgent(self) -> bool:
        """Say whether it is an alarm."""
        return self.reply.body.get("priority") in URGENT


def outcome_of(error: TelegramError) -> Outcome:
    """Return the outcome that an error of the library means for a message.

    Examples
    --------
    >>> outcome_of(NotSentError("no connection")).how, outcome_of(NetworkError("broke")).how
    ('not_sent', 'uncertain')
    """
    why = error.message
    match error:
        case RetryAfter():
            return Outcome("wait", wait_s=seconds_to_wait(error), why=why)
        case NotSentError():
            return Outcome("not_sent", why=why)
        case Forbidden() | ChatMigrated():
            return Outcome("closed", why=why, moved_to=getattr(error, "new_chat_id", None))
        case BadRequest():
            is_closed = any(words in why.lower() for words in CLOSED_CHAT)
            return Outcome("closed" if is_closed else "refused", why=why)
        case NetworkError():
            return Outcome("uncertain", why=why)
        case _:
            # An unknown token, a conflict: the message was not sent, and may be later.
            return Outcome("not_sent", why=why)


class Sender:
    """Sends replies as plain text: nobody's words are read as markup.

    Parameters
    ----------
    api
        The platform.
    key
        Makes the marks of buttons.
    attach
        Makes the file that goes with a reply.
    """

    def __init__(self, api: Api, key: bytes, attach: Attach) -> None:
        self._api, self._bot = api, api.bot
        self._key = key
        self._attach = attach
        self._has_words: set[int] = set()

    async def send(self, queued: Queued, address: int) -> Outcome:
        """Send one reply; a silent reply counts as sent."""
        reply, text = queued.reply, queued.text()
        if not text:
            return Outcome("sent")
        try:
            sent = await self._send(reply, address, text)
        except TelegramError as error:
            return outcome_of(error)
        except StoreError as error:
            return Outcome("refused", why=error.what)
        except OSError as error:
            # A file that cannot be made: the message is set apart, and its chat goes on.
            LOG.exception("the file of reply %s cannot be made", reply.id)
            return Outcome("refused", why=type(error).__name__)
        return Outcome("sent", str(sent))

    async def _send(self, reply: Reply, address: int, text: str) -> int:
        attached = await self._attach(reply) if "attach" in reply.body else None
        if attached is not None:
            return await self._send_file(address, text, *attached)
        inline = self._buttons(reply)
        words = None if inline or address in self._has_words else any_time_keyboard(reply.chat)
        *before, last = in_parts(text, LONGEST)
        for part in before:
            await self._say(address, part)
        sent = await self._say(address, last, inline or words)
        if words is not None:
            self._has_words.add(address)
        return sent

    async def _say(self, address: int, text: str, markup: Markup | None = None) -> int:
        """Send a text; return its number. What else comes back is not read: that costs time."""
        shown = {} if markup is None else {"reply_markup": markup}
        sent = await self._api.raw(
            "sendMessage", chat_id=address, text=text, link_preview_options={"is_disabled": True},
            **shown,
        )  # fmt: skip
        return int(sent["message_id"])

    async def _send_file(self, address: int, text: str, name: str, data: bytes) -> int:
        """Send a file; in parts if it is larger than the platform takes."""
        parts = [data[at : at + MOST_UPLOAD] for at in range(0, len(data), MOST_UPLOAD)]
        caption, sent = text, 0
        for number, part in enumerate(parts, 1):
            if len(parts) > 1:
                slots = {"number": number, "count": len(parts), "name": name}
                caption = air_texts()["dispatch"]["part"].format(text=text, **slots)
            document = await self._bot.send_document(
                address, part, caption=within(caption, int(MessageLimit.CAPTION_LENGTH)),
                filename=name if len(parts) == 1 else f"{name}.{number:03}",
            )  # fmt: skip
            sent = document.message_id
        return sent

    def _buttons(self, reply: Reply) -> Markup | None:
        choices = reply.body.get("expects", {}).get("choices", ())
        rows = [
            [{"text": within(visible(one["label"]), LONGEST_LABEL),
              "callback_data": mark(self._key, reply.id, index)}]
            for index, one in enumerate(choices)
        ]  # fmt: skip
        return {"inline_keyboard": rows} if rows else None

    async def say(self, address: int, text: str, picture: bytes | None = None) -> None:
        """Say something outside the record, once and unconfirmed: to a stranger, or a secret."""
        try:
            if picture is None:
                await self._say(address, text)
            else:
                await self._bot.send_photo(address, picture, caption=text)
        except TelegramError as error:
            LOG.warning("a word outside the record was not sent: %s", type(error).__name__)

    async def say_aloud(self, address: int, note: bytes) -> None:
        """Send a voice note after its text, once and unconfirmed: the text has arrived."""
        try:
            await self._bot.send_voice(address, note)
        except TelegramError as error:
            LOG.warning("a spoken reply was not sent: %s", type(error).__name__)

    async def heard_press(self, press: str) -> None:
        """End the button's spinner; being late does no harm."""
        try:
            await self._api.raw("answerCallbackQuery", callback_query_id=press)
        except TelegramError as error:
            LOG.info("a press was not answered: %s", type(error).__name__)


def any_time_keyboard(chat: str) -> Markup | None:
    """Return the keyboard of words for any time for a driver's chat; None for others."""
    if not chat.startswith("driver:"):
        return None
    rows = [[{"text": word} for word in row] for row in air_texts()["keyboard"]["driver"]]
    return {"keyboard": rows, "resize_keyboard": True, "is_persistent": True}


def in_parts(text: str, most: int) -> list[str]:
    r"""Return a text in as few parts as the platform takes, broken between lines and numbered.

    Nothing is left out: a line that is too long by itself is broken within.

    Examples
    --------
    >>> in_parts("short", 10)
    ['short']
    >>> in_parts("one\ntwo\nthree\nfour\nfive six", 24)
    ['(1 of 2)\none\ntwo\nthree', '(2 of 2)\nfour\nfive six']
    """
    if _length(text) <= most:
        return [text]
    room, parts = most - len(MARK_OF_PART.format(number=99, count=99)), [""]
    for piece in _pieces(text, room):
        joined = f"{parts[-1]}\n{piece}" if parts[-1] else piece
        parts = [*parts[:-1], joined] if _length(joined) <= room else [*parts, piece]
    return [
        MARK_OF_PART.format(number=n, count=len(parts)) + part for n, part in enumerate(parts, 1)
    ]


def _pieces(text: str, most: int) -> Iterator[str]:
    """Yield the lines of a text; a line that is too long comes in pieces."""
    for line in text.split("\n"):
        # A character takes at most two of the units that the platform counts.
        whole = _length(line) <= most
        yield from (
            [line]
            if whole
            else (line[at : at + most // 2] for at in range(0, len(line), most // 2))
        )


def _length(text: str) -> int:
    """Return a text's length in UTF-16 units, which the platform counts."""
    return len(text.encode("utf-16-le", "replace")) // 2


def within(text: str, most: int) -> str:
    """Return text cut to a number of UTF-16 units, which the platform counts.

    Examples
    --------
    >>> within("short", 10), within("far too long", 5)
    ('short', 'far …')
    """
    if _length(text) <= most:
        return text
    kept = text.encode("utf-16-le", "replace")[: (most - 1) * 2]
    return kept.decode("utf-16-le", "ignore") + "…"

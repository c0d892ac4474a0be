"""An update, read with the library's types once the raw update is safe.

Messages that are not the sender's own words - forwarded, or made by a bot - are told apart here
and never count as answers. So are messages that cannot be used: they get a friendly sentence.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

from telegram import Bot, CallbackQuery, Message, Update, User

from flows.job.events import MediaKind
from flows.turn.reading_messages import tells_danger

WANTED = ["message", "edited_message", "callback_query", "my_chat_member"]
"""The kinds of update that are asked for."""

UDEG = 1_000_000


@dataclass(frozen=True, slots=True)
class File:
    """A file that can be fetched: its kind, its id at the platform, its claimed size."""

    kind: MediaKind
    id: str
    size: int | None


@dataclass(frozen=True, slots=True)
class Seen:
    """An update, read.

    Parameters
    ----------
    what
        "said" is a message of their own; "pressed" a button; "edited" a changed message;
        "not_theirs" is forwarded or made by a bot; "other" cannot be used here; "blocked" and
        "unblocked" say whether they take our messages; "moved" is a chat with a new address;
        "in_group" is a word of danger where others listen; "silent" needs no answer.
    account
        The platform's number for the person.
    message
        The platform's id of their message, or of our message whose button was pressed.
    stamped_ms
        When the platform received it [ms UTC]; None for a press, which carries no time.
    text, file, place
        Its content.
    answers
        The platform's id of our message that it replies to.
    press, data
        For a button: the id of the press, and the button's mark.
    album
        The platform's id of the album a photo belongs to.
    moved_to
        The new address of a chat that moved, whose old one is `account`; the address of a group.
    """

    what: Literal["said", "pressed", "edited", "not_theirs", "other", "blocked", "unblocked",
                  "moved", "in_group", "silent"]  # fmt: skip
    account: int
    message: int = 0
    stamped_ms: int | None = None
    text: str | None = None
    file: File | None = None
    place: tuple[int, int, str] | None = None
    answers: int | None = None
    press: str = ""
    data: str = ""
    album: str | None = None
    moved_to: int = 0


def sender_of(update: Mapping[str, Any]) -> int | None:
    """Return the sender of a raw update before anything else in it is read; None for nobody.

    For a chat that moved, that is the chat itself.

    Examples
    --------
    >>> sender_of({"update_id": 1, "message": {"from": {"id": 501}}})
    501
    >>> sender_of({"update_id": 1, "poll": {}}) is None
    True
    """
    for kind in WANTED:
        content = update.get(kind)
        if not isinstance(content, Mapping):
            continue
        sender = content.get("chat" if "migrate_to_chat_id" in content else "from")
        number = sender.get("id") if isinstance(sender, Mapping) else None
        if isinstance(number, int):
            return number
    return None


def read(update: Mapping[str, Any], bot: Bot) -> Seen | None:
    """Read an update; return None for a kind that was not asked for.

    Raises
    ------
    Exception
        As the library raises for a malformed update.
    """
    found = Update.de_json(dict(update), bot)
    if found.callback_query is not None:
        return _pressed(found.callback_query)
    if found.my_chat_member is not None:
        member = found.my_chat_member
        if member.chat.type != "private":
            # Somebody took us into a group, or out of one: their own chat is as before.
            return Seen("silent", member.from_user.id)
        is_out = member.new_chat_member.status in {"kicked", "left"}
        return Seen("blocked" if is_out else "unblocked", member.from_user.id)
    if found.message is not None:
        return _said(found.message)
    if found.edited_message is not None:
        return _edited(found.edited_message)
    return None


def _pressed(query: CallbackQuery) -> Seen:
    message = 0 if query.message is None else query.message.message_id
    return Seen("pressed", query.from_user.id, message, press=query.id, data=str(query.data or ""))


def _said(message: Message) -> Seen | None:
    who = message.from_user
    if who is None:
        return None
    if message.migrate_to_chat_id is not None:
        return Seen("moved", message.chat.id, moved_to=message.migrate_to_chat_id)
    stamped, text = _stamp(message), message.text or message.caption
    if message.chat.type != "private":
        return _in_group(message, who, text)
    if _is_foreign(message, who):
        return Seen("not_theirs", who.id, message.message_id, stamped, text)
    file, place = _file(message), _place(message)
    what: Any = "other" if (text, file, place) == (None, None, None) else "said"
    return Seen(
        what, who.id, message.message_id, stamped, text, file, place, _answers(message),
        album=message.media_group_id,
    )  # fmt: skip


def _in_group(message: Message, sender: User, text: str | None) -> Seen:
    """Read a message where others listen: only danger counts, everything else is theirs."""
    is_danger = tells_danger(text or "", None) and not _is_foreign(message, sender)
    return Seen("in_group" if is_danger else "silent", sender.id, message.message_id,
                _stamp(message), text, moved_to=message.chat.id)  # fmt: skip


def _is_foreign(message: Message, sender: User) -> bool:
    """Say whether a message is not its sender's own words: forwarded, or made by a bot."""
    return message.forward_origin is not None or message.via_bot is not None or sender.is_bot


def _edited(message: Message) -> Seen | None:
    who = message.from_user
    if who is None:
        return None
    text = message.text or message.caption
    if text is None or message.chat.type != "private":
        # A live location arrives as an edit every few seconds.
        return Seen("silent", who.id)
    stamped = message.edit_date or message.date
    return Seen("edited", who.id, message.message_id, int(stamped.timestamp() * 1000), text)


def _stamp(message: Message) -> int:
    return int(message.date.timestamp() * 1000)


def _answers(message: Message) -> int | None:
    """Return the message of ours that it replies to; None if it replies to somebody else."""
    replied = message.reply_to_message
    if replied is None or replied.from_user is None or not replied.from_user.is_bot:
        return None
    return replied.message_id


def _file(message: Message) -> File | None:
    if message.photo:
        best = message.photo[-1]
        return File("photo", best.file_id, best.file_size)
    if message.voice is not None:
        return File("voice", message.voice.file_id, message.voice.file_size)
    for other in (message.document, message.video, message.audio, message.video_note):
        if other is not None:
            is_photo = str(getattr(other, "mime_type", "") or "").startswith("image/")
            return File("photo" if is_photo else "file", other.file_id, other.file_size)
    return None


def _place(message: Message) -> tuple[int, int, str] | None:
    location = message.location
    if location is None:
        return None
    label = "" if message.venue is None else message.venue.title
    return round(location.latitude * UDEG), round(location.longitude * UDEG), label

"""The platform's state: chats, messages, files, and updates a bot has not confirmed."""

import asyncio
import itertools
from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from mimetypes import guess_type
from typing import Any

PRESS_LIVES_S = 150
MESSAGE_LIVES_S = 86_400
Json = dict[str, Any]


def utf16(text: str) -> int:
    """Return a text's length as the platform counts it."""
    return len(text.encode("utf-16-le", "surrogatepass")) // 2


@dataclass
class Chat:
    """One chat as the platform keeps it."""

    id: int
    type: str = "private"
    messages: dict[int, Json] = field(default_factory=dict)
    keyboard: Json | None = None
    blocked: bool = False
    migrated_to: int | None = None
    next_id: int = 1

    def json(self) -> Json:
        """Return it as the platform shows it."""
        name = "first_name" if self.type == "private" else "title"
        return {"id": self.id, "type": self.type, name: f"Person {self.id}"}


@dataclass
class File:
    """A file the platform holds."""

    path: str
    data: bytes
    unique: str
    size: int


class World:
    """The state of the stand-in, and the actions of people in it.

    `clock` gives seconds since 1970; a message carries them whole, as the platform does.
    """

    def __init__(self, bot_id: int, clock: Callable[[], float]) -> None:
        self.clock = clock
        self.me: Json = {
            "id": bot_id, "is_bot": True, "first_name": "Stand-in", "username": "stand_in_bot",
            "can_join_groups": True, "can_read_all_group_messages": False,
            "supports_inline_queries": False,
        }  # fmt: skip
        self.chats: dict[int, Chat] = {}
        self.files: dict[str, File] = {}
        self.presses: dict[str, Json] = {}
        self.allowed: list[str] | None = None
        self.woken = asyncio.Event()
        self._updates: deque[tuple[float, Json]] = deque()
        self._numbers = itertools.count(100_000_001)
        self._press_ids = itertools.count(9_000_000_000_000_000)
        self._file_ids = itertools.count(1)

    # Actions of people.

    def chat(self, number: int, kind: str = "private") -> Chat:
        """Return a chat, made at first mention."""
        return self.chats.setdefault(number, Chat(number, kind))

    def person(self, number: int) -> Json:
        """Return a person as the platform shows them."""
        return {"id": number, "is_bot": False, "first_name": f"Person {number}"}

    def says(
        self, chat: int, text: str | None = None, *, by: int | None = None,
        kind: str = "private", **content: Any,
    ) -> Json:  # fmt: skip
        """Somebody sends a message: text, or any other content."""
        if text is not None:
            content["text"] = text
            if text.startswith("/"):
                entity = {"type": "bot_command", "offset": 0, "length": utf16(text.split()[0])}
                content.setdefault("entities", [entity])
        message = self.message(self.chat(chat, kind), self.person(by or chat), **content)
        self.push("message", message)
        return message

    def sends(self, chat: int, kind: str, data: bytes, **more: Any) -> Json:
        """Somebody sends a photo, a voice note or a document."""
        file = self.new_file(kind, data)
        if kind == "photo":
            return self.says(chat, photo=[{**file, "width": w, "height": w} for w in (90, 1280)],
                             **more)  # fmt: skip
        name = str(more.pop("name", "a.pdf"))
        document = {"file_name": name, "mime_type": guess_type(name)[0]}
        rest = {"duration": 3} if kind == "voice" else document
        return self.says(chat, **{kind: {**file, **rest}}, **more)

    def sends_album(self, chat: int, photos: Sequence[bytes], captions: Sequence[str] = ()) -> str:
        """Somebody sends photos as one: a message for each, and nothing says which is the last."""
        album = str(next(self._press_ids))
        for place, photo in enumerate(photos):
            caption = captions[place] if place < len(captions) else ""
            more = {"caption": caption} if caption else {}
            self.sends(chat, "photo", photo, media_group_id=album, **more)
        return album

    def edits(self, chat: int, message: int, text: str) -> Json:
        """Somebody changes a message of theirs."""
        kept = self.chats[chat].messages
        kept[message] = {**kept[message], "text": text, "edit_date": int(self.clock())}
        self.push("edited_message", kept[message])
        return kept[message]

    def presses_button(
        self, chat: int, message: int, label: str | None = None, *, data: str | None = None,
        by: int | None = None, is_gone: bool = False,
    ) -> str:  # fmt: skip
        """Somebody presses a button, by its label or with forged data; return the press's id.

        Of a message that is gone, deleted or too old, the bot is told its number only.
        """
        shown = self.chats[chat].messages[message]
        rows = shown.get("reply_markup", {}).get("inline_keyboard", [])
        found = {one["text"]: one["callback_data"] for row in rows for one in row}
        number = str(next(self._press_ids))
        self.presses[number] = {"at": self.clock(), "answered": None}
        gone = {"message_id": message, "chat": shown["chat"], "date": 0}
        self.push("callback_query", {
            "id": number, "from": self.person(by or chat), "message": gone if is_gone else shown,
            "chat_instance": str(chat), "data": data if label is None else found[label],
        })  # fmt: skip
        return number

    def blocks(self, chat: int, *, blocked: bool = True) -> None:
        """Somebody blocks the bot, or lets it in again."""
        self.chat(chat).blocked = blocked
        status = {False: "member", True: "kicked"}
        member = {"chat": self.chat(chat).json(), "from": self.person(chat),
                  "date": int(self.clock())}  # fmt: skip
        for name, state in (("old", not blocked), ("new", blocked)):
            more = {"until_date": 0} if state else {}
            member[f"{name}_chat_member"] = {"user": self.me, "status": status[state], **more}
        self.push("my_chat_member", member)

    def takes_into_group(self, group: int, by: int, *, out: bool = False) -> None:
        """Somebody takes the bot into a group, or out of it."""
        chat = self.chat(group, "group")
        members = {True: "left_chat_member", False: "new_chat_members"}
        status = ("member", "left") if out else ("left", "member")
        states = {f"{name}_chat_member": {"user": self.me, "status": one}
                  for name, one in zip(("old", "new"), status, strict=True)}  # fmt: skip
        self.push("my_chat_member", {"chat": chat.json(), "from": self.person(by),
                                     "date": int(self.clock()), **states})  # fmt: skip
        content = {members[out]: self.me if out else [self.me]}
        self.push("message", self.message(chat, self.person(by), **content))

    def upgrades(self, group: int, new: int) -> None:
        """Somebody makes a large group of a group: its chat has a new address."""
        self.chat(group, "group").migrated_to = new
        self.chat(new, "supergroup")
        self.says(group, by=501, migrate_to_chat_id=new)
        self.says(new, by=501, migrate_from_chat_id=group)

    # The bot's view.

    def push(self, kind: str, payload: Json) -> None:
        """Queue an update, as long as the platform keeps one of its kind."""
        if self.allowed and kind not in self.allowed:
            return
        now = self.clock()
        if kind == "callback_query":
            until = now + PRESS_LIVES_S
        else:
            until = payload.get("edit_date", payload.get("date", now)) + MESSAGE_LIVES_S
        self.push_raw({"update_id": next(self._numbers), kind: payload}, until)

    def push_raw(self, update: Json, until: float | None = None) -> None:
        """Queue any update at all, also one that no bot can read."""
        self._updates.append((self.clock() + 86_400 if until is None else until, update))
        self.woken.set()

    def updates(self) -> list[Json]:
        """Return the queued updates that have not expired."""
        now = self.clock()
        self._updates = deque(one for one in self._updates if one[0] > now)
        return [update for _, update in self._updates]

    def confirm(self, offset: int) -> None:
        """Drop the updates before an offset; a negative offset keeps that many."""
        if offset < 0:
            self._updates = deque(list(self._updates)[offset:])
        while self._updates and self._updates[0][1]["update_id"] < offset:
            self._updates.popleft()

    def brought(self, number: int) -> None:
        """Forget an update that a webhook took."""
        self._updates = deque(one for one in self._updates if one[1]["update_id"] != number)

    def message(self, chat: Chat, sender: Json, **content: Any) -> Json:
        """Put a message into a chat."""
        number = chat.next_id
        chat.next_id += 1
        chat.messages[number] = {
            "message_id": number, "from": sender, "chat": chat.json(),
            "date": int(self.clock()), **content,
        }  # fmt: skip
        return chat.messages[number]

    def new_file(self, kind: str, data: bytes) -> Json:
        """Keep a file; return how a message names it."""
        number = next(self._file_ids)
        name = f"FILE{number:06d}-{kind}"
        file = File(f"{kind}/file_{number}", data, f"U{number:06d}", len(data))
        self.files[name] = file
        return {"file_id": name, "file_unique_id": file.unique, "file_size": file.size}

    def from_bot(self, chat: int) -> list[Json]:
        """Return the messages that the bot sent into a chat and did not delete, in order."""
        found = self.chats[chat].messages.values() if chat in self.chats else ()
        return [one for one in found if one["from"]["id"] == self.me["id"]]

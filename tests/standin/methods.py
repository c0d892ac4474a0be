"""The platform's methods, as far as a bot of ours calls them. Texts are plain: no markup."""

import asyncio
import contextlib
import json
import time
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from tests.standin.faults import CONFLICT, ApiError
from tests.standin.world import Chat, Json, World, utf16

if TYPE_CHECKING:
    from tests.standin.limits import Limits

MOST_TEXT, MOST_CAPTION, MOST_DATA, MOST_DOWNLOAD = 4096, 1024, 64, 20 << 20
MOST_UPLOAD, MOST_PHOTO = 50 << 20, 10 << 20
PRESS_ANSWERED_WITHIN_S = 900
NOT_MODIFIED = (
    "Bad Request: message is not modified: specified new message content and reply markup are "
    "exactly the same as a current content and reply markup of the message"
)
HOOKED = (
    "Conflict: can't use getUpdates method while webhook is active; "
    "use deleteWebhook to delete the webhook first"
)
TOO_OLD = "Bad Request: query is too old and response timeout expired or query ID is invalid"
Files = Mapping[str, tuple[str, bytes]]
Given = dict[str, Any]


def number(value: Any) -> int | None:
    try:
        return int(value)
    except (TypeError, ValueError):
        return None


def _json(value: Any) -> Any:
    return json.loads(value) if isinstance(value, str) else value


class Methods:
    """Each coroutine named like a method of the platform, in lower case, is that method."""

    def __init__(self, world: World) -> None:
        self.world = world
        self.strict_poll = True
        self.most_upload = MOST_UPLOAD
        self.limits: Limits | None = None
        self.commands: list[Json] = []
        self.webhook: dict[str, str] = {}
        self.hook_error: Json = {}
        self._poll = 0
        self._last_poll: tuple[int | None, float] = (None, 0.0)

    def end_polls(self) -> None:
        """Let every poll that waits end."""
        self._poll += 1
        self.world.woken.set()

    async def unknown(self, _given: Given, _files: Files) -> None:
        raise ApiError(404, "Not Found: method not found")

    async def getme(self, _given: Given, _files: Files) -> Json:
        return self.world.me

    async def setwebhook(self, given: Given, _files: Files) -> bool:
        url = str(given.get("url") or "")
        if not url.startswith("https://"):
            raise ApiError(400, "Bad Request: bad webhook: an HTTPS URL must be provided")
        self.world.allowed = _json(given.get("allowed_updates") or "null")
        self.webhook = {"url": url, "secret": str(given.get("secret_token") or "")}
        self.end_polls()
        return True

    async def getwebhookinfo(self, _given: Given, _files: Files) -> Json:
        count = len(self.world.updates())
        return {"url": self.webhook.get("url", ""), "has_custom_certificate": False,
                "pending_update_count": count, **self.hook_error}  # fmt: skip

    async def deletewebhook(self, _given: Given, _files: Files) -> bool:
        self.webhook = {}
        return True

    async def setmycommands(self, given: Given, _files: Files) -> bool:
        self.commands = _json(given.get("commands") or "[]")
        return True

    async def getupdates(self, given: Given, _files: Files) -> list[Json]:
        if self.webhook:
            raise ApiError(409, HOOKED)
        offset, limit = number(given.get("offset")) or 0, number(given.get("limit")) or 100
        patience = min(float(given.get("timeout") or 0), 50.0)
        if given.get("allowed_updates") is not None:
            self.world.allowed = _json(given["allowed_updates"]) or None
        patience, limit = self._hammered(offset, patience, limit)
        self.end_polls()
        mine = self._poll
        self.world.confirm(offset)
        ends = time.monotonic() + patience
        while True:
            if mine != self._poll:
                raise ApiError(409, CONFLICT)
            found = self.world.updates()
            left = ends - time.monotonic()
            if found or left <= 0:
                return found[: max(1, min(100, limit))]
            self.world.woken.clear()
            with contextlib.suppress(TimeoutError):
                await asyncio.wait_for(self.world.woken.wait(), left)

    def _hammered(self, offset: int, patience: float, limit: int) -> tuple[float, int]:
        """The real server slows a bot down that asks for the same updates again."""
        before, at = self._last_poll
        now = time.monotonic()
        self._last_poll = (offset, now)
        if offset != before or not self.strict_poll:
            return patience, limit
        return (max(patience, 3.0) if now < at + 3 else patience), (1 if now < at + 0.5 else limit)

    async def sendmessage(self, given: Given, _files: Files) -> Json:
        chat = self._chat(given)
        return self._out(chat, given, text=_text(given, MOST_TEXT))

    async def sendphoto(self, given: Given, files: Files) -> Json:
        chat = self._chat(given)
        file = self._upload("photo", files, MOST_PHOTO)
        return self._out(chat, given, photo=[{**file, "width": 320, "height": 320}],
                         **_caption(given))  # fmt: skip

    async def senddocument(self, given: Given, files: Files) -> Json:
        chat = self._chat(given)
        file = self._upload("document", files)
        name = files["document"][0]
        return self._out(chat, given, document={**file, "file_name": name}, **_caption(given))

    async def sendvoice(self, given: Given, files: Files) -> Json:
        chat = self._chat(given)
        file = self._upload("voice", files)
        return self._out(chat, given, voice={**file, "duration": 3}, **_caption(given))

    async def editmessagetext(self, given: Given, _files: Files) -> Json:
        chat = self._chat(given)
        known = chat.messages.get(number(given.get("message_id")) or -1)
        if known is None:
            raise ApiError(400, "Bad Request: message to edit not found")
        if known["from"]["id"] != self.world.me["id"] or "text" not in known:
            raise ApiError(400, "Bad Request: message can't be edited")
        text, markup = _text(given, MOST_TEXT), _markup(given)
        if text == known.get("text") and markup == known.get("reply_markup"):
            raise ApiError(400, NOT_MODIFIED)
        changed = {**known, "text": text, "edit_date": int(self.world.clock())}
        changed.pop("reply_markup", None)
        if markup:
            changed["reply_markup"] = markup
        chat.messages[known["message_id"]] = changed
        return changed

    async def answercallbackquery(self, given: Given, _files: Files) -> bool:
        press = self.world.presses.get(str(given.get("callback_query_id")))
        if press is None or self.world.clock() - press["at"] > PRESS_ANSWERED_WITHIN_S:
            raise ApiError(400, TOO_OLD)
        press["answered"] = given.get("text") or ""
        return True

    async def getfile(self, given: Given, _files: Files) -> Json:
        file = self.world.files.get(given.get("file_id") or "")
        if file is None:
            raise ApiError(400, "Bad Request: invalid file_id")
        if file.size > MOST_DOWNLOAD:
            raise ApiError(400, "Bad Request: file is too big")
        return {"file_id": given["file_id"], "file_unique_id": file.unique,
                "file_size": file.size, "file_path": file.path}  # fmt: skip

    def _chat(self, given: Given) -> Chat:
        chat = self.world.chats.get(number(given.get("chat_id")) or 0)
        if chat is None:
            raise ApiError(400, "Bad Request: chat not found")
        if chat.blocked:
            raise ApiError(403, "Forbidden: bot was blocked by the user")
        if chat.migrated_to is not None:
            words = "Bad Request: group chat was upgraded to a supergroup chat"
            raise ApiError(400, words, migrate_to_chat_id=chat.migrated_to)
        if self.limits is not None:
            self.limits.count(chat)
        return chat

    def _out(self, chat: Chat, given: Given, **content: Any) -> Json:
        markup = _markup(given)
        if markup and "inline_keyboard" in markup:
            # Only these are shown with the message; the others are the chat's.
            content["reply_markup"] = markup
        elif markup:
            chat.keyboard = None if markup.get("remove_keyboard") else markup
        return self.world.message(chat, self.world.me, **content)

    def _upload(self, name: str, files: Files, most: int = MOST_UPLOAD) -> Json:
        if name not in files or not files[name][1]:
            raise ApiError(400, "Bad Request: file must be non-empty")
        if len(files[name][1]) > most:
            raise ApiError(400, "Bad Request: PHOTO_INVALID_DIMENSIONS")
        if len(files[name][1]) > self.most_upload:
            raise ApiError(413, "Request Entity Too Large")
        return self.world.new_file(name, files[name][1])


def _text(given: Given, most: int) -> str:
    if given.get("parse_mode"):
        raise ApiError(400, "Bad Request: can't parse entities: the stand-in knows plain text")
    text = str(given.get("text") or "")
    if not text.strip():
        raise ApiError(400, "Bad Request: message text is empty")
    if utf16(text) > most:
        raise ApiError(400, "Bad Request: message is too long")
    return text


def _caption(given: Given) -> Json:
    caption = given.get("caption")
    if caption and utf16(caption) > MOST_CAPTION:
        raise ApiError(400, "Bad Request: message caption is too long")
    return {"caption": caption} if caption else {}


def _markup(given: Given) -> Json | None:
    markup: Json | None = _json(given.get("reply_markup") or "null")
    for row in (markup or {}).get("inline_keyboard", ()):
        for button in row:
            if not 0 < len(button.get("callback_data", "").encode()) <= MOST_DATA:
                raise ApiError(400, "Bad Request: BUTTON_DATA_INVALID")
    return markup

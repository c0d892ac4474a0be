"""Files on their way: fetched while the conversation goes on, an album as a whole.

The platform sends an album as a message for each file, and never says which is the last. They are
gathered until none has come for a moment, and answered once. Meanwhile they are safe in the inbox:
after a restart they are gathered again. Danger in a caption waits for no file, nor do words sent
after files: each message is applied at once, in the order sent, and the job is told of the file
when it arrives.
"""

import asyncio
import logging
from collections.abc import Callable, Coroutine, Sequence
from dataclasses import replace
from typing import Any, cast

from telegram.error import TelegramError

from bot.channels.telegram.intake import Brought, Intake
from bot.channels.telegram.media import NoFileError, fetch
from bot.channels.telegram.transport import Api
from bot.channels.telegram.updates import File, Seen
from bot.desk.company import Company
from bot.record.errors import StoreError
from bot.record.media import (
    FileRefusedError,
    Media,
    MediaKind,
    intact,
    keep_bytes,
    media_path,
)
from bot.record.rows import Message, Reply
from flows.job.events import Spoken
from flows.turn.reading_messages import tells_danger

LOG = logging.getLogger(__name__)
FETCH_TRIES, FETCH_WAIT_S = 6, 1.0
pause = asyncio.sleep
QUIET_S = 1.5
"""An album is complete after so long without another file: our own figure [s]."""

LARGEST_ALBUM = 10
"""The most files in an album: the platform's own limit."""

Feed = Callable[[Sequence[Reply]], None]
Part = tuple[Message, Seen]
Owed = tuple[int, int, File]
"""A job, its entry that recorded the receipt of a file, and the file."""


class Files:
    """Fetches files and applies their messages.

    Parameters
    ----------
    company, api, intake
        The company, the platform, and the way into the desk.
    feed
        Takes replies to send.
    """

    def __init__(self, company: Company, api: Api, intake: Intake, feed: Feed) -> None:
        self._store, self._desk, self._clock = company.store, company.desk, company.clock
        self._folder = company.store.folder
        self._company = company
        self._api = api
        self._intake = intake
        self._feed = feed
        self._albums: dict[tuple[str, str], list[Part]] = {}
        self._late: set[tuple[int, int]] = set()
        self._over = set(company.store.jobs_lacking_files())
        self._waiting: dict[int, Part] = {}
        self.fetching: set[int] = set()

    def take(self, row: Message, seen: Seen) -> Coroutine[Any, Any, None] | None:
        """Take a message with a file; return the work that remains, None if already begun."""
        self.fetching.add(row.id)
        self._waiting[row.id] = (row, seen)
        if seen.album is None:
            return self._applied([(row, seen)])
        key = (row.chat, seen.album)
        if key in self._albums:
            self._albums[key].append((row, seen))
            return None
        self._albums[key] = [(row, seen)]
        return self._gathered(key)

    def warned(self, row: Message, seen: Seen) -> bool:
        """Apply a message whose caption says danger ahead of its file; return False for others."""
        file = seen.file
        if file is None or file.kind == "voice" or not tells_danger(seen.text or "", None):
            return False
        self._settle(row, seen, Brought(Media(file.kind, ref=file.id), is_part=True))
        return True

    def hasten(self, chat: str) -> bool:
        """Apply the files a chat sent before its words, arrived or not; say if there were any.

        Voice notes are left out: once heard, they are words themselves.
        """
        parts = [
            (row, seen, seen.file) for row, seen in self._waiting.values()
            if row.chat == chat and seen.file is not None and seen.file.kind != "voice"
        ]  # fmt: skip
        for row, seen, file in parts:
            del self._waiting[row.id]
            self._settle(row, seen, Brought(Media(file.kind, ref=file.id), is_part=True))
        return bool(parts)

    def owed(self) -> list[Owed]:
        """Return the files that jobs wait for and nobody fetches, by job and receipt.

        A job that has ended meanwhile gets them as well, or hears that they are lost.
        """
        jobs = sorted({*self._store.open_jobs(), *self._over})
        waiting = [
            (number, receipt, File(cast("MediaKind", media.kind), media.ref, None))
            for number in jobs
            for receipt, media in self._desk.job(number).receipts.items() if media.ref
        ]  # fmt: skip
        self._over = {number for number, _, _ in waiting}
        found = [one for one in waiting if one[:2] not in self._late]
        self._late |= {(number, receipt) for number, receipt, _ in found}
        return found

    async def fetch_late(self, owed: Sequence[Owed]) -> None:
        """Fetch files whose messages are already applied, and tell their jobs."""
        try:
            for number, receipt, file in owed:
                brought = await self._kept(file)
                at = self._clock.now()
                self._feed(self._desk.fetched(number, receipt, brought.media, at))
        finally:
            self._late -= {(number, receipt) for number, receipt, _ in owed}

    async def _gathered(self, key: tuple[str, str]) -> None:
        """Wait until an album is complete, then apply it."""
        count = 0
        while count < len(self._albums[key]) < LARGEST_ALBUM:
            count = len(self._albums[key])
            await pause(QUIET_S)
        await self._applied(self._albums.pop(key))

    async def _applied(self, parts: Sequence[Part]) -> None:
        """Fetch the files of an album, or a single file, and apply their messages."""
        try:
            found = await asyncio.gather(*(self._brought(seen) for _, seen in parts))
            self._settle_all(list(zip(parts, found, strict=True)))
        finally:
            self.fetching -= {row.id for row, _ in parts}
            for row, _ in parts:
                self._waiting.pop(row.id, None)

    def _settle_all(self, album: list[tuple[Part, Brought]]) -> None:
        """Apply messages that still wait: missing files first, messages with words last.

        The last is answered. Of the others, only the first file missing for some reason is.
        """
        ready = sorted((found for found in album if found[0][0].id in self._waiting), key=_rank)
        if not ready:
            return
        *others, ((last, seen), brought) = ready
        told = {brought.no_file, ""}
        for (row, part), other in others:
            self._settle(row, part, replace(other, is_part=other.no_file in told))
            told.add(other.no_file)
        self._settle(last, seen, brought)

    def _settle(self, row: Message, seen: Seen, brought: Brought) -> None:
        try:
            self._feed(self._intake.settle(row, seen, brought))
        except StoreError:
            raise
        except Exception:
            LOG.exception("update %s cannot be applied; it is quarantined", row.id)
            self._feed(self._intake.set_apart(row))

    async def _brought(self, seen: Seen) -> Brought:
        """Fetch a message's file, and hear it if it is a voice note."""
        if seen.file is None:
            return Brought()
        brought = await self._kept(seen.file)
        if brought.media is None:
            return brought
        return replace(brought, spoken=await self._listened(seen, brought.media))

    async def _kept(self, file: File) -> Brought:
        try:
            return Brought(keep_bytes(self._folder, file.kind, await self._fetched(file)))
        except NoFileError as error:
            return Brought(no_file=str(error))
        except FileRefusedError:
            return Brought(no_file="wrong_file")

    async def _fetched(self, file: File) -> bytes:
        for again in range(FETCH_TRIES):
            try:
                return await fetch(self._api, file)
            except TelegramError as error:
                LOG.warning("a file did not come: %s", type(error).__name__)
                await asyncio.sleep(FETCH_WAIT_S * 2**again)
        raise NoFileError("no_file")

    async def _listened(self, seen: Seen, media: Media) -> Spoken | None:
        """Hear a voice note in a thread, under the question its sender is asked now."""
        ears = self._company.ears
        if ears is None or media.kind != "voice":
            return None
        prompt = self._intake.asked(seen)
        path = intact(media_path(self._folder, media.sha256), media.sha256)
        if path is None:
            return None
        return await asyncio.to_thread(ears.heard, path, prompt, self._company.book)


def _rank(found: tuple[Part, Brought]) -> tuple[bool, bool]:
    (_, seen), brought = found
    return brought.media is not None, bool(seen.text)

"""The board: a message per job in each dispatcher's chat, edited as the job moves on."""

import asyncio
import logging
from collections.abc import Awaitable, Callable
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from telegram import Bot
from telegram.error import BadRequest, TelegramError

from bot.channels.shown import without_hidden
from bot.channels.telegram.sending import LONGEST, NO_PREVIEW, within
from bot.desk.company import Company
from bot.desk.crew import Member
from bot.record.errors import StoreError
from flows.job.state import Job
from flows.telling.saying import fill
from flows.texts import air_texts

LOG = logging.getLogger(__name__)
REST_S = 3.0

Wait = Callable[[], Awaitable[None]]


class Board:
    """Shows the state of each job.

    Parameters
    ----------
    company
        Whose jobs they are.
    bot
        The library's bot.
    wait
        Waits until a message may go at the rate for all chats, after alarms.
    """

    def __init__(self, company: Company, bot: Bot, wait: Wait) -> None:
        self._company = company
        self._bot = bot
        self._wait = wait
        self._shown: dict[tuple[int, str], str] = {}
        self._moved = asyncio.Event()

    def touch(self) -> None:
        """Note that a job has moved on."""
        self._moved.set()

    async def run(self) -> None:
        """Show jobs that moved on, at most every few seconds."""
        while True:
            await self._moved.wait()
            self._moved.clear()
            await self.show()
            await asyncio.sleep(REST_S)

    async def show(self) -> None:
        """Bring the message of every job that moved on up to date in all dispatchers' chats."""
        known = self._company.store.boards()
        dispatchers = self._dispatchers()
        for number, state in self._company.store.jobs().items():
            for member in dispatchers:
                key = number, member.chat
                if state == "open" or key in self._shown or key in known:
                    await self._refresh(key, member, known.get(key))

    def _dispatchers(self) -> list[Member]:
        members = self._company.crew.members.values()
        return [member for member in members if member.role == "dispatcher" and member.account]

    async def _refresh(self, key: tuple[int, str], member: Member, sent_as: str | None) -> None:
        text = self._text(key[0])
        if self._shown.get(key) != text:
            await self._put(key, member, text, sent_as)

    async def _put(
        self, key: tuple[int, str], member: Member, text: str, sent_as: str | None
    ) -> None:
        await self._wait()
        address = int((member.account or "0").rpartition(":")[2])
        try:
            if sent_as is None or not await self._edited(address, sent_as, text):
                message = await self._bot.send_message(
                    address, text, link_preview_options=NO_PREVIEW, disable_notification=True
                )
                self._company.store.keep_board(*key, str(message.message_id))
            self._shown[key] = text
        except (TelegramError, StoreError) as error:
            LOG.warning("a job's message is not up to date: %s", type(error).__name__)

    async def _edited(self, address: int, sent_as: str, text: str) -> bool:
        """Edit a message; return False if it is gone."""
        try:
            await self._bot.edit_message_text(
                text, address, int(sent_as), link_preview_options=NO_PREVIEW
            )
        except BadRequest as error:
            return "not modified" in error.message.lower()
        return True

    def _text(self, number: int) -> str:
        job = self._company.desk.job(number)
        texts = air_texts()["board"]
        driver = self._company.crew.members.get(job.at_vehicle or "")
        given = {
            "number": str(number),
            "driver": texts["nobody"] if driver is None else driver.name,
            "verdict": job.verdict or texts["no_margin"],
            "heard": self._clock(job),
        }
        text = fill(texts["ended" if job.ended else "job"], job, given)
        return within(without_hidden(text), LONGEST)

    def _clock(self, job: Job) -> str:
        at = job.last_heard
        if at is None:
            return str(air_texts()["board"]["never"])
        zone = ZoneInfo(self._company.zone)
        return datetime.fromtimestamp(at.wall_ms / 1000, UTC).astimezone(zone).strftime("%H:%M")

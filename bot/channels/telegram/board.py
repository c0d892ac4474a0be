"""The board: a message per job in each dispatcher's chat, edited as the job moves on.

Edits count as messages at the platform, so they go at a rate of their own for each chat, never
while replies wait there, and a job that moved on twice in between is edited once.
"""

import asyncio
import logging
from collections.abc import Awaitable, Callable, Iterable, Mapping
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from telegram import Bot
from telegram.error import BadRequest, RetryAfter, TelegramError

from bot.channels.telegram.pacing import Bucket, Pace
from bot.channels.telegram.sending import LONGEST, NO_PREVIEW, within
from bot.channels.telegram.transport import seconds_to_wait
from bot.desk.company import Company
from bot.desk.crew import Member
from bot.desk.job_lines import how_ended
from bot.record.errors import StoreError
from flows.job.state import Job
from flows.telling.saying import fill
from flows.texts import air_texts
from flows.texts.visible import visible_lines

LOG = logging.getLogger(__name__)
REST_S = 3.0
AGAIN_S = 30.0
"""A message that could not be edited is tried again after so long [s]."""

OLD_MS = 24 * 3_600_000
"""A job that ended so long ago keeps the message it has: nobody looks at it any more [ms]."""

Wait = Callable[[], Awaitable[None]]
Spare = Callable[[str], float]
Key = tuple[int, str]


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
    spare
        Says how long to wait until a chat has room for a message that is no reply [s].
    pace
        The rates, and the clock they go by.
    """

    def __init__(
        self, company: Company, bot: Bot, wait: Wait, spare: Spare, pace: Pace | None = None
    ) -> None:
        self._company = company
        self._bot = bot
        self._wait = wait
        self._spare = spare
        self._pace = pace or Pace()
        self._shown: dict[Key, str] = {}
        self._buckets: dict[str, Bucket] = {}
        self._resting: dict[str, float] = {}
        self._edited_at: dict[Key, float] = {}
        self._moved = asyncio.Event()
        self._is_started = False

    def touch(self) -> None:
        """Note that a job has moved on."""
        self._moved.set()

    async def run(self) -> None:
        """Show jobs that moved on, as fast as each chat takes it."""
        wait_s: float = 0
        while True:
            try:
                async with asyncio.timeout(wait_s or None):
                    await self._moved.wait()
            except TimeoutError:
                LOG.debug("a job's message is still behind")
            self._moved.clear()
            wait_s = await self.show()
            await self._pace.sleep(REST_S)

    async def show(self) -> float:
        """Bring the messages of jobs that moved on up to date, as far as there is room.

        Returns
        -------
        float
            How long to wait before the rest can go [s]; 0 if nothing is left.
        """
        if not self._is_started:
            self._forget_old()
        known, wait_s = self._company.store.boards(), 0.0
        jobs = self._company.store.jobs()
        texts = {job: self._text(job) for job in _shown(jobs, known)}
        for member in self._dispatchers():
            mine = {job: text for job, text in texts.items()
                    if jobs[job] == "open" or (job, member.chat) in known}  # fmt: skip
            wait_s = max(wait_s, await self._show_to(member, mine, known))
        return wait_s

    async def _show_to(
        self, member: Member, texts: dict[int, str], known: Mapping[Key, str]
    ) -> float:
        """Bring one chat up to date, as `show`."""
        wait_s = 0.0
        for number in self._behind(member, texts):
            left_s = self._room(member.chat)
            if left_s:
                return max(wait_s, left_s)
            key = number, member.chat
            await self._put(key, member, texts[number], known.get(key))
            wait_s = max(wait_s, self._resting.get(member.chat, 0.0) - self._pace.now())
        return wait_s

    def _forget_old(self) -> None:
        """Leave the messages of jobs that ended long ago as they are."""
        self._is_started = True
        jobs, store = self._company.store.jobs(), self._company.store
        ended = {job for job, _ in store.boards() if jobs.get(job) != "open"}
        before_ms = self._company.clock.now().wall_ms - OLD_MS
        store.forget_boards(job for job in ended if store.last_written_ms(job) < before_ms)

    def _behind(self, member: Member, texts: dict[int, str]) -> list[int]:
        """Return the jobs whose message is not up to date, the one edited longest ago first."""
        found = [job for job, text in texts.items() if self._shown.get((job, member.chat)) != text]
        return sorted(found, key=lambda job: self._edited_at.get((job, member.chat), 0.0))

    def _room(self, chat: str) -> float:
        """Return how long to wait until a chat has room for an edit [s]; 0 takes the room."""
        now = self._pace.now()
        rests = self._resting.get(chat, 0.0) - now
        if rests > 0:
            return rests
        rates = self._pace.rates
        bucket = self._buckets.setdefault(chat, Bucket(rates.board_per_s, rates.board_burst))
        return self._spare(chat) or bucket.take(now)

    def _dispatchers(self) -> list[Member]:
        members = self._company.crew.members.values()
        return [member for member in members if member.role == "dispatcher" and member.account]

    async def _put(self, key: Key, member: Member, text: str, sent_as: str | None) -> None:
        await self._wait()
        address = int((member.account or "0").rpartition(":")[2])
        self._edited_at[key] = self._pace.now()
        try:
            if sent_as is None or not await self._edited(address, sent_as, text):
                message = await self._bot.send_message(
                    address, text, link_preview_options=NO_PREVIEW, disable_notification=True
                )
                self._company.store.keep_board(*key, str(message.message_id))
            self._shown[key] = text
            if self._company.store.jobs().get(key[0]) != "open":
                # It says that it has ended: from now on it is left alone.
                self._company.store.forget_boards([key[0]], key[1])
        except RetryAfter as error:
            self._resting[key[1]] = self._pace.now() + seconds_to_wait(error)
        except (TelegramError, StoreError) as error:
            LOG.warning("a job's message is not up to date: %s", type(error).__name__)
            self._resting[key[1]] = self._pace.now() + AGAIN_S

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
        job, lines = self._company.desk.job(number), self._company.desk.lines
        texts, asked = air_texts()["board"], lines.asked(number)
        nobody = texts["asked"].format(name=asked) if asked else texts["nobody"]
        given = {
            **lines.slots(job),
            "driver": lines.driver(job) or nobody,
            "verdict": job.verdict or texts["no_margin"],
            "heard": self._clock(job),
            "how": how_ended(job),
        }
        text = fill(texts["ended" if job.ended else "job"], job, given)
        return within(visible_lines(text), LONGEST)

    def _clock(self, job: Job) -> str:
        at = job.last_heard
        if at is None:
            return str(air_texts()["board"]["never"])
        zone = ZoneInfo(self._company.zone)
        return datetime.fromtimestamp(at.wall_ms / 1000, UTC).astimezone(zone).strftime("%H:%M")


def _shown(jobs: Mapping[int, str], known: Iterable[Key]) -> set[int]:
    """Return the jobs with a message: those that have one, and those that are open."""
    return {job for job, _ in known} | {job for job in jobs if jobs[job] == "open"}

"""Phones at the stand-in, and the bot's whole service behind it, stepped by the test.

Nothing here is a mock: updates are polled and replies are sent over HTTP on loopback. Only the
clock is given, and the poller is asked once at a time, so that a test never sleeps.
"""

import asyncio
from dataclasses import replace
from pathlib import Path
from typing import Any, Self
from zoneinfo import ZoneInfo

from bot.channels.telegram import CHANNEL
from bot.channels.telegram.intake import account_of
from bot.channels.telegram.pacing import Pace, Rates
from bot.channels.telegram.service import Service
from bot.channels.telegram.transport import Api
from bot.channels.telegram.webhook import Hook
from bot.commands.bootstrap import book_for, open_desk, scripted
from bot.commands.demo import START_MS
from bot.commands.proving import make_packet
from bot.desk.batches import Cause
from bot.desk.company import Company
from bot.machine.clock import offsets_at
from bot.machine.settings import Settings
from bot.record.rows import COMPANY, Chat, NewEntry
from bot.record.schema import Connect
from flows.job.entries import Private
from flows.job.events import Moment
from tests.bot.scripted import quick
from tests.standin.server import StandIn

UNHURRIED = Rates(all_per_s=1e6, all_burst=10**6, chat_per_s=1e6, chat_burst=10**6,
                  board_per_s=1e6, board_burst=10**6)  # fmt: skip
UNBOUNDED = replace(UNHURRIED, said_per_s=1e6, said_burst=10**6)
"""Besides, people may say as much at once as a recorded conversation does."""
FIRST_ACCOUNT = 501
ZONE = "America/Denver"


class GivenClock:
    """A clock that a test moves."""

    def __init__(self, at: Moment) -> None:
        self.at = at

    def now(self) -> Moment:
        return self.at

    def seconds(self) -> float:
        return self.at.wall_ms / 1000

    def to(self, mono_ns: int) -> None:
        """Let time pass until a moment of the boot clock."""
        passed = mono_ns - self.at.mono_ns
        self.at = replace(self.at, wall_ms=self.at.wall_ms + passed // 1_000_000, mono_ns=mono_ns)


START = Moment(START_MS, 3_600_000_000_000, "boot-1", offsets_at(ZoneInfo(ZONE), START_MS))


class Phones:
    """The crew's phones, the stand-in, and the service; use as an async context."""

    def __init__(
        self, folder: Path, clock: GivenClock | None = None, *, pace: Pace | None = None,
        connection: Connect = quick, hook: Hook | None = None,
    ) -> None:  # fmt: skip
        self.clock = clock or GivenClock(START)
        self.platform = StandIn(clock=self.clock.seconds)
        self.platform.methods.strict_poll = False
        self._settings = Settings(folder)
        self._book = book_for(self._settings)
        self._pace = pace or Pace(UNBOUNDED)
        self._connection = connection
        self._hook = hook
        self.accounts: dict[str, int] = {}

    async def __aenter__(self) -> Self:
        await self.platform.start()
        await self.start()
        return self

    async def __aexit__(self, *_: object) -> None:
        await self.stop()
        await self.platform.stop()

    async def start(self) -> None:
        """Start the service on the folder."""
        desk, self.store = open_desk(
            self._settings, self._book, CHANNEL, secrets=scripted("1"), connection=self._connection
        )
        zone = self._book.library.company.zone
        self.company = Company(
            self._book,
            desk,
            self.store,
            self.clock,
            zone,
            CHANNEL,
            b"key of the test",
            lambda job, out: make_packet(self._settings, job, out, max, seed="1"),
            desk.ears,
        )
        self.api = Api(self.platform.token, self.platform.base)
        await self.api.open()
        self.service = Service(self.company, self.api, self._pace, self._hook)
        self.service.name("stand_in_bot")
        self.service.poller.patience_s = 0
        self.service.start()
        if self.service.webhook is not None:
            await self.service.webhook.open()
            await self.service.webhook.once()
        await self.service.lanes.idle()

    async def stop(self) -> None:
        if self.service.webhook is not None:
            await self.service.webhook.close()
        await self.service.lanes.stop(1.0)
        await self.api.close()
        self.store.close()

    async def restart(self) -> None:
        await self.stop()
        await self.start()

    def enrol(self, chat: str, number: int | None = None) -> int:
        """Enrol somebody as an owner's approval does; return their account."""
        if chat in self.accounts:
            return self.accounts[chat]
        number = number or FIRST_ACCOUNT + len(self.accounts)
        role, _, name = chat.partition(":")
        person = f"p{len(self.store.chats()) + 1}"
        body = {"person": person, "role": role, "name": Private(name),
                "account": Private(account_of(number))}  # fmt: skip
        entry = NewEntry(COMPANY, "enrolled", body, by=person)
        self.company.messages.write(
            Cause(self.clock.now()), (), [entry], [Chat(chat, person, role)]
        )
        self.company.crew.refresh()
        self.platform.world.chat(number)
        self.accounts[chat] = number
        return number

    async def hears(self) -> None:
        """Let the service poll once, and send all that it leads to."""
        if self.service.webhook is not None:
            answers = await self.platform.brings(self.service.webhook.address)
            assert set(answers) <= {200}, answers
        else:
            wait = await self.service.poller.once()
            assert not wait, "the poll failed"
        await self.settled()

    def unread(self) -> list[dict[str, Any]]:
        """Return the updates that the service has not asked for yet."""
        offset = self.service.poller.offset
        return [one for one in self.platform.world.updates() if one["update_id"] >= offset]

    async def settled(self) -> None:
        """Wait for everything that runs besides the conversation."""
        while self.service.busy():
            await asyncio.sleep(0)
        await self.service.lanes.idle()

    async def say(self, chat: str, text: str | None = None, **content: Any) -> dict[str, Any]:
        message = self.platform.world.says(self.enrol(chat), text, **content)
        await self.hears()
        return message

    async def press(self, chat: str, label: str, message: int | None = None, **more: Any) -> str:
        """Press a button of the newest message that has it, or of a given one."""
        account = self.enrol(chat)
        if message is None:
            message = next(m["message_id"] for m in reversed(self.messages(chat))
                           if label in buttons(m))  # fmt: skip
        press = self.platform.world.presses_button(account, message, label, **more)
        await self.hears()
        return press

    async def wait(self, seconds: float) -> None:
        """Let time pass; every timer fires at its own time."""
        await self.wait_until(self.clock.at.mono_ns + round(seconds * 1e9))

    async def wait_until(self, mono_ns: int) -> None:
        while (due := self.company.desk.next_due(self.clock.now())) is not None and due <= mono_ns:
            self.clock.to(max(due, self.clock.at.mono_ns))
            self.service.tick(self.clock.now())
            await self.service.lanes.idle()
        self.clock.to(mono_ns)
        self.clock.at = replace(self.clock.at, offsets=self._offsets())

    def _offsets(self) -> tuple[tuple[int, int], ...]:
        return offsets_at(ZoneInfo(self.company.zone), self.clock.at.wall_ms)

    def messages(self, chat: str) -> list[dict[str, Any]]:
        return self.platform.world.from_bot(self.accounts[chat])

    def texts(self, chat: str) -> list[str]:
        """Return the texts and captions that the bot sent to somebody, in order."""
        return [one.get("text") or one.get("caption", "") for one in self.messages(chat)]

    def last(self, chat: str) -> str:
        return self.texts(chat)[-1]

    def entries(self, job: int) -> list[dict[str, Any]]:
        return self.store.entries(job)


def buttons(message: dict[str, Any]) -> list[str]:
    rows = message.get("reply_markup", {}).get("inline_keyboard", [])
    return [one["text"] for row in rows for one in row]

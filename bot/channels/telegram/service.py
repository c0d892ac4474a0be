"""The service: poller, intake, timers and lanes together in one loop."""

import asyncio
import contextlib
import logging
from collections.abc import Awaitable, Iterable
from datetime import UTC, datetime
from itertools import groupby
from typing import Any
from zoneinfo import ZoneInfo

from bot.channels.telegram.board import Board
from bot.channels.telegram.contact import Contact
from bot.channels.telegram.dispatch import Dispatch
from bot.channels.telegram.ending import ended
from bot.channels.telegram.files import Files
from bot.channels.telegram.front_desk import FrontDesk
from bot.channels.telegram.intake import Brought, Intake, account_of
from bot.channels.telegram.lanes import Lanes
from bot.channels.telegram.pacing import Pace
from bot.channels.telegram.poller import Poller
from bot.channels.telegram.sending import Outcome, Queued, Sender
from bot.channels.telegram.transport import Api
from bot.channels.telegram.updates import Seen
from bot.channels.telegram.webhook import Hook, Webhook, secret_of
from bot.channels.waiting import RETRY_S, Timers
from bot.desk.batches import Cause
from bot.desk.company import Company
from bot.desk.outgoing import line
from bot.machine.png import png_of
from bot.record.errors import StoreError
from bot.record.media import drawing_path, intact
from bot.record.rows import Message, Moment, Reply
from bot.voice.speak import Speaker
from flows.hearing.alarms import danger_in
from flows.texts import air_texts

LOG = logging.getLogger(__name__)
STOP_S, END_S = 3.0, 1.0
"""How long replies on their way may take at a stop, and loops to end [s]."""

AT_ONCE = 10
"""Messages applied at a time: replies never wait for a hundred messages that came together."""
LINK = "https://t.me/{name}?start={token}"


class SecondProgramError(Exception):
    """Another program serves the same bot."""


class Service:
    """Serves one company's bot at the platform.

    Parameters
    ----------
    company
        The company whose bot it is.
    api
        The platform.
    pace
        How fast it sends.
    hook
        The address for updates; None to poll for them.
    """

    def __init__(
        self, company: Company, api: Api, pace: Pace | None = None, hook: Hook | None = None
    ) -> None:
        pace = pace or Pace()
        self._sleep = pace.sleep
        self._company = company
        self._api = api
        self._bot_name = ""
        self._dispatch = Dispatch(company)
        self._sender = Sender(api, company.key, self._dispatch.attachment)
        self.front_desk = FrontDesk(company, self._dispatch, self._say, self.link)
        self.intake = Intake(company, self.front_desk, api.bot, pace)
        self.lanes = Lanes(company.store, self._send, self._address, self._closed, pace)
        self._speaker, self._speaking = Speaker(), asyncio.Lock()
        self.board = Board(company, api.bot, self.lanes.wait, self.lanes.spare, pace)
        contact = Contact(company.clock, self._silence)
        self.poller = Poller(api, self.take, contact)
        self.webhook = None if hook is None else Webhook(
            api, hook, secret_of(company.key), self.take, contact
        )  # fmt: skip
        self._timers = Timers(self, company.clock)
        self._wake = asyncio.Event()
        self._aside: set[asyncio.Task[None]] = set()
        self._files = Files(company, api, self.intake, self._feed)
        self._draining: asyncio.Task[None] | None = None

    def name(self, bot_name: str) -> None:
        """Set the bot's name at the platform, which is part of links."""
        self._bot_name = bot_name

    def owner_link(self) -> str | None:
        """Return a new link for the first owner; None if there is an owner."""
        if self._company.crew.owners():
            return None
        return self.link(self.front_desk.owner_token(self._company.clock.now()))

    def link(self, token: str) -> str:
        """Return the link for a one-time token."""
        return LINK.format(name=self._bot_name, token=token)

    async def run(self, stop: asyncio.Event) -> None:
        """Catch up, then serve until told to stop; stopping takes at most a few seconds.

        Raises
        ------
        SecondProgramError
            If another program serves the same bot: then nothing was taken and nothing sent.
        """
        if self.webhook is None and not await self._is_alone(stop):
            raise SecondProgramError(air_texts()["start"]["second"])
        # The tables of words are read before anybody speaks: nobody's first word waits for them.
        danger_in(("in",))
        self.start()
        if self.webhook is not None:
            await self.webhook.open()
        comes_in = self.poller if self.webhook is None else self.webhook
        loops = (comes_in.run(), self._ticking(), self.board.run())
        tasks = [asyncio.create_task(one) for one in loops]
        try:
            await stop.wait()
        finally:
            if self.webhook is not None:
                await self.webhook.close()
            await ended([*tasks, *self._aside], END_S)
            await self.lanes.stop(STOP_S)

    async def _is_alone(self, stop: asyncio.Event) -> bool:
        """Say whether no other program serves this bot, unless it is to stop before that."""
        looks, stops = (
            asyncio.create_task(self.poller.is_alone()),
            asyncio.create_task(stop.wait()),
        )
        await asyncio.wait({looks, stops}, return_when=asyncio.FIRST_COMPLETED)
        found = not looks.done() or looks.result()
        for task in (looks, stops):
            task.cancel()
        await asyncio.gather(looks, stops, return_exceptions=True)
        return found

    def start(self) -> None:
        """Send and apply the messages an earlier process left, and say where the jobs are."""
        tried = self._company.store.tried(self._company.clock.now().boot)
        self.lanes.feed(self._company.store.pending(), repeats=tried)
        self.drain(None)
        self._fetch_owed()
        self._timers.fire()
        self._feed(self._company.desk.welcome_back(self._company.clock.now()))
        for person in self._company.crew.gone:
            self._feed(self._company.desk.driver_gone(person, self._company.clock.now()))

    # In.

    def busy(self) -> bool:
        """Say whether something runs besides the conversation, such as fetching a file."""
        return bool(self._aside)

    def take(self, updates: list[dict[str, Any]]) -> None:
        """Keep updates and apply them; on return they are on disk, applied or not.

        Raises
        ------
        StoreError
            If an update could not be kept: neither are those after it, and all come again.
        """
        now = self._company.clock.now()
        for is_ours, some in groupby(updates, self.intake.is_ours):
            # The crew's in one write; a stranger's invite is a commit of its own.
            with self._company.store.at_once() if is_ours else contextlib.nullcontext():
                for update in some:
                    self.intake.keep(update, now)
        self._feed_owed()
        self.drain()
        self._company.store.sync()

    def drain(self, at_once: int | None = AT_ONCE) -> None:
        """Apply messages that are safe and not settled, in order of receipt.

        If the record refuses, try again later.

        Parameters
        ----------
        at_once
            The most to apply before replies are sent; None for all.
        """
        try:
            wait_s = self._apply_waiting(at_once)
            if wait_s is not None:
                self._drain_later(wait_s)
        except StoreError:
            LOG.exception("messages wait")
            self._drain_later(RETRY_S)
        self._wake.set()

    def _apply_waiting(self, at_once: int | None) -> float | None:
        """Apply messages that wait; return how long to wait for the rest [s], None for no rest."""
        count, rests = 0, []
        self.intake.begin()
        for row in self._company.store.unfinished():
            if not self._is_free(row):
                continue
            if count == at_once:
                return 0.0
            wait_s = self.intake.rests(row)
            if wait_s:
                rests.append(wait_s)
                continue
            self._apply_or_set_apart(row)
            count += 1
        self._feed(self.intake.slow_down())
        return min(rests, default=None)

    def _is_free(self, row: Message) -> bool:
        return row.id not in self._files.fetching

    def _apply_or_set_apart(self, row: Message) -> None:
        """Apply a message; if it cannot be, it does not hold up those after it."""
        try:
            self._apply(row)
        except StoreError:
            raise
        except Exception:
            LOG.exception("update %s cannot be applied; it is quarantined", row.id)
            self._feed(self.intake.set_apart(row))

    def _apply(self, row: Message) -> None:
        seen = self.intake.read(row)
        if seen is None:
            self._feed(self.intake.set_apart(row))
            return
        self._is_there(seen)
        if seen.what == "pressed":
            self._do_aside(self._sender.heard_press(seen.press))
            proved = self.intake.proves(seen)
            if proved is not None:
                self.lanes.arrived(proved)
        if seen.file is not None:
            self._apply_file(row, seen)
            return
        if self._files.hasten(row.chat):
            self._fetch_owed()
        self._feed(self.intake.settle(row, seen))

    def _is_there(self, seen: Seen) -> None:
        """Send what was kept back while somebody took nothing from us, who is there again."""
        member = self._company.crew.by_account(account_of(seen.account))
        if member is not None and seen.what not in {"blocked", "in_group", "silent"}:
            self.lanes.reopen(member.chat)

    def _apply_file(self, row: Message, seen: Seen) -> None:
        if self.intake.is_full(seen):
            self._feed(self.intake.settle(row, seen, Brought(no_file="files_full")))
        elif self._files.warned(row, seen):
            self._fetch_owed()
        elif (work := self._files.take(row, seen)) is not None:
            self._do_aside(self._brought(work))

    def _fetch_owed(self) -> None:
        owed = self._files.owed()
        if owed:
            self._do_aside(self._brought(self._files.fetch_late(owed)))

    async def _brought(self, work: Awaitable[None]) -> None:
        """Wait for files to come; if the record refuses, try again later."""
        try:
            await work
        except StoreError:
            LOG.exception("a file's message waits")
            self._drain_later(RETRY_S)

    def _drain_later(self, wait_s: float) -> None:
        async def later() -> None:
            await (self._sleep(wait_s) if wait_s else asyncio.sleep(0))
            self._draining = None
            self.drain()
            if wait_s:
                self._fetch_owed()

        if self._draining is None:
            self._draining = self._do_aside(later())

    # Out.

    def _feed(self, replies: Iterable[Reply]) -> None:
        self.lanes.feed(replies)
        self._feed_owed()
        self._wake.set()
        self.board.touch()

    def _feed_owed(self) -> None:
        owed, self.front_desk.owed = self.front_desk.owed, []
        self.lanes.feed(owed)

    async def _send(self, queued: Queued, address: int) -> Outcome:
        """Send a reply, to its chat's new address if it moved."""
        outcome = await self._sender.send(queued, address)
        if outcome.moved_to is not None:
            try:
                self._feed(self.front_desk.moved(address, outcome.moved_to, self._now()))
            except StoreError:
                LOG.exception("a chat's new address is not noted yet")
                return Outcome("wait", wait_s=RETRY_S)
            address = outcome.moved_to
            outcome = await self._sender.send(queued, address)
        if outcome.how == "sent":
            self._accompany(queued, address, outcome)
        return outcome

    def _accompany(self, queued: Queued, address: int, sent: Outcome) -> None:
        """Send a reply's voice note, if its chat wants that, and its drawing, outside the lane."""
        body = queued.reply.body
        if self._is_spoken_to(queued.reply.chat) and sent.sent_as and not queued.is_repeat:
            self._do_aside(self._speak(address, queued.spoken()))
        if "drawing" in body:
            self._do_aside(self._show(address, body["drawing"]))

    def _is_spoken_to(self, chat: str) -> bool:
        member = self._company.crew.by_chat(chat)
        return member is not None and member.person in self._company.crew.spoken_to

    async def _show(self, address: int, sha256: str) -> None:
        """Send a drawing as a picture after its text, once and unconfirmed."""
        svg = intact(drawing_path(self._company.store.folder, sha256), sha256)
        if svg is not None:
            picture = await asyncio.to_thread(lambda: png_of(svg.read_bytes()))
            await self._say_in_turn(address, "", picture)

    async def _speak(self, address: int, text: str) -> None:
        async with self._speaking:
            data = await asyncio.to_thread(self._speaker.speak, text)
            if data is not None:
                await self.lanes.wait()
                await self._sender.say_aloud(address, data)

    def _address(self, chat: str) -> int | None:
        member = self._company.crew.by_chat(chat)
        if member is None or member.account is None:
            return None
        return int(member.account.rpartition(":")[2])

    def _say(self, address: int, text: str, picture: bytes | None) -> None:
        self._do_aside(self._say_in_turn(address, text, picture))

    async def _say_in_turn(self, address: int, text: str, picture: bytes | None) -> None:
        """Say something outside the record, at the rate for all chats and after alarms."""
        await self.lanes.wait()
        await self._sender.say(address, text, picture)

    def _closed(self, chat: str, key: str, waiting: int) -> None:
        """Tell the dispatchers, except the one concerned, that messages do not arrive."""
        if key == "not_sent":
            self._not_sent(waiting)
            return
        member = self._company.crew.by_chat(chat)
        if member is None or member.account is None:
            return
        self._feed(
            self.front_desk.tell_dispatchers(
                key, self._now(), besides=member, name=member.name, waiting=waiting
            )
        )

    def _not_sent(self, number: int) -> None:
        """Tell whoever asked for a file that it did not go through, and where it is kept."""
        reply = self._company.store.reply_row(number)
        if reply is not None:
            told = self._dispatch.offered_otherwise(reply)
            self._feed(self._company.messages.write(self._now(), [(reply.chat, line(told))]))

    def _silence(self, since_ms: int, until_ms: int) -> None:
        LOG.warning("not heard from the platform for %s s", (until_ms - since_ms) // 1000)
        zone = ZoneInfo(self._company.zone)
        since, until = (datetime.fromtimestamp(ms / 1000, UTC).astimezone(zone).strftime("%H:%M")
                        for ms in (since_ms, until_ms))  # fmt: skip
        told = self.front_desk.tell_dispatchers("silence", self._now(), since=since, until=until)
        self._feed(told)

    def _now(self) -> Cause:
        return Cause(self._company.clock.now())

    # Time.

    def tick(self, at: Moment) -> None:
        """Fire the timers that are due, and send their messages."""
        self._feed(self._company.desk.tick(at))

    def next_due(self, at: Moment) -> int | None:
        """Return when the next timer is due on the boot clock [ns]."""
        return self._company.desk.next_due(at)

    def refuse_tick(self, error: StoreError) -> None:
        """Note that the record refuses to be written; the timers stay set."""
        LOG.error("timers wait: %s", error.what)

    async def _ticking(self) -> None:
        while True:
            self._timers.fire()
            self._wake.clear()
            # Not `wait_for`: it swallows a cancel that comes together with what it waits for.
            with contextlib.suppress(TimeoutError):
                async with asyncio.timeout(self._timers.wait_s()):
                    await self._wake.wait()

    def _do_aside(self, work: Any) -> asyncio.Task[None]:  # noqa: ANN401  any coroutine will do
        task = asyncio.create_task(work)
        self._aside.add(task)
        task.add_done_callback(self._done)
        return task

    def _done(self, task: asyncio.Task[None]) -> None:
        self._aside.discard(task)
        if not task.cancelled() and task.exception() is not None:
            LOG.error("something aside failed", exc_info=task.exception())

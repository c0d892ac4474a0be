"""Lanes: each chat's replies in order, all chats at the same time, alarms first.

A lane is fed from memory and backed by the outbox: a reply leaves the outbox only after the
platform has confirmed it. A reply that may have arrived is sent again, marked as a repeat.
"""

import asyncio
import logging
from collections import deque
from collections.abc import Awaitable, Callable, Container, Iterable
from dataclasses import dataclass, field

from bot.channels.shown import shown_text
from bot.channels.telegram.ending import ended
from bot.channels.telegram.pacing import Bucket, Gate, Pace
from bot.channels.telegram.sending import Outcome, Queued
from bot.channels.waiting import RETRY_S
from bot.record.errors import StoreError
from bot.record.rows import Reply
from bot.record.store import Store

LOG = logging.getLogger(__name__)
FIRST_WAIT_S, LONGEST_WAIT_S = 1.0, 30.0
GATHER_S, END_S = 0.02, 1.0
OVERTAKE_S = 1.0
"""An alarm that is still behind another message after so long goes its own way [s]."""

MOST_FAILS_OF_A_FILE = 3
"""A file that did not go through so often is given up; it is kept, and its owner told."""

AT_ONCE = 64
MOST_LED = 400
"""The most characters of a question together with what leads to it."""

Send = Callable[[Queued, int], Awaitable[Outcome]]
AddressOf = Callable[[str], int | None]


@dataclass
class Lane:
    """One chat's replies, in order; those that it did not take are kept back, by number."""

    chat: str
    bucket: Bucket
    queue: deque[Queued] = field(default_factory=deque)
    task: "asyncio.Task[None] | None" = None
    sending: Queued | None = None
    fails: int = 0
    kept: list[int] = field(default_factory=list)

    def urgent(self) -> bool:
        """Say whether an alarm is waiting: then nothing ahead of it is slowed down."""
        return any(one.urgent for one in self.queue)


class Lanes:
    """Sends replies.

    Parameters
    ----------
    store
        Has the outbox.
    send
        Sends one reply to an address.
    address_of
        Returns a chat's address at the platform; None if it has none.
    pace
        The rates, and the clock they go by.
    closed
        Called with a chat, what is wrong with it, and a number: "closed" when it no longer takes
        our messages, with how many wait; "refused" for one of them; "not_sent" with the number of
        a reply whose file does not go through.
    """

    def __init__(
        self,
        store: Store,
        send: Send,
        address_of: AddressOf,
        closed: Callable[[str, str, int], None],
        pace: Pace | None = None,
    ) -> None:
        self._store = store
        self._send = send
        self._address_of = address_of
        self._closed = closed
        pace = pace or Pace()
        self._rates, self._now, self._sleep = pace.rates, pace.now, pace.sleep
        bucket = Bucket(self._rates.all_per_s, self._rates.all_burst)
        self._gate = Gate(bucket, self._now, self._sleep)
        self._lanes: dict[str, Lane] = {}
        self._apart: list[Lane] = []
        self._is_stopped = False
        self._marks: list[tuple[int, str]] = []
        self._tries: list[int] = []
        self._marking: asyncio.Task[None] | None = None

    def feed(
        self, replies: Iterable[Reply], *, repeats: Container[int] = (), late: bool = False
    ) -> None:
        """Queue replies behind earlier replies to their chats.

        Parameters
        ----------
        repeats
            The numbers of those that may have arrived already.
        late
            Whether they were kept back: they say so.
        """
        shown = []
        for reply in replies:
            if reply.state == "pending" and shown_text(reply.body, is_repeat=False):
                shown.append(reply)
            elif reply.state == "pending":
                self._mark(reply.id, "")
        for group in led(shown):
            is_repeat = any(one.id in repeats for one in group)
            self._queue(Queued(group[-1], is_repeat, late, tuple(group[:-1])))

    def _queue(self, queued: Queued) -> None:
        lane = self._lane(queued.reply.chat)
        if "attach" in queued.reply.body:
            # A file takes its time, and nothing waits behind it.
            self._send_apart(lane, queued)
            return
        lane.queue.append(queued)
        if lane.task is None or lane.task.done():
            lane.task = asyncio.create_task(self._drain(lane))
        elif queued.urgent:
            loop = asyncio.get_running_loop()
            loop.call_later(OVERTAKE_S, self._overtake, lane, queued)

    def _overtake(self, lane: Lane, queued: Queued) -> None:
        """Send an alarm by itself if it is still behind a message that hangs."""
        if self._is_stopped or lane.sending is queued or queued not in lane.queue:
            return
        lane.queue.remove(queued)
        self._send_apart(lane, queued)

    def _send_apart(self, lane: Lane, queued: Queued) -> None:
        """Send a reply beside its chat's lane, at the same rate."""
        own = Lane(lane.chat, lane.bucket, deque([queued]))
        self._apart = [one for one in self._apart if one.task and not one.task.done()]
        self._apart.append(own)
        own.task = asyncio.create_task(self._drain(own))

    def _all(self) -> list[Lane]:
        return [*self._lanes.values(), *self._apart]

    def arrived(self, row: int) -> None:
        """Note that an uncertain reply did arrive: somebody answered it."""
        for lane in self._all():
            if lane.queue and lane.queue[0].reply.id == row and lane.queue[0].is_repeat:
                self._mark_all(lane.queue.popleft(), "")

    def reopen(self, chat: str) -> None:
        """Send what was kept back while a chat took nothing from us: somebody is there again."""
        lane = self._lane(chat)
        kept, lane.kept = lane.kept, []
        rows = [self._store.reply_row(number) for number in kept]
        self.feed([row for row in rows if row is not None], late=True)

    def waiting(self) -> int:
        """Return the number of replies that wait."""
        return sum(len(lane.queue) for lane in self._all())

    def spare(self, chat: str) -> float:
        """Take room in a chat for a message that is no reply; return how long to wait for it [s].

        Replies go first: while any waits there is no room.
        """
        lane = self._lane(chat)
        if lane.queue:
            return 1 / self._rates.chat_per_s
        return lane.bucket.take(self._now())

    def _lane(self, chat: str) -> Lane:
        if chat not in self._lanes:
            bucket = Bucket(self._rates.chat_per_s, self._rates.chat_burst)
            self._lanes[chat] = Lane(chat, bucket)
        return self._lanes[chat]

    async def wait(self) -> None:
        """Wait until a message that is not a reply may be sent, after the alarms."""
        await self._gate.wait(lambda: False)

    async def idle(self) -> None:
        """Wait until no reply waits any more."""
        while busy := [lane.task for lane in self._all() if lane.task and not lane.task.done()]:
            await asyncio.wait(busy)
        self._write_marks()

    async def stop(self, within_s: float) -> None:
        """Give replies on their way so long to arrive; then note those that did."""
        self._is_stopped = True
        busy = [lane.task for lane in self._all() if lane.task and not lane.task.done()]
        if busy:
            await asyncio.wait(busy, timeout=within_s)
        marking = [] if self._marking is None else [self._marking]
        await ended([*busy, *marking], END_S)
        self._write_marks()

    async def _drain(self, lane: Lane) -> None:
        while lane.queue:
            first = lane.queue[0]
            address = self._address_of(lane.chat)
            if address is None:
                self._park_all(lane)
                return
            await self._wait_for_rates(lane, first)
            if not lane.queue or lane.queue[0] is not first:
                continue
            lane.sending = first
            await self._try(first.rows)
            outcome = await self._send(first, address)
            lane.sending = None
            if lane.queue and lane.queue[0] is first:
                await self._settle(lane, first, outcome)

    async def _wait_for_rates(self, lane: Lane, first: Queued) -> None:
        """Wait for the chat's own rate and the rate for all; an alarm only for the second."""
        while wait := lane.bucket.take(self._now(), force=lane.urgent()):
            await self._sleep(wait)
        await self._gate.wait(lambda: first.urgent or lane.urgent())

    async def _settle(self, lane: Lane, first: Queued, outcome: Outcome) -> None:
        match outcome.how:
            case "sent":
                lane.queue.popleft()
                lane.fails = 0
                self._mark_all(first, outcome.sent_as)
                self.reopen(lane.chat)
            case "closed":
                self._keep_all(lane, outcome.why)
            case "refused":
                self._refused(lane, first, outcome)
            case "wait":
                LOG.warning("the platform asks to wait %s s", outcome.wait_s)
                await self._sleep(outcome.wait_s)
            case "not_sent" | "uncertain":
                await self._failed(lane, first, outcome)

    def _refused(self, lane: Lane, first: Queued, outcome: Outcome) -> None:
        lane.queue.popleft()
        LOG.error("reply %s is refused and parked: %s", first.reply.id, outcome.why)
        self._park(first.rows)
        if "attach" in first.reply.body:
            self._closed(lane.chat, "not_sent", first.reply.id)
        else:
            self._closed(lane.chat, "refused", 1)

    async def _failed(self, lane: Lane, first: Queued, outcome: Outcome) -> None:
        """Wait before the next try, longer each time; a file is given up in the end."""
        first.is_repeat = first.is_repeat or outcome.how == "uncertain"
        lane.fails += 1
        if "attach" in first.reply.body and lane.fails >= MOST_FAILS_OF_A_FILE:
            self._give_up(lane, first, outcome)
            return
        await self._sleep(min(LONGEST_WAIT_S, FIRST_WAIT_S * 1.5 ** (lane.fails - 1)))

    def _give_up(self, lane: Lane, first: Queued, outcome: Outcome) -> None:
        lane.queue.popleft()
        LOG.error("a file does not go through and is parked: %s", outcome.why)
        self._park([first.reply.id])
        self._closed(lane.chat, "not_sent", first.reply.id)

    def _park_all(self, lane: Lane) -> None:
        """Set the replies to somebody who has left apart for good."""
        parked = [row for one in lane.queue for row in one.rows]
        lane.queue.clear()
        LOG.warning("a chat has no address, %s replies are parked", len(parked))
        self._park(parked)
        self._closed(lane.chat, "closed", len(parked))

    def _keep_all(self, lane: Lane, why: str) -> None:
        """Keep replies back until their chat takes messages again; it is told of once."""
        main = self._lane(lane.chat)
        is_new = not main.kept
        first, kept = lane.queue[0].rows, [row for one in lane.queue for row in one.rows]
        lane.queue.clear()
        main.kept = sorted({*main.kept, *kept})
        self._note_tried(first, has_failed=True)
        LOG.warning("a chat is closed to us, %s replies wait: %s", len(main.kept), why)
        if is_new:
            self._closed(lane.chat, "closed", len(main.kept))

    async def _try(self, rows: list[int]) -> None:
        """Note that replies may have arrived from now on; all lanes ready by now in one write."""
        self._tries += rows
        await asyncio.sleep(0)
        if self._tries:
            tries, self._tries = self._tries, []
            self._note_tried(tries)

    def _note_tried(self, rows: list[int], *, has_failed: bool = False) -> None:
        try:
            self._store.mark_tried(rows, has_failed=has_failed)
        except StoreError:
            LOG.exception("replies %s are not noted as tried", rows)

    def _park(self, rows: list[int]) -> None:
        try:
            self._store.mark_parked(rows)
        except StoreError:
            LOG.exception("replies %s are not parked", rows)

    def _mark_all(self, queued: Queued, sent_as: str) -> None:
        """Note a message as sent; an answer to it is one to its last reply."""
        for one in queued.led_by:
            self._mark(one.id, "")
        self._mark(queued.reply.id, sent_as)

    def _mark(self, row: int, sent_as: str) -> None:
        self._marks.append((row, sent_as))
        if len(self._marks) >= AT_ONCE:
            self._write_marks()
        elif self._marking is None or self._marking.done():
            self._marking = asyncio.create_task(self._mark_soon())

    async def _mark_soon(self) -> None:
        """Note all replies sent within a moment in one write."""
        wait_s: float = GATHER_S
        while self._marks:
            await asyncio.sleep(wait_s)
            wait_s = GATHER_S if self._write_marks() else RETRY_S

    def _write_marks(self) -> bool:
        """Note the replies that were sent; return False if the record refuses."""
        marks, self._marks = self._marks, []
        if not marks:
            return True
        try:
            self._store.mark_delivered(marks)
        except StoreError:
            # On a full disk the marks are kept in memory; at worst the replies are sent again.
            LOG.exception("%s sent replies are not noted yet", len(marks))
            self._marks = marks + self._marks
            return False
        return True


def led(replies: Iterable[Reply]) -> list[list[Reply]]:
    """Return replies in messages: what leads to a question goes with it if both are short.

    The order within each chat stays.
    """
    groups: list[list[Reply]] = []
    open_for: dict[str, list[Reply]] = {}
    for reply in replies:
        group = open_for.pop(reply.chat, [])
        if not group or not _follows(group, reply):
            group = []
            groups.append(group)
        group.append(reply)
        if reply.body.get("leads"):
            open_for[reply.chat] = group
    return groups


def _follows(group: list[Reply], reply: Reply) -> bool:
    """Say whether a reply goes into the same message as what leads to it."""
    is_next = reply.inbox_id == group[-1].inbox_id and "attach" not in reply.body
    is_meant = bool(reply.body.get("leads")) or "ask" in reply.body
    length = sum(len(str(one.body["shown"])) for one in (*group, reply))
    return is_next and is_meant and length <= MOST_LED

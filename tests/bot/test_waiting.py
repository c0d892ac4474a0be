"""Timers that refuse: they are tried again after a rest, never at once, and the rest goes on."""

import asyncio
from dataclasses import replace
from pathlib import Path

import pytest

from bot.channels.telegram import lanes
from bot.channels.waiting import RETRY_S, Timers
from bot.record.errors import REFUSED, StoreError
from flows.job.events import Moment
from tests.standin.phones import START, GivenClock, Phones

SAM = "driver:sam"


class Channel:
    """A channel with one timer, which what it is told to do keeps or ends."""

    def __init__(self, error: Exception | None = None, *, other_boot: bool = False) -> None:
        self.error, self.other_boot = error, other_boot
        self.ticks = self.refused = 0

    def tick(self, at: Moment) -> None:
        self.ticks += 1
        if self.error is not None:
            raise self.error

    def next_due(self, at: Moment) -> int | None:
        return at.mono_ns if self.other_boot else START.mono_ns

    def refuse_tick(self, error: StoreError) -> None:
        self.refused += 1


FULL = StoreError(REFUSED, value="x", why="the disk is full")


@pytest.mark.parametrize("error", [None, FULL, RuntimeError("a mistake of ours")])
@pytest.mark.parametrize("other_boot", [False, True])
def test_a_timer_that_stays_due_is_tried_again_after_a_rest(
    error: Exception | None, *, other_boot: bool
) -> None:
    channel, clock = Channel(error, other_boot=other_boot), GivenClock(START)
    timers = Timers(channel, clock)
    for ticks in (1, 2, 3):
        timers.fire()
        assert channel.ticks == ticks
        assert timers.wait_s() == RETRY_S
        # Woken by a message meanwhile: the timer rests all the same.
        timers.fire()
        assert channel.ticks == ticks
        clock.to(clock.at.mono_ns + RETRY_S * 1_000_000_000)


def test_a_record_that_does_not_say_what_is_due_is_asked_again_after_a_rest() -> None:
    class Closed(Channel):
        def next_due(self, at: Moment) -> int | None:
            raise FULL

    channel = Closed()
    timers = Timers(channel, GivenClock(START))
    timers.fire()
    assert timers.wait_s() == RETRY_S
    assert channel.refused == 1


def test_a_timer_that_leads_to_itself_is_dropped_and_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def play() -> None:
        async with Phones(tmp_path) as phones:
            await phones.say(SAM, "new job breakdown")
            desk = phones.company.desk
            monkeypatch.setattr(desk, "_tick", lambda _event, _cause: [])
            assert phones.store.timers()
            phones.clock.at = replace(phones.clock.at, boot="boot-2")
            sent = desk.tick(phones.clock.now())
            assert sent
            assert phones.store.timers() == []

    asyncio.run(play())


def test_marks_that_the_record_refuses_wait_before_they_are_tried_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def play() -> None:
        async with Phones(tmp_path) as phones:
            mark, refused = phones.store.mark_delivered, []

            def refusing(marks: list[tuple[int, str]]) -> None:
                if len(refused) < 3:
                    refused.append(marks)
                    raise FULL
                mark(marks)

            waits: list[float] = []

            async def sleep(seconds: float) -> None:
                waits.append(seconds)

            monkeypatch.setattr(phones.store, "mark_delivered", refusing)
            monkeypatch.setattr(lanes.asyncio, "sleep", sleep)
            phones.service.lanes._mark(1, "1")
            await phones.service.lanes._marking
            assert waits == [lanes.GATHER_S, RETRY_S, RETRY_S, RETRY_S]

    asyncio.run(play())

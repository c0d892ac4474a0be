"""The stop: within five seconds, whatever hangs; messages that hung are sent at the next start."""

import asyncio
import math
import re
import selectors
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from typing_extensions import override

from bot.channels.telegram.ending import ended
from bot.channels.telegram.lanes import Lanes
from bot.channels.telegram.sending import Outcome, Queued
from bot.channels.telegram.service import STOP_S
from bot.desk.outgoing import line
from bot.record.rows import Batch, Chat, NewReply
from bot.record.store import open_store
from flows.hearing import alarms, shapes
from flows.texts import air_texts
from tests.bot.scripted import quick
from tests.bot.test_air_start import OWNER, said_to, started, with_platform
from tests.bot.turns import NOW, SALT, ZONE
from tests.standin.phones import Phones
from tests.standin.server import StandIn

STOPS_WITHIN_S = 5.0
HANGS = [("sendMessage", "before"), ("sendMessage", "after"), ("getUpdates", "before"),
         ("getFile", "before")]  # fmt: skip


@pytest.mark.parametrize(("method", "when"), HANGS)
def test_it_stops_while_the_platform_hangs_for_ever(
    tmp_path: Path, method: str, when: str
) -> None:
    async def play(platform: StandIn) -> None:
        running = await started(tmp_path / "data", platform.base)
        link = await running.until(r"start=(\S+)")
        platform.world.says(OWNER, f"/start {link[1]}")
        await asyncio.wait_for(said_to(platform, OWNER, "You're in"), 30)
        platform.fails(method, "delay", seconds=math.inf, times=100, when=when)
        calls = platform.counts[method]
        platform.world.says(OWNER, "crew")
        platform.world.sends(OWNER, "photo", b"\xff\xd8\xff\xe0 x")
        while platform.counts[method] == calls:
            await asyncio.sleep(0.02)
        running.process.send_signal(signal.SIGTERM)
        assert await running.ends() == 0
        assert re.search("Traceback", running.printed) is None
        platform.faults.scripted.clear()
        running = await started(tmp_path / "data", platform.base)
        await running.until(re.escape(air_texts()["start"]["ready"]))
        await asyncio.wait_for(said_to(platform, OWNER, "Crew:"), 30)
        running.process.send_signal(signal.SIGTERM)
        assert await running.ends() == 0

    with_platform(play)


class Waits(selectors.DefaultSelector):
    """Waits for nothing: where a loop would wait, its own time passes instead."""

    def __init__(self) -> None:
        super().__init__()
        self.now = 0.0

    @override
    def select(self, timeout: float | None = None) -> list[tuple[selectors.SelectorKey, int]]:
        found = super().select(0)
        self.now += 0 if found else timeout or 0
        return found


class GivenTime(asyncio.SelectorEventLoop):
    """A loop whose time passes only while it has nothing to do."""

    def __init__(self) -> None:
        self._waits = Waits()
        super().__init__(self._waits)

    @override
    def time(self) -> float:
        return self._waits.now


def test_a_send_that_hangs_holds_the_stop_up_for_less_than_five_seconds(tmp_path: Path) -> None:
    async def hang(_queued: Queued, _address: int) -> Outcome:
        await asyncio.Event().wait()
        raise AssertionError

    async def stopped(lanes: Lanes) -> float:
        lanes.feed(sent)
        await asyncio.sleep(0)
        began = asyncio.get_running_loop().time()
        await lanes.stop(STOP_S)
        return asyncio.get_running_loop().time() - began

    chat = Chat("driver:sam", "p1", "driver")
    with open_store(tmp_path, salt=SALT, connect=quick) as store:
        store.commit(Batch(NOW, ZONE, chats=(chat,)))
        asked = NewReply("telegram", chat.chat, line("Breakdown?"))
        sent = store.commit(Batch(NOW, ZONE, replies=(asked,)))
        lanes = Lanes(store, hang, lambda _chat: 1, lambda *_: None)
        with asyncio.Runner(loop_factory=GivenTime) as runner:
            assert STOP_S <= runner.run(stopped(lanes)) < STOPS_WITHIN_S
        assert [one.id for one in store.pending()] == [sent[0].id]


async def alone(_stop: asyncio.Event) -> bool:
    return True


async def idle() -> float:
    return 0.0


async def served(phones: Phones, *, then: Callable[[Phones, asyncio.Event], None]) -> float:
    """Serve for a moment, do something with the stop, and return how long the stop took [s]."""
    stop = asyncio.Event()

    async def behind() -> float:
        return 60.0

    phones.service._is_alone = alone  # type: ignore[method-assign]
    phones.service.board.show = behind  # type: ignore[method-assign]
    await phones.say("driver:sam", "new job breakdown")
    serving = asyncio.create_task(phones.service.run(stop))
    polls = phones.platform.counts["getUpdates"]
    while phones.service.board._moved.is_set() or phones.platform.counts["getUpdates"] == polls:
        await asyncio.sleep(0)
    began = asyncio.get_running_loop().time()
    then(phones, stop)
    _, late = await asyncio.wait({serving}, timeout=STOPS_WITHIN_S)
    took = asyncio.get_running_loop().time() - began
    for one in late:
        one.cancel()
    return took


def woken(phones: Phones, stop: asyncio.Event) -> None:
    phones.service._wake.set()
    stop.set()


def moved(phones: Phones, stop: asyncio.Event) -> None:
    phones.service.board.touch()
    stop.set()


@pytest.mark.parametrize("then", [woken, moved])
def test_a_stop_in_the_moment_something_happens_is_not_lost(
    tmp_path: Path, then: Callable[[Phones, asyncio.Event], None]
) -> None:
    """What a loop waits for comes in the same moment as the order to end: it ends all the same."""

    async def run() -> float:
        async with Phones(tmp_path) as phones:
            return await served(phones, then=then)

    assert asyncio.run(run()) < 1.0


def test_the_words_of_danger_are_read_before_the_first_message(tmp_path: Path) -> None:
    """Reading their tables takes a second, and everybody would wait for the first odd word."""
    for one in (alarms.without_harmless, shapes.shapes_in, shapes._words):
        one.cache_clear()

    async def run() -> None:
        async with Phones(tmp_path) as phones:
            phones.service.board.show = idle  # type: ignore[method-assign]
            stop = asyncio.Event()
            stop.set()
            phones.service._is_alone = alone  # type: ignore[method-assign]
            await phones.service.run(stop)

    asyncio.run(run())
    assert shapes._words.cache_info().currsize == 1


def test_whatever_swallows_its_end_is_told_again_and_then_left() -> None:
    asked: list[int] = []

    async def deaf(times: int) -> None:
        while asked.count(times) < times:
            try:
                await asyncio.sleep(3600)
            except asyncio.CancelledError:
                asked.append(times)

    async def run() -> float:
        tasks = [asyncio.create_task(deaf(times)) for times in (1, 3, 10**3)]
        await asyncio.sleep(0)
        began = asyncio.get_running_loop().time()
        await ended(tasks, 0.5)
        took = asyncio.get_running_loop().time() - began
        assert [task.done() for task in tasks] == [True, True, False]
        asked.extend([10**3] * 10**3)
        await ended(tasks, 0.5)
        return took

    with asyncio.Runner(loop_factory=GivenTime) as runner:
        assert 0.5 <= runner.run(run()) < 1.0


def test_a_stop_in_which_nothing_ends_ends_the_process() -> None:
    """A thread that hangs, as in a name's look-up, is waited for by nobody for ever."""
    hangs = "from bot.channels.telegram import ending as e; import threading, time\n"
    hangs += "threading.Thread(target=time.sleep, args=(60,)).start(); e.last_resort(0.2)"
    began = time.monotonic()
    assert subprocess.run([sys.executable, "-c", hangs], check=False, timeout=30).returncode == 0
    assert time.monotonic() - began < 20

"""The stop: within five seconds, whatever hangs; messages that hung are sent at the next start."""

import asyncio
import math
import re
import selectors
import signal
from pathlib import Path

import pytest
from typing_extensions import override

from bot.channels.telegram.lanes import Lanes
from bot.channels.telegram.sending import Outcome, Queued
from bot.channels.telegram.service import STOP_S
from bot.desk.outgoing import line
from bot.record.rows import Batch, Chat, NewReply
from bot.record.store import open_store
from flows.texts import air_texts
from tests.bot.scripted import quick
from tests.bot.test_air_start import OWNER, said_to, started, with_platform
from tests.bot.turns import NOW, SALT, ZONE
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

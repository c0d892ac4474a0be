"""The stop: within five seconds, whatever hangs; what hung is sent at the next start."""

import asyncio
import re
import signal
import time
from pathlib import Path

import pytest

from flows.texts import air_texts
from tests.bot.test_air_start import OWNER, said_to, started, with_platform
from tests.standin.server import StandIn

STOPS_WITHIN_S = 5.0
HANGS = [("sendMessage", "before"), ("sendMessage", "after"), ("getUpdates", "before"),
         ("getFile", "before")]  # fmt: skip


@pytest.mark.parametrize(("method", "when"), HANGS)
def test_it_stops_within_five_seconds_while_the_platform_hangs(
    tmp_path: Path, method: str, when: str
) -> None:
    async def play(platform: StandIn) -> None:
        running = await started(tmp_path / "data", platform.base)
        link = await running.until(r"start=(\S+)")
        platform.world.says(OWNER, f"/start {link[1]}")
        await asyncio.wait_for(said_to(platform, OWNER, "You're in"), 30)
        platform.fails(method, "delay", seconds=600.0, times=100, when=when)
        calls = platform.counts[method]
        platform.world.says(OWNER, "crew")
        platform.world.sends(OWNER, "photo", b"\xff\xd8\xff\xe0 x")
        while platform.counts[method] == calls:
            await asyncio.sleep(0.02)
        began = time.monotonic()
        running.process.send_signal(signal.SIGTERM)
        assert await running.ends() == 0
        took = time.monotonic() - began
        assert took < STOPS_WITHIN_S
        assert re.search("Traceback", running.printed) is None
        platform.faults.scripted.clear()
        running = await started(tmp_path / "data", platform.base)
        await running.until(re.escape(air_texts()["start"]["ready"]))
        await asyncio.wait_for(said_to(platform, OWNER, "Crew:"), 30)
        running.process.send_signal(signal.SIGTERM)
        assert await running.ends() == 0

    with_platform(play)

"""`rollproof start` as a process: the token, the first words, the stop; nothing leaks."""

import asyncio
import os
import re
import signal
import sys
from collections.abc import Awaitable, Callable
from contextlib import suppress
from pathlib import Path

import pytest

from bot.channels.telegram import poller
from bot.channels.telegram.service import SecondProgramError, Service
from bot.channels.telegram.transport import Api
from bot.machine.secret_files import NoTokenError, read_token
from flows.texts import air_texts
from tests.standin.phones import Phones
from tests.standin.server import TOKEN, StandIn

OWNER = 801
STARTED: list[asyncio.subprocess.Process] = []


class Running:
    """A `rollproof start`; its output is kept."""

    def __init__(self, process: asyncio.subprocess.Process) -> None:
        self.process = process
        self.printed = ""

    async def until(self, pattern: str) -> re.Match[str]:
        assert self.process.stdout is not None
        while not (found := re.search(pattern, self.printed)):
            line = await asyncio.wait_for(self.process.stdout.readline(), 60)
            assert line, self.printed
            self.printed += line.decode()
        return found

    async def ends(self) -> int:
        assert self.process.stdout is not None
        self.printed += (await self.process.stdout.read()).decode()
        return await asyncio.wait_for(self.process.wait(), 60)


async def started(folder: Path, platform: str, token: str | None = TOKEN) -> Running:
    """Start it, with its log in its output."""
    rest = {} if token is None else {"ROLLPROOF_TOKEN": token}
    process = await asyncio.create_subprocess_exec(
        sys.executable, "-m", "bot.commands.cli", "start", "--data", str(folder),
        stdin=asyncio.subprocess.DEVNULL, stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.STDOUT,
        env={**os.environ, "ROLLPROOF_PLATFORM": platform, **rest},
    )  # fmt: skip
    STARTED.append(process)
    return Running(process)


def with_platform(play: Callable[[StandIn], Awaitable[None]]) -> None:
    async def run() -> None:
        try:
            async with StandIn() as platform:
                await play(platform)
        finally:
            # A test that fails leaves no process behind.
            for process in STARTED:
                with suppress(ProcessLookupError):
                    process.kill()
                await process.wait()
            STARTED.clear()

    asyncio.run(run())


async def said_to(platform: StandIn, account: int, pattern: str) -> str:
    while True:
        for message in platform.world.from_bot(account):
            if re.search(pattern, message.get("text", "")):
                return str(message["text"])
        await asyncio.sleep(0.02)


def test_t22_from_a_fresh_folder_to_a_drivers_first_question(tmp_path: Path) -> None:
    folder = tmp_path / "data"

    async def play(platform: StandIn) -> None:
        running = await started(folder, platform.base)
        link = await running.until(r"start=(\S+)")
        platform.world.says(OWNER, f"/start {link[1]}")
        await asyncio.wait_for(said_to(platform, OWNER, "You're in"), 30)
        platform.world.says(OWNER, "new job breakdown")
        await asyncio.wait_for(said_to(platform, OWNER, "[Jj]ob"), 30)
        # An error on the way, with the token in its address.
        platform.fails("sendMessage", "500")
        platform.fails("getUpdates", "page")
        platform.world.says(OWNER, "status")
        await asyncio.wait_for(said_to(platform, OWNER, "Last"), 30)
        running.process.send_signal(signal.SIGTERM)
        assert await running.ends() == 0
        # The second time it needs no token from outside, and there is an owner.
        running = await started(folder, platform.base, token=None)
        await running.until(re.escape(air_texts()["start"]["ready"]))
        running.process.send_signal(signal.SIGINT)
        assert await running.ends() == 0
        assert TOKEN not in running.printed

    with_platform(play)
    assert folder.stat().st_mode & 0o777 == 0o700
    for path in folder.rglob("*"):
        assert path.stat().st_mode & 0o077 == 0, path.name
        if path.name != "token":
            assert TOKEN.encode() not in path.read_bytes(), path.name
    assert (folder / "token").read_text() == TOKEN


def test_t22_no_sink_shows_the_token_of_a_platform_that_fails(tmp_path: Path) -> None:
    async def play(platform: StandIn) -> None:
        running = await started(tmp_path / "data", platform.base, "999999:" + "x" * 35)
        assert await running.ends() == 1
        assert air_texts()["start"]["bad_token"] in running.printed
        assert "x" * 35 not in running.printed
        # Nobody listens there: it stays up, and says so.
        running = await started(tmp_path / "other", "http://127.0.0.1:9")
        await running.until("not reached")
        running.process.send_signal(signal.SIGTERM)
        assert await running.ends() == 0
        assert TOKEN not in running.printed

    with_platform(play)


def test_without_a_token_it_says_what_to_do(tmp_path: Path) -> None:
    async def play(platform: StandIn) -> None:
        running = await started(tmp_path / "data", platform.base, None)
        assert await running.ends() == 1
        assert "ROLLPROOF_TOKEN" in running.printed

    with_platform(play)


@pytest.mark.parametrize("token", ["", "  ", "12:short", "no token at all", TOKEN + " " + TOKEN])
def test_a_token_that_is_none_is_refused_and_never_repeated(tmp_path: Path, token: str) -> None:
    with pytest.raises(NoTokenError) as caught:
        read_token(tmp_path / "data", None, lambda: token)
    assert not token.strip() or token not in str(caught.value)
    assert not (tmp_path / "data" / "token").exists()


def test_a_second_program_with_the_same_token_stops_itself_and_takes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(poller, "ALONE_S", 0.8)
    monkeypatch.setattr(poller, "AGAIN_S", 0.05)

    async def run() -> None:
        async with Phones(tmp_path / "first") as phones:
            sam = phones.enrol("driver:sam")
            assert await phones.service.poller.is_alone()
            phones.service.poller.patience_s = 1
            polling = asyncio.create_task(phones.service.poller.run())
            await asyncio.sleep(0.1)
            async with Phones(tmp_path / "second") as second:
                await second.api.close()
                second.api = Api(phones.platform.token, phones.platform.base)
                await second.api.open()
                other = Service(second.company, second.api)
                with pytest.raises(SecondProgramError):
                    await other.run(asyncio.Event())
            sent = phones.platform.counts["sendMessage"]
            assert sent == 0, "nobody of the crew was answered as a stranger"
            phones.platform.world.says(sam, "new job breakdown")
            while not phones.texts("driver:sam"):
                await asyncio.sleep(0.02)
            polling.cancel()
            assert "open" in phones.texts("driver:sam")[0]

    asyncio.run(run())

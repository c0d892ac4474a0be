"""Updates that the platform brings: only with the secret, safe before the answer, in order."""

import asyncio
import json
import re
import signal
import socket
from collections.abc import Awaitable, Callable
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from aiohttp import ClientSession

from bot.channels.telegram.contact import FIRST_WAIT_S
from bot.channels.telegram.webhook import (
    HEADER,
    LARGEST,
    LOOK_S,
    BadHookError,
    Hook,
    hook_of,
    secret_of,
)
from bot.record.errors import REFUSED, StoreError
from flows.texts import air_texts
from tests.bot.test_air_channel import SAM, facts, opened, said_by_sam
from tests.bot.test_air_start import OWNER, said_to, started, with_platform
from tests.standin.phones import Phones

URL = "https://tow.example/hook-of-ours"
SECRET = secret_of(b"key of the test")


def on_phones(folder: Path, play: Callable[[Phones], Awaitable[None]]) -> None:
    async def run() -> None:
        async with Phones(folder, hook=Hook(URL, 0)) as phones:
            await play(phones)

    asyncio.run(run())


async def call(phones: Phones, data: bytes, secret: str | None = SECRET, **more: Any) -> int:
    assert phones.service.webhook is not None
    headers = {} if secret is None else {HEADER: secret}
    address = phones.service.webhook.address + more.pop("behind", "")
    async with ClientSession() as session, session.request(
        more.pop("method", "POST"), address, data=BytesIO(data), headers=headers
    ) as answer:  # fmt: skip
        return answer.status


def test_a_job_goes_on_as_if_it_were_polled(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await opened(phones)
        await phones.press(SAM, "none")
        await phones.say(SAM, "behind")
        assert facts(phones)["danger"] == "none"
        assert phones.platform.methods.webhook == {"url": URL, "secret": SECRET}
        assert phones.platform.counts["getUpdates"] == 0

    on_phones(tmp_path, play)


def test_t10_only_who_knows_the_secret_is_heard(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await opened(phones)
        before = phones.store.message(2), phones.entries(1)
        phones.platform.world.says(phones.accounts[SAM], "none")
        (update,) = phones.platform.world.updates()
        data = json.dumps(update).encode()
        for secret in (None, "", SECRET[:-1], SECRET + "0", "é" * 64):
            assert await call(phones, data, secret) == 403
        assert await call(phones, data, behind="/other") == 404
        assert await call(phones, data, method="GET") == 405
        assert (phones.store.message(2), phones.entries(1)) == before

    on_phones(tmp_path, play)


@pytest.mark.parametrize(
    ("data", "status"),
    [
        (b"", 400),
        (b"no json", 400),
        (b"[" * 100_000, 400),
        (b"[1]", 400),
        (b'{"update_id": "x"}', 400),
        (b"\xff\xfe", 400),
        (b'{"update_id": 1, "x": "' + b"y" * LARGEST + b'"}', 413),
    ],
)
def test_a_call_without_an_update_is_refused(tmp_path: Path, data: bytes, status: int) -> None:
    async def play(phones: Phones) -> None:
        assert await call(phones, data) == status
        assert phones.store.unfinished() == []
        await opened(phones)

    on_phones(tmp_path, play)


def test_t10_an_update_that_comes_again_gives_one_entry(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await opened(phones)
        phones.platform.world.says(phones.accounts[SAM], "none")
        (update,) = phones.platform.world.updates()
        await phones.hears()
        for _ in range(2):
            phones.platform.world.push_raw(update)
            await phones.hears()
        await phones.restart()
        phones.platform.world.push_raw(update)
        await phones.hears()
        assert said_by_sam(phones).count("none") == 1

    on_phones(tmp_path, play)


def test_an_update_that_is_not_safe_is_not_taken_and_comes_again_in_order(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def play(phones: Phones) -> None:
        await opened(phones)
        assert phones.service.webhook is not None
        address = phones.service.webhook.address
        world, sam = phones.platform.world, phones.accounts[SAM]
        for text in ("none", "behind", "status"):
            world.says(sam, text)
        keep, refused = phones.service.intake.keep, []

        def refusing(*given: Any) -> None:
            if not refused:
                refused.append(given)
                raise StoreError(REFUSED, value="x", why="the disk is full")
            keep(*given)

        monkeypatch.setattr(phones.service.intake, "keep", refusing)
        assert await phones.platform.brings(address) == [503]
        assert said_by_sam(phones)[-1] != "none"
        assert await phones.platform.brings(address) == [200, 200, 200]
        await phones.settled()
        assert said_by_sam(phones)[-3:] == ["none", "behind", "status"]

    on_phones(tmp_path, play)


def test_it_is_safe_in_the_inbox_before_it_is_answered(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def play(phones: Phones) -> None:
        await opened(phones)
        assert phones.service.webhook is not None
        phones.platform.world.says(phones.accounts[SAM], "none")
        # Nothing is applied in this process: the next one finds it.
        monkeypatch.setattr(phones.service, "drain", lambda *_: None)
        assert await phones.platform.brings(phones.service.webhook.address) == [200]
        assert len(phones.store.unfinished()) == 1
        await phones.restart()
        assert facts(phones)["danger"] == "none"

    on_phones(tmp_path, play)


def test_it_sets_itself_again_if_another_program_took_the_updates(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        hook = phones.service.webhook
        assert hook is not None
        assert await hook.once() == LOOK_S
        phones.platform.methods.webhook = {"url": "https://other.example/x", "secret": ""}
        assert await hook.once() == FIRST_WAIT_S
        assert await hook.once() == LOOK_S
        assert phones.platform.methods.webhook["url"] == URL
        phones.platform.fails("getWebhookInfo", "502")
        assert await hook.once() == FIRST_WAIT_S

    on_phones(tmp_path, play)


def test_a_platform_away_for_minutes_is_told_to_the_dispatcher(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        phones.enrol("dispatcher:ann")
        hook = phones.service.webhook
        assert hook is not None
        phones.platform.fails("getWebhookInfo", "502")
        await hook.once()
        await phones.wait(120)
        await hook.once()
        await phones.settled()
        assert "heard nothing from the platform" in phones.last("dispatcher:ann")

    on_phones(tmp_path, play)


@pytest.mark.parametrize(
    "url",
    ["http://tow.example/x", "https://tow.example", "https://tow.example/", "https:///x",
     "https://tow.example:81/x", "https://tow.example:x/x", "https://tow.example/x?y=1", "x"],
)  # fmt: skip
def test_an_address_that_the_platform_does_not_call_is_refused(url: str) -> None:
    with pytest.raises(BadHookError, match="ROLLPROOF_WEBHOOK"):
        hook_of(url, "8081")


@pytest.mark.parametrize("port", ["0", "65536", "x", "-1", "٣"])
def test_a_port_that_is_none_is_refused(port: str) -> None:
    with pytest.raises(BadHookError, match="ROLLPROOF_WEBHOOK_PORT"):
        hook_of(URL, port)


def test_start_serves_a_webhook_by_two_settings(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    monkeypatch.setenv("ROLLPROOF_WEBHOOK", URL)
    monkeypatch.setenv("ROLLPROOF_WEBHOOK_PORT", str(port))

    async def play(platform: Any) -> None:
        running = await started(tmp_path / "data", platform.base)
        link = await running.until(r"start=(\S+)")
        while not platform.methods.webhook:
            await asyncio.sleep(0.02)
        platform.world.says(OWNER, f"/start {link[1]}")
        answers = await platform.brings(f"http://127.0.0.1:{port}/hook-of-ours")
        assert answers == [200]
        await asyncio.wait_for(said_to(platform, OWNER, "You're in"), 30)
        # A second one on the same port says so, and ends.
        other = await started(tmp_path / "other", platform.base)
        assert await other.ends() == 1
        assert air_texts()["start"]["port_taken"].format(port=port) in other.printed
        running.process.send_signal(signal.SIGTERM)
        assert await running.ends() == 0
        assert re.search("Traceback", running.printed + other.printed) is None
        # Without the setting it polls again.
        monkeypatch.delenv("ROLLPROOF_WEBHOOK")
        platform.world.says(OWNER, "crew")
        running = await started(tmp_path / "data", platform.base)
        await asyncio.wait_for(said_to(platform, OWNER, "Crew:"), 30)
        running.process.send_signal(signal.SIGTERM)
        assert await running.ends() == 0

    with_platform(play)

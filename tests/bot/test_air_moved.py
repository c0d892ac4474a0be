"""A chat that was upgraded has a new address: it is followed, and the dispatchers are told."""

import asyncio
from pathlib import Path

import pytest

from bot.record.rows import COMPANY
from flows.texts import air_texts
from tests.bot.test_air_channel import ANN, SAM
from tests.standin.phones import Phones

DESK, GROUP, LARGE = "dispatcher:desk", -4001, -1_000_000_004_001
TOLD = air_texts()["says"]["moved"].format(name="desk")


def texts(phones: Phones, number: int) -> list[str]:
    return [one.get("text", "") for one in phones.platform.world.from_bot(number)]


@pytest.mark.parametrize("is_heard_first", [True, False])
def test_a_chat_with_a_new_address_is_followed(tmp_path: Path, *, is_heard_first: bool) -> None:
    async def play() -> None:
        async with Phones(tmp_path) as phones:
            phones.platform.world.chat(GROUP, "group")
            phones.enrol(DESK, GROUP)
            phones.enrol(ANN)
            await phones.say(SAM, "new job breakdown")
            phones.platform.world.upgrades(GROUP, LARGE)
            if is_heard_first:
                await phones.hears()
                assert phones.texts(ANN)[-1] == TOLD
            else:
                # A send meets it first, before the platform's own word of it is read.
                phones.service.tick(phones.clock.now())
                phones.service._closed(SAM, "closed", 1)
                await phones.settled()
                assert any("aren't getting through" in one for one in texts(phones, LARGE))
                assert TOLD in phones.texts(ANN)
                await phones.hears()
            before = len(texts(phones, LARGE))
            await phones.restart()
            await phones.say(SAM, "smoke")
            assert any(one.startswith("Stop.") for one in texts(phones, LARGE)[before:])
            assert phones.texts(ANN).count(TOLD) == 1
            kinds = [entry["kind"] for entry in phones.entries(COMPANY)]
            assert kinds.count("moved") == 1
            parked = [row for row in phones.store.pending() if row.chat == DESK]
            assert parked == []

    asyncio.run(play())


def test_the_move_of_a_chat_that_is_nobodys_is_nothing(tmp_path: Path) -> None:
    async def play() -> None:
        async with Phones(tmp_path) as phones:
            await phones.say(SAM, "new job breakdown")
            before = phones.entries(COMPANY)
            phones.platform.world.upgrades(GROUP, LARGE)
            await phones.hears()
            assert phones.entries(COMPANY) == before

    asyncio.run(play())

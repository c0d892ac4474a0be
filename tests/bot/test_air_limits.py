"""The platform's limits: its rates, messages that cannot be edited or are gone, other groups."""

import asyncio
from collections.abc import Awaitable, Callable
from pathlib import Path

import pytest

from bot.channels.telegram.pacing import Pace, Rates
from flows.texts import air_texts
from tests.bot.test_air_board import Time, living
from tests.standin.limits import Limits
from tests.standin.phones import UNHURRIED, Phones, buttons

SAM, ANN = "driver:sam", "dispatcher:ann"
DRIVERS = [f"driver:d{number}" for number in range(12)]
GROUP = -100500
SAYS = air_texts()["says"]


def at_rates(
    folder: Path, rates: Rates, play: Callable[[Phones, Limits, Time], Awaitable[None]]
) -> None:
    """Play at a stand-in that keeps the platform's rates."""

    async def run() -> None:
        clock = Time()
        async with Phones(folder, pace=Pace(rates, clock, clock.sleep)) as phones:
            phones.platform.methods.limits = limits = Limits(clock)
            phones.enrol(ANN)
            await play(phones, limits, clock)

    asyncio.run(run())


def numbered(phones: Phones) -> list[str]:
    """Return what was said to a desk of jobs, without their living messages."""
    return [text for text in phones.texts(ANN) if "Last heard" not in text]


@pytest.mark.parametrize("rates", [Rates(), UNHURRIED])
def test_twelve_trucks_at_once_lose_nothing_at_the_platforms_rates(
    tmp_path: Path, rates: Rates
) -> None:
    async def play(phones: Phones, limits: Limits, clock: Time) -> None:
        for chat in DRIVERS:
            phones.enrol(chat)
        for chat in DRIVERS:
            phones.platform.world.says(phones.accounts[chat], "new job crash, mile 12")
        await phones.hears()
        for chat in DRIVERS:
            phones.platform.world.says(phones.accounts[chat], "smoke")
        await phones.hears()
        while wait_s := await phones.service.board.show():
            clock.now += wait_s
        alarms = [text for text in numbered(phones) if "danger" in text]
        assert len(alarms) == len(DRIVERS)
        assert len(living(phones)) == len(DRIVERS)
        assert all(phones.last(chat).startswith("Stop.") for chat in DRIVERS)
        assert phones.store.pending() == []
        if rates == UNHURRIED:
            assert limits.refused, "the stand-in does refuse"
        else:
            # Alarms do not wait for a desk's rate; nothing else is ever refused.
            assert set(limits.refused) <= {phones.accounts[ANN]}

    at_rates(tmp_path, rates, play)


def test_a_living_message_that_cannot_be_edited_is_sent_again(tmp_path: Path) -> None:
    async def play(phones: Phones, _limits: Limits, clock: Time) -> None:
        await phones.say(ANN, "new job crash, mile 12")
        await phones.service.board.show()
        (key, sent_as), *_ = phones.store.boards().items()
        chat = phones.platform.world.chats[phones.accounts[ANN]]
        chat.messages[int(sent_as)].pop("text")
        clock.now += 60
        await phones.say(SAM, "job 1")
        await phones.service.board.show()
        assert phones.store.boards()[key] != sent_as
        assert "sam" in living(phones)[-1]

    at_rates(tmp_path, Rates(), play)


def test_a_press_at_a_message_that_is_gone_still_counts(tmp_path: Path) -> None:
    """The platform shows only its number: whose question it was is in the button."""

    async def play(phones: Phones, _limits: Limits, _clock: Time) -> None:
        await phones.say(SAM, "new job crash, mile 12, 5 northbound")
        shown = next(m for m in reversed(phones.messages(SAM)) if buttons(m))
        label = buttons(shown)[0]
        before = phones.company.desk.job(1).asked
        await phones.press(SAM, label, shown["message_id"], is_gone=True)
        assert phones.company.desk.job(1).asked != before
        assert phones.store.quarantined() == 0

    at_rates(tmp_path, Rates(), play)


def test_who_takes_the_bot_into_a_group_or_out_of_it_has_not_blocked_it(tmp_path: Path) -> None:
    async def play(phones: Phones, _limits: Limits, _clock: Time) -> None:
        sam = phones.enrol(SAM)
        world = phones.platform.world
        before = phones.texts(ANN), phones.texts(SAM)
        world.takes_into_group(GROUP, sam)
        world.says(GROUP, by=sam, kind="group", new_chat_title="Night shift")
        world.says(GROUP, "anyone free", by=sam, kind="group")
        world.takes_into_group(GROUP, sam, out=True)
        await phones.hears()
        assert (phones.texts(ANN), phones.texts(SAM)) == before
        assert world.from_bot(GROUP) == []
        assert phones.store.quarantined() == 0
        world.blocks(sam)
        await phones.hears()
        assert phones.last(ANN) == SAYS["blocked"].format(name="sam")

    at_rates(tmp_path, Rates(), play)

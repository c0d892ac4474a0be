"""The living messages at a desk: true, few, and left alone when their job is over."""

import asyncio
from collections.abc import Awaitable, Callable
from pathlib import Path

from bot.channels.telegram.pacing import Pace, Rates
from tests.standin.phones import Phones

SAM, ANN, BEA = "driver:sam", "dispatcher:ann", "dispatcher:bea"
MINUTE_S = 60
EDITS = ("editMessageText", "sendMessage")


class Time:
    """A clock for the rates that runs only while somebody waits."""

    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        return self.now

    async def sleep(self, seconds: float) -> None:
        self.now += seconds
        await asyncio.sleep(0)


def on_phones(
    folder: Path, play: Callable[[Phones], Awaitable[None]], pace: Pace | None = None
) -> None:
    async def run() -> None:
        async with Phones(folder, pace=pace) as phones:
            for chat in (SAM, ANN):
                phones.enrol(chat)
            await play(phones)

    asyncio.run(run())


def calls(phones: Phones, *names: str) -> int:
    return sum(name in names for name, _ in phones.platform.calls)


def living(phones: Phones, chat: str = ANN) -> list[str]:
    return [text for text in phones.texts(chat) if "Last heard" in text]


def test_a_start_edits_no_message_of_a_job_that_is_over(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        for number in range(6):
            await phones.say(ANN, f"new job crash, mile {number}")
            await phones.service.board.show()
            await phones.say(ANN, f"cancel job {number + 1}, customer called off")
        await phones.service.board.show()
        assert all("called off" in text for text in living(phones))
        await phones.restart()
        before = calls(phones, *EDITS)
        await phones.service.board.show()
        assert calls(phones, *EDITS) == before

    on_phones(tmp_path, play)


def test_old_messages_of_an_earlier_version_are_left_alone(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await phones.say(ANN, "new job crash, mile 9")
        await phones.service.board.show()
        await phones.say(ANN, "cancel job 1, customer called off")
        await phones.stop()
        phones.clock.to(phones.clock.at.mono_ns + 30 * 3_600 * 10**9)
        await phones.start()
        before = calls(phones, *EDITS)
        await phones.service.board.show()
        assert calls(phones, *EDITS) == before
        assert phones.store.boards() == {}

    on_phones(tmp_path, play)


def test_a_message_that_could_not_be_edited_is_mended_when_its_job_has_ended(
    tmp_path: Path,
) -> None:
    async def play(phones: Phones) -> None:
        await phones.say(ANN, "new job crash, mile 9")
        await phones.service.board.show()
        await phones.say(ANN, "cancel job 1, customer called off")
        phones.platform.fails("editMessageText", "429", times=1)
        wait_s = await phones.service.board.show()
        assert wait_s > 0, "it comes back by itself"
        assert "has ended" not in living(phones)[0]
        await phones.restart()
        await phones.service.board.show()
        assert "has ended" in living(phones)[0]

    on_phones(tmp_path, play)


def test_twelve_trucks_stay_within_the_rate_of_a_chat_and_alarms_do_not_wait(
    tmp_path: Path,
) -> None:
    time = Time()
    pace = Pace(Rates(), time, time.sleep)

    async def play(phones: Phones) -> None:
        drivers = [f"driver:d{number}" for number in range(12)]
        for driver in drivers:
            await phones.say(driver, "new job breakdown, mile 9")
        phones.platform.calls.clear()
        began = time.now
        for word in ("none", "behind", "secured"):
            for driver in drivers:
                await phones.say(driver, word)
                await phones.service.board.show()
                time.now += 1
        minutes = (time.now - began) / MINUTE_S
        ann = str(phones.accounts[ANN])
        mine = sum(given.get("chat_id") == ann for name, given in phones.platform.calls
                   if name in EDITS)  # fmt: skip
        assert mine <= 20 * minutes + 3
        before = time.now
        await phones.say(drivers[0], "smoke")
        assert any("danger" in text.lower() for text in phones.texts(ANN)[-2:])
        assert time.now - before < 2
        while wait_s := await phones.service.board.show():
            time.now += wait_s
        assert len(living(phones)) == 12
        last = [text.partition("Last: ")[2].partition(".")[0] for text in living(phones)]
        assert last.count(last[-1]) >= 11, "all are where they are, but for the one with smoke"

    on_phones(tmp_path, play, pace)


def test_many_strangers_do_not_push_the_bot_over_its_rate(tmp_path: Path) -> None:
    time = Time()

    async def play(phones: Phones) -> None:
        for number in range(120):
            phones.platform.world.says(9_000 + number, "hello")
        began = time.now
        while phones.unread():
            await phones.hears()
        sent = calls(phones, "sendMessage")
        assert sent == 120
        assert sent <= 25 + 25 * (time.now - began) + 1

    on_phones(tmp_path, play, Pace(Rates(), time, time.sleep))

"""Buttons: old ones, forged ones, somebody else's; and the one that counts however old it is."""

from pathlib import Path

import pytest

from bot.channels.telegram.buttons import mark
from flows.texts import sentences
from tests.bot.test_air_channel import ANN, PHOTO, SAM, SAYS, facts, on_phones, opened
from tests.standin.phones import Phones


def test_a_button_answers_the_question_it_is_under(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await opened(phones)
        press = await phones.press(SAM, "none")
        assert facts(phones)["danger"] == "none"
        # The mark that waits on the phone ends.
        assert phones.platform.world.presses[press]["answered"] is not None

    on_phones(tmp_path, play)


def test_t11_an_old_button_is_recorded_and_changes_nothing(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await opened(phones)
        for word in ("none", "behind", "secured", "warned", "chocked"):
            await phones.say(SAM, word)
            await phones.wait(5)
        phones.platform.world.sends(phones.accounts[SAM], "photo", PHOTO)
        await phones.hears()
        await phones.say(SAM, "done")
        await phones.wait(5)
        old = phones.messages(SAM)[-1]["message_id"]
        await phones.press(SAM, "level")
        before = facts(phones)
        await phones.press(SAM, "uphill", old)
        assert facts(phones) == before
        assert before["slope"] == "level"
        assert phones.entries(1)[-1]["kind"] == "heard"
        assert sentences()["says"]["stale"]["shown"] in phones.texts(SAM)[-2:]

    on_phones(tmp_path, play)


def test_t11_an_old_button_that_says_danger_raises_it_all_the_same(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        phones.enrol(ANN)
        await opened(phones)
        old = phones.messages(SAM)[-1]["message_id"]
        for word in ("none", "behind"):
            await phones.say(SAM, word)
            await phones.wait(5)
        await phones.press(SAM, "danger seen", old)
        acts = [e["body"].get("act") for e in phones.entries(1) if e["kind"] == "act"]
        assert acts[-1] == "danger_seen"
        assert facts(phones)["danger"] == "seen"
        assert phones.entries(1)[-1]["kind"] != "heard"
        assert sentences()["says"]["stale"]["shown"] not in phones.texts(SAM)
        assert phones.last(SAM).startswith("Stop.")
        assert phones.last(ANN).startswith("Stop. Job one")

    on_phones(tmp_path, play)


def test_t11_an_old_danger_button_counts_in_a_flood(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await opened(phones)
        old = phones.messages(SAM)[-1]["message_id"]
        await phones.say(SAM, "none")
        world, sam = phones.platform.world, phones.accounts[SAM]
        for number in range(100):
            world.says(sam, f"wibble {number}")
        world.presses_button(sam, old, "danger seen")
        while phones.unread():
            await phones.hears()
        assert facts(phones)["danger"] == "seen"

    on_phones(tmp_path, play)


@pytest.mark.parametrize("data", ["yes", "AAAA", "", "é" * 20, mark(b"another key", 1, 0)])
def test_t11_a_button_that_we_never_made_is_no_answer(tmp_path: Path, data: str) -> None:
    async def play(phones: Phones) -> None:
        await opened(phones)
        before = phones.entries(1)
        shown = phones.messages(SAM)[-1]["message_id"]
        phones.platform.world.presses_button(phones.accounts[SAM], shown, data=data)
        await phones.hears()
        assert phones.entries(1) == before
        assert phones.last(SAM) == SAYS["past"]

    on_phones(tmp_path, play)


def test_t11_somebody_elses_button_is_no_answer(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await opened(phones)
        ann = phones.enrol(ANN)
        before = phones.entries(1)
        data = phones.messages(SAM)[-1]["reply_markup"]["inline_keyboard"][0][0]["callback_data"]
        sam = phones.accounts[SAM]
        shown = phones.messages(SAM)[-1]["message_id"]
        phones.platform.world.presses_button(sam, shown, data=data, by=ann)
        await phones.hears()
        assert phones.entries(1) == before

    on_phones(tmp_path, play)

"""A dispatcher's and an owner's day: open, assign, look on, be alarmed, look back."""

import asyncio
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import pytest

from bot.record.rows import COMPANY
from flows.texts import air_texts, desk_texts
from flows.turn import sheet
from tests.standin.phones import Phones

SAM, ANN, BEA, KIM = "driver:sam", "dispatcher:ann", "dispatcher:bea", "owner:kim"
GIVE, CREW = desk_texts()["give"], air_texts()["crew"]


def on_phones(folder: Path, play: Callable[[Phones], Awaitable[None]]) -> None:
    async def run() -> None:
        async with Phones(folder) as phones:
            for chat in (SAM, ANN):
                phones.enrol(chat)
            await play(phones)

    asyncio.run(run())


async def given_to_sam(phones: Phones) -> None:
    await phones.say(ANN, "new job breakdown, heron, mile 12 northbound for Sam")
    await phones.wait(5)


def file_of(phones: Phones, message: dict[str, Any]) -> bytes:
    return phones.platform.world.files[message["document"]["file_id"]].data


def test_a_job_is_opened_in_one_message_and_its_driver_asked(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await given_to_sam(phones)
        facts = {e["body"]["name"]: e["body"]["value"]
                 for e in phones.entries(1) if e["kind"] == "fact"}  # fmt: skip
        assert facts["history"] == "breakdown"
        assert facts["truck"] == "heron"
        assert facts["place"]["value"] == "mile 12 northbound"
        assert phones.last(ANN).endswith(GIVE["asked"].format(number=1, name="sam"))
        assert "mile 12 northbound" in phones.last(SAM)
        assert phones.entries(COMPANY)[-1]["body"] == {"job": "1", "driver": "p1"}
        await phones.press(SAM, "Here: job 1")
        assert phones.company.desk.job(1).at_vehicle == "p1"
        assert "danger" in phones.last(SAM).lower() or "distance" in phones.last(SAM)

    on_phones(tmp_path, play)


def test_for_a_place_is_no_driver(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await phones.say(ANN, "new job breakdown, the lot for trailers")
        await phones.press(ANN, GIVE["of_place"])
        place = phones.company.desk.job(1).value("place")
        assert place == "the lot for trailers"
        await phones.say(ANN, "job 1 for nobody")
        assert phones.last(ANN) == GIVE["no_driver"].format(name="nobody")
        await phones.say(ANN, "job 9 for sam")
        assert phones.last(ANN) == GIVE["no_job"].format(number=9)
        await phones.say(ANN, "job 1 for sam")
        assert "job 1" in phones.last(SAM)

    on_phones(tmp_path, play)


def test_each_dispatcher_has_one_living_message_of_a_job(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        phones.enrol(BEA)
        await given_to_sam(phones)
        await phones.service.board.show()
        await phones.press(SAM, "Here: job 1")
        await phones.service.board.show()
        for word in ("none", "behind"):
            await phones.say(SAM, word)
            await phones.wait(60)
        await phones.service.board.show()
        await phones.restart()
        await phones.service.board.show()
        for chat in (ANN, BEA):
            living = [text for text in phones.texts(chat) if "Last heard" in text]
            assert len(living) == 1, chat
            (text,) = living
            assert "At the vehicle: sam" in text
            assert "Last: people behind" in text or "Last:" in text
        # Nothing moved: nothing is sent.
        calls = len(phones.platform.calls)
        await phones.service.board.show()
        assert len(phones.platform.calls) == calls

    on_phones(tmp_path, play)


def test_a_living_message_that_was_deleted_is_made_again(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await given_to_sam(phones)
        await phones.service.board.show()
        messages = phones.platform.world.chats[phones.accounts[ANN]].messages
        (gone,) = [n for n, m in messages.items() if "Last heard" in m.get("text", "")]
        del messages[gone]
        await phones.press(SAM, "Here: job 1")
        await phones.service.board.show()
        assert sum("Last heard" in text for text in phones.texts(ANN)) == 1

    on_phones(tmp_path, play)


def test_the_dispatcher_hears_of_danger_and_of_silence_in_a_window(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await given_to_sam(phones)
        await phones.press(SAM, "Here: job 1")
        await phones.say(SAM, "smoke")
        assert any("danger" in text.lower() for text in phones.texts(ANN)[1:])

    on_phones(tmp_path, play)


def test_a_time_line_comes_as_text_and_as_a_file(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await given_to_sam(phones)
        await phones.say(ANN, "Trail 1")
        text, file = phones.messages(ANN)[-2:]
        assert "job opened" in text["text"]
        data = file_of(phones, file).decode()
        assert file["document"]["file_name"] == "trail-1.txt"
        assert len(data.splitlines()) == len(phones.entries(1))
        await phones.say(ANN, "trail 7")
        assert phones.last(ANN) == GIVE["no_job"].format(number=7)

    on_phones(tmp_path, play)


def test_the_owner_gets_the_record_as_a_file_and_nobody_else(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await given_to_sam(phones)
        await phones.say(ANN, "record 1")
        assert phones.last(ANN) == CREW["only_owner"]
        await phones.say(KIM, "record 1")
        message = phones.messages(KIM)[-1]
        assert message["document"]["file_name"] == "job-1.zip"
        (tmp_path / "job-1.zip").write_bytes(file_of(phones, message))
        with ZipFile(tmp_path / "job-1.zip") as packet:
            entries = next(n for n in packet.namelist() if n.endswith("entries.jsonl"))
            lines = packet.read(entries).decode().splitlines()
        assert lines == phones.store.lines(1)
        assert phones.entries(COMPANY)[-1]["kind"] == "exported"

    on_phones(tmp_path, play)


def test_a_sheet_goes_along_where_there_is_no_signal(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await phones.say(ANN, "new job breakdown, harrow, heron, mile 12 for Sam")
        await phones.press(SAM, "Here: job 1")
        before = len(phones.texts(SAM))
        await phones.say(SAM, "sheet")
        sheet = phones.texts(SAM)[before]
        assert "chock" in sheet.lower()
        # Typed there, one after the other, and sent by the phone when it is back: what answers
        # a question that was not asked yet is not taken for its answer.
        await phones.wait(5)
        world = phones.platform.world
        typed_at = int(phones.clock.seconds())
        await phones.wait(5)
        for text in ("none", "behind", "secured"):
            world.says(phones.accounts[SAM], text, date=typed_at)
        await phones.hears()
        kinds = [e["kind"] for e in phones.entries(1)]
        assert kinds.count("parked") == 2
        acts = [e["body"]["act"] for e in phones.entries(1) if e["kind"] == "act"]
        assert acts == []

    on_phones(tmp_path, play)


@pytest.mark.parametrize("words", [(), ("none", "behind", "secured")])
def test_nothing_of_a_long_sheet_is_cut(tmp_path: Path, words: tuple[str, ...]) -> None:
    async def play(phones: Phones) -> None:
        await phones.say(ANN, "new job breakdown, harrow, heron, mile 12 for Sam")
        await phones.press(SAM, "Here: job 1")
        for word in words:
            await phones.say(SAM, word)
        before = len(phones.texts(SAM))
        await phones.say(SAM, "sheet")
        said = "\n".join(phones.texts(SAM)[before:])
        whole = sheet.text(phones.company.desk.job(1))
        assert len(whole) > 4096
        assert [line for line in whole.split("\n") if line not in said] == []
        assert "(1 of " in said

    on_phones(tmp_path, play)


def test_a_driver_gets_no_time_line(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await given_to_sam(phones)
        await phones.say(SAM, "trail 1")
        assert not any("document" in message for message in phones.messages(SAM))

    on_phones(tmp_path, play)

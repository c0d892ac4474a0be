"""Photos over the platform: asked for as files, once a job, and kept however they come."""

import asyncio
from pathlib import Path

import pytest

from bot.channels.telegram import CHANNEL, intake
from bot.commands.demo import conversation, parse
from flows.texts import air_texts, sentences
from tests.bot.test_air_channel import ANN, PHOTO, SAM, on_phones, opened
from tests.bot.test_air_conversations import Played
from tests.standin.phones import Phones

HINT = air_texts()["before_photos"][CHANNEL]
LOST = sentences()["says"]["media_lost_over"]["shown"].format(ref="one")


def test_files_are_asked_for_once_a_job_and_a_photo_made_small_is_kept(tmp_path: Path) -> None:
    camera = PHOTO + b" as the camera wrote it"

    async def play(phones: Phones) -> None:
        await opened(phones)
        for word in ("none", "behind", "secured", "warned"):
            await phones.say(SAM, word)
            assert HINT not in phones.texts(SAM)
        await phones.say(SAM, "chocked")
        assert phones.texts(SAM)[-2:] == [HINT, sentences()["items"]["scene.photos"]["shown"]]
        world, sam = phones.platform.world, phones.accounts[SAM]
        world.sends(sam, "photo", PHOTO)
        world.sends(sam, "document", camera, name="dash.jpg")
        await phones.hears()
        assert phones.company.desk.job(1).photos == {"scene.photos": 2}
        # As bytes, the small one and the camera's own.
        files = phones.store.folder / "files"
        assert {path.read_bytes() for path in files.iterdir()} == {PHOTO, camera}
        for word in ("repeat", "smoke", "fire service released it", "done"):
            await phones.say(SAM, word)
        assert phones.texts(SAM).count(HINT) == 1

    on_phones(tmp_path, play)


def test_a_job_with_as_many_files_as_it_may_have_takes_no_more(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(intake, "MOST_FILES", 2)

    async def play(phones: Phones) -> None:
        await opened(phones)
        for number in range(4):
            phones.platform.world.sends(phones.accounts[SAM], "photo", PHOTO + bytes([number]))
            await phones.hears()
        kinds = [entry["kind"] for entry in phones.store.entries(1)]
        assert kinds.count("media") == phones.store.count(1, "media") == 2
        assert phones.store.count(1, "heard") == kinds.count("heard") > 0
        assert len(list((phones.store.folder / "files").iterdir())) == 2

    on_phones(tmp_path, play)


def test_a_whole_carry_is_told_of_files_once_for_all_its_sets(tmp_path: Path) -> None:
    sets = [one["shown"] for key, one in sentences()["items"].items() if key.endswith(".photos")]

    async def play(phones: Phones) -> None:
        played = Played(phones)
        for step in parse(conversation("plain_carry")):
            await played.step(step)
        texts = phones.texts(SAM)
        assert sum(one in texts for one in sets) == 3, "before, the straps, and at the drop"
        assert texts.count(HINT) == 1

    on_phones(tmp_path, play)


@pytest.mark.parametrize("is_there", [True, False])
def test_a_photo_on_its_way_when_its_job_ended_is_fetched_after_a_kill_or_told_as_lost(
    tmp_path: Path, *, is_there: bool
) -> None:
    async def play(phones: Phones) -> None:
        await phones.say(ANN, "new job crash, mile 12")
        phones.platform.fails("getFile", "delay", seconds=3600.0, times=99)
        world, ann = phones.platform.world, phones.accounts[ANN]
        world.sends(ann, "photo", PHOTO)
        world.says(ann, "cancel job 1, customer called off")
        assert not await phones.service.poller.once()
        assert phones.company.desk.job(1).ended is not None
        while not phones.platform.counts["getFile"]:
            await asyncio.sleep(0)
        await phones.service.lanes.idle()
        # A kill: nothing of what was on its way is told of.
        for task in phones.service._aside:
            task.cancel()
        phones.platform.faults.scripted.clear()
        if not is_there:
            phones.platform.fails("getFile", "400", times=99, words="Bad Request: wrong file_id")
        before = phones.texts(ANN)
        await phones.restart()
        await phones.settled()
        kinds = [entry["kind"] for entry in phones.entries(1)]
        assert ("media" if is_there else "media_lost") in kinds[kinds.index("ended") :]
        assert phones.company.desk.job(1).receipts == {}
        if not is_there:
            assert LOST in phones.texts(ANN)[len(before) :]
        count = phones.platform.counts["getFile"]
        await phones.restart()
        await phones.settled()
        assert phones.platform.counts["getFile"] == count, "and that was that"

    on_phones(tmp_path, play)

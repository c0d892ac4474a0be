"""Several photos that came as one: one set, one reply, and a caption is words."""

import asyncio
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

import pytest

from bot.channels.telegram import files
from flows.texts import sentences
from tests.bot.test_air_channel import ANN, PHOTO, SAM, SAYS, said_by_sam
from tests.standin.phones import Phones

KEPT = sentences()["says"]["photo_kept"]["shown"]
FOUR = [PHOTO + bytes([n]) for n in range(4)]


@pytest.fixture(autouse=True)
def _at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(files, "QUIET_S", 0)
    monkeypatch.setattr(files, "FETCH_WAIT_S", 0)


def asked_for_photos(folder: Path, play: Callable[[Phones], Awaitable[None]]) -> None:
    async def run() -> None:
        async with Phones(folder) as phones:
            for word in ("new job breakdown, mile 12", "none", "behind", "secured", "warned",
                         "chocked"):  # fmt: skip
                await phones.say(SAM, word)
                await phones.wait(5)
            assert phones.company.desk.job(1).next_item.id == "scene.photos"
            await play(phones)

    asyncio.run(run())


def photos(phones: Phones) -> int:
    return phones.company.desk.job(1).photos.get("scene.photos", 0)


def wanted(phones: Phones) -> int:
    found: Any = phones.company.desk.job(1).book.routine.items["scene.photos"]
    return int(found.wanted)


def kept(phones: Phones, count: int) -> str:
    return KEPT.format(photo_shown=count, wanted_shown=wanted(phones))


def test_an_album_is_one_set_with_one_reply(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        before = phones.texts(SAM)
        phones.platform.world.sends_album(phones.accounts[SAM], FOUR)
        await phones.hears()
        assert photos(phones) == 4
        assert phones.texts(SAM)[len(before) :] == [kept(phones, 4)]
        kinds = [e["kind"] for e in phones.entries(1)]
        assert kinds.count("media") == 4

    asked_for_photos(tmp_path, play)


def test_an_album_that_makes_the_set_whole_settles_it_once_behind_its_last(
    tmp_path: Path,
) -> None:
    async def play(phones: Phones) -> None:
        many = [PHOTO + bytes([9, n]) for n in range(wanted(phones) - 2)]
        phones.platform.world.sends_album(phones.accounts[SAM], many)
        await phones.hears()
        before = phones.texts(SAM)
        phones.platform.world.sends_album(phones.accounts[SAM], FOUR)
        await phones.hears()
        done = [e["body"]["item"] for e in phones.entries(1) if e["kind"] == "done"]
        assert done.count("scene.photos") == 1
        said = phones.texts(SAM)[len(before) :]
        assert [one for one in said if "Photo" in one] == [kept(phones, wanted(phones) + 2)]
        assert phones.company.desk.job(1).next_item.id != "scene.photos"

    asked_for_photos(tmp_path, play)


def test_a_caption_of_an_album_is_words_said_behind_all_its_photos(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        phones.platform.world.sends_album(phones.accounts[SAM], FOUR, ["done"])
        await phones.hears()
        assert photos(phones) == 4
        done = [e["body"]["item"] for e in phones.entries(1) if e["kind"] == "done"]
        assert done == ["scene.photos"]
        assert said_by_sam(phones)[-1] == "done"

    asked_for_photos(tmp_path, play)


def test_a_caption_that_says_danger_waits_for_no_photo(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def play(phones: Phones) -> None:
        monkeypatch.setattr(files, "QUIET_S", 3600)
        phones.platform.world.sends_album(phones.accounts[SAM], FOUR, ["", "smoke"])
        phones.platform.fails("getFile", "delay", seconds=3600.0, times=9)
        assert not await phones.service.poller.once()
        assert "danger_seen" in [e["body"].get("act") for e in phones.entries(1)]
        await phones.service.lanes.idle()
        assert phones.last(SAM).startswith("Stop.")
        assert [e["body"].get("ref") for e in phones.entries(1) if e["kind"] == "received"]
        # Those that still wait are safe: the next start takes them.
        for task in phones.service._aside:
            task.cancel()
        phones.platform.faults.scripted.clear()
        monkeypatch.setattr(files, "QUIET_S", 0)
        await phones.restart()
        await phones.settled()
        assert phones.store.unfinished() == []
        assert len([e for e in phones.entries(1) if e["kind"] == "media"]) == 4

    asked_for_photos(tmp_path, play)


def test_an_album_that_comes_in_two_polls_is_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def play(phones: Phones) -> None:
        quiet, waits = asyncio.Event(), []

        async def sleep(seconds: float) -> None:
            waits.append(seconds)
            if len(waits) == 1:
                await quiet.wait()

        before = phones.texts(SAM)
        phones.platform.world.sends_album(phones.accounts[SAM], FOUR)
        first, second = phones.unread()[:2], phones.unread()[2:]
        with monkeypatch.context() as patched:
            patched.setattr(files, "pause", sleep)
            phones.service.take(first)
            await asyncio.sleep(0)
            phones.service.take(second)
            quiet.set()
            await phones.settled()
        assert len(waits) == 2
        assert phones.texts(SAM)[len(before) :] == [kept(phones, 4)]

    asked_for_photos(tmp_path, play)


def test_photos_that_do_not_come_are_said_once_and_the_rest_counts(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        before = phones.texts(SAM)
        world = phones.platform.world
        known = set(world.files)
        world.sends_album(phones.accounts[SAM], FOUR)
        new = [world.files[name] for name in world.files if name not in known]
        for file in new[1:3]:
            file.path = "../elsewhere"
        await phones.hears()
        assert phones.texts(SAM)[len(before) :] == [SAYS["no_file"], kept(phones, 2)]

    asked_for_photos(tmp_path, play)


def test_an_album_of_somebody_else_than_the_driver_gets_one_reply(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        ann = phones.enrol(ANN)
        await phones.say(ANN, "job 1 status")
        before = phones.texts(ANN)
        phones.platform.world.sends_album(ann, FOUR)
        await phones.hears()
        assert len(phones.texts(ANN)) == len(before) + 1
        assert photos(phones) == 0

    asked_for_photos(tmp_path, play)


def test_done_right_behind_an_album_is_said_of_its_photos(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    opens = asyncio.Event()

    async def held(_seconds: float) -> None:
        await opens.wait()

    async def play(phones: Phones) -> None:
        monkeypatch.setattr(files, "pause", held)
        before = phones.texts(SAM)
        phones.platform.world.sends_album(phones.accounts[SAM], FOUR)
        phones.platform.world.says(phones.accounts[SAM], "done")
        updates = phones.unread()
        phones.service.take(updates)
        job = phones.company.desk.job(1)
        assert job.next_item.id == "scene.slope", "the words wait for no photo"
        opens.set()
        await phones.hears()
        await phones.settled()
        assert photos(phones) == 4, "and the photos are those of the set it was said of"
        kinds = [(e["kind"], e["body"].get("item")) for e in phones.entries(1)]
        assert kinds.count(("received", "scene.photos")) == 4
        assert [kind for kind, _ in kinds].count("media") == 4
        assert kinds.index(("received", "scene.photos")) < kinds.index(("done", "scene.photos"))
        said = phones.texts(SAM)[len(before) :]
        assert said[0].startswith("Photos kept so far: 4 of 11."), said
        assert len(said) == 2, said

    asked_for_photos(tmp_path, play)

"""Messages over the platform: each kind of update, and those that are never an answer."""

import asyncio
from collections.abc import Awaitable, Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from bot.channels.telegram import service
from bot.channels.telegram.pacing import Pace
from bot.channels.telegram.service import AT_ONCE
from bot.record.errors import REFUSED, StoreError
from flows.texts import air_texts, sentences
from tests.standin.phones import UNHURRIED, Phones

SAM, ANN, KIM = "driver:sam", "dispatcher:ann", "owner:kim"
SAYS = air_texts()["says"]
PHOTO = b"\xff\xd8\xff\xe0 a photo of a dash"


class Time:
    """A clock for the rates: it runs while somebody waits, unless it is still."""

    def __init__(self) -> None:
        self.now = 0.0
        self.is_still = False

    def __call__(self) -> float:
        return self.now

    async def sleep(self, seconds: float) -> None:
        while self.is_still:
            await asyncio.sleep(0)
        self.now += seconds
        await asyncio.sleep(0)


def on_phones(folder: Path, play: Callable[[Phones], Awaitable[None]]) -> None:
    async def run() -> None:
        async with Phones(folder) as phones:
            await play(phones)

    asyncio.run(run())


async def opened(phones: Phones) -> None:
    await phones.say(SAM, "new job breakdown, mile 12")
    await phones.wait(5)


def said_by_sam(phones: Phones, job: int = 1) -> list[str]:
    found = [entry["body"]["text"] for entry in phones.entries(job) if entry["kind"] == "heard"]
    return [one["value"] for one in found]


def facts(phones: Phones, job: int = 1) -> dict[str, Any]:
    found = [entry["body"] for entry in phones.entries(job) if entry["kind"] == "fact"]
    return {one["name"]: one["value"] for one in found}


def test_t10_the_same_update_thrice_and_out_of_order_gives_one_entry(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await opened(phones)
        world = phones.platform.world
        world.says(phones.accounts[SAM], "none")
        world.says(phones.accounts[SAM], "status")
        first, second = phones.unread()
        for update in (second, first):
            world.push_raw(update)
        await phones.hears()
        before = said_by_sam(phones)
        assert before.count("none") == before.count("status") == 1
        await phones.restart()
        # The platform forgot that they were confirmed.
        world.push_raw(second)
        world.push_raw(first)
        await phones.hears()
        assert said_by_sam(phones) == before

    on_phones(tmp_path, play)


def test_a_number_used_again_for_another_update_is_taken(tmp_path: Path) -> None:
    # The platform's page: numbers begin at random after a week without updates.
    async def play(phones: Phones) -> None:
        await opened(phones)
        world = phones.platform.world
        world.says(phones.accounts[SAM], "status")
        (update,) = phones.unread()
        await phones.hears()
        message = {**update["message"], "text": "repeat", "message_id": 99}
        world.push_raw({"update_id": update["update_id"], "message": message})
        phones.service.poller.offset = 0
        await phones.hears()
        assert said_by_sam(phones)[-2:] == ["status", "repeat"]

    on_phones(tmp_path, play)


def test_an_edit_is_a_new_entry_and_never_the_answer_to_another_question(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await opened(phones)
        first = await phones.say(SAM, "none")
        before = facts(phones)
        await phones.wait(5)
        phones.platform.world.edits(phones.accounts[SAM], first["message_id"], "behind")
        await phones.hears()
        heard = phones.entries(1)[-1]
        assert (heard["kind"], heard["body"]["edit"]) == ("heard", True)
        assert said_by_sam(phones)[-2:] == ["none", "behind"]
        assert facts(phones) == before
        assert not any(e["kind"] == "act" and e["body"]["act"] == "people_behind"
                       for e in phones.entries(1))  # fmt: skip
        assert phones.last(SAM) == sentences()["says"]["edit"]["shown"]

    on_phones(tmp_path, play)


def test_t04_an_edit_to_a_danger_still_stops(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await opened(phones)
        first = await phones.say(SAM, "none")
        await phones.wait(5)
        phones.platform.world.edits(phones.accounts[SAM], first["message_id"], "smoke")
        await phones.hears()
        acts = [e["body"].get("act") for e in phones.entries(1) if e["kind"] == "act"]
        assert "danger_seen" in acts

    on_phones(tmp_path, play)


def test_a_reply_is_bound_to_the_question_it_answers(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await opened(phones)
        question = phones.messages(SAM)[-1]
        await phones.say(SAM, "none", reply_to_message=question)
        assert facts(phones)["danger"] == "none"
        await phones.wait(5)
        await phones.say(SAM, "behind", reply_to_message=question)
        heard = [e["body"] for e in phones.entries(1) if e["kind"] == "heard"]
        assert heard[-1]["ask"] == heard[-2]["ask"]
        assert phones.last(SAM) == sentences()["says"]["stale"]["shown"]

    on_phones(tmp_path, play)


FORWARDED = {"type": "hidden_user", "sender_user_name": "Somebody", "date": 1_700_000_000}
ROBOT = {"id": 77, "is_bot": True, "first_name": "Robot", "username": "robot_bot"}


@pytest.mark.parametrize("more", [{"forward_origin": FORWARDED}, {"via_bot": ROBOT}])
def test_t21_a_message_made_by_somebody_else_is_no_answer(
    tmp_path: Path, more: dict[str, Any]
) -> None:
    async def play(phones: Phones) -> None:
        await opened(phones)
        before = phones.entries(1)
        await phones.say(SAM, "none", **more)
        assert phones.entries(1) == before
        assert phones.last(SAM) == SAYS["not_theirs"]

    on_phones(tmp_path, play)


@pytest.mark.parametrize(
    "content",
    [
        {"dice": {"emoji": "x", "value": 3}},
        {"contact": {"phone_number": "1", "first_name": "A"}},
        {"left_chat_member": {"id": 5, "is_bot": False, "first_name": "A"}},
        {"a_kind_of_the_future": {"x": 1}},
    ],
)
def test_an_unusable_message_gets_a_friendly_sentence(
    tmp_path: Path, content: dict[str, Any]
) -> None:
    async def play(phones: Phones) -> None:
        await opened(phones)
        before = phones.entries(1)
        await phones.say(SAM, **content)
        assert phones.entries(1) == before
        assert phones.last(SAM) == SAYS["other"]

    on_phones(tmp_path, play)


def test_an_update_that_cannot_be_read_is_kept_apart_and_holds_nothing_up(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await opened(phones)
        world = phones.platform.world
        world.push("message", {"from": {"id": phones.accounts[SAM]}})
        (bad,) = phones.unread()
        world.push_raw({"update_id": bad["update_id"] + 1, "message": "no message"})
        world.push("message", {})
        await phones.hears()
        assert phones.last(SAM) == SAYS["other"]
        world.says(phones.accounts[SAM], "none")
        await phones.hears()
        assert facts(phones)["danger"] == "none"
        rows = [phones.store.message(number) for number in range(1, 7)]
        apart = [row for row in rows if row is not None and row.state == "quarantined"]
        # As it came, whole.
        assert apart[0].body["update"] == bad
        assert len(apart) == 3

    on_phones(tmp_path, play)


def test_t16_files_are_kept_as_received_under_their_digest(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await opened(phones)
        world, sam = phones.platform.world, phones.accounts[SAM]
        world.sends(sam, "photo", PHOTO)
        world.sends(sam, "voice", b"OggS\0 voice")
        world.sends(sam, "document", b"%PDF-1.7 text", name="../../../../etc/cron.d/evil")
        await phones.hears()
        kept = [e["body"] for e in phones.entries(1) if e["kind"] == "media"]
        assert sorted(one["kind"] for one in kept) == ["file", "photo", "voice"]
        files = phones.store.folder / "files"
        found = {path.name: path.read_bytes() for path in files.iterdir()}
        assert {found[one["sha256"]] for one in kept} == {PHOTO, b"OggS\0 voice", b"%PDF-1.7 text"}
        assert list(tmp_path.rglob("*evil*")) == []

    on_phones(tmp_path, play)


def test_a_caption_is_words_like_any_others(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await opened(phones)
        phones.platform.world.sends(phones.accounts[SAM], "photo", PHOTO, caption="smoke")
        await phones.hears()
        acts = [e["body"].get("act") for e in phones.entries(1) if e["kind"] == "act"]
        assert "danger_seen" in acts

    on_phones(tmp_path, play)


@pytest.mark.parametrize(
    "path", ["/etc/passwd", "../planted", "planted", "photos/../../planted", "http://x/planted",
             "photos//planted/", "C:\\planted"],
)  # fmt: skip
def test_t14_t15_only_the_platforms_own_paths_are_fetched(
    tmp_path: Path, path: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    # A file of that name lies under the working directory: the library's own get_file takes it.
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    Path("planted").write_bytes(b"a secret of this machine")

    async def play(phones: Phones) -> None:
        await opened(phones)
        world = phones.platform.world
        message = world.sends(phones.accounts[SAM], "photo", PHOTO)
        world.files[message["photo"][-1]["file_id"]].path = path
        await phones.hears()
        assert phones.last(SAM) == SAYS["no_file"]
        assert not any(e["kind"] == "media" for e in phones.entries(1))
        assert not (phones.store.folder / "files").exists()

    on_phones(tmp_path / "data", play)


def test_t14_a_file_of_another_size_than_named_is_not_taken(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await opened(phones)
        world = phones.platform.world
        message = world.sends(phones.accounts[SAM], "photo", PHOTO)
        world.files[message["photo"][-1]["file_id"]].size = 20 * 1024 * 1024 + 1
        await phones.hears()
        assert phones.last(SAM) == SAYS["big_file"]

    on_phones(tmp_path, play)


def test_a_place_is_kept_in_microdegrees(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await opened(phones)
        await phones.say(SAM, location={"latitude": 39.7400001, "longitude": -104.9903})
        (kept,) = [e["body"] for e in phones.entries(1) if e["kind"] == "media"]
        assert kept["place"]["value"] == {
            "lat_udeg": 39740000,
            "lon_udeg": -104990300,
            "label": "",
        }

    on_phones(tmp_path, play)


def test_t20_typed_text_is_never_markup_and_hides_nothing(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        phones.enrol(ANN)
        typed = "<b>mile</b> [12](http://x) \u202ereversed\u202c zero\u200bwidth"
        await phones.say(SAM, f"new job, {typed}")
        await phones.wait(5)
        await phones.say(SAM, "status")
        await phones.say(ANN, "job 1 status")
        for name, given in phones.platform.calls:
            if name == "sendMessage":
                assert "parse_mode" not in given
                assert "entities" not in given
                assert '"is_disabled": true' in given["link_preview_options"]
                assert not set("\u202e\u202c\u200b") & set(given["text"])
        assert phones.entries(1)[1]["body"]["text"]["value"] == f"new job, {typed}"

    on_phones(tmp_path, play)


def test_the_drivers_keyboard_holds_words_that_are_understood_at_any_time(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await phones.say(SAM, "new job breakdown")
        keyboard = phones.platform.world.chats[phones.accounts[SAM]].keyboard
        assert keyboard is not None
        assert [[key["text"] for key in row] for row in keyboard["keyboard"]] == air_texts()[
            "keyboard"]["driver"]  # fmt: skip

    on_phones(tmp_path, play)


def test_a_flood_is_slowed_never_dropped_and_danger_counts_at_once(tmp_path: Path) -> None:
    time = Time()

    async def run() -> None:
        async with Phones(tmp_path, pace=Pace(replace(UNHURRIED), time, time.sleep)) as phones:
            await opened(phones)
            world, sam = phones.platform.world, phones.accounts[SAM]
            for number in range(90):
                world.says(sam, f"wibble {number}")
            world.says(sam, "smoke")
            time.is_still = True
            phones.service.take(phones.unread())
            while phones.company.desk.job(1).acts["danger"] != "seen":
                await asyncio.sleep(0)
            assert len(said_by_sam(phones)) < 60, "ahead of the others"
            time.is_still = False
            await phones.settled()
            said = said_by_sam(phones)
            assert [one for one in said if one.startswith("wibble")] == [
                f"wibble {number}" for number in range(90)
            ]
            assert 1 <= phones.texts(SAM).count(SAYS["slow_down"]) < 4
            assert phones.store.unfinished() == []

    asyncio.run(run())


@pytest.mark.parametrize("kind", ["photo", "voice"])
def test_many_files_at_once_are_all_kept_also_those_sent_while_it_was_down(
    tmp_path: Path, kind: str
) -> None:
    time = Time()
    count = 60 if kind == "photo" else 20

    async def run() -> None:
        async with Phones(tmp_path, pace=Pace(replace(UNHURRIED), time, time.sleep)) as phones:
            await opened(phones)
            await phones.stop()
            for number in range(count):
                data = PHOTO if kind == "photo" else b"OggS\0 voice"
                phones.platform.world.sends(phones.accounts[SAM], kind, data + bytes([number]))
            await phones.start()
            await phones.hears()
            kept = [e["body"] for e in phones.entries(1) if e["kind"] == "media"]
            assert len({one["sha256"] for one in kept}) == count

    asyncio.run(run())


def test_replies_are_sent_between_many_incoming_messages(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await opened(phones)
        for number in range(AT_ONCE + 3):
            phones.platform.world.says(phones.accounts[SAM], f"wibble {number}")
        phones.service.take(phones.unread())
        assert len(phones.store.unfinished()) == 3
        await phones.settled()
        assert phones.store.unfinished() == []

    on_phones(tmp_path, play)


def test_a_store_that_refuses_twice_is_tried_a_third_time(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def play(phones: Phones) -> None:
        await opened(phones)
        settle, refused = phones.service.intake.settle, []

        def refusing(*given: Any, **more: Any) -> Any:
            if len(refused) < 2:
                refused.append(given)
                raise StoreError(REFUSED, value="x", why="the disk is full")
            return settle(*given, **more)

        monkeypatch.setattr(phones.service.intake, "settle", refusing)
        await phones.say(SAM, "none")
        assert len(refused) == 2
        assert facts(phones)["danger"] == "none"

    monkeypatch.setattr(service, "RETRY_S", 0)
    on_phones(tmp_path, play)

"""Who may speak: strangers, invites, approval, revocation (threats T-01 to T-03)."""

import asyncio
import re
from collections.abc import Awaitable, Callable
from pathlib import Path

import pytest

from bot.channels.telegram.front_desk import DAY_MS, INVITE_LIVES_MS, LOCK_MS, MOST_TRIES
from bot.record.rows import COMPANY
from bot.record.schema import FILE_NAME
from flows.texts import air_texts, sentences
from tests.bot.turns import dump
from tests.standin.phones import Phones

SAM, ANN, KIM = "driver:sam", "dispatcher:ann", "owner:kim"
CREW = air_texts()["crew"]
STRANGER, OTHER = 901, 902


def on_phones(folder: Path, play: Callable[[Phones], Awaitable[None]]) -> None:
    async def run() -> None:
        async with Phones(folder) as phones:
            await play(phones)

    asyncio.run(run())


async def knocks(phones: Phones, account: int, text: str = "hello") -> list[str]:
    phones.platform.world.says(account, text)
    await phones.hears()
    return [m.get("text", "") for m in phones.platform.world.from_bot(account)]


async def invite(phones: Phones, role: str) -> str:
    """Have the owner make an invite; return its token, as the message with the link shows it."""
    await phones.say(KIM, f"invite {role}")
    (shown,) = [m for m in phones.messages(KIM)[-2:] if "photo" in m]
    found = re.search(r"start=(\S+)", shown["caption"])
    assert found is not None
    # A picture for the other phone's camera: PNG, by its signature (W3C PNG, section 5.2).
    file = phones.platform.world.files[shown["photo"][0]["file_id"]]
    assert file.data.startswith(b"\x89PNG\r\n\x1a\n")
    return found[1]


def test_t01_a_stranger_is_told_no_once_a_day_and_only_counted(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        for _ in range(3):
            told = await knocks(phones, STRANGER, "let me in, I am Kim")
        assert told == [CREW["stranger"]]
        await phones.wait(DAY_MS / 1000)
        assert await knocks(phones, STRANGER) == [CREW["stranger"]] * 2
        tables = dump(tmp_path / FILE_NAME)
        assert not any(tables[name] for name in ("inbox", "journal", "outbox", "chats", "private"))
        assert phones.store.stranger(f"telegram:{STRANGER}").seen == 4
        assert b"let me in" not in (tmp_path / FILE_NAME).read_bytes()
        assert b"let me in" not in (tmp_path / f"{FILE_NAME}-wal").read_bytes()

    on_phones(tmp_path, play)


def test_the_first_owner_comes_in_by_the_link_that_start_shows(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        link = phones.service.owner_link()
        assert link is not None
        token = link.partition("start=")[2]
        told = await knocks(phones, STRANGER, f"/start {token}")
        assert told == [CREW["welcome_owner"].format(name=f"Person {STRANGER}")]
        assert phones.service.owner_link() is None
        # It served once.
        assert await knocks(phones, OTHER, f"/start {token}") == [CREW["stranger"]]
        assert len(phones.company.crew.members) == 1

    on_phones(tmp_path, play)


def test_t02_an_invite_is_used_once_and_an_owner_approves(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        token = await invite(phones, "driver")
        # Two devices race for it: both updates come in the same batch.
        world = phones.platform.world
        world.says(STRANGER, f"/start {token}")
        world.says(OTHER, f"/start {token}")
        await phones.hears()
        assert [m["text"] for m in world.from_bot(STRANGER)] == [CREW["wait"]]
        assert [m["text"] for m in world.from_bot(OTHER)] == [CREW["stranger"]]
        # Until then nothing is taken from them.
        await knocks(phones, STRANGER, "new job breakdown")
        assert phones.store.jobs() == {}
        assert "asks to join as driver" in phones.last(KIM)
        await phones.press(KIM, "approve 1")
        assert CREW["approved"].format(name=f"Person {STRANGER}", role="driver") in phones.texts(
            KIM
        )
        await knocks(phones, STRANGER, "new job breakdown")
        assert list(phones.store.jobs()) == [1]
        kinds = [entry["kind"] for entry in phones.entries(COMPANY)]
        assert kinds == ["enrolled", "invited", "knocked", "enrolled"]

    on_phones(tmp_path, play)


def test_t02_an_invite_is_kept_as_its_digest_only(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        token = await invite(phones, "driver")
        assert len(token) >= 22  # 128 bits in base64
        await knocks(phones, STRANGER, f"/start {token}")
        for path in tmp_path.iterdir():
            assert token.encode() not in path.read_bytes(), path.name

    on_phones(tmp_path, play)


def test_t02_an_invite_ends_after_fifteen_minutes(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        token = await invite(phones, "driver")
        await phones.wait(INVITE_LIVES_MS / 1000)
        assert await knocks(phones, STRANGER, f"/start {token}") == [CREW["stranger"]]

    on_phones(tmp_path, play)


def test_t02_five_wrong_tries_shut_the_door_for_an_hour(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        token = await invite(phones, "driver")
        for _ in range(MOST_TRIES):
            await knocks(phones, STRANGER, "/start " + "x" * 22)
        assert await knocks(phones, STRANGER, f"/start {token}") == [CREW["stranger"]]
        await phones.wait(LOCK_MS / 1000)
        token = await invite(phones, "driver")
        assert (await knocks(phones, STRANGER, f"/start {token}"))[-1] == CREW["wait"]

    on_phones(tmp_path, play)


def test_only_an_owner_invites_approves_and_revokes(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        phones.enrol(KIM)
        for text in ("invite owner", "approve 1", "revoke kim"):
            for chat in (SAM, ANN):
                await phones.say(chat, text)
                assert phones.last(chat) == CREW["only_owner"]
        assert {e["kind"] for e in phones.entries(COMPANY)} == {"enrolled"}

    on_phones(tmp_path, play)


def test_somebody_refused_stays_out(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        token = await invite(phones, "dispatcher")
        await knocks(phones, STRANGER, f"/start {token}")
        await phones.say(KIM, "refuse 1")
        await phones.say(KIM, "approve 1")
        assert phones.last(KIM) == CREW["no_such"].format(number=1)
        assert len(phones.company.crew.members) == 1

    on_phones(tmp_path, play)


def test_t03_a_revoked_phone_is_out_at_once_and_its_job_is_held(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        phones.enrol(ANN)
        await phones.say(SAM, "new job breakdown, mile 12")
        await phones.wait(5)
        await phones.say(KIM, "revoke sam")
        assert phones.last(KIM) == CREW["revoked"].format(name="sam", role="driver")
        told = sentences()["says"]["driver_gone_told"]["shown"].format(ref="one")
        assert phones.last(ANN).startswith(told)
        before = phones.entries(1)
        assert phones.company.desk.job(1).paused is not None
        sent = len(phones.texts(SAM))
        await phones.say(SAM, "none")
        assert phones.entries(1) == before
        assert phones.texts(SAM)[sent:] == [CREW["stranger"]]
        # Another driver takes it over.
        await phones.say("driver:lee", "job 1 take over")
        assert phones.company.desk.job(1).paused is None

    on_phones(tmp_path, play)


def test_t03_a_crash_between_revoking_and_holding_is_made_good_at_the_start(
    tmp_path: Path,
) -> None:
    async def play(phones: Phones) -> None:
        await phones.say(SAM, "new job breakdown, mile 12")
        phones.company.desk.driver_gone = lambda _person, _at: []  # type: ignore[method-assign]
        await phones.say(KIM, "revoke sam")
        assert phones.company.desk.job(1).paused is None
        await phones.restart()
        assert phones.company.desk.job(1).paused is not None
        count = len(phones.entries(1))
        await phones.restart()
        assert len(phones.entries(1)) == count + 1  # told: restarted

    on_phones(tmp_path, play)


async def joins(phones: Phones, account: int, role: str, name: str) -> None:
    token = await invite(phones, role)
    sender = {"id": account, "is_bot": False, "first_name": name}
    phones.platform.world.says(account, f"/start {token}", **{"from": sender})
    await phones.hears()
    await phones.say(KIM, f"approve {max(phones.company.crew.waiting)}")


def test_a_driver_called_like_the_owner_is_told_apart_and_can_be_revoked(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await joins(phones, STRANGER, "driver", "Kim")
        assert phones.last(KIM) == CREW["approved"].format(name="Kim 2", role="driver")
        await joins(phones, OTHER, "dispatcher", "KIM")
        names = {member.name for member in phones.company.crew.members.values()}
        assert names == {"kim", "Kim 2", "KIM 3"}
        await phones.say(KIM, "revoke kim 2")
        assert phones.last(KIM) == "Kim 2, driver, is out. I take nothing more from Kim 2."
        assert await knocks(phones, STRANGER, "new job breakdown")
        assert phones.store.jobs() == {}
        # Who is out is nobody's name any more, and nobody is taken for them.
        await phones.say(KIM, "revoke kim 2")
        assert phones.last(KIM) == CREW["nobody"].format(name="kim 2")
        assert phones.company.crew.owners()

    on_phones(tmp_path, play)


def test_of_two_with_one_name_none_is_out_before_the_owner_says_which(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        # As a record from before names were unique may have them.
        phones.enrol("driver:lee")
        phones.enrol("dispatcher:Lee")
        await phones.say(KIM, "revoke lee")
        assert phones.last(KIM).endswith("revoke driver lee\nrevoke dispatcher Lee")
        assert phones.company.crew.gone == set()
        await phones.say(KIM, "revoke dispatcher lee")
        assert phones.last(KIM).startswith("Lee, dispatcher, is out.")
        (gone,) = phones.company.crew.gone
        assert phones.company.crew.members[gone].role == "dispatcher"
        await phones.say(KIM, "revoke lee")
        assert phones.last(KIM).startswith("lee, driver, is out.")

    on_phones(tmp_path, play)


def test_the_last_owner_stays(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await phones.say(KIM, "revoke kim")
        assert phones.last(KIM) == CREW["revoke_self"]
        assert phones.company.crew.owners()

    on_phones(tmp_path, play)


def test_the_crew_is_listed(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        phones.enrol(SAM)
        await phones.say(KIM, "crew")
        assert "sam, driver" in phones.last(KIM)
        assert "kim, owner" in phones.last(KIM)

    on_phones(tmp_path, play)


def test_an_invite_opened_by_somebody_of_the_crew_says_what_it_did(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        phones.enrol(SAM)
        await phones.say(KIM, "invite dispatcher")
        link = next(text for text in phones.texts(KIM) if "start=" in text)
        token = link.partition("start=")[2].split()[0]
        await phones.say(SAM, f"/start {token}")
        assert phones.last(SAM) == CREW["link_not_used"].format(
            name="sam", mine="driver", role="dispatcher"
        )
        await phones.say(SAM, "/start nonsense-of-some-kind-000")
        assert phones.last(SAM) == CREW["link_old"].format(name="sam", mine="driver")
        # It still works for whom it is meant.
        phones.platform.world.says(777, f"/start {token}")
        await phones.hears()
        assert "asks to join as dispatcher" in phones.last(KIM)

    on_phones(tmp_path, play)


@pytest.mark.parametrize("by", ["sam", "stranger"])
def test_a_word_of_danger_in_a_group_is_answered(tmp_path: Path, by: str) -> None:
    async def play(phones: Phones) -> None:
        world, group = phones.platform.world, -4001
        await phones.say(SAM, "new job breakdown, mile 12")
        account = phones.accounts[SAM] if by == "sam" else 778
        world.says(group, "see you at lunch", by=account, kind="group")
        await phones.hears()
        assert world.from_bot(group) == []
        world.says(group, "smoke!", by=account, kind="group")
        await phones.hears()
        (answer,) = world.from_bot(group)
        assert answer["text"].startswith("Stop.")
        seen = phones.company.desk.job(1).acts["danger"] == "seen"
        assert seen == (by == "sam"), "of the crew it is danger in the job"

    on_phones(tmp_path, play)

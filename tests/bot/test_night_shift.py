"""A night shift at a desk of twelve trucks, in the words that people send: what confused, once."""

import asyncio
from collections.abc import Awaitable, Callable
from pathlib import Path

import pytest

from tests.standin.phones import Phones, buttons

ANN, KIM = "dispatcher:ann", "owner:kim"
DRIVERS = ("sam", "lou", "max", "eve", "ray", "joy", "dan", "amy", "ted", "zoe", "pat", "kit")


def on_shift(folder: Path, play: Callable[[Phones], Awaitable[None]]) -> None:
    async def run() -> None:
        async with Phones(folder) as phones:
            for name in DRIVERS:
                phones.enrol(f"driver:{name}")
            for chat in (ANN, KIM):
                phones.enrol(chat)
            await play(phones)

    asyncio.run(run())


async def said(phones: Phones, name: str, *texts: str) -> str:
    """Say things, each a while after the one before; return the last answer."""
    chat = next(chat for chat in phones.accounts if chat.endswith(f":{name}"))
    for text in texts:
        await phones.wait(7)
        await phones.say(chat, text)
    return phones.last(chat)


def job(phones: Phones, number: int) -> tuple[str | None, str]:
    """Return who is at the vehicle of a job, and how it ended."""
    found = phones.company.desk.job(number)
    name = next((one.name for one in phones.company.crew.members.values()
                 if one.person == found.at_vehicle), None)  # fmt: skip
    return name, "" if found.ended is None else found.ended.reason


@pytest.mark.parametrize(
    ("order", "place"),
    [("new job for Max, gray pickup at the mall lot", "gray pickup at the mall lot"),
     ("new call, flat tire, 5th and main for max", "5th and main"),
     ("new call for max: 5th and main", "5th and main"),
     ("send max out to 9th and garnet", "9th and garnet")],
)  # fmt: skip
def test_a_job_is_for_whoever_is_named_wherever_the_name_stands(
    tmp_path: Path, order: str, place: str
) -> None:
    async def play(phones: Phones) -> None:
        await said(phones, "ann", order)
        assert f"Where: {place}." in phones.last("driver:max")
        assert phones.last(ANN).endswith("I asked max to take job 1.")
        assert len(phones.texts(ANN)) == 1, "one message for one order"

    on_shift(tmp_path, play)


def test_what_a_driver_says_who_was_asked_is_about_that_job(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await said(phones, "ann", "new job breakdown, mile 12 for Sam")
        told = await said(phones, "sam", "yep got it, 20 minutes out")
        assert told == "I told dispatch. At the vehicle, answer: job 1."
        assert phones.last(ANN) == "Note from sam, job 1: yep got it, 20 minutes out"
        assert (await said(phones, "sam", "status")).startswith("Check: job 1 is for you.")
        assert job(phones, 1) == (None, "")
        assert (await said(phones, "sam", "smoke back there")).startswith("Stop.")
        await said(phones, "sam", "i'm here")
        assert job(phones, 1) == ("sam", "")
        assert "Look from a distance" in phones.last("driver:sam")
        await said(phones, "ann", "job 2 for lou", "new job breakdown, mile 40 for Dan")
        assert await said(phones, "dan", "can't, i'm on break") == (
            "I told dispatch. Job 2 is not yours."
        )
        await said(phones, "ann", "job 2 for Amy")
        assert await said(phones, "amy", "can't find it") == (
            "I told dispatch. At the vehicle, answer: job 2."
        )

    on_shift(tmp_path, play)


def test_a_job_handed_over_by_the_desk_is_taken_as_the_desk_said(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await said(phones, "sam", "new job breakdown, mile 12", "none", "behind")
        await said(phones, "ann", "send kit to job 1")
        assert "Stay with the vehicle until kit takes over." in phones.last("driver:sam")
        await said(phones, "kit", "on my way")
        assert phones.last(ANN) == "Note from kit, job 1: on my way"
        assert job(phones, 1) == ("sam", "")
        await said(phones, "kit", "job 1")
        assert job(phones, 1) == ("kit", "")
        assert "Another driver took over" in phones.last("driver:sam")
        # Whoever was given nothing sees how it stands, and takes nothing.
        await said(phones, "lou", "job 1")
        assert job(phones, 1) == ("kit", "")

    on_shift(tmp_path, play)


@pytest.mark.parametrize(
    ("words", "reason"),
    [("gone on arrival", "gone"), ("nobody's here", "not_found"), ("he's gone", "gone"),
     ("customer called it off", "called_off")],
)  # fmt: skip
def test_a_no_show_ends_by_whoever_is_there(tmp_path: Path, words: str, reason: str) -> None:
    async def play(phones: Phones) -> None:
        await said(phones, "ann", "new job breakdown, mile 12 for Eve")
        await said(phones, "eve", "job 1", "none", "behind")
        assert "is there nothing to do" in await said(phones, "eve", words)
        await phones.press("driver:eve", "Go on")
        assert job(phones, 1) == ("eve", "")
        await said(phones, "eve", words)
        await phones.press("driver:eve", "End job 1")
        assert job(phones, 1)[1] == reason
        assert not any("Don't go there" in text for text in phones.texts("driver:eve"))
        assert "Job 1 is called off" in phones.last(ANN)

    on_shift(tmp_path, play)


def test_once_the_vehicle_is_touched_no_word_ends_a_job(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await said(phones, "sam", "new job breakdown, mile 12", "none", "behind", "secured")
        await said(phones, "sam", "warned", "chocked")
        await said(phones, "ann", "customer cancelled job 1")
        assert phones.last(ANN).startswith("sam is at the vehicle of job 1. Only sam can end it.")
        await said(phones, "sam", "he's gone", "cancel job 1, gone on arrival")
        assert job(phones, 1) == ("sam", "")

    on_shift(tmp_path, play)


def test_the_desk_asks_whoever_is_there_to_end_a_job(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await said(phones, "ann", "new job breakdown, mile 12 for Eve")
        await said(phones, "eve", "here")
        told = await said(phones, "ann", "customer cancelled job 1")
        assert told == "eve is at the vehicle of job 1. I asked eve to end it."
        assert buttons(phones.messages("driver:eve")[-1]) == ["End job 1", "Go on"]
        # Nobody else's press or word does it.
        await said(phones, "lou", "cancel job 1, gone on arrival")
        assert job(phones, 1) == ("eve", "")
        await phones.press("driver:eve", "End job 1")
        assert job(phones, 1)[1] == "called_off"

    on_shift(tmp_path, play)


def test_a_desk_asks_after_a_driver_and_is_told_what_it_can_ask(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await said(phones, "ann", "new job, gray pickup at the mall lot for Max")
        for asked in ("how's max doing?", "any word from max", "what's going on with max"):
            assert (await said(phones, "ann", asked)).startswith("Job 1: not taken. Asked: max.")
        assert await said(phones, "ann", "is ray ok?") == "Free: ray."
        await said(phones, "ann", "new job breakdown, mile 3")
        told = await said(phones, "kim", "how many open")
        assert told.startswith("I don't know that order")
        assert told.endswith("Jobs at hand: 1, 2.")

    on_shift(tmp_path, play)


def test_ten_jobs_and_a_kill_in_the_middle(tmp_path: Path) -> None:
    """Short: who has which job, what is over and why, and that nobody waits without an answer."""

    async def play(phones: Phones) -> None:
        orders = ["new job breakdown, harrow, mile 12 northbound for Sam",
                  "new job crash, route 6 bridge for Lou", "new job for Max, the mall lot",
                  "new call, flat tire, 5th and main for eve", "send ray to the marina, boat ramp",
                  "new job breakdown, mile 40 southbound", "new job for Joy, 14 elm street",
                  "new job, mile 9 for ted", "new call for pat, the quarry road",
                  "new job breakdown, mile 77, for Zoe"]  # fmt: skip
        await said(phones, "ann", *orders)
        await said(phones, "ann", "customer cancelled job 9", "job 6 for Dan")
        await said(phones, "dan", "can't, i'm on break")
        await said(phones, "ann", "job 6 for Amy")
        for name, number in (("sam", 1), ("lou", 2), ("eve", 4), ("joy", 7), ("amy", 6)):
            await said(phones, name, "here" if name != "joy" else f"job {number}")
        await said(phones, "sam", "none", "behind", "secured", "warned", "chocked")
        world = phones.platform.world
        for number in range(2):
            data = b"\xff\xd8\xff\xe0" + bytes([number])
            world.sends(phones.accounts["driver:sam"], "photo", data)
        await phones.hears()
        await said(phones, "lou", "smoke from the front")
        assert phones.last(ANN).startswith("Stop. Job two")
        # Killed with words received and nothing of them applied or sent.
        phones.service.drain = lambda _at_once=None: None  # type: ignore[method-assign]
        for name, words in (("eve", "nobody's here"), ("joy", "none")):
            world.says(phones.accounts[f"driver:{name}"], words)
        await phones.hears()
        before = {chat: len(phones.texts(chat)) for chat in phones.accounts}
        await phones.restart()
        await phones.settled()
        new = {chat: phones.texts(chat)[count:] for chat, count in before.items()}
        assert not any("(repeat)" in text for texts in new.values() for text in texts)
        assert any("is there nothing to do at job 4" in text for text in new["driver:eve"])
        await said(phones, "ann", "noted")
        await phones.press("driver:eve", "End job 4")
        await said(phones, "ann", "send kit to job 1")
        await said(phones, "kit", "job 1")
        whose = {number: job(phones, number) for number in range(1, 11)}
        assert whose == {
            1: ("kit", ""), 2: ("lou", ""), 3: (None, ""), 4: ("eve", "not_found"), 5: (None, ""),
            6: ("amy", ""), 7: ("joy", ""), 8: (None, ""), 9: (None, "called_off"), 10: (None, ""),
        }  # fmt: skip
        await phones.wait(700)
        untaken = [text for text in phones.texts(ANN) if "nobody has taken it" in text]
        assert {text.split(":")[0] for text in untaken} == {
            f"Check. Job {number}" for number in (3, 5, 8, 10)
        }
        assert phones.store.unfinished() == phones.store.pending() == []
        assert phones.store.quarantined() == 0
        assert phones.store.verify() == []

    on_shift(tmp_path, play)

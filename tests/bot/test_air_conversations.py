"""The recorded conversations over the chat platform: the same entries, the same sentences."""

import asyncio
from dataclasses import replace
from pathlib import Path

import pytest

from bot.channels.telegram import CHANNEL
from bot.commands.demo import JPEG, PACE_S, UNIT_S, Step, conversation, names, parse
from flows.texts import air_texts, sentences
from tests.bot.played import played
from tests.standin.phones import START, GivenClock, Phones


class Played:
    """Plays a recorded conversation on phones as `demo.Player` plays it at the desk."""

    def __init__(self, phones: Phones) -> None:
        self.phones = phones
        self.clock = phones.clock
        self.said = 0

    async def step(self, step: Step) -> None:
        if step.kind == ">":
            self.phones.enrol(step.chat)
            await self.phones.wait(PACE_S)
            await self.phones.say(step.chat, step.text)
            self.said += 1
        elif step.kind == "+":
            await self.photos(step.chat, int(step.text.split()[0]))
        elif step.kind == "~":
            await self.time(step.text.split())

    async def photos(self, chat: str, count: int) -> None:
        account = self.phones.enrol(chat)
        for _ in range(count):
            await self.phones.wait(PACE_S)
            data = JPEG + str(self.said).encode()
            self.phones.platform.world.sends(account, "photo", data)
            await self.phones.hears()
            self.said += 1

    async def time(self, words: list[str]) -> None:
        at = self.clock.at
        if words[0] == "reboot":
            self.clock.at = replace(at, mono_ns=60_000_000_000, boot=at.boot + "+")
        if words[0] in {"reboot", "restart"}:
            await self.phones.restart()
        elif words[0] == "wall":
            sign = -1 if words[1][0] == "-" else 1
            step_ms = sign * seconds(words[1].lstrip("+-")) * 1000
            self.clock.at = replace(at, wall_ms=at.wall_ms + step_ms)
        else:
            await self.phones.wait(seconds(words[0]))
            self.said += 1


def seconds(text: str) -> int:
    return int(text[:-1]) * UNIT_S[text[-1]]


def at_the_desk(name: str) -> tuple[dict[int, list[str]], dict[str, list[str]]]:
    """Return every job's chain from the desk alone, and the messages shown in each chat.

    What else is asked of it there, `test_conversations.py` judges.
    """
    found = played(name)
    shown: dict[str, list[str]] = {}
    for reply in found.replies:
        if reply.body["shown"]:
            shown.setdefault(reply.chat, []).append(reply.body["shown"])
    return {job: found.lines[job] for job in found.jobs}, shown


async def on_phones(name: str, folder: Path) -> tuple[dict[int, list[str]], dict[str, list[str]]]:
    clock = GivenClock(START)
    async with Phones(folder / "phones", clock) as phones:
        played = Played(phones)
        for step in parse(conversation(name)):
            await played.step(step)
        assert phones.store.verify() == []
        assert phones.store.unfinished() == []
        assert phones.store.pending() == []
        chains = {job: phones.store.lines(job) for job in phones.store.jobs()}
        shown = {chat: phones.texts(chat) for chat in phones.accounts}
        calls = [given for _, given in phones.platform.calls]
    # Nothing that anybody typed is ever read as markup.
    assert not any(given.get("parse_mode") or given.get("entities") for given in calls)
    return chains, {chat: texts for chat, texts in shown.items() if texts}


def bare(shown: dict[str, list[str]]) -> dict[str, list[str]]:
    """Leave out the code over all jobs: it covers the crew's chain, which names accounts here."""
    start = sentences()["sealed"]["all_jobs"].partition("{")[0]
    return {chat: [text.partition(start)[0] for text in texts] for chat, texts in shown.items()}


def lines(shown: dict[str, list[str]]) -> dict[str, list[str]]:
    """Return the lines of each chat: what leads to a question comes in one message with it."""
    return {chat: "\n".join(texts).splitlines() for chat, texts in shown.items()}


def without_hint(shown: dict[str, list[str]]) -> dict[str, list[str]]:
    """Leave out the advice for a platform that shrinks photos."""
    hint = air_texts()["before_photos"][CHANNEL]
    return {chat: [text for text in texts if text != hint] for chat, texts in shown.items()}


@pytest.mark.parametrize("name", names())
def test_a_recorded_conversation_is_the_same_over_the_platform(name: str, tmp_path: Path) -> None:
    chains, shown = at_the_desk(name)
    found_chains, found_shown = asyncio.run(on_phones(name, tmp_path))
    assert lines(bare(without_hint(found_shown))) == lines(bare(shown))
    assert found_chains == chains

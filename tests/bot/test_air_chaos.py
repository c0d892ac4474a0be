"""Chaos, seeded: every fault of the stand-in, and the process killed, while a crew talks.

What is said is chosen from a seed; each message is one of a kind, so that it can be found
again. When all is quiet: each is in the journal exactly once, each reply arrived at least once
and in order, what came twice is marked as a repeat, every chain holds, every timer stands.
A failing seed is run again by its number: `-k seed-7`.
"""

import asyncio
import hashlib
import os
import random
import signal
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from bot.record.reader import Reader, open_reader
from bot.record.rows import Reply
from flows.texts import sentences
from flows.texts.visible import visible_lines
from tests.bot.scripted import assert_timers
from tests.standin.child import enrol
from tests.standin.faults import Fault
from tests.standin.server import TOKEN, StandIn

AGAIN = sentences()["talk"]["repeat"] + " "
FIRST_ACCOUNT = 501
FAULTS = (
    ("sendMessage", "429", "before"), ("sendMessage", "500", "before"),
    ("sendMessage", "500", "after"), ("sendMessage", "page", "after"),
    ("sendMessage", "cut", "before"), ("sendMessage", "cut", "after"),
    ("sendMessage", "delay", "after"), ("sendMessage", "400", "before"),
    ("sendMessage", "403", "before"), ("sendMessage", "404", "before"),
    ("getUpdates", "429", "before"), ("getUpdates", "500", "before"),
    ("getUpdates", "page", "after"), ("getUpdates", "cut", "after"),
    ("getUpdates", "409", "before"), ("getFile", "500", "before"), ("getFile", "cut", "after"),
    ("answerCallbackQuery", "400", "before"), ("answerCallbackQuery", "cut", "before"),
)  # fmt: skip


@dataclass(frozen=True)
class Size:
    """How much of it."""

    chats: int
    messages: int
    kills: int
    alive_s: float
    think_s: float
    faults: int


SHORT = Size(chats=6, messages=10, kills=2, alive_s=1.2, think_s=0.25, faults=25)
LONG = Size(chats=50, messages=40, kills=20, alive_s=3.0, think_s=2.0, faults=400)


@dataclass
class Chaos:
    """One run."""

    folder: Path
    size: Size
    seed: int
    said: set[str] = field(default_factory=set)
    files: set[str] = field(default_factory=set)
    memory_kb: list[int] = field(default_factory=list)

    async def run(self) -> None:
        chance = random.Random(self.seed)  # noqa: S311  a repeatable choice
        crew = {FIRST_ACCOUNT + n: f"driver:d{n}" for n in range(self.size.chats)}
        enrol(self.folder, crew)
        async with StandIn() as platform:
            self.platform = platform
            platform.keep_calls = False
            platform.methods.strict_poll = False
            for account in crew:
                platform.world.chat(account)
            for _ in range(self.size.faults):
                method, kind, when = chance.choice(FAULTS)
                platform.faults.add(
                    Fault(method, kind, skip=chance.randrange(30), when=when, seconds=0.05)
                )
            talking = [asyncio.create_task(self.talk(account, chance.random()))
                       for account in crew]  # fmt: skip
            for _ in range(self.size.kills):
                await self.life(chance.uniform(0.5, 1.0) * self.size.alive_s)
            await self.last_life(talking)
            self.received = {account: platform.world.from_bot(account) for account in crew}
        self.crew = crew

    async def started(self) -> asyncio.subprocess.Process:
        process = await asyncio.create_subprocess_exec(
            sys.executable, "-m", "tests.standin.child",
            str(self.folder), self.platform.base, TOKEN,
            stdout=asyncio.subprocess.DEVNULL, stderr=asyncio.subprocess.DEVNULL,
        )  # fmt: skip
        polls = self.platform.counts["getUpdates"]
        while self.platform.counts["getUpdates"] == polls:
            assert process.returncode is None, "it ended by itself"
            await asyncio.sleep(0.02)
        return process

    async def life(self, alive_s: float) -> None:
        """Let it live for a while, then kill it."""
        process = await self.started()
        await asyncio.sleep(alive_s)
        self.weigh(process)
        process.kill()
        await process.wait()

    async def last_life(self, talking: list[asyncio.Task[None]]) -> None:
        """Let everybody have their say, and everything be answered; then stop it in order."""
        process = await self.started()
        await asyncio.gather(*talking)
        self.platform.faults.scripted.clear()
        while self.platform.world.updates() or not self.is_quiet():
            assert process.returncode is None, "it ended by itself"
            await asyncio.sleep(0.1)
            # Drop confirmed updates, as the platform does at the next poll.
        self.weigh(process)
        process.send_signal(signal.SIGTERM)
        assert await process.wait() == 0

    def is_quiet(self) -> bool:
        with open_reader(self.folder) as reader:
            return not reader.unfinished() and not reader.pending()

    def weigh(self, process: asyncio.subprocess.Process) -> None:
        pages = Path(f"/proc/{process.pid}/statm").read_text("ascii").split()[1]
        self.memory_kb.append(int(pages) * os.sysconf("SC_PAGE_SIZE") // 1024)

    async def talk(self, account: int, seed: float) -> None:
        chance = random.Random(seed)  # noqa: S311  a repeatable choice
        world = self.platform.world
        for number in range(self.size.messages):
            await asyncio.sleep(chance.uniform(0, 2) * self.size.think_s)
            kind = chance.random()
            text = f"wibble {account} {number}" if number else f"new job, lot {account}"
            if number and kind < 0.15:
                data = b"\xff\xd8\xff photo " + text.encode()
                world.sends(account, "photo", data)
                self.files.add(hashlib.sha256(data).hexdigest())
            elif number and kind < 0.3:
                self.press(account, chance)
            else:
                world.says(account, text)
                self.said.add(text)

    def press(self, account: int, chance: random.Random) -> None:
        shown = [m for m in self.platform.world.from_bot(account) if "reply_markup" in m]
        if shown:
            message = chance.choice(shown)
            row = chance.choice(message["reply_markup"]["inline_keyboard"])
            self.platform.world.presses_button(account, message["message_id"], row[0]["text"])


def ends_of(bare: str, start: int, texts: Sequence[str]) -> Iterator[int]:
    """Yield how many have arrived with a message that begins with the one at a place."""
    for stop in range(start + 1, len(texts) + 1):
        joined = "\n".join(texts[start:stop])
        if joined == bare:
            yield stop
        if not bare.startswith(joined):
            return


def arrived_in_order(replies: list[Reply], received: list[str]) -> bool:
    """Say whether every reply was received in order, repeats marked.

    What leads to a question may come in one message with it. A reply that was parked may be
    missing. Sentences may be the same twice, so every way of
    reading what was received is followed: each state is how many replies have arrived.
    """
    expected = [(visible_lines(reply.body["shown"]), reply.state) for reply in replies]
    texts = [text for text, _ in expected]

    def past_parked(states: set[int]) -> set[int]:
        found = set(states)
        for state in sorted(states):
            here = state
            while here < len(expected) and expected[here][1] == "parked":
                here += 1
                found.add(here)
        return found

    states = past_parked({0})
    for text in received:
        bare, is_repeat = text.removeprefix(AGAIN), text.startswith(AGAIN)
        moved = {end for at in states for end in ends_of(bare, at, texts)}
        if is_repeat:
            moved |= {max(end, at) for at in states for before in range(at)
                      for end in ends_of(bare, before, texts)}  # fmt: skip
        states = past_parked(moved)
    return len(expected) in states


@pytest.mark.parametrize(
    ("received", "is_fine"),
    [
        (["a", "b", "b", "c"], True),
        (["a", AGAIN + "a", "b", "b", AGAIN + "b", "c"], True),
        ([AGAIN + "a", "b", "b", AGAIN + "c"], True),
        (["a", "b", "c"], False),
        (["a", "a", "b", "b", "c"], False),
        (["b", "a", "b", "c"], False),
        (["a", "b", "b"], False),
        (["a", "b", AGAIN + "c", "b", "c"], False),
    ],
)
def test_the_meaning_of_in_order(received: list[str], *, is_fine: bool) -> None:
    replies = [Reply(n, "telegram", "driver:d", n, None, {"shown": text}, "sent")
               for n, text in enumerate("abbc", 1)]  # fmt: skip
    assert arrived_in_order(replies, received) is is_fine


def heard(reader: Reader) -> Iterator[dict[str, object]]:
    for job in reader.jobs():
        yield from reader.entries(job)


def check(chaos: Chaos) -> None:
    with open_reader(chaos.folder) as reader:
        assert reader.verify() == []
        entries = list(heard(reader))
        texts = [str(e["body"]["text"]["value"]) for e in entries if e["kind"] == "heard"]
        mine = [text for text in texts if text in chaos.said]
        assert sorted(mine) == sorted(chaos.said), "each said once, each taken once"
        files = [e["body"]["sha256"] for e in entries if e["kind"] == "media"]
        assert sorted(files) == sorted(chaos.files), "each file sent once, each kept once"
        rows = reader._rows("SELECT id FROM outbox ORDER BY chat, seq")
        replies = [reply for (row,) in rows if (reply := reader.reply_row(row)) is not None]
    for account, chat in chaos.crew.items():
        sent = [r for r in replies if r.chat == chat and r.body["shown"]]
        received = [one.get("text", "") for one in chaos.received[account]]
        assert sent, "nobody was answered"
        assert arrived_in_order(sent, received), (chaos.seed, chat)
    assert_timers(chaos.folder)


@pytest.mark.parametrize("seed", [1], ids=lambda seed: f"seed-{seed}")
def test_chaos_loses_nothing(tmp_path: Path, seed: int) -> None:
    chaos = Chaos(tmp_path, SHORT, seed)
    asyncio.run(chaos.run())
    check(chaos)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(1, 4), ids=lambda seed: f"seed-{seed}")
def test_long_chaos_loses_nothing(tmp_path: Path, seed: int) -> None:
    chaos = Chaos(tmp_path, LONG, seed)
    asyncio.run(chaos.run())
    check(chaos)
    # Steady: the last life, which saw the whole record, holds little more than the first ones.
    assert chaos.memory_kb[-1] < 1.5 * max(chaos.memory_kb[:5])

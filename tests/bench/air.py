"""Beside a conversation-handler bot: `python -m tests.bench.air [--carry] [--kills N]`. No test.

Both bots are processes of their own at the same stand-in, one after the other, turn about. Each
chat is a closed loop: it says the next thing when it has its answers. Both ask twelve plain
questions, this bot with `synchronous = FULL`, rules, chain and signatures; with `--carry` it runs
the whole carry instead. A turn is one thing said with all that answers it, which may be several
messages; its time is that of the last. The platform's rates are off for both: the peer keeps none.

With `--kills`: how many answers that the bot had answered are gone after kill -9.
"""

import argparse
import asyncio
import random
import sys
import tempfile
import time
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from pathlib import Path
from statistics import median, quantiles

from bot.channels.telegram.lanes import led
from bot.record.reader import open_reader
from flows.routine.carry import CARRY as WHOLE, Routine
from tests.bench.peer import BUTTONS, QUESTIONS
from tests.bench.twelve import SAID, TWELVE
from tests.bot.scripted import DRIVER, TO_CLOSE, TO_NEUTRAL, Script, play
from tests.standin.child import enrol
from tests.standin.faults import Fault
from tests.standin.server import TOKEN, StandIn

FIRST = 501
CHATS = (1, 50, 500)
DELAYS_S = (0.0, 0.08)
SECONDS = 10.0
CARRY = (*TO_NEUTRAL, "neutral now", *TO_CLOSE)


def say(text: str) -> None:
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


@dataclass(frozen=True)
class Bot:
    """One of the two: how it is started, and what a chat says in turn."""

    name: str
    module: str
    says: tuple[str, ...]
    replies: tuple[int, ...]


def mine(module: str, says: tuple[str, ...], routine: Routine) -> Bot:
    """This bot: how many messages answer each thing said is found by saying it once."""
    with tempfile.TemporaryDirectory() as folder:
        play(Path(folder), Script().say(*says), routine=routine)
        with open_reader(Path(folder)) as reader:
            turns = [reader.outbox_for(number) for number in range(1, len(says) + 1)]
    counts = tuple(
        len(led(one for one in turn if one.body.get("shown") and one.chat == DRIVER))
        for turn in turns
    )
    return Bot("rollproof", module, says, counts)


def asking() -> Bot:
    """This bot with the peer's twelve questions."""
    return mine("tests.bench.twelve", ("new job", *SAID), TWELVE)


def carrying() -> Bot:
    """This bot with the whole carry."""
    return mine("tests.standin.child", CARRY, WHOLE)


PEER = Bot(
    "peer",
    "tests.bench.peer",
    ("/begin", *("yes" if n in BUTTONS else f"answer {n}" for n in range(1, QUESTIONS + 1))),
    (1,) * (QUESTIONS + 1),
)


class Loop:
    """Chats at a stand-in, each saying the next thing when it was answered."""

    def __init__(self, platform: StandIn, bot: Bot, chats: int) -> None:
        self.platform = platform
        self.bot = bot
        self.accounts = [FIRST + n for n in range(chats)]
        self.times: list[float] = []
        self.replies = 0
        self.stamps = dict.fromkeys(self.accounts, 0)
        self.on = True
        for account in self.accounts:
            platform.world.chat(account)

    async def run(self, seconds: float) -> float:
        """Talk for so long; return how long it was [s]."""
        started = time.perf_counter()
        talking = [asyncio.create_task(self._chat(account)) for account in self.accounts]
        await asyncio.sleep(seconds)
        self.on = False
        took = time.perf_counter() - started
        for one in talking:
            one.cancel()
        await asyncio.gather(*talking, return_exceptions=True)
        return took

    async def _chat(self, account: int) -> None:
        number = 0
        while self.on:
            place = number % len(self.bot.says)
            await self.exchange(account, self.bot.says[place], self.bot.replies[place])
            number += 1

    async def exchange(self, account: int, text: str, replies: int = 1) -> None:
        """Say one thing, by a button where one of that label stands; wait for the answers."""
        chat = self.platform.world.chat(account)
        before = chat.next_id
        began = time.perf_counter()
        newest = chat.messages.get(before - 1, {})
        rows = newest.get("reply_markup", {}).get("inline_keyboard", [])
        if any(button["text"] == text for row in rows for button in row):
            self.platform.world.presses_button(account, before - 1, text)
            before -= 1
        else:
            # Stamps are whole seconds: without a second between, an answer would count as typed
            # before its question, which nobody who reads can do.
            self.stamps[account] += 1
            self.platform.world.says(account, text, date=int(time.time()) + self.stamps[account])
        while chat.next_id < before + 1 + replies:
            await asyncio.sleep(0.001)
        self.replies += replies
        self.times.append(time.perf_counter() - began)


async def started(bot: Bot, folder: Path, platform: StandIn) -> asyncio.subprocess.Process:
    polls = platform.counts["getUpdates"]
    process = await asyncio.create_subprocess_exec(
        sys.executable, "-m", bot.module, str(folder), platform.base, TOKEN,
        stdout=asyncio.subprocess.DEVNULL, stderr=asyncio.subprocess.DEVNULL,
    )  # fmt: skip
    while platform.counts["getUpdates"] == polls:
        if process.returncode is not None:
            raise RuntimeError(f"{bot.name} did not start")
        await asyncio.sleep(0.02)
    return process


async def with_bot(
    bot: Bot, chats: int, delay_s: float, play: Callable[[Loop], Awaitable[None]]
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        if bot is not PEER:
            enrol(Path(folder), {FIRST + n: f"driver:d{n}" for n in range(chats)})
        async with StandIn() as platform:
            platform.keep_calls = False
            platform.methods.strict_poll = False
            if delay_s:
                for method in ("sendMessage", "answerCallbackQuery"):
                    platform.faults.add(Fault(method, "delay", times=10**9, seconds=delay_s))
            process = await started(bot, Path(folder), platform)
            try:
                await play(Loop(platform, bot, chats))
            finally:
                process.kill()
                await process.wait()


async def measured(
    bot: Bot, chats: int, delay_s: float, seconds: float
) -> tuple[float, float, float, float]:
    """Return turns and messages a second, and the median and 99th percentile of a turn [ms]."""
    found: list[float] = []

    async def play(loop: Loop) -> None:
        took = await loop.run(seconds)
        last = quantiles(loop.times, n=100)[98] if len(loop.times) > 2 else 0.0
        middle = median(loop.times) if loop.times else 0.0
        found.extend((len(loop.times) / took, loop.replies / took, middle * 1000, last * 1000))

    await with_bot(bot, chats, delay_s, play)
    return found[0], found[1], found[2], found[3]


def speed(ours: Bot, seconds: float, pairs: int) -> None:
    """Run the two in turn, and show how many turns a second, beside the peer's."""
    say(f"{'chats':>5} {'delay':>6} {'bot':<10} {'turns/s':>8} {'sent/s':>8} {'p50 ms':>8}"
        f" {'p99 ms':>8}")  # fmt: skip
    for delay_s in DELAYS_S:
        for chats in CHATS:
            ratios: list[float] = []
            for _ in range(pairs):
                rates: dict[str, float] = {}
                for bot in (PEER, ours):
                    turns, sent, middle, last = asyncio.run(measured(bot, chats, delay_s, seconds))
                    rates[bot.name] = turns
                    say(f"{chats:>5} {delay_s * 1000:>4.0f}ms {bot.name:<10} {turns:>8.1f}"
                          f" {sent:>8.1f} {middle:>8.1f} {last:>8.1f}")  # fmt: skip
                ratios.append(rates["rollproof"] / max(rates["peer"], 0.01))
            say(f"{'':>22} {median(ratios):.2f} times the peer's turns")


async def one_kill(bot: Bot, chance: random.Random) -> tuple[int, int]:
    """Kill it once among ten chats that talk; return how many answers were answered, and lost."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        accounts = [FIRST + n for n in range(10)]
        if bot is not PEER:
            enrol(folder, {account: f"driver:d{account}" for account in accounts})
        async with StandIn() as platform:
            platform.keep_calls = False
            platform.methods.strict_poll = False
            process = await started(bot, folder, platform)
            loop = Loop(platform, bot, 10)
            told: dict[int, list[str]] = {account: [] for account in accounts}

            async def talk(account: int) -> None:
                await loop.exchange(account, "new job, here" if bot is not PEER else "/begin")
                for number in range(1, QUESTIONS + 1):
                    text = f"wibble {number}" if bot is not PEER else PEER.says[number]
                    await loop.exchange(account, text)
                    told[account].append(text)
                    await asyncio.sleep(chance.uniform(0, 0.6))

            talking = [asyncio.create_task(talk(account)) for account in accounts]
            await asyncio.sleep(chance.uniform(1.0, 3.5))
            for task in talking:
                task.cancel()
            process.kill()
            await process.wait()
            held = _held(folder) if bot is not PEER else await _peer_held(folder, platform, loop)
        answered = sum(map(len, told.values()))
        if bot is not PEER:
            return answered, answered - min(answered, held)
        return answered, max(0, answered - held)


def _held(folder: Path) -> int:
    with open_reader(folder) as reader:
        entries = [e for job in reader.jobs() for e in reader.entries(job)]
    said = [e["body"]["text"]["value"] for e in entries if e["kind"] == "heard"]
    return sum(str(text).startswith("wibble") for text in said)


async def _peer_held(folder: Path, platform: StandIn, loop: Loop) -> int:
    try:
        process = await started(PEER, folder, platform)
    except RuntimeError:
        return 0
    total = 0
    for account in loop.accounts:
        await loop.exchange(account, "/dump")
        newest = platform.world.from_bot(account)[-1]["text"]
        total += len([one for one in newest.removeprefix("Held: ").split("|") if one])
    process.kill()
    await process.wait()
    return total


def kills(times: int) -> None:
    for bot in (carrying(), PEER):
        chance = random.Random(1)  # noqa: S311  a repeatable choice
        answered = lost = 0
        for _ in range(times):
            one, gone = asyncio.run(one_kill(bot, chance))
            answered, lost = answered + one, lost + gone
        say(f"{bot.name}: {lost} of {answered} answered answers lost over {times} kills")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--carry", action="store_true", help="the whole carry, by this bot")
    parser.add_argument("--kills", type=int, metavar="N", help="kill each bot N times")
    parser.add_argument("--seconds", type=float, default=SECONDS, help="how long each runs")
    parser.add_argument("--pairs", type=int, default=1, help="how often the two are run in turn")
    given = parser.parse_args()
    if given.kills:
        kills(given.kills)
    else:
        speed(carrying() if given.carry else asking(), given.seconds, given.pairs)

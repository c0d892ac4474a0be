"""Anything said by anyone, at any time: it is answered, recorded, and breaks nothing.

Seeded sessions of four people who say what the program knows, in no order that makes sense,
after a job that went well for a while. No message may be kept apart as a fault, no turn may
be refused by the rules, and the record must rebuild every job.
"""

import random
from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest

from bot.commands.bootstrap import book_for
from bot.desk.trail import status_lines, trail_lines
from bot.machine.settings import Settings
from bot.record.reader import open_reader
from bot.record.schema import FILE_NAME
from flows.texts import phrases
from tests.bot.scripted import (
    DISPATCHER,
    DRIVER,
    TO_CLOSE,
    TO_NEUTRAL,
    Line,
    Script,
    assert_timers,
    chains,
    play,
)
from tests.bot.turns import dump

CHATS = (DRIVER, DRIVER, DRIVER, "driver:lee", DISPATCHER, "owner:kim")
CARRY = (*TO_NEUTRAL, "neutral now", *TO_CLOSE)
SAID = (
    *CARRY, "wibble", "", "job 1", "job 2", "job 9", "new job crash", "it weighs 4600 lb", "4600",
    "yes", "no", "ok", "1", "2", "5", "neutral at 06:00", "neutral ten minutes ago", "not sure",
    "released ten minutes ago", "skip, no gear aboard today", "override, a short trip only",
    "settle, done later on", "take over", "nobody came", "county tow", "hand off", "smoke",
)  # fmt: skip
TAPS = ("yes", "no", "none", "seen", "not_sure", "behind", "go", "heron", "other")
WAITS_S = (1, 30, 90, 600, 1800)
SESSIONS = 40
MESSAGES = 60


def known(table: object) -> Iterator[str]:
    """Yield every phrase of the packaged tables."""
    if isinstance(table, str):
        yield table
    elif isinstance(table, Mapping):
        for value in table.values():
            yield from known(value)
    elif isinstance(table, list | tuple):
        for value in table:
            yield from known(value)


def around(chance: random.Random) -> Line:
    """Return what stands beside a message now and then: what it answers, its job, a reboot."""
    beside: Line = {"to": chance.randrange(1, 60), "job": "1", "edit_of": "m1"}
    found = {name: value for name, value in beside.items() if chance.random() < 0.07}
    if chance.random() < 0.03:
        found |= {"boot": f"b{chance.randrange(3)}", "mono_ms": chance.randrange(10**7)}
    return found


def body(chance: random.Random, words: list[str]) -> Line:
    kind = chance.random()
    if kind < 0.1:
        return {"after_s": chance.choice(WAITS_S), "tick": True}
    if kind < 0.15:
        return {"tap": chance.choice(TAPS)}
    if kind < 0.18:
        return {"place": {"lat": 39.7, "lon": -104.9}}
    if kind < 0.6:
        return {"text": chance.choice(SAID)}
    return {"text": ", ".join(chance.sample(words, chance.choice((1, 1, 3))))}


def session(seed: int) -> Script:
    chance = random.Random(seed)  # noqa: S311  no secret
    words = sorted(set(known(phrases())))
    script = Script().say(*CARRY[: chance.randrange(1, len(CARRY))])
    for _ in range(MESSAGES):
        script.send(chance.choice(CHATS), **around(chance), **body(chance, words))
    return script


def parts(seeds: range, size: int) -> list[range]:
    """Return seeds in parts, so that no test takes long and each process has some."""
    return [seeds[start : start + size] for start in range(0, len(seeds), size)]


@pytest.mark.parametrize(
    "seeds",
    [
        *parts(range(SESSIONS), 5),
        *(pytest.param(one, marks=pytest.mark.slow) for one in parts(range(SESSIONS, 1000), 60)),
    ],
    ids=lambda seeds: f"{seeds.start}-{seeds.stop - 1}",
)
def test_anything_said_by_anyone(seeds: range, tmp_path: Path) -> None:
    for seed in seeds:
        folder = tmp_path / str(seed)
        for turn in play(folder, session(seed)):
            assert not [line for line in turn if "error" in line], f"seed {seed}"
        assert_timers(folder)
        assert {row[9] for row in dump(folder / FILE_NAME)["inbox"]} == {"done"}
        assert not [job for job, chain in chains(folder).items() for line in chain
                    if '"kind":"refused"' in line], f"seed {seed}"  # fmt: skip
        book = book_for(Settings(folder))
        with open_reader(folder) as reader:
            assert len(status_lines(reader, book)) == len(reader.jobs())
            for job in reader.jobs():
                assert len(trail_lines(reader, book, job)) == len(reader.lines(job))

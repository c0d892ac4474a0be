"""The jobs at hand: all open ones, few ended ones, each as the record has it."""

from pathlib import Path

import pytest

from bot.commands.bootstrap import book_for
from bot.commands.demo import Player, parse
from bot.desk import jobs_in_memory
from bot.desk.jobs_in_memory import JobsInMemory
from bot.machine.settings import Settings
from flows.job.state import Job

HANDED_OFF = ("hand off", "held for the county yard", "county yard", "yes")


def say(player: Player, driver: int, *texts: str) -> None:
    for text in texts:
        player.step(parse(f"@driver:d{driver}> {text}")[0])


def opened(player: Player, *drivers: int) -> None:
    for driver in drivers:
        say(player, driver, "new job breakdown", "mile 9", "none")


def state(job: Job) -> tuple[object, ...]:
    return job.ref, job.seq, job.facts, job.acts, job.ended


def test_an_ended_job_leaves_and_is_built_again_when_asked_for(tmp_path: Path) -> None:
    player = Player(tmp_path)
    opened(player, 1, 2, 3)
    in_memory = player.desk._jobs
    assert [job.ref for job in in_memory.open()] == [1, 2, 3]
    say(player, 2, "chocked", *HANDED_OFF)
    assert player.store.jobs()[2] == "closed", state(player.desk.job(2))
    assert [job.ref for job in in_memory.open()] == [1, 3]
    afresh = JobsInMemory(player.store, book_for(Settings(tmp_path)))
    assert [job.ref for job in afresh.open()] == [1, 3]
    for ref in (1, 2, 3):
        assert state(afresh.job(ref)) == state(player.desk.job(ref))
    player.close()


def test_only_the_ended_jobs_asked_for_last_are_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(jobs_in_memory, "MOST_ENDED", 2)
    player = Player(tmp_path)
    opened(player, 1, 2, 3)
    for driver in (1, 2, 3):
        say(player, driver, "chocked", *HANDED_OFF)
    found = JobsInMemory(player.store, book_for(Settings(tmp_path)))
    first = found.job(1)
    assert found.job(1) is first
    found.job(2)
    found.job(3)
    assert found.job(1) is not first
    assert state(found.job(1)) == state(first)
    assert found.open() == []
    player.close()

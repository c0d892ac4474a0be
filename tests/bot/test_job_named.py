"""A message that names its job, wherever in it; and a job that is not left while it pulls."""

from pathlib import Path

import pytest

from bot.desk.job_named import after_name, named
from tests.bot.scripted import (
    DISPATCHER,
    DRIVER,
    TO_CLOSE,
    TO_NEUTRAL,
    Line,
    Script,
    entries,
    play,
)

OTHER = "driver:lee"
PULLS = (*TO_NEUTRAL, "neutral now", *TO_CLOSE[:4])
REFERENCES = (
    "job 1, {}", "job 1 {}", "(job 1) {}", '"job 1" {}', "[job 1]: {}", "{}, job 1", "{} (job 1)",
    "{} at job 1", "{}. job 1!", "Job #1: {}", "hey, job 1: {}",
)  # fmt: skip


@pytest.mark.parametrize("form", REFERENCES)
def test_a_reference_is_cut_out_wherever_it_stands(form: str) -> None:
    said = form.format("hold")
    assert named(said) == 1
    assert after_name(said).removeprefix("hey, ") == "hold"


@pytest.mark.parametrize(
    "said",
    ["new job breakdown", "the job 2 guys left their cones", "job", "good job", "job 1234567890",
     "", "jobs", "my job is done", "job one thing"],
)  # fmt: skip
def test_no_reference(said: str) -> None:
    assert named(said) is None
    assert after_name(said) == said


def acts(folder: Path, job: int = 1) -> list[str]:
    return [one["body"]["act"] for one in entries(folder, job) if one["kind"] == "act"]


SMOKE = (
    "(job 1) smoke here", '"job 1" smoke', "smoke at job 1", "job 1: fire!",
    "I'm taking over job 1, it is on fire", "it is on fire, I'm taking over job 1",
    "job 1 taking over. smoke!", "there is smoke, job 1 I mean, smoke from the front",
)  # fmt: skip


@pytest.mark.parametrize("chat", [OTHER, DISPATCHER])
@pytest.mark.parametrize("said", SMOKE)
def test_danger_with_a_reference_is_danger(said: str, chat: str, tmp_path: Path) -> None:
    play(tmp_path, Script().say(*TO_NEUTRAL[:5]).say(said, chat=chat))
    assert "danger_seen" in acts(tmp_path)


@pytest.mark.parametrize(
    "said",
    ['"job 1" take over', "(job 1) take over", "job 1, I'm taking over", "take job 1",
     "I'm taking over job 1", "I'm taking over job 1, it is on fire",
     "it is on fire, I'm taking over job 1", "taking over job 1, all behind"],
)  # fmt: skip
def test_taking_over_with_a_reference_takes_over(said: str, tmp_path: Path) -> None:
    script = Script().say(*TO_NEUTRAL[:3]).say(said, chat=OTHER)
    play(tmp_path, script)
    handed = [one["body"]["to"] for one in entries(tmp_path, 1) if one["kind"] == "handover"]
    assert len(handed) == 1
    assert ("danger_seen" in acts(tmp_path)) == ("fire" in said)
    assert ("people_back" in acts(tmp_path)) == ("behind" in said)


# The winch runs in the job that is left


def second(script: Script) -> Script:
    return script.say("new job breakdown, mile 40", chat=DISPATCHER)


def asked(turn: list[Line], chat: str = DRIVER) -> list[tuple[str, str]]:
    return [(line["job"], line.get("item", "")) for line in turn if line["chat"] == chat]


WAYS = ("job 2", "job 2 take over", "take over job 2", "I'm taking over job 2", "(job 2) none")


@pytest.mark.parametrize("said", WAYS)
@pytest.mark.parametrize("way", [PULLS, (*PULLS, "hold")], ids=("runs", "may run"))
def test_no_other_job_begins_while_the_winch_runs(
    said: str, way: tuple[str, ...], tmp_path: Path
) -> None:
    script = second(Script().say(*way)).say(said, "stopped", said)
    *_, refused, _stopped, taken = play(tmp_path, script)
    assert asked(refused)[-1] == ("1", "recover.stop")
    assert {job for job, _ in asked(refused)} == {"1"}
    assert acts(tmp_path)[-1] == "winch_stops"
    assert "2" in {job for job, _ in asked(taken)}


def test_danger_at_another_job_counts_and_the_winch_stops_here(tmp_path: Path) -> None:
    script = second(Script().say(*PULLS)).say("I'm taking over job 2, it is on fire", "stopped")
    *_, told, _ = play(tmp_path, script)
    assert ("1", "recover.stop") in asked(told)
    assert acts(tmp_path, 2) == ["danger_seen"]
    assert acts(tmp_path)[-1] == "winch_stops"
    assert not [one for one in entries(tmp_path, 2) if one["kind"] == "handover"]


def test_a_new_job_waits_for_the_open_one(tmp_path: Path) -> None:
    *_, refused = play(tmp_path, Script().say(*PULLS, "new job breakdown"))
    assert "Job one is open here" in refused[-1]["spoken"]
    assert not entries(tmp_path, 2)

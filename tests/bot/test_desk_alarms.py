"""What a desk hears of by the clock: who has not come, who is silent, what nobody answered."""

import shutil
from pathlib import Path

import pytest

from tests.bot.scripted import DISPATCHER, DRIVER, Line, Script, entries, play

CARDS = Path(__file__).parents[2] / "demo_data"
BEA, OWNER = "dispatcher:bea", "owner:kim"
TO_SAM = "new job breakdown, heron, mile 12 northbound for Sam"


def given() -> Script:
    """Return a script in which a job was opened for Sam."""
    script = Script()
    for chat in (DRIVER, BEA, OWNER):
        script.say("status", chat=chat)
    return script.say(TO_SAM, chat=DISPATCHER)


def at_scene() -> Script:
    return given().say("job 1", "none", "behind")


def alarms(turn: list[Line], chat: str = DISPATCHER) -> list[str]:
    urgent = {"check", "stop"}
    return [line["shown"] for line in turn if line["chat"] == chat and line["priority"] in urgent]


def waited(folder: Path, script: Script, *seconds: float) -> list[list[str]]:
    """Return the alarms at the desk after each wait."""
    before = len(script.lines)
    for one in seconds:
        script.wait(one)
    return [alarms(turn) for turn in play(folder, script)[before:]]


def test_a_job_nobody_takes_is_an_alarm_again_and_again(tmp_path: Path) -> None:
    early, first, quiet, second = waited(tmp_path, given(), 590, 20, 560, 60)
    assert early == quiet == []
    (told,) = first
    for words in ("Job 1", "10 min", "sam", "Heron", "mile 12 northbound"):
        assert words in told
    assert "20 min" in second[0]
    kinds = [e["body"].get("what") for e in entries(tmp_path, 1) if e["kind"] == "told"]
    assert kinds == ["untaken", "untaken"]


def test_a_job_taken_in_time_is_no_alarm(tmp_path: Path) -> None:
    assert waited(tmp_path, given().say("job 1", "none"), 700) == [[]]


def test_a_job_given_to_another_has_its_full_time_again(tmp_path: Path) -> None:
    script = given().wait(500)
    script.say("job 1 for sam", chat=DISPATCHER)
    early, late = waited(tmp_path, script, 500, 200)
    assert early == []
    assert len(late) == 1


def test_a_driver_silent_at_the_scene_is_an_alarm_with_the_last_step(tmp_path: Path) -> None:
    early, first = waited(tmp_path, at_scene(), 1190, 20)
    assert [text for text in early if "no word" in text] == []
    told = next(text for text in first if "no word" in text)
    for words in ("sam", "20 min", "Heron", "mile 12 northbound", "people behind"):
        assert words in told


def test_a_word_of_the_driver_starts_the_silence_anew(tmp_path: Path) -> None:
    script = at_scene().wait(1190).say("secured").wait(1190)
    turns = play(tmp_path, script)
    assert not [text for turn in turns for text in alarms(turn) if "no word" in text]


def test_the_owner_sets_the_times(tmp_path: Path) -> None:
    cards = tmp_path / "cards"
    shutil.copytree(CARDS, cards)
    company = cards / "company.toml"
    company.write_text(f"untaken_min = 3\n{company.read_text('utf-8')}", "utf-8")
    script = given().wait(190)
    turns = play(tmp_path / "data", script, cards=cards)
    assert "3 min" in alarms(turns[-1])[0]


def test_danger_not_answered_is_said_again_and_goes_to_the_owner(tmp_path: Path) -> None:
    script = at_scene().say("smoke")
    before = len(script.lines)
    for seconds in (50, 20, 60, 120):
        script.wait(seconds)
    turns = play(tmp_path, script)
    said, (early, first, second, third) = turns[before - 1], turns[before:]
    assert "mile 12 northbound" in alarms(said)[0], "who and where, at once"
    assert alarms(early) == []
    for turn in (first, second, third):
        assert {"danger", "answered"} <= set(alarms(turn)[0].split())
        assert {line["priority"] for line in turn if line["chat"] == BEA} >= {"stop"}
    assert alarms(first, OWNER) == alarms(second, OWNER) == []
    assert alarms(third, OWNER)


@pytest.mark.parametrize(
    "answer", [{"text": "noted"}, {"text": "job 1 noted"}, {"tap": "job 1 noted"}]
)
def test_an_answer_from_any_desk_ends_it(answer: Line, tmp_path: Path) -> None:
    script = at_scene().say("new job crash, pier 4", chat=BEA).say("smoke").send(BEA, **answer)
    (noted, *later) = play(tmp_path, script.wait(70).wait(300))[-3:]
    assert any("oted" in line["shown"] for line in noted if line["chat"] == BEA)
    assert not [text for turn in later for text in alarms(turn) if "danger" in text]


def test_danger_in_two_jobs_is_answered_at_once_and_named(tmp_path: Path) -> None:
    lee = "driver:lee"
    script = at_scene().say("new job crash, pier 4", "smoke", chat=lee).say("smoke")
    script.say("noted", chat=DISPATCHER).wait(100)
    *_, noted, later = play(tmp_path, script)
    told = " ".join(line["shown"] for line in noted if line["chat"] == DISPATCHER)
    assert "1, 2" in told
    assert not [text for text in alarms(later) if "danger" in text]


def test_danger_goes_to_the_owner_if_nobody_dispatches(tmp_path: Path) -> None:
    script = Script().say("status", chat=OWNER).say("new job crash, pier 4", "smoke")
    assert alarms(play(tmp_path, script)[-1], OWNER)


def test_a_restart_of_the_machine_is_no_alarm(tmp_path: Path) -> None:
    script = at_scene().say("secured")
    script.send(DISPATCHER, text="job 1 status", boot="another", mono_ms=50_000)
    script.send(DISPATCHER, tick=True, boot="another", mono_ms=60_000)
    turns = play(tmp_path, script)
    assert not [text for turn in turns[-2:] for text in alarms(turn) if "no word" in text]

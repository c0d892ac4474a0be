"""Several jobs and drivers: what is aboard a truck, who is told, and a job that is left."""

from pathlib import Path
from typing import Any

import pytest

from bot.record.reader import open_reader
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
ABOARD = (*TO_NEUTRAL, "neutral now", *TO_CLOSE[:6])
SECOND = "new job, breakdown, mile 20, heron, fieldfare, nose first"


def told(folder: Path, job: int) -> list[Any]:
    return [e["body"] for e in entries(folder, job) if e["kind"] == "told"]


def figures(turn: list[Line]) -> list[Any]:
    return [figure for line in turn for figure in line.get("figures", ())]


def second_driver() -> Script:
    """Return one truck, two vehicles, two drivers: the first is aboard, the second is reckoned."""
    script = Script().say(*ABOARD).say(SECOND, chat=DISPATCHER)
    return script.say("job 2", *TO_NEUTRAL[2:9], "yes", chat=OTHER)


def test_a_truck_that_carries_has_no_deck_left(tmp_path: Path) -> None:
    turns = play(tmp_path, second_driver())
    (figure,) = figures(turns[-1])
    assert figure["result"]["verdict"] == "no-go"
    assert figure["governing"] == "deck length"
    # The demo card's ticket: 2,410 and 2,550 lb. In the figure it is a piece aboard.
    assert "vehicle of job 1" in figure["result"]["aboard"]
    (first,) = told(tmp_path, 2)
    assert (first["truck"], first["aboard"][0]["job"]) == ("heron", 1)
    assert first["aboard"][0]["weight_lb"] >= 2410 + 2550


def test_the_other_job_is_told_in_the_same_transaction(tmp_path: Path) -> None:
    script = second_driver().say("hand off", "orme yard", "yes").say("deck empty")
    turns = play(tmp_path, script)
    last = turns[-1]
    assert last[-1]["last"], "one last line for what was said, whoever else is told"
    (reckoned,) = figures(last)
    assert reckoned["result"]["verdict"] == "go"
    note = next(line for line in last if line["chat"] == OTHER and line["job"] == "2")
    assert note["priority"] == "note"
    assert "Job two" in note["spoken"]
    with open_reader(tmp_path) as reader:
        assert reader.verify() == []
        empty = reader.entries(1)[-1]
        assert empty["body"]["what"] == "taken_off"
        assert told(tmp_path, 2)[-1]["aboard"] == []
        assert [e for e in reader.entries(2) if e["kind"] == "told"][-1]["times"][
            "written"
        ] == empty["times"]["written"]


LEFT = {
    "a hand-off": ("hand off", "orme yard", "yes"),
    "a stand-down": ("smoke", "away", "called", "nobody came", "the police", "yes"),
}
NEXT = (*TO_NEUTRAL[:11], "heron")
"""The opening of a job up to its margin, and its margin."""


def left_aboard(how: str) -> Script:
    """A job ends with its vehicle on the deck, and the same driver opens the next."""
    return Script().say(*ABOARD, *LEFT[how], *NEXT)


@pytest.mark.parametrize("how", LEFT)
def test_what_a_hand_off_leaves_aboard_is_aboard_in_the_next_job(how: str, tmp_path: Path) -> None:
    turns = play(tmp_path, left_aboard(how))
    (figure,) = figures(turns[-1])
    assert (figure["result"]["verdict"], figure["governing"]) == ("no-go", "deck length")
    assert "vehicle of job 1" in figure["result"]["aboard"]
    said = [line["spoken"] for line in turns[-1]]
    assert any("Job one" in one and "deck empty" in one for one in said), "what it is, and a way"


@pytest.mark.parametrize("chat", [DRIVER, DISPATCHER])
def test_an_empty_deck_is_said_once_and_for_every_later_job(chat: str, tmp_path: Path) -> None:
    script = left_aboard("a hand-off").say("deck empty", chat=chat, job="2")
    turns = play(tmp_path, script.say("hand off", "orme yard", "yes", *NEXT))
    verdicts = [one["result"]["verdict"] for turn in turns for one in figures(turn)]
    assert verdicts == ["go", "no-go", "go", "go"]
    assert told(tmp_path, 3) == [], "the deck is empty, and stays so"
    with open_reader(tmp_path) as reader:
        assert reader.verify() == []
        assert reader.open_jobs() == [3]


def test_a_restart_forgets_no_vehicle_aboard(tmp_path: Path) -> None:
    play(tmp_path, Script().say(*ABOARD, *LEFT["a hand-off"]))
    later = Script(Script().say(*ABOARD, *LEFT["a hand-off"]).now)
    later.lines = [{}] * 90  # ids of its own
    lines = later.say(*NEXT).lines[90:]
    turns = play(tmp_path, lines)
    assert figures(turns[-1])[0]["result"]["verdict"] == "no-go"


def test_an_empty_deck_where_nothing_is_left_changes_nothing(tmp_path: Path) -> None:
    script = Script().say(*ABOARD, "deck empty", "status")
    *_, empty, _ = play(tmp_path, script)
    assert empty[-1]["acts_now"]["deck"] == "deck", "its own vehicle is aboard"


def test_a_closed_job_leaves_nothing_aboard(tmp_path: Path) -> None:
    turns = play(tmp_path, Script().say(*TO_NEUTRAL, "neutral now", *TO_CLOSE, *NEXT))
    assert figures(turns[-1])[0]["result"]["verdict"] == "go"


def test_a_job_on_another_truck_hears_nothing(tmp_path: Path) -> None:
    script = Script().say("new job, crash, mile 2, godwit", chat=DISPATCHER).say(*ABOARD)
    play(tmp_path, script)
    assert told(tmp_path, 1) == []


def test_a_job_its_driver_leaves_waits_and_asks_nothing(tmp_path: Path) -> None:
    script = Script().say(*TO_NEUTRAL[:5]).say(SECOND, chat=DISPATCHER)
    turns = play(tmp_path, script.say("job 2").wait(600).say("job 1", "warned"))
    left, _, back, on = turns[-4:]
    assert {line["job"] for line in left if line["spoken"]} == {"2"}
    assert told(tmp_path, 1)[-1] == {"what": "left"}
    # While it waited nothing of it was asked: every line of the ten minutes is the other job's.
    assert {line["job"] for turn in turns[-3:-2] for line in turn if "job" in line} == {"2"}
    # Resume: job, last, next.
    assert "Job one" in next(line["spoken"] for line in back if line["spoken"])
    assert back[-1]["item"].startswith("scene.")
    assert on[-1]["item"].startswith("scene.")


def test_an_alarm_of_the_job_that_was_left_names_it(tmp_path: Path) -> None:
    script = Script().say(*TO_NEUTRAL, "neutral now").say(SECOND, chat=DISPATCHER)
    turns = play(tmp_path, script.say("job 2").wait(15 * 60))
    alarms = [line for line in turns[-1] if line["chat"] == DRIVER and line["priority"] != "reply"]
    assert [line["job"] for line in alarms] == ["1"]
    assert alarms[0]["spoken"].endswith("That is job one.")
    assert alarms[0]["spoken"].startswith("Note.")

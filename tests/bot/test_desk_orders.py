"""A desk with several jobs open: its orders, over the channel that has no platform."""

from pathlib import Path

import pytest

from tests.bot.scripted import DISPATCHER, DRIVER, Line, Script, entries, play

LOU, OWNER = "driver:lou", "owner:kim"
TO_SAM = "new job breakdown, heron, mile 12 northbound for Sam"


def crew() -> Script:
    """Return a script by which everybody is enrolled and nobody has a job."""
    script = Script()
    for chat in (DRIVER, LOU, DISPATCHER):
        script.say("status", chat=chat)
    return script


def desk(script: Script, *texts: str) -> Script:
    return script.say(*texts, chat=DISPATCHER)


def later(folder: Path, script: Script, chat: str, *bodies: Line) -> list[list[Line]]:
    """Play more lines behind a script that was played."""
    more = Script(script.now, script.lines[:])
    for body in bodies:
        more.send(chat, **body)
    return play(folder, more.lines[len(script.lines) :])


def shown(turn: list[Line], chat: str = DISPATCHER) -> str:
    return "\n".join(line["shown"] for line in turn if line["chat"] == chat)


def facts(folder: Path, job: int) -> dict[str, object]:
    found: dict[str, object] = {}
    for entry in entries(folder, job):
        if entry["kind"] == "fact":
            value = entry["body"]["value"]
            found[entry["body"]["name"]] = value["value"] if isinstance(value, dict) else value
    return found


def kinds(folder: Path, job: int) -> list[str]:
    return [entry["kind"] for entry in entries(folder, job)]


# A job for a driver.


def test_a_job_is_opened_and_given_in_one_message(tmp_path: Path) -> None:
    *_, given, taken = play(tmp_path, desk(crew(), TO_SAM).say("job 1"))
    assert "mile 12 northbound" in shown(given, DRIVER)
    assert "sam" in shown(given)
    assert taken[-1]["item"] == "scene.danger"
    assert facts(tmp_path, 1)["place"] == "mile 12 northbound"


@pytest.mark.parametrize("text", ["new job breakdown, mile 12 for Zed", "send zed to mile 12"])
def test_a_driver_nobody_knows_is_asked_about(text: str, tmp_path: Path) -> None:
    script = desk(crew(), text)
    *_, asked = play(tmp_path, script)
    assert "zed" in shown(asked).lower()
    assert entries(tmp_path, 1) == []
    offered = [one["id"] for one in asked[-1]["expects"]["choices"]]
    nobody = next(one for one in offered if "no driver" in one)
    lou = next(one for one in offered if "lou" in one)
    unasked, given = later(tmp_path, script, DISPATCHER, {"tap": nobody}, {"tap": lou})
    assert [facts(tmp_path, number)["place"] for number in (1, 2)] == ["mile 12", "mile 12"]
    assert {line["chat"] for line in unasked} == {DISPATCHER}
    assert "mile 12" in shown(given, LOU)


def test_words_that_belong_to_a_place_are_no_driver(tmp_path: Path) -> None:
    play(tmp_path, desk(crew(), "new job breakdown, looking for the county lot"))
    assert facts(tmp_path, 1)["place"] == "looking for the county lot"


@pytest.mark.parametrize(
    "text",
    ["job 1 for lou", "job 1 to lou", "give lou job 1", "send lou to job 1",
     "hand job 1 over to lou"],
)  # fmt: skip
def test_a_job_is_handed_to_another_driver(text: str, tmp_path: Path) -> None:
    *_, turn = play(tmp_path, desk(crew(), TO_SAM, text))
    assert "mile 12 northbound" in shown(turn, LOU)
    assert "lou" in shown(turn, DRIVER), "who had it hears that it is another's"


def test_a_destination_is_no_driver(tmp_path: Path) -> None:
    *_, turn = play(tmp_path, desk(crew(), TO_SAM, "job 1 to the county yard"))
    assert "no driver" not in shown(turn)
    said = [e["body"]["text"]["value"] for e in entries(tmp_path, 1) if e["kind"] == "heard"]
    assert said[-1] == "to the county yard"


# What is open.


def test_jobs_tells_who_with_what_where_how_far_and_since_when(tmp_path: Path) -> None:
    script = desk(crew(), TO_SAM).say("job 1", "none")
    desk(script, "new job crash, the red barn", "new job breakdown, pier 4 for lou")
    script.wait(240)
    *_, turn = play(tmp_path, desk(script, "jobs"))
    text = shown(turn)
    sam = next(part for part in text.split("\n\n") if "Job 1" in part)
    for words in ("sam", "Heron", "mile 12 northbound", "Scene", "4 min"):
        assert words in sam
    given = next(part for part in text.split("\n\n") if "Job 3" in part)
    assert "pier 4" in given
    assert "lou" in given
    assert "not taken" in given


def test_jobs_shows_open_jobs_before_ended_ones_and_all_of_them(tmp_path: Path) -> None:
    script = crew()
    for number in range(30):
        desk(script, f"new job crash, mile {number} of the long road past the river")
    desk(script, "cancel job 7, customer called off")
    *_, turn = play(tmp_path, desk(script, "jobs"))
    texts = [line["shown"] for line in turn if line["chat"] == DISPATCHER]
    assert all(len(text) <= 4096 for text in texts)
    text = "\n".join(texts)
    for number in range(1, 31):
        assert (f"Job {number}:" in text) == (number != 7), number
    assert "1 ended" in text


def test_who_is_free_names_drivers_without_a_job(tmp_path: Path) -> None:
    script = desk(crew(), TO_SAM, "who is free")
    *_, turn = play(tmp_path, script)
    free, asked = shown(turn).split("\n")
    assert ("lou" in free, "sam" in free) == (True, False)
    assert "sam" in asked


@pytest.mark.parametrize(
    "words",
    ["ABC 1234", "abc1234", "abc-1234", "mile 12", "today", "2026-06-01", "june 1", "sam",
     "1m8gdm9axkp042788"],
)  # fmt: skip
def test_a_job_is_found_by_plate_vin_place_day_and_driver(words: str, tmp_path: Path) -> None:
    script = desk(crew(), TO_SAM).say("job 1", "none")
    desk(script, "job 1, plate ABC-1234", "job 1, vin 1M8GDM9AXKP042788")
    desk(script, "new job crash, the red barn", f"find {words}")
    *_, turn = play(tmp_path, script)
    assert "Job 1:" in shown(turn)
    by_day = words in {"today", "2026-06-01", "june 1"}
    assert ("Job 2:" in shown(turn)) == by_day


def test_what_is_nowhere_is_not_found(tmp_path: Path) -> None:
    *_, turn = play(tmp_path, desk(crew(), TO_SAM, "find %"))
    assert "Job 1" not in shown(turn)


def test_help_tells_a_dispatcher_what_to_send(tmp_path: Path) -> None:
    *_, turn = play(tmp_path, desk(crew(), "help"))
    for words in ("jobs", "find", "tell", "cancel", "free"):
        assert words in shown(turn)


# A job that nobody has taken.


@pytest.mark.parametrize(
    "text",
    ["cancel job 1, customer called off", "job 1 cancelled, customer called off",
     "job 1 customer called off", "job 1 gone on arrival", "call off job 1: no show"],
)  # fmt: skip
def test_a_job_nobody_took_is_called_off_with_its_reason(text: str, tmp_path: Path) -> None:
    *_, turn, late = play(tmp_path, desk(crew(), TO_SAM, text).say("job 1"))
    assert kinds(tmp_path, 1)[-1] in {"heard", "checkpoint"}
    ended = next(e for e in entries(tmp_path, 1) if e["kind"] == "ended")
    assert ended["body"]["how"] == "called_off"
    assert "called off" in shown(turn)
    assert "called off" in shown(turn, DRIVER), "who was asked to go hears of it"
    assert "ended" in shown(late, DRIVER)


def test_calling_off_wants_a_reason(tmp_path: Path) -> None:
    *_, asked, done = play(
        tmp_path,
        desk(crew(), TO_SAM, "cancel job 1").send(DISPATCHER, text="job 1 gone on arrival"),
    )
    assert "reason" in shown(asked).lower() or "why" in shown(asked).lower()
    assert "called off" in shown(done)


def test_a_job_with_a_driver_at_it_is_not_called_off_over_their_head(tmp_path: Path) -> None:
    script = desk(crew(), TO_SAM).say("job 1", "none")
    *_, turn = play(tmp_path, desk(script, "cancel job 1, customer called off"))
    assert "ended" not in kinds(tmp_path, 1)
    assert "sam" in shown(turn)


# Words between desk and driver.


def test_what_a_desk_tells_a_driver_is_no_fact(tmp_path: Path) -> None:
    script = desk(crew(), TO_SAM).say("job 1", "none")
    *_, told, answer = play(
        tmp_path,
        desk(script, "tell sam it is electric and weighs 4600 lb").say(
            "tell dispatch the gate is locked, back wheels locked too"
        ),
    )
    assert "it is electric and weighs 4600 lb" in shown(told, DRIVER)
    assert "the gate is locked" in shown(answer)
    assert {"powertrain", "weight", "wheels"}.isdisjoint(facts(tmp_path, 1))
    said = [e for e in entries(tmp_path, 1) if e["kind"] == "passed_on"]
    assert [e["body"]["text"]["value"] for e in said] == [
        "it is electric and weighs 4600 lb", "the gate is locked, back wheels locked too",
    ]  # fmt: skip


def test_a_reply_to_the_desks_words_goes_to_the_desk(tmp_path: Path) -> None:
    script = desk(crew(), TO_SAM).say("job 1", "none")
    *_, told = play(tmp_path, desk(script, "tell sam is it the blue one"))
    line = next(line for line in told if line["chat"] == DRIVER)
    words = "no, electric, the red one"
    (answer,) = later(tmp_path, script, DRIVER, {"text": words, "to": line["seq"]})
    assert "no, electric, the red one" in shown(answer)
    assert "powertrain" not in facts(tmp_path, 1)


def test_danger_told_to_dispatch_is_danger(tmp_path: Path) -> None:
    script = desk(crew(), TO_SAM).say("job 1", "none", "tell dispatch there is smoke")
    *_, turn = play(tmp_path, script)
    assert "stop" in {line["priority"] for line in turn if line["chat"] == DISPATCHER}


# Words without a job's number.


def test_a_second_call_is_not_written_into_the_first_job(tmp_path: Path) -> None:
    script = desk(crew(), TO_SAM, "send lou out to 9th and garnet, electric").say("job 1")
    *_, turn, _ = play(tmp_path, script)
    assert "powertrain" not in facts(tmp_path, 1)
    assert facts(tmp_path, 2) == {"powertrain": "electric", "place": "9th and garnet"}
    assert "9th and garnet" in shown(turn, LOU)


@pytest.mark.parametrize(
    "text",
    ["lou has an electric one at 9th and garnet", "it is electric", "it weighs 4600 lb",
     "going to the county yard"],
)  # fmt: skip
def test_with_several_jobs_open_a_fact_without_a_number_is_asked_about(
    text: str, tmp_path: Path
) -> None:
    script = desk(crew(), TO_SAM, "new job crash, the red barn", text)
    *_, asked = play(tmp_path, script)
    assert {"powertrain", "weight", "destination"}.isdisjoint(facts(tmp_path, 1))
    assert {"powertrain", "weight", "destination"}.isdisjoint(facts(tmp_path, 2))
    offered = {one["label"]: one["id"] for one in asked[-1]["expects"]["choices"]}
    tap = next(one for one in offered.values() if one.startswith("job 1"))
    before = len(entries(tmp_path, 1))
    later(tmp_path, script, DISPATCHER, {"tap": tap})
    assert len(entries(tmp_path, 1)) > before


def test_words_of_another_driver_are_not_taken_into_the_only_job(tmp_path: Path) -> None:
    script = desk(crew(), TO_SAM, "lou has an electric one at 9th and garnet")
    *_, asked = play(tmp_path, script)
    assert "powertrain" not in facts(tmp_path, 1)
    assert asked[-1]["expects"]["choices"]


def test_danger_without_a_number_counts_at_once(tmp_path: Path) -> None:
    script = desk(crew(), TO_SAM, "new job crash, the red barn").say("job 1", "none")
    desk(script, "job 1 status", "smoke")
    *_, turn = play(tmp_path, script)
    assert "stop" in {line["priority"] for line in turn if line["chat"] == DRIVER}


def test_the_next_words_after_naming_a_job_are_for_it(tmp_path: Path) -> None:
    script = desk(crew(), TO_SAM, "new job crash, the red barn", "job 1 status", "status")
    *_, turn = play(tmp_path, script)
    assert "Job one" in " ".join(line["spoken"] for line in turn)


def test_a_reply_to_a_message_about_a_job_is_for_that_job(tmp_path: Path) -> None:
    script = desk(crew(), TO_SAM, "new job crash, the red barn", "job 1 status", "job 2 status")
    turns = play(tmp_path, script)
    line = next(line for line in turns[-2] if line["chat"] == DISPATCHER)
    later(tmp_path, script, DISPATCHER, {"text": "it is electric", "to": line["seq"]})
    assert facts(tmp_path, 1)["powertrain"] == "electric"
    assert "powertrain" not in facts(tmp_path, 2)

"""The desk: permissions, who is told, and the entries in the record."""

from pathlib import Path
from typing import Any

import pytest

from bot.channels.lines_out_form import LineOut
from bot.commands.demo import Player, parse
from bot.desk.watch import WATCHES
from bot.record.reader import open_reader
from flows.job.events import Event, Heard
from flows.job.state import Job
from flows.turn.advance import advance
from flows.turn.turning import Turn
from tests.bot.scripted import (
    DISPATCHER,
    DRIVER,
    TO_CLOSE,
    TO_NEUTRAL,
    Line,
    Script,
    chains,
    entries,
    play,
)

OTHER = "driver:lee"
OWNER = "owner:kim"
AT_PEOPLE = TO_NEUTRAL[:3]
# A small truck and a heavy half-ton: the margin says no-go.
NO_GO = (
    *TO_NEUTRAL[:10], "no card", "combustion", "pickup", "half ton", "rear",
    "it weighs sixty four hundred pounds", "yes", "wren",
)  # fmt: skip


def kinds(folder: Path, kind: str, job: int = 1) -> list[Line]:
    return [entry for entry in entries(folder, job) if entry["kind"] == kind]


def acts(folder: Path) -> list[str]:
    return [entry["body"]["act"] for entry in kinds(folder, "act")]


def spoken(turn: list[Line], chat: str) -> list[str]:
    return [line["spoken"] for line in turn if line["chat"] == chat]


# Permissions.


@pytest.mark.parametrize("chat", [DISPATCHER, OWNER, OTHER])
@pytest.mark.parametrize(
    "body",
    [{"text": "behind"}, {"text": "all behind"}, {"tap": "behind"}, {"text": "behind", "to": 5},
     {"text": "chocked"}, {"text": "skip, not needed here today"}, {"text": "hold"},
     {"text": "hand off"}, {"text": "in park"}, {"text": "no, they are not behind"}],
)  # fmt: skip
def test_only_the_driver_at_the_vehicle_settles_steps(
    chat: str, body: Line, tmp_path: Path
) -> None:
    script = Script().say(*AT_PEOPLE).send(chat, job="1", **body).say("repeat", "behind")
    *_, others, again, behind = play(tmp_path, script)
    assert spoken(others, chat)[-1]
    assert again[-1]["item"] == "scene.people"
    assert behind[-1]["item"] == "scene.truck"
    assert acts(tmp_path) == ["people_back"]
    assert kinds(tmp_path, "act")[0]["by"] == "p1"


def test_a_read_back_is_confirmed_by_the_driver_alone(tmp_path: Path) -> None:
    script = Script().say(*AT_PEOPLE, "it weighs 4600 lb").say("yes", chat=OTHER, job="1")
    script.say("yes", chat=DISPATCHER)
    *_, other, dispatch = play(tmp_path, script)
    assert not [line for line in (*other, *dispatch) if "facts" in line]
    (confirmed,) = play(tmp_path, Script(script.now, script.lines[:]).say("yes").lines[-1:])
    assert confirmed[-1]["facts"]["weight"]["value"] == 4600


@pytest.mark.parametrize("chat", [DISPATCHER, OWNER, OTHER])
def test_others_add_facts_under_their_own_name(chat: str, tmp_path: Path) -> None:
    play(tmp_path, Script().say(*AT_PEOPLE).say("it is electric", chat=chat, job="1"))
    (fact,) = [e for e in kinds(tmp_path, "fact") if e["body"]["name"] == "powertrain"]
    assert (fact["body"]["value"], fact["by"], fact["vehicle"]) == ("electric", "p2", "p1")


@pytest.mark.parametrize("chat", [DISPATCHER, OWNER, OTHER])
@pytest.mark.parametrize("word", ["smoke", "stop"])
def test_others_warn_and_stop(word: str, chat: str, tmp_path: Path) -> None:
    script = Script().say(*AT_PEOPLE, "behind").say(word, chat=chat, job="1")
    told = [line for line in play(tmp_path, script)[-1] if line["chat"] == DRIVER]
    assert "stop" in {line["priority"] for line in told}


def test_a_dispatcher_opens_a_job_in_one_message_and_a_driver_takes_it(tmp_path: Path) -> None:
    script = Script().say("new job, breakdown, mile 12 northbound, Heron", chat=DISPATCHER)
    opened, taken, behind = play(tmp_path, script.say("job 1", "none"))
    assert {line["chat"] for line in opened} == {DISPATCHER}
    assert set(opened[-1]["facts"]) == {"history", "place", "truck"}
    assert taken[-1]["item"] == "scene.danger", "what was said is not asked again"
    assert (taken[-1]["chat"], behind[-1]["item"]) == (DRIVER, "scene.people")
    (handover,) = kinds(tmp_path, "handover")
    assert (handover["body"]["to"], handover["by"], handover["vehicle"]) == ("p2", "p2", "p2")
    assert kinds(tmp_path, "opened")[0]["vehicle"] is None


def test_a_take_over_is_an_entry_and_starts_the_section_again(tmp_path: Path) -> None:
    script = Script().say(*AT_PEOPLE, "behind", "secured").say("job 1", "take over", chat=OTHER)
    script.say("warned").say("behind", "secured", chat=OTHER).say("job 1", "take over")
    *_, named, taken, late, _, mine, _, back = play(tmp_path, script)
    assert named[-1]["expects"]["kind"] == "nothing", "a number alone takes nothing over"
    assert "Job one" in " ".join(spoken(taken, OTHER)), "resume: job, last, next"
    assert taken[-1]["item"] == "scene.people", "lost track: its first item again"
    assert (late[-1]["chat"], late[-1]["expects"]["kind"]) == (DRIVER, "nothing")
    assert mine[-1]["item"] == "scene.warn"
    assert back[-1]["item"] == "scene.people"
    assert [(e["by"], e["body"]["to"]) for e in kinds(tmp_path, "handover")] == [
        ("p2", "p2"), ("p1", "p1"),
    ]  # fmt: skip
    assert [(e["vehicle"], e["body"]["act"]) for e in kinds(tmp_path, "act")] == [
        ("p1", "people_back"), ("p1", "truck_set"), ("p2", "people_back"), ("p2", "truck_set"),
    ]  # fmt: skip


@pytest.mark.parametrize("said", ["take over job 1", "Taking over job 1.", "I take over job 1"])
def test_a_take_over_names_its_job_in_one_breath(said: str, tmp_path: Path) -> None:
    *_, taken = play(tmp_path, Script().say(*AT_PEOPLE, "behind").say(said, chat=OTHER))
    assert taken[-1]["item"] == "scene.people"
    assert [(e["by"], e["body"]["to"]) for e in kinds(tmp_path, "handover")] == [("p2", "p2")]


@pytest.mark.parametrize("chat", [DISPATCHER, OWNER])
def test_who_is_no_driver_takes_no_vehicle_over(chat: str, tmp_path: Path) -> None:
    play(tmp_path, Script().say(*AT_PEOPLE).say("take over", chat=chat, job="1"))
    assert kinds(tmp_path, "handover") == []


def test_a_driver_has_one_open_job(tmp_path: Path) -> None:
    script = Script().say(*AT_PEOPLE, "new job crash").say("new job crash", chat=OTHER)
    *_, refused, other = play(tmp_path, script)
    assert "job" not in refused[-1]
    assert other[-1]["job"] == "2"
    assert set(chains(tmp_path)) == {0, 1, 2}


def test_only_an_owner_decides_against_the_margin_by_name_and_with_a_reason(
    tmp_path: Path,
) -> None:
    script = Script().say(*NO_GO)
    for chat in (DRIVER, OTHER, DISPATCHER):
        script.say("override, it will be fine", chat=chat, job="1")
    script.say("override", chat=OWNER).say("status")
    script.say("override, short and slow to the yard only", chat=OWNER).say("status")
    turns = play(tmp_path, script)
    assert turns[17][-1]["figures"][0]["result"]["verdict"] == "no-go"
    assert turns[22][-1]["item"] == "margin.no_go", "nobody has moved it"
    (entry,) = kinds(tmp_path, "overridden")
    assert (entry["by"], entry["body"]["verdict"]) == ("p4", "no-go")
    assert entry["body"]["reason"]["value"] == "short and slow to the yard only"
    assert entry["body"]["conclusion"] == kinds(tmp_path, "concluded")[-1]["seq"]
    told = {chat: " ".join(spoken(turns[23], chat)) for chat in (OWNER, DRIVER)}
    assert all("against advice" in words for words in told.values())
    assert turns[23][-1]["item"] == "destination.vin"
    assert kinds(tmp_path, "concluded")[-1]["body"]["result"]["verdict"] == "no-go"


def test_an_override_falls_with_the_margin_under_it(tmp_path: Path) -> None:
    script = Script().say(*NO_GO).say("override, to the yard only", chat=OWNER)
    script.say("no vin", "it weighs 6600 lb", "yes")
    *_, taken, _, asked, again = play(tmp_path, script)
    assert taken[-1]["item"] == "destination.vin"
    assert asked[-1]["expects"]["kind"] == "yes_no"
    assert again[-1]["item"] == "margin.no_go"


def test_a_skip_blocks_the_close_until_dispatcher_or_owner_settles_it(tmp_path: Path) -> None:
    script = Script().say(*TO_NEUTRAL[:5], "skip, no devices aboard today", *TO_NEUTRAL[6:])
    script.say("neutral now", *TO_CLOSE).say("settle, by me", "status")
    script.say("settle", chat=DISPATCHER).say("settle, devices were out later", chat=DISPATCHER)
    turns = play(tmp_path, script.say("close"))
    skip = {"kind": "skip", "item": "scene.warn", "label": "warning devices out"}
    *_, slack, close, own, status, bare, settled, _ = turns
    assert slack[-1]["item"] == close[-1]["item"] == own[-1]["item"] == "close.skips"
    for turn in turns[6:-2]:
        assert skip in turn[-1]["open"], "in every status"
    assert "close.skips" in {line.get("item") for line in status}
    assert kinds(tmp_path, "skip_settled")[0]["by"] == "p2"
    assert len(kinds(tmp_path, "skip_settled")) == 1
    assert bare[-1]["open"] == [skip]
    assert "open" not in settled[-1]
    assert [line["item"] for line in settled if line["chat"] == DRIVER][-1] == "close.seal"
    assert kinds(tmp_path, "ended")[0]["body"]["how"] == "closed"


# Who is told.


def test_danger_is_told_in_every_dispatcher_chat_and_to_nobody_else(tmp_path: Path) -> None:
    script = Script().say("hello", chat=DISPATCHER).say("hello", chat="dispatcher:bo")
    script.say("hello", chat=OWNER).say("hello", chat=OTHER)
    turn = play(tmp_path, script.say(*AT_PEOPLE, "smoke"))[-1]
    assert {line["chat"] for line in turn} == {DRIVER, DISPATCHER, "dispatcher:bo"}
    for chat in (DISPATCHER, "dispatcher:bo"):
        (told,) = [line for line in turn if line["chat"] == chat]
        assert told["priority"] in {"check", "stop"}
        assert "Job one" in told["spoken"], "an alarm names its job"


def test_an_alarm_that_the_driver_does_not_answer_goes_to_dispatch(tmp_path: Path) -> None:
    opening = Script().say("hello", chat=DISPATCHER).say(*TO_NEUTRAL, "neutral now")
    # Neutral window: the warning at a sixth, five minutes of 30, unanswered for a minute.
    calm = Script(opening.now, opening.lines[:]).wait(25 * 60).say("noted").wait(70)
    loud = Script(opening.now, opening.lines[:]).wait(25 * 60).wait(70)
    told = [spoken(play(tmp_path / name, script)[-1], DISPATCHER)
            for name, script in (("calm", calm), ("loud", loud))]  # fmt: skip
    assert told[0] == []
    assert len(told[1]) == 1
    assert kinds(tmp_path / "loud", "escalated")


def test_a_no_go_is_told_to_dispatch_and_a_close_to_the_owner_too(tmp_path: Path) -> None:
    script = Script().say("hello", chat=DISPATCHER).say("hello", chat=OWNER).say(*NO_GO)
    chats = {line["chat"] for line in play(tmp_path, script)[-1]}
    assert chats == {DRIVER, DISPATCHER}


# The record.


def test_the_company_chain_holds_enrolments_with_names_as_commitments(tmp_path: Path) -> None:
    play(tmp_path, Script().say("status").say("status", chat=DISPATCHER))
    found = entries(tmp_path, 0)
    assert [(e["kind"], e["by"], e["body"]["role"], e["body"]["person"]) for e in found] == [
        ("enrolled", "p1", "driver", "p1"), ("enrolled", "p2", "dispatcher", "p2"),
    ]  # fmt: skip
    for entry, name in zip(found, ("sam", "ann"), strict=True):
        assert set(entry["body"]["name"]) == {"commitment", "value"}
        assert entry["body"]["name"]["value"] == name
    assert not [line for line in chains(tmp_path)[0] if "sam" in line or "ann" in line]


@pytest.mark.parametrize(
    ("delay_s", "late"), [(0, False), (30, False), (30.001, True), (-31, True)]
)
def test_over_thirty_seconds_between_stamp_and_writing_is_late(
    *, delay_s: float, late: bool, tmp_path: Path
) -> None:
    script = Script().say(*AT_PEOPLE).wait(60)
    script.send(text="behind", to=5)
    written = Script(script.now).send(after_s=delay_s).lines[-1]["at"]
    script.lines[-1]["received_at"] = written
    play(tmp_path, script)
    heard = kinds(tmp_path, "heard")[-1]
    assert (heard["times"]["written"], heard["late"]) == (written, late)
    assert [entry["late"] for entry in kinds(tmp_path, "heard")[:-1]] == [False] * 3


def test_a_claimed_time_is_kept_apart_and_marks_the_entry_late(tmp_path: Path) -> None:
    script = Script().say(*TO_NEUTRAL, "neutral two minutes ago")
    play(tmp_path, script)
    (act,) = [e for e in kinds(tmp_path, "act") if e["body"]["act"] == "neutral_selected"]
    times: dict[str, Any] = act["times"]
    assert times["stamped"] == times["written"] == script.lines[-1]["at"]
    claimed = Script(script.now).send(after_s=-120).lines[-1]["at"]
    assert (times["claimed"], act["late"]) == (claimed, True)
    assert all(e["times"]["claimed"] is None for e in kinds(tmp_path, "heard"))


@pytest.mark.parametrize("chat", [DISPATCHER, OWNER, OTHER])
def test_who_is_not_understood_after_the_driver_was_not_gets_words(
    chat: str, tmp_path: Path
) -> None:
    script = Script().say(*AT_PEOPLE)
    for _ in range(4):
        script.say("wibble").say("wobble", chat=chat, job="1")
    for turn in play(tmp_path, script)[3:]:
        assert turn[-1]["spoken"]


# Messages that cannot be applied.


def test_a_message_that_breaks_the_program_is_kept_apart_and_stops_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def breaks(job: Job, event: Event) -> Turn:
        if isinstance(event, Heard) and event.text == "boom":
            raise ZeroDivisionError
        return advance(job, event)

    monkeypatch.setattr("bot.desk.desk.advance", breaks)
    script = Script().say(*AT_PEOPLE, "boom", "behind")
    before, broken, after = play(tmp_path, script)[2:]
    assert broken[-1]["error"]["wrong"]
    assert (broken[-1]["re"], broken[-1]["last"]) == ("m4", True)
    assert broken[-1]["seq"] == before[-1]["seq"] + 1, "an answer like any other"
    LineOut.model_validate(broken[-1])
    assert after[-1]["item"] == "scene.truck"
    assert "ZeroDivisionError" in caplog.text
    # The next process neither dies of it nor applies it, and repeats the same words.
    (again,) = play(tmp_path, script.lines[3:4])
    assert again == [{**line, "repeat": True} for line in broken]
    with open_reader(tmp_path) as reader:
        assert reader.unfinished() == []
    assert [entry["body"]["text"]["value"] for entry in kinds(tmp_path, "heard")][-1] == "behind"


def test_a_timer_that_cannot_be_applied_is_dropped_with_words(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It must neither end the process nor come back endlessly; driver and dispatch are told."""
    player = Player(tmp_path)
    try:
        for step in parse("@dispatcher:ann> status\n> new job breakdown"):
            player.step(step)

        def fails(*_: object) -> None:
            raise ZeroDivisionError

        monkeypatch.setattr("bot.desk.desk.advance", fails)
        told = player.step(parse("~ 10m")[0])
        assert {reply.chat for reply in told if reply.body["priority"] == "check"} == {
            "driver:sam",
            "dispatcher:ann",
        }
        assert {timer.name for timer in player.store.timers()} <= WATCHES
    finally:
        player.close()

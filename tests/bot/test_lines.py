"""The lines channel: every row of both tables of its interface, in order."""

import hashlib
import json
from collections import Counter
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from bot.channels.lines_out_form import LineOut
from bot.commands.demo import names
from tests.bot.played import over_lines
from tests.bot.scripted import (
    DISPATCHER,
    DRIVER,
    PLACE,
    TO_CLOSE,
    TO_NEUTRAL,
    TO_ROAD,
    Line,
    Script,
    entries,
    play,
    rfc3339,
)

# The fields of a line out, copied from the interface's own table; "repeat" stands under `id`.
OUT = {
    "chat", "seq", "re", "last", "repeat", "job", "priority", "section", "item", "acts",
    "acts_now", "critical", "repeatable", "expects", "spoken", "shown", "why", "facts",
    "figures", "window", "open", "error",
}  # fmt: skip
OPENING = TO_NEUTRAL[:3]


def opened() -> Script:
    return Script().say(*OPENING)


def asked_people(folder: Path) -> int:
    """Return the number of the line that asks for the people, the question then open."""
    question = play(folder / "asked", opened())[-1][-1]
    assert question["item"] == "scene.people"
    return int(question["seq"])


def one(turn: list[Line]) -> Line:
    assert len(turn) == 1
    return turn[0]


def kinds(folder: Path, kind: str, job: int = 1) -> list[dict[str, Any]]:
    return [entry["body"] for entry in entries(folder, job) if entry["kind"] == kind]


def facts(folder: Path) -> dict[str, Any]:
    """Return the newest value of every fact that the record holds."""
    found = {body["name"]: body["value"] for body in kinds(folder, "fact")}
    return {
        name: value["value"] if isinstance(value, dict) else value for name, value in found.items()
    }


def after(line: Line, seconds: float) -> str:
    return rfc3339(datetime.fromisoformat(line["at"]) + timedelta(seconds=seconds))


# Lines out.


@pytest.mark.parametrize("name", names())
def test_every_line_of_a_conversation_is_of_the_published_form(name: str) -> None:
    spoken = over_lines(name)
    seen: Counter[str] = Counter()
    for given, turn in zip(spoken.script.lines, spoken.turns, strict=True):
        for line in turn:
            assert set(line) <= OUT
            LineOut.model_validate_json(json.dumps(line), strict=True)
            assert "error" not in line
            seen[line["chat"]] += 1
            assert line["seq"] == seen[line["chat"]], "from 1 per chat, no gaps"
            assert line.get("re", given["id"]) == given["id"]
            assert line["priority"] in {"reply", "note", "check", "stop"}
            assert isinstance(line["spoken"], str)
            assert isinstance(line["shown"], str)
            assert ("section" in line) == ("item" in line) == ("critical" in line)
        assert [line.get("last", False) for line in turn] == [False] * (len(turn) - 1) + [True]
        assert turn[-1]["re"] == given["id"]


def test_seq_counts_each_chat_by_itself_and_the_last_line_may_be_in_another(
    tmp_path: Path,
) -> None:
    script = Script().say("status", chat=DISPATCHER).say("new job crash").say("smoke")
    greeted, _, danger = play(tmp_path, script)
    assert (one(greeted)["chat"], one(greeted)["seq"]) == (DISPATCHER, 1)
    assert {line["chat"] for line in danger} == {DRIVER, DISPATCHER}
    assert [line["seq"] for line in danger if line["chat"] == DISPATCHER] == [2]
    assert {line["re"] for line in danger} == {"m3"}


def test_an_unasked_line_answers_nothing_and_is_not_the_last(tmp_path: Path) -> None:
    # Twenty seconds after the minute that moving people usually takes, it is asked again.
    *unasked, answer = play(tmp_path, opened().wait(81))[-1]
    assert [line["item"] for line in unasked] == ["scene.people"]
    assert all("re" not in line and "last" not in line for line in unasked)
    assert (answer["re"], answer["last"]) == ("m4", True)


def test_a_silent_tick_gets_one_line_that_expects_nothing(tmp_path: Path) -> None:
    for turn in play(tmp_path, opened().wait(1).wait(0).wait(1, chat="owner:kim"))[3:]:
        line = one(turn)
        assert line["expects"] == {"kind": "nothing"}
        assert line["spoken"] == ""
    assert kinds(tmp_path, "heard")[-1]["text"]["value"] == OPENING[-1]


def test_a_question_names_its_section_and_item(tmp_path: Path) -> None:
    people, truck = play(tmp_path, opened().say("behind"))[-2:]
    line = one(people)
    assert (line["job"], line["section"], line["item"]) == ("1", "scene", "scene.people")
    assert (line["acts"], line["critical"], line["repeatable"]) == (["people_back"], True, True)
    assert line["priority"] == "reply"
    assert line["acts_now"] == {}
    assert line["why"]
    assert one(truck)["acts_now"] == {"bystanders": "back"}
    told = one(play(tmp_path, Script().say("hello", chat="owner:kim"))[0])
    assert not {"section", "item", "critical", "repeatable", "acts"} & set(told)


def test_an_alarm_has_no_place_in_the_routine(tmp_path: Path) -> None:
    script = Script().say(*TO_NEUTRAL, "neutral now", *TO_CLOSE[:4]).wait(30 * 60)
    alarms = [line for line in play(tmp_path, script)[-1] if "Neutral" in line["spoken"]
              or "neutral hold" in line["spoken"]]  # fmt: skip
    # Neutral window: half, a sixth, a fifteenth, the end, each with its priority.
    assert [line["priority"] for line in alarms] == ["note", "check", "stop", "stop"]
    for line in alarms:
        assert not {"section", "item", "critical", "repeatable"} & set(line)
        assert line["expects"]["kind"] != "nothing", "what is open stays open"


def test_each_kind_of_expected_answer_has_its_own_fields(tmp_path: Path) -> None:
    script = Script().say("new job", "breakdown", PLACE, "none", "it weighs 4600 lb", "no")
    script.say("4700 pounds", "yes", *TO_NEUTRAL[3:], "neutral")
    found: dict[str, Line] = {}
    for turn in play(tmp_path, script):
        found[turn[-1]["expects"]["kind"]] = turn[-1]["expects"]
    assert set(found) >= {"choice", "yes_no", "quantity", "state", "note", "time"}
    # The usual range of this fact is the project's own; common practice, no source.
    assert found["quantity"] == {
        "kind": "quantity", "dimension": "mass", "usual": [1500, 12_000], "unit": "lb",
    }  # fmt: skip
    assert [choice["id"] for choice in found["yes_no"]["choices"]] == ["yes", "no"]
    assert all(choice["id"] and choice["label"] for choice in found["choice"]["choices"])
    assert "neutral" in found["state"]["words"]
    assert found["note"] == {"kind": "note"}


def test_facts_carry_value_unit_and_provenance(tmp_path: Path) -> None:
    turns = play(tmp_path, opened().say("it weighs 4600 lb", "yes").send(tap="behind"))
    assert turns[2][-1]["facts"] == {"danger": {"value": "none", "how": "typed", "by": "p1"}}
    assert "facts" not in turns[3][-1], "a number read back is no fact yet"
    weight = {"value": 4600, "unit": "lb", "how": "typed", "by": "p1"}
    assert turns[4][-1]["facts"] == {"weight": weight}


def test_figures_carry_inputs_result_limit_and_source(tmp_path: Path) -> None:
    lines = [line for turn in play(tmp_path, Script().say(*TO_NEUTRAL[:12])) for line in turn]
    (figure,) = [figure for line in lines for figure in line.get("figures", ())]
    assert figure["figure"] == "margin.figure"
    assert figure["inputs"]["vehicle_high_lb"] >= 2410 + 2550, "at least the card's ticket"
    assert figure["result"]["verdict"] == "go"
    assert figure["governing"] == figure["result"]["governing"]
    assert figure["source"]


def test_an_open_window_says_when_it_began_when_it_ends_and_the_time_left(tmp_path: Path) -> None:
    script = Script().say(*TO_NEUTRAL, "neutral two minutes ago", *TO_ROAD)
    turns = play(tmp_path, script)
    asked = datetime.fromisoformat(script.lines[len(TO_NEUTRAL) - 1]["at"])
    earliest = asked - timedelta(minutes=2)
    assert all("window" not in line for turn in turns[: len(TO_NEUTRAL)] for line in turn)
    window = turns[len(TO_NEUTRAL)][-1]["window"]
    # S10: from the earliest moment it can have begun, two minutes before it was asked for;
    # 29 whole minutes of the card's 30 less the two and the five seconds since.
    assert window == {
        "opened": rfc3339(earliest),
        "ends": rfc3339(earliest + timedelta(minutes=30)),
        "left_min": 27,
        "promised": True,
    }
    parked = len(TO_NEUTRAL) + 1 + TO_ROAD.index("parked")
    assert "window" in turns[parked - 1][-1], "on deck, park is not set yet"
    assert all("window" not in line for turn in turns[parked:] for line in turn)


def test_open_matters_are_listed(tmp_path: Path) -> None:
    script = Script().say(*TO_NEUTRAL[:5], "skip, no devices aboard today", "hold")
    *_, skipped, held = play(tmp_path, script)
    assert skipped[-1]["open"] == [
        {"kind": "skip", "item": "scene.warn", "label": "warning devices out"}
    ]
    assert {"kind": "hold", "reason": "hold"} in held[-1]["open"]


# Lines in.


def test_a_chat_is_enrolled_on_first_use_and_once(tmp_path: Path) -> None:
    script = Script()
    for _ in range(2):
        for chat in (DRIVER, DISPATCHER, "owner:kim lee"):
            script.say("status", chat=chat)
    play(tmp_path, script)
    found = [(body["person"], body["role"], body["name"]["value"])
             for body in kinds(tmp_path, "enrolled", 0)]  # fmt: skip
    assert found == [
        ("p1", "driver", "sam"), ("p2", "dispatcher", "ann"), ("p3", "owner", "kim lee"),
    ]  # fmt: skip


def test_an_id_is_unique_in_its_chat_only(tmp_path: Path) -> None:
    first = {"id": "1", "at": "2026-06-01T12:00:00Z", "text": "status"}
    turns = play(tmp_path, [{"chat": DRIVER, **first}, {"chat": DISPATCHER, **first}])
    assert [one(turn)["chat"] for turn in turns] == [DRIVER, DISPATCHER]
    assert not any("repeat" in one(turn) for turn in turns)


def test_received_at_is_the_time_of_receipt_and_at_is_kept_too(tmp_path: Path) -> None:
    script = opened()
    script.send(text="behind", received_at=after(script.lines[-1], 40))
    play(tmp_path, script)
    heard = [entry for entry in entries(tmp_path, 1) if entry["kind"] == "heard"][-1]
    assert heard["times"]["stamped"] == script.lines[-1]["at"]
    assert heard["times"]["written"] == script.lines[-1]["received_at"]


def test_mono_ms_is_elapsed_time_and_without_it_elapsed_time_follows_receipt(
    tmp_path: Path,
) -> None:
    script = Script().send(text="status", mono_ms=5).send(text="status")
    play(tmp_path, script.say("new job crash").send(text="mile 3", mono_ms=17, boot="b2"))
    times = [entry["times"] for entry in entries(tmp_path, 1)]
    received = datetime.fromisoformat(script.lines[2]["at"]).timestamp() * 1000
    assert times[0]["mono_ns"] == str(round(received) * 1_000_000)
    assert (times[-1]["mono_ns"], times[-1]["boot"]) == ("17000000", "b2")


def test_an_answer_bound_by_to_counts_though_it_was_sent_before_the_question(
    tmp_path: Path,
) -> None:
    bound = {"to": asked_people(tmp_path)}
    for more, item in (({}, "scene.people"), (bound, "scene.truck")):
        script = opened()
        question = script.lines[-1]
        sent = {"at": after(question, -1), "received_at": after(question, 5)}
        turns = play(tmp_path / item, script.send(text="behind", **sent, **more))
        assert turns[3][-1]["item"] == item


def test_an_answer_bound_to_a_past_question_is_recorded_and_not_applied(tmp_path: Path) -> None:
    script, people = opened(), asked_people(tmp_path)
    for number in (people - 1, 99, people):
        script.say("behind", to=number)
    past, never, now = (turn[-1]["item"] for turn in play(tmp_path, script)[3:])
    assert (past, never, now) == ("scene.people", "scene.people", "scene.truck")
    heard = [body["text"]["value"] for body in kinds(tmp_path, "heard")]
    assert heard[-3:] == ["behind"] * 3
    assert [body["act"] for body in kinds(tmp_path, "act")] == ["people_back"]


def test_job_names_the_job_that_a_line_is_for(tmp_path: Path) -> None:
    script = Script().say("new job crash, mile 1", "new job water, mile 2", chat=DISPATCHER)
    script.say("status", chat=DISPATCHER).say("it is electric", chat=DISPATCHER, job="1")
    script.say("status", chat=DISPATCHER).say("status", chat=DISPATCHER, job="7")
    *_, second, first, still_second, none = play(tmp_path, script)
    found = [turn[-1].get("job") for turn in (second, first, still_second, none)]
    assert found == ["2", "1", "2", None]
    assert facts(tmp_path)["powertrain"] == "electric"
    assert [body["name"] for body in kinds(tmp_path, "fact", 2)] == ["history", "place"]


def test_an_edit_is_recorded_next_to_the_original_and_settles_nothing(tmp_path: Path) -> None:
    script = opened().say("behind").say("secured", edit_of="m4").say("smoke", edit_of="m4")
    *_, edited, danger = play(tmp_path, script)
    assert edited[-1]["item"] == "scene.truck"
    assert [body.get("edit", False) for body in kinds(tmp_path, "heard")] == [False] * 4 + [
        True, True,
    ]  # fmt: skip
    # S1: understood in every state.
    assert danger[-1]["acts"] == ["people_away"]


def test_a_tap_is_a_choice_by_its_id(tmp_path: Path) -> None:
    script = Script().say("new job", "mile 1").send(tap="water").say("mile 9").send(tap="seen")
    turns = play(tmp_path, script)
    assert facts(tmp_path) | {"history": "water", "danger": "seen"} == facts(tmp_path)
    assert turns[2][-1]["facts"]["history"]["how"] == "tapped"


# How such files begin: ITU-T T.81 B.1.1.3, RFC 3533, ISO 32000-1 7.5.2.
START_OF = {
    "photo": (b"\xff\xd8\xff", "image/jpeg"),
    "voice": (b"OggS\x00", "audio/ogg"),
    "file": (b"%PDF-1.7", "application/pdf"),
}


@pytest.mark.parametrize("kind", ["photo", "voice", "file"])
def test_a_file_is_kept_whole_under_its_digest(kind: str, tmp_path: Path) -> None:
    start, found = START_OF[kind]
    data = start + b"abc"
    (tmp_path / "one.txt").write_bytes(data)
    script = opened().send(**{kind: str(tmp_path / "one.txt")})
    turns = play(tmp_path / "data", script)
    digest = hashlib.sha256(data).hexdigest()
    (received,) = kinds(tmp_path / "data", "received")
    assert received == {"kind": kind, "item": "scene.people"}
    (media,) = kinds(tmp_path / "data", "media")
    receipt = media.pop("receipt")
    assert media == {"kind": kind, "sha256": digest, "size": len(data), "type": found}
    assert entries(tmp_path / "data", 1)[receipt]["kind"] == "received"
    assert (tmp_path / "data" / "files" / digest).read_bytes() == data
    assert [path.name for path in (tmp_path / "data" / "files").iterdir()] == [digest]
    assert turns[-1][-1]["item"] == "scene.people", "a file settles nothing"
    (tmp_path / "one.txt").write_bytes(start + b"abd")
    other = script.lines[-1] | {"id": "m9"}
    assert play(tmp_path / "data", [other])
    digests = [body["sha256"] for body in kinds(tmp_path / "data", "media")]
    assert digests == [digest, hashlib.sha256(start + b"abd").hexdigest()]


@pytest.mark.parametrize(
    ("lat", "lon", "microdegrees"),
    [
        (39.7392, -104.9903, (39_739_200, -104_990_300)),
        (-33.8567844, 151.2152967, (-33_856_784, 151_215_297)),
        (90, -180, (90_000_000, -180_000_000)),
        (0.0000004, -0.0000006, (0, -1)),
    ],
)
def test_a_place_is_kept_in_microdegrees(
    lat: float, lon: float, microdegrees: tuple[int, int], tmp_path: Path
) -> None:
    place = {"lat": lat, "lon": lon, "label": "the lay-by"}
    play(tmp_path, Script().say("new job crash").send(place=place))
    (media,) = kinds(tmp_path, "media")
    kept = media["place"]["value"]
    assert (kept["lat_udeg"], kept["lon_udeg"], kept["label"]) == (*microdegrees, "the lay-by")
    assert facts(tmp_path)["place"] == "the lay-by"

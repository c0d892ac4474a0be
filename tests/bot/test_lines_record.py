"""The lines channel: lines without effect, repeats, and the record byte for byte."""

import hashlib
import json
import re
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from bot.channels.lines_form import LineIn
from bot.channels.lines_out_form import LineOut, schema
from bot.commands.demo import conversation, parse
from bot.record.schema import FILE_NAME
from flows.job.acts import ACTS
from tests.bot.scripted import (
    DISPATCHER,
    DRIVER,
    TO_CLOSE,
    TO_NEUTRAL,
    Line,
    Script,
    chains,
    entries,
    output,
    play,
    raw,
    rfc3339,
    rollproof,
    script_of,
    turns,
)
from tests.bot.turns import dump

# Copied from the interface's own tables.
IN = {
    "chat", "id", "at", "received_at", "mono_ms", "boot", "to", "job", "edit_of", "text", "tap",
    "voice", "photo", "file", "place", "tick",
}  # fmt: skip
NOW = "2026-06-01T12:30:00Z"
GOOD: Line = {"chat": DRIVER, "id": "x", "at": NOW, "text": "behind"}


# The same id again.


def test_the_same_id_again_repeats_the_same_lines_and_changes_nothing(tmp_path: Path) -> None:
    script = Script().say("status", chat=DISPATCHER).say("new job crash", "mile 3").wait(120)
    first = play(tmp_path, script.say("smoke"))
    before = dump(tmp_path / FILE_NAME)
    # In any order, in this process and in the next, and though the wall clock stood still.
    for again in (script.lines, script.lines[::-1]):
        for line, turn in zip(again, play(tmp_path, again), strict=True):
            known = first[script.lines.index(line)]
            assert turn == [{**said, "repeat": True, "re": line["id"]} if "re" in said
                            else {**said, "repeat": True} for said in known]  # fmt: skip
    assert dump(tmp_path / FILE_NAME) == before
    assert len(first[3]) > 1, "what fell due on its account is repeated too"


def test_a_repeat_does_not_move_the_clock(tmp_path: Path) -> None:
    """A line sent again an hour later, or from before a reboot, tells no time."""
    script = Script().say(*TO_NEUTRAL, boot="b1").say("neutral now", boot="b2")
    late = script.lines[3] | {"received_at": "2026-06-01T14:00:00Z"}
    again = [*script.lines, late, script.lines[5]]
    quiet = play(tmp_path / "quiet", [*script.lines, *script.say("confirmed").lines[-1:]])
    repeated = play(tmp_path / "repeated", [*again, script.lines[-1]])
    assert repeated[-1] == quiet[-1]
    assert quiet[-1][-1]["window"]["left_min"] == 29
    assert chains(tmp_path / "quiet") == chains(tmp_path / "repeated")


@pytest.mark.parametrize(
    "other",
    [
        {"text": "seen"},
        {"text": None, "tap": "none"},
        {"at": "2026-06-01T12:00:16Z"},
        {"to": 4},
        {"job": "1"},
        {"edit_of": "m1"},
    ],
)
def test_the_same_id_with_another_body_is_an_error(other: Line, tmp_path: Path) -> None:
    script = Script().say(*TO_NEUTRAL[:3])
    play(tmp_path, script)
    before = dump(tmp_path / FILE_NAME)
    found, good = play(tmp_path, [script.lines[-1] | other, GOOD])
    assert_refused(found, value="m3")
    assert before["journal"] == dump(tmp_path / FILE_NAME)["journal"][: len(before["journal"])]
    assert good[-1]["item"] == "scene.truck"


# Lines that cannot be used.


def assert_refused(turn: list[Line], value: str = "", wrong: str = "") -> None:
    (line,) = turn
    assert set(line) == {"error", "last"}
    assert line["last"] is True
    error = line["error"]
    assert set(error) == {"wrong", "value", "allowed", "do"}
    assert all(isinstance(text, str) for text in error.values())
    assert error["wrong"]
    assert error["allowed"]
    assert error["do"]
    assert value in error["value"]
    assert wrong in error["wrong"]
    assert "Traceback" not in json.dumps(error)


def without(*names: str, **more: Any) -> str:
    return json.dumps({k: v for k, v in {**GOOD, **more}.items() if k not in names})


BAD = {
    "no json": "behind",
    "half a line": without()[:-1],
    "an empty list": "[]",
    "a number": "17",
    "a text": '"behind"',
    "null": "null",
    "NaN alone": "NaN",
    "a control character": without().replace("behind", "be\x01hind"),
    "nested without end": "[" * 100_000,
    "nested deep in a field": without(more="x").replace('"x"', "[" * 900 + "]" * 900),
    "a number of 5000 digits": without(to=1).replace('"to": 1', f'"to": {"1" * 5000}'),
    "too long a line": without(text="x" * 1_000_000),
    "no chat": without("chat"),
    "no id": without("id"),
    "no time": without("at"),
    "no body": without("text"),
    "a body of null": without(text=None),
    "two bodies": without(tap="behind"),
    "a text and a tick": without(tick=True),
    "a field that is not known": without(color="red"),
    "a role that is not known": without(chat="boss:sam"),
    "a chat without role": without(chat="sam"),
    "a chat without name": without(chat="driver:"),
    "a blank name": without(chat="driver:  "),
    "a name over two lines": without(chat="driver:sam\nann"),
    "a name of 81": without(chat="driver:" + "x" * 81),
    "a chat in half characters": without(chat="driver:\ud800"),
    "an empty id": without(id=""),
    "an id that is a number": without(id=7),
    "a time without offset": without(at="2026-06-01T12:30:00"),
    "a time that is a number": without(at=1_780_000_000),
    "a time that is a number in quotes": without(at="1780000000"),
    "a day that is none": without(at="2026-02-30T12:30:00Z"),
    "the first year": without(at="0001-01-01T00:00:00Z"),
    "the last year": without(at="9999-12-31T23:59:59-10:00"),
    "a receipt in the last year": without(received_at="9999-12-31T23:59:59Z"),
    "elapsed time below zero": without(mono_ms=-1),
    "elapsed time in part": without(mono_ms=1.5),
    "elapsed time without end": without(mono_ms=2**53),
    "an empty boot": without(boot=""),
    "question zero": without(to=0),
    "a question by name": without(to="4"),
    "job zero": without(job="0"),
    "a job that is a number": without(job=1),
    "a tick of false": without("text", tick=False),
    "a text that is a number": without(text=5),
    "a place of NaN": without("text", place={"lat": float("nan"), "lon": 1}),
    "a place without end": without("text", place={"lat": 1, "lon": float("inf")}),
    "a place beyond the pole": without("text", place={"lat": 90.1, "lon": 1}),
    "a place of words": without("text", place={"lat": "39", "lon": "1"}),
    "half a place": without("text", place={"lat": 39}),
    "a place with more": without("text", place={"lat": 39, "lon": 1, "alt": 2}),
    "a file that is not there": without("text", photo="no/such.jpg"),
    "a folder": without("text", file="."),
    "no path": without("text", voice=""),
    "a path with a zero": without("text", photo="a\x00b"),
    "a path in half characters": without("text", photo="\ud800"),
}


def test_a_line_that_cannot_be_used_gets_one_line_and_changes_nothing(tmp_path: Path) -> None:
    newest = play(tmp_path, Script().say(*TO_NEUTRAL[:3]))[-1][-1]["seq"]
    before = dump(tmp_path / FILE_NAME)
    for turn in play(tmp_path, BAD.values()):
        assert_refused(turn)
    assert dump(tmp_path / FILE_NAME) == before
    (good,) = play(tmp_path, [GOOD])
    assert (good[0]["seq"], good[-1]["item"]) == (newest + 1, "scene.truck")


@pytest.mark.parametrize(
    ("name", "value"),
    [("a role that is not known", "boss:sam"), ("two bodies", "behind"), ("no json", "behind"),
     ("a file that is not there", "no/such.jpg"), ("elapsed time below zero", "-1")],
)  # fmt: skip
def test_an_error_names_the_value(name: str, value: str, tmp_path: Path) -> None:
    ((line,),) = play(tmp_path, [BAD[name]])
    assert value in line["error"]["value"]


def test_values_at_the_edge_of_the_form_are_taken(tmp_path: Path) -> None:
    lines = [
        GOOD | {"id": "1", "text": "new job crash", "at": "2026-06-01t12:30:00.123456z"},
        GOOD | {"id": "2" * 200, "at": "2026-06-01T18:30:01+06:00"},
        GOOD | {"id": "3", "chat": "owner:" + "x" * 80},
        GOOD | {"id": "4", "mono_ms": 0, "boot": "b"},
        GOOD | {"id": "5", "text": "", "received_at": "2199-12-31T23:59:59Z"},
        GOOD | {"id": "6", "at": "1970-01-01T00:00:00Z", "received_at": NOW},
        GOOD | {"id": "7", "text": "half a character: \ud800"},
    ]
    for turn in play(tmp_path, lines):
        assert "error" not in turn[-1]
    assert set(chains(tmp_path)) == {0, 1}


def test_empty_lines_are_no_input(tmp_path: Path) -> None:
    lines = ["", "  ", json.dumps(GOOD), ""]
    assert len(turns(output(tmp_path, lines))) == 1


# Byte for byte.

WHOLE = Script().say("new job crash, mile 4", chat=DISPATCHER)
WHOLE.say("job 1", "no", "none", "it weighs 4600 lb", "yes", "behind").wait(200)
WHOLE.send(place={"lat": 39.7, "lon": -104.9, "label": "lay-by"}).say("secured", "smoke")


@pytest.mark.parametrize(
    "script",
    [
        WHOLE,
        *(script_of(parse(conversation(name))) for name in ("plain_carry", "window_runs_out")),
    ],
    ids=("whole", "plain_carry", "window_runs_out"),
)
def test_a_script_always_gives_the_same_record_and_the_same_output(
    script: Script, tmp_path: Path
) -> None:
    first, second = (output(tmp_path / name, script.lines) for name in ("a", "b"))
    assert first == second
    assert first.isascii()
    assert chains(tmp_path / "a") == chains(tmp_path / "b")
    assert dump(tmp_path / "a" / FILE_NAME) == dump(tmp_path / "b" / FILE_NAME)
    # In one process or in one for each line.
    assert "".join(output(tmp_path / "c", [line]) for line in script.lines) == first
    assert chains(tmp_path / "c") == chains(tmp_path / "a")


RESTS_ON_SALTS = "commitment|prev|head|root|code|key|public|signature|fingerprint"


def bare(chain: list[str]) -> list[str]:
    """Return entries without values made from salts and key: commitments, and all above them."""
    return [re.sub(rf'"({RESTS_ON_SALTS})":"[^"]*"', "", line) for line in chain]


def without_codes(out: str) -> str:
    bare = re.sub(r"SHA256:[A-Za-z0-9+/]{43}", "KEY", out)
    return re.sub(r"([0-9a-f]{4} ){3}[0-9a-f]{4}", "CODE", bare)


def test_another_seed_changes_only_salts_key_and_values_made_from_them(tmp_path: Path) -> None:
    first = output(tmp_path / "a", WHOLE.lines)
    other = output(tmp_path / "b", WHOLE.lines, seed="2")
    assert other != first
    assert without_codes(other) == without_codes(first)
    one, two = chains(tmp_path / "a"), chains(tmp_path / "b")
    assert one.keys() == two.keys()
    for job in one:
        assert one[job] != two[job]
        assert bare(one[job]) == bare(two[job])
    salts = [dump(tmp_path / name / FILE_NAME)["private"] for name in "ab"]
    assert not {row[1] for row in salts[0]} & {row[1] for row in salts[1]}
    assert sorted(str(row[2]) for row in salts[0]) == sorted(str(row[2]) for row in salts[1])


# Steps of the clocks.


def in_the_window() -> tuple[Script, int]:
    """A job in an open window, every line with its own elapsed time; and that time [ms]."""
    script = Script()
    for number, text in enumerate((*TO_NEUTRAL, "neutral now"), 1):
        script.send(text=text, mono_ms=number * 1000, boot="b1")
    return script, len(script.lines) * 1000


@pytest.mark.parametrize("step_h", [-5, 5])
def test_a_step_of_the_wall_clock_alone_changes_nothing(step_h: int, tmp_path: Path) -> None:
    script, ms = in_the_window()
    stepped = rfc3339(script.now + timedelta(hours=step_h))
    script.send(tick=True, mono_ms=ms + 30_000, boot="b1", received_at=stepped)
    script.send(text="time left", mono_ms=ms + 40_000, boot="b1", received_at=stepped)
    *_, opened, ticked, left = play(tmp_path, script)
    assert opened[-1]["window"]["left_min"] == 29
    assert (len(ticked), ticked[-1]["spoken"]) == (1, "")
    assert left[-1]["window"]["left_min"] == 29


@pytest.mark.parametrize("more", [{"boot": "b2", "mono_ms": 90_000}, {"mono_ms": 5, "boot": "b1"}])
def test_another_boot_or_a_boot_clock_gone_back_ends_an_open_window(
    more: Line, tmp_path: Path
) -> None:
    script, _ = in_the_window()
    turn = play(tmp_path, script.send(text="status", **more))[-1]
    assert turn[0]["priority"] in {"check", "stop"}
    assert all("window" not in line for line in turn)
    assert turn[-1]["acts_now"]["gear"] == "unknown"


def test_time_passes_by_elapsed_time_and_each_timer_fires_at_its_own(tmp_path: Path) -> None:
    script, ms = in_the_window()
    hour = {"mono_ms": ms + 3_600_000, "boot": "b1"}
    *_, opened, passed = play(tmp_path, script.send(tick=True, **hour))
    windows = [line["window"]["left_min"] for line in passed if line.get("window")]
    # Neutral window: warned at 15, 5 and 2 minutes of 30, then the end.
    assert [left for left in windows if left in {15, 5, 2}] == [15, 5, 2]
    written = [entry["times"] for entry in entries(tmp_path, 1) if entry["kind"] == "window"]
    since = [int(times["mono_ns"]) // 1_000_000_000 - ms // 1000 for times in written]
    start = since[0] - 1  # asked for one second before it was said
    # Five seconds early, so that what is said is never more than what is left.
    assert [second - start for second in since[1:5]] == [895, 1495, 1675, 1800]
    assert opened[-1]["window"]["ends"] == rfc3339(script.now + timedelta(minutes=30, seconds=-6))


# The process.


def test_the_process_writes_the_same_as_the_channel_and_ends_with_status_0(tmp_path: Path) -> None:
    lines = "".join(raw(WHOLE.lines))
    status, out, err = rollproof("lines", tmp_path / "a", "--clock", "given", given=lines)
    assert (status, err) == (0, "")
    assert out == output(tmp_path / "b", WHOLE.lines)
    assert chains(tmp_path / "a") == chains(tmp_path / "b")


def test_a_last_line_without_its_end_is_taken_and_answered(tmp_path: Path) -> None:
    now = datetime.now().astimezone().isoformat()
    lines = [GOOD | {"id": "1", "text": "new job crash", "at": now}, GOOD | {"id": "2", "at": now}]
    given = "\n".join(json.dumps(line) for line in lines)
    status, out, err = rollproof("lines", tmp_path, given=given)
    assert status == 0
    assert err.startswith("A signing key was made: ")
    assert len(err.splitlines()) == 1
    assert [turn[-1]["re"] for turn in turns(out)] == ["1", "2"]
    assert [entry["kind"] for entry in entries(tmp_path, 1)].count("heard") == 2


def test_the_schema_is_published_and_is_always_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PYTHONHASHSEED", "7")
    status, out, err = rollproof("lines", tmp_path / "none", "--schema")
    assert (status, err) == (0, "")
    assert not (tmp_path / "none").exists()
    published = json.loads(out)
    assert published == json.loads(json.dumps(schema()))
    assert out == json.dumps(published, indent=2, sort_keys=True) + "\n"
    assert set(published["in"]["properties"]) == IN == set(LineIn.model_fields)
    assert set(published["in"]["required"]) == {"chat", "id", "at"}
    assert set(published["out"]["properties"]) == set(LineOut.model_fields)
    assert set(re.findall(r'"(\w+)"', json.dumps(published["out"]))) >= set(ACTS)
    assert published["version"] == 1


def test_whole_job_by_lines(tmp_path: Path) -> None:
    script = Script().say(*TO_NEUTRAL, "neutral now", *TO_CLOSE)
    closed = play(tmp_path, script)[-1]
    assert closed[-1]["expects"] == {"kind": "nothing"}
    assert [entry["kind"] for entry in entries(tmp_path, 1)[-2:]] == ["ended", "checkpoint"]
    assert entries(tmp_path, 1)[-2]["body"]["how"] == "closed"


# The drawing of a margin.


def test_the_drawing_of_a_margin_is_kept_with_the_record(tmp_path: Path) -> None:
    script = Script().say("new job breakdown", "mile 9", "none", "behind", "secured", "warned")
    script.say("chocked", "too dark", "level", "nose", "harrow", "wren")
    *_, told = play(tmp_path, script)
    [figure] = [one for line in told for one in line.get("figures", [])]
    [concluded] = [e for e in entries(tmp_path, 1) if e["kind"] == "concluded"]
    assert concluded["body"]["drawing"] == figure["drawing"]
    kept = tmp_path / "files" / f"{figure['drawing']['sha256']}.svg"
    assert hashlib.sha256(kept.read_bytes()).hexdigest() == figure["drawing"]["sha256"]
    assert kept.stat().st_size == figure["drawing"]["size"]
    root = ElementTree.fromstring(kept.read_text("utf-8"))  # noqa: S314  our own file
    assert root.findtext("{http://www.w3.org/2000/svg}title") == "Close. Wren with Harrow."

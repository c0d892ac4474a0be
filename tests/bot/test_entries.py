"""The entry form, over every line of every recorded conversation: keys, kinds, chain, privacy."""

import hashlib
import json
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, NoReturn

import pytest

from bot.commands.bootstrap import read_cards
from bot.commands.demo import names
from flows.texts import phrases
from tests.bot.played import OverLines, over, over_lines
from tests.bot.scripted import DISPATCHER, TO_NEUTRAL, Script, chains, play

# The final form of an entry, spelled out apart from the code that writes it.
ENTRY = {"v", "job", "seq", "kind", "body", "by", "vehicle", "times", "late", "prev"}
TIMES = {"claimed", "stamped", "written", "zone", "mono_ns", "boot"}
UTC = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z")

PRIVATE = Script().say("new job, crash, lay-by 7 at Finch Hollow", chat="dispatcher:Ann Orme")
PRIVATE.say("job 1", "none", "behind", "secured", "skip, devices stolen by Mr Finch")
PRIVATE.say("Call 555 0142, plate ABC 123").send(
    place={"lat": 39.739236, "lon": -104.990251, "label": "Finch Hollow lane"}
)
PRIVATE.send(tap="Finch Hollow").send(tap="Sam Orme").say("smoke", "away", "called")
PRIVATE.say("Harbour Fire Service", "yes", "released now", "settle, as Finch said")
PRIVATE.say("settle, as Finch said", chat="owner:Kim Orme").say(
    "hand off", "chocked", "Orme Yard", "yes"
)
PRIVATE_WORDS = (
    "finch", "hollow", "orme", "555", "abc", "39.7", "39739", "104990", "harbour", "stolen", "sam",
    "yard", "kim",
)  # fmt: skip


@pytest.fixture(scope="module", params=["private", *names()])
def spoken(request: pytest.FixtureRequest) -> OverLines:
    return over_private() if request.param == "private" else over_lines(request.param)


@cache
def over_private() -> OverLines:
    with TemporaryDirectory() as folder:
        return over(Path(folder), PRIVATE)


@pytest.fixture
def lines(spoken: OverLines) -> dict[int, list[str]]:
    return spoken.chains


def refuse_float(text: str) -> NoReturn:
    raise AssertionError(f"{text} is a float")


def strict(line: str) -> dict[str, Any]:
    def pairs(found: list[tuple[str, Any]]) -> dict[str, Any]:
        assert len(dict(found)) == len(found), "a key stands twice"
        assert all(key.isascii() for key, _ in found)
        return dict(found)

    found: dict[str, Any] = json.loads(
        line, parse_float=refuse_float, parse_constant=refuse_float, object_pairs_hook=pairs
    )
    return found


def integers(value: object) -> Iterator[int]:
    if isinstance(value, int) and not isinstance(value, bool):
        yield value
    for item in value.values() if isinstance(value, dict) else ():
        yield from integers(item)
    for item in value if isinstance(value, list) else ():
        yield from integers(item)


def test_every_entry_has_the_final_form(lines: dict[int, list[str]]) -> None:
    for job, chain in lines.items():
        prev = "0" * 64
        for seq, line in enumerate(chain):
            entry = strict(line)
            assert set(entry) == ENTRY
            assert set(entry["times"]) == TIMES
            assert (entry["v"], entry["job"], entry["seq"]) == (1, str(job), seq)
            assert entry["prev"] == prev
            # RFC 8785 with ASCII keys and no floats is sorted JSON without white space.
            assert line == json.dumps(
                entry, sort_keys=True, separators=(",", ":"), ensure_ascii=False
            )
            prev = hashlib.sha256(line.encode("utf-8")).hexdigest()


def test_ids_and_nanoseconds_are_strings_and_times_are_utc(lines: dict[int, list[str]]) -> None:
    for line in (line for chain in lines.values() for line in chain):
        entry = strict(line)
        times = entry["times"]
        assert re.fullmatch(r"p\d+|bot", entry["by"])
        assert entry["vehicle"] is None or re.fullmatch(r"p\d+", entry["vehicle"])
        assert re.fullmatch(r"-?\d+", times["mono_ns"])
        assert times["zone"] == "America/Denver"
        assert UTC.fullmatch(times["written"])
        for name in ("claimed", "stamped"):
            assert times[name] is None or UTC.fullmatch(times[name])
        assert isinstance(entry["late"], bool)
        # RFC 7493 section 2.2: the integers that every JSON reader keeps exactly.
        assert all(abs(number) < 2**53 for number in integers(entry))


def notes(script: Script, turns: list[list[dict[str, Any]]]) -> Iterator[str]:
    """Yield every free answer, and every reason for a skip, settlement or override."""
    expected: dict[str, str] = {}
    for given, turn in zip(script.lines, turns, strict=True):
        text = given.get("text", "")
        head, _, rest = text.partition(" ")
        if expected.get(given["chat"]) == "note":
            yield text
        if head.strip(",") in {"skip", "settle", "override", "cannot"}:
            yield rest
        for line in turn:
            expected[line["chat"]] = line["expects"]["kind"]


def test_no_name_and_no_personal_text_is_in_clear(spoken: OverLines) -> None:
    script = spoken.script
    said = list(notes(script, spoken.turns))
    people = [line["chat"].partition(":")[2] for line in script.lines]
    record = "\n".join(line for chain in spoken.chains.values() for line in chain)
    assert people
    # "Not sure" is not personal: it means the cautious value, even for a danger sign. Nor are
    # a truck's name from its card or the words for a step: both are closed lists.
    trucks = {one.name for one in read_cards(None).trucks.values()}
    steps = {one for said in phrases()["steps"].values() for one in said}
    for word in {*said, *people} - {"", "not sure", *trucks}:
        assert not re.search(rf"\b{re.escape(word)}\b", record, re.IGNORECASE), word
    # Nor is any message in clear unless it is a word from the closed lists.
    for text in {line.get("text", "") for line in script.lines} - {"not sure"}:
        assert " " not in text or f'"{text}"' not in record
        assert len(text) <= 12 or text in steps or text.lower() not in record.lower()


def test_no_personal_text_of_a_talkative_job_is_in_clear(tmp_path: Path) -> None:
    turns = play(tmp_path, PRIVATE)
    assert not [line for turn in turns for line in turn if "error" in line]
    record = "\n".join(line for chain in chains(tmp_path).values() for line in chain)
    bare = re.sub(r"[0-9a-f]{64}", "", record).lower()
    bare = re.sub(r'"(mono_ns|stamped_ms|written|stamped|claimed)":"?[^,}]*', "", bare)
    found = {word for word in PRIVATE_WORDS if word in bare}
    assert found == set()
    assert '"kind":"skipped"' in record
    assert '"kind":"ended"' in record


def test_the_same_text_twice_has_two_commitments(tmp_path: Path) -> None:
    play(tmp_path, Script().say(*TO_NEUTRAL[:3], "wibble", "wibble").say("x", chat=DISPATCHER))
    record = "\n".join(line for chain in chains(tmp_path).values() for line in chain)
    found = re.findall(r'"commitment":"([0-9a-f]{64})"', record)
    assert len(found) == len(set(found)) > 6

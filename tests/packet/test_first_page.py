"""The first page: somebody who knows nothing of the job finds what a claim asks first."""

import json
from importlib.resources import files
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
import typst

from bot.commands.bootstrap import book_for
from bot.commands.demo import Player, conversation, parse
from bot.machine.settings import Settings
from bot.packet.case import Case, read_case
from bot.packet.danger_pages import events_of
from bot.packet.drawn import Drawn
from bot.packet.page_one import FEWEST_LINES, MOST_CHARACTERS, MOST_LINES
from bot.packet.summary import _said
from bot.record.reader import open_reader
from flows.job.facts import FACTS
from flows.texts import packet_texts, sentences
from tests.bot.test_trail_words import RAW

ZONE = ZoneInfo("America/Denver")


def played(data: Path, text: str) -> Case:
    player = Player(data)
    for step in parse(text):
        player.step(step)
    player.close()
    with open_reader(data) as reader:
        return read_case(reader, 1, book_for(Settings(data)))


def page_of(case: Case, folder: Path) -> dict[str, Any]:
    return _said(Drawn(case, ZONE), folder)


def texts_of(page: dict[str, Any]) -> list[str]:
    """Return every text of the first page, an item of a list by itself."""
    heads = [one[part] for one in page["headline"] for part in ("name", "value", "note")]
    lines = [line for one in page["answers"] for line in (one["name"], *one["lines"])]
    return [*heads, *page["story"], *lines]


def asked(page: dict[str, Any], question: str) -> str:
    (lines,) = (one["lines"] for one in page["answers"] if one["name"] == question)
    return "\n".join(lines)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("pages")


@pytest.fixture(scope="module")
def smoke(folder: Path) -> tuple[Case, dict[str, Any]]:
    case = played(folder / "smoke", conversation("smoke_on_the_road"))
    return case, page_of(case, folder)


@pytest.fixture(scope="module")
def nobody(folder: Path) -> tuple[Case, dict[str, Any]]:
    case = played(folder / "nobody", conversation("danger_and_nobody_comes"))
    return case, page_of(case, folder)


def test_danger_is_told_as_it_went_and_not_by_its_last_value(
    smoke: tuple[Case, dict[str, Any]],
) -> None:
    _, page = smoke
    # Nothing at the scene; smoke on the road; released; nothing at the drop, which undoes none.
    assert page["headline"][1]["value"] == "seen, released"
    told = asked(page, "Any danger, and how did it end?").split("\n")
    assert [line.partition(": ")[2] for line in told] == [
        "seen, released.",
        "No danger sign seen.",
        "Danger sign seen: smoke.",
        "People moved away.",
        "Fire service called.",
        "The service named for the release: county fire.",
        "Danger over: released as of 2:39 PM.",
        "No danger sign seen.",
    ]
    assert page["danger"][1] == ["2:39 PM", "sam", "Danger sign seen: smoke."]
    assert "reported a danger sign: smoke." in page["story"][1]


def test_a_danger_that_nobody_released_is_told_as_such(
    nobody: tuple[Case, dict[str, Any]],
) -> None:
    case, page = nobody
    assert page["headline"][0]["note"] == "nobody came to release it"
    assert page["headline"][1]["value"] == "seen, not released"
    lines = next(one["lines"] for one in page["answers"] if one["name"].startswith("Any danger"))
    # The first and the last, and how many between; the page on danger has all of them.
    assert len(lines) == MOST_LINES + 1
    assert lines[-1].endswith("Nobody came to release it: the job is handed off.")
    assert len(page["danger"]) == len(events_of(Drawn(case, ZONE))) == 10
    assert "because nobody came to release it" in page["story"][-1]


@pytest.mark.parametrize("name", ["smoke", "nobody"])
def test_no_id_no_missing_number_and_no_empty_line(
    name: str, request: pytest.FixtureRequest
) -> None:
    page = request.getfixturevalue(name)[1]
    rows = [cell for end in page["condition"] for row in end["rows"] for cell in row[:2]]
    lines = [row["words"] for row in page["time_line"]]
    found = [*texts_of(page), *rows, *page["open"], *page["gaps"], *lines]
    assert [text for text in found if RAW.search(text)] == []
    assert [row for row in rows if not row.strip()] == []
    assert [one for one in page["answers"] if "" in one["lines"] or not one["lines"]] == []


def test_a_limit_in_inches_makes_a_page_too(folder: Path) -> None:
    case = played(folder / "deck", conversation("a_card_among_many"))
    page = page_of(case, folder)
    assert "no-go; closest limit: deck length, 2 in over." in asked(
        page, "What did the figures say?"
    )
    assert ["deck length", "236 in", "234 in", "-2 in"] in [
        row[:4] for one in page["figures"] for row in one["limits"]
    ]
    # The last figure is a go; the one before it is not forgotten.
    assert "An earlier figure, at 2:27 PM, was no-go." in page["story"][2]


def test_each_answer_stands_beside_its_question(smoke: tuple[Case, dict[str, Any]]) -> None:
    _, page = smoke
    before, after = page["condition"]
    assert ["Did all wheels roll?", "all roll", "typed", "sam", "2:27 PM"] in before["rows"]
    assert ["Was its condition as picked up?", "changed", "typed", "sam", "3:13 PM"] in after[
        "rows"
    ]
    said = {row["words"]: row["asked"] for row in page["time_line"] if row.get("asked")}
    assert said["said: nose"] == "Which end faces the truck: nose, tail, or boxed in?"
    assert said["said: all roll"].startswith("Do all wheels roll?")


def test_every_fact_has_its_question_and_every_reason_its_words() -> None:
    assert packet_texts()["questions"].keys() == FACTS.keys()
    assert packet_texts()["reasons"].keys() <= sentences()["reasons"].keys()


def test_what_was_left_out_is_told_with_its_reason(nobody: tuple[Case, dict[str, Any]]) -> None:
    _, page = nobody
    assert asked(page, "What was left out, and why?") == "Photos before loading, because too dark."
    assert asked(page, "What was left open?") == "danger not released"
    assert asked(page, "How was it tied down?") == "No tie-down is recorded."


def test_a_strap_that_came_off_before_it_left_is_not_told_as_on(folder: Path) -> None:
    text = "\n".join(conversation("plain_carry").partition("> slack\n")[0].splitlines())
    case = played(folder / "strap", f"{text}\n> the left rear strap is not on\n")
    tied = asked(page_of(case, folder), "How was it tied down?")
    assert tied.startswith("Straps at: left front, right front, right rear.")
    assert tied.endswith("Not at all four wheels.")


def fullest(page: dict[str, Any]) -> dict[str, Any]:
    """Return a page with as much on its first page as it takes."""
    line = "words " * (MOST_CHARACTERS // 6)
    full = [{**one, "lines": [line] * (MOST_LINES + 1), "fewest": [line] * (FEWEST_LINES + 1)}
            for one in page["answers"][:5]]  # fmt: skip
    left = {key: [] for key in ("photos", "figures", "time_line", "windows")}
    return {**page, "answers": [*full, *page["answers"][5:]], "fingerprint": "", **left}


@pytest.fixture
def sheet(smoke: tuple[Case, dict[str, Any]], folder: Path) -> Path:
    for name in ("first_page.typ", "summary.typ"):
        layout = files("bot.packet").joinpath(name).read_bytes()
        (folder / name).write_bytes(layout)
    (folder / "receipt.svg").write_text('<svg xmlns="http://www.w3.org/2000/svg"/>')
    (folder / "data.json").write_text(json.dumps(fullest(smoke[1])))
    return folder / "summary.typ"


def test_a_full_first_page_is_set_smaller_and_stays_one_page(sheet: Path) -> None:
    size, lines = json.loads(typst.query(str(sheet), "<first-page-fits>", field="value", one=True))
    assert (size, lines) < ("9.6pt", "lines")
    assert lines == "fewest"

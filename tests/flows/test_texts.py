"""The texts are whole: every key is used, every placeholder filled, every text there."""

import ast
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from flows.figures import limits, narrowing
from flows.job.facts import FACTS, Fact
from flows.job.folding import _FOLDS
from flows.job.state import Job
from flows.job.windows import WARNINGS
from flows.routine.book import Book
from flows.routine.carry import CARRY
from flows.routine.items import Gate, Item, Question, Step
from flows.telling.render import render
from flows.telling.saying import _FILL, fields_of
from flows.texts import phrases, sentences
from flows.texts.plainness import acts_asked
from flows.turn.advance import PENDING_TEXT
from tests.flows.talker import demo_library
from tests.flows.worst import item_replies, job, says_replies

ROOT = Path(__file__).parents[2]
ITEMS = list(CARRY.items.values())
STEPS = [item for item in ITEMS if isinstance(item, Step)]
PAUSES = [item for item in ITEMS if isinstance(item, Gate) and item.acts]
NAMES = ("name_released_by", "name_handed_to", "name_received_by")
PENDING = (
    "read_back",
    "read_back_unusual",
    "read_back_scaled",
    "number",
    "skip",
    "problem",
    "still",
)
# Calls that say a sentence by its key.
SAYERS = {"say", "answer_sender", "alarm", "_say", "of_words", "_out_of_turn"}


def of_id(item: Item) -> str:
    return item.id


# Keys


@cache
def trees() -> tuple[ast.Module, ...]:
    rooms = ("job", "routine", "rules", "hearing", "reckoning", "telling", "turn")
    code = [*ROOT.glob("bot/**/*.py")]
    for room in rooms:
        code.extend(ROOT.glob(f"flows/{room}/**/*.py"))
    return tuple(ast.parse(path.read_text("utf-8")) for path in code)


def nodes() -> Iterator[ast.AST]:
    for tree in trees():
        yield from ast.walk(tree)


def constants(node: ast.AST) -> set[str]:
    return {
        one.value
        for one in ast.walk(node)
        if isinstance(one, ast.Constant) and isinstance(one.value, str)
    }


def branches(node: ast.expr) -> set[str]:
    """Return the strings that an expression may be, where they are written out."""
    if isinstance(node, ast.IfExp):
        return branches(node.body) | branches(node.orelse)
    return (
        {node.value} if isinstance(node, ast.Constant) and isinstance(node.value, str) else set()
    )


def called(node: ast.Call) -> str:
    return getattr(node.func, "attr", getattr(node.func, "id", ""))


@cache
def said_keys() -> frozenset[str]:
    """Every key of "says" that code says, by a call or from a table of keys."""
    found = {*WARNINGS, *PENDING_TEXT.values(), *PENDING, *NAMES} - PENDING_TEXT.keys()
    for node in nodes():
        if isinstance(node, ast.Call) and called(node) in SAYERS and node.args:
            found |= branches(node.args[2 if called(node) == "_out_of_turn" else 0])
        elif isinstance(node, ast.Assign) and getattr(node.targets[0], "id", "") == "key":
            found |= branches(node.value)
    found |= {one.removeprefix("says.") for one in strings() if one.startswith("says.")}
    levels = {"": 3, "pull_": 3, "to_": 3, "rolling_": 2}
    return (
        frozenset(found - {""})
        | phrases()["asked_back"].keys()
        | {f"unclear_{kind}{n}" for kind, most in levels.items() for n in range(1, most + 1)}
    )


def test_every_sentence_in_code_exists() -> None:
    keys = {key.removeprefix("says.") for key in said_keys()}
    assert keys - sentences()["says"].keys() == set()


@cache
def strings() -> frozenset[str]:
    """Every string in the code."""
    return frozenset(value for tree in trees() for value in constants(tree))


def test_every_sentence_is_used() -> None:
    assert sentences()["says"].keys() - said_keys() - strings() == set()


def test_items_and_their_texts_are_the_same() -> None:
    assert sentences()["items"].keys() == CARRY.items.keys()


@pytest.mark.parametrize("table", ["words", "options", "reasons", "trail"])
def test_every_word_of_a_table_is_used(table: str) -> None:
    code = set(strings())
    code |= {f"no_card_{part}" for part in ("point", "device", "way", "confirmation")}
    # A limit's word is its name; strings of the figures are its only list.
    code |= {text.replace(" ", "_") for text in vars(limits).values() if isinstance(text, str)}
    code |= {f"narrow_{fact.replace(' ', '_')}" for fact in narrowing.FACTS}
    code |= {section.id for section in CARRY.sections}
    code |= {option.id for item in ITEMS if isinstance(item, Gate) for option in item.options}
    assert sentences()[table].keys() - code == set()


def test_every_section_has_a_name_and_every_entry_a_line() -> None:
    assert sentences()["sections"].keys() == {section.id for section in CARRY.sections}
    assert _FOLDS.keys() <= sentences()["trail"]["kinds"].keys()


# Placeholders

GIVEN = {
    "echo": {"noted", "noted_all"},
    "ambiguous": {"readings_shown"},
    "ceiling_truck": {"truck_height", "ceiling"},
    "ceiling_loaded": {"ceiling"},
    "ceiling_unknown": {"ceiling"},
    "left_aboard": {"left", "left_shown"},
    "why_weak": {"line", "rating"},
    "keep_off_part": {"places"},
    "reask_time": {"word"},
    "section_done": {"section_name", "position", "total", "next_section"},
    "retracted": {"noted"},
    "too_long": {"length"},
    "photo_kept": {"photo", "photo_shown", "wanted", "wanted_shown"},
    "photos_some": {"photo", "photo_shown", "wanted", "wanted_shown"},
    "no_job": {"open_jobs"},
    "no_such_job": {"open_jobs"},
    "refused": {"rule"},
    "no_order": {"open_jobs"},
    "likely_word": {"word"},
    "not_taken": {"words"},
    "neutral_since": {"since", "since_shown", "gone", "gone_shown"},
    "neutral_ago": {"gone", "gone_shown"},
    "neutral_at_least": {"gone", "gone_shown"},
    "news_done": {"noted"},
    "news_undone": {"noted"},
    "why": {"why"},
    "sheet": {"sheet_shown"},
}
"""Slots that code gives a sentence; the others come from the job."""


@pytest.mark.parametrize("table", ["items", "says"])
def test_every_placeholder_is_filled(table: str) -> None:
    for key, texts in sentences()[table].items():
        given = GIVEN.get(key, set()) if table == "says" else set()
        for name in ("spoken", "shown", "why", "look"):
            unknown = set(fields_of(texts.get(name, ""))) - _FILL.keys() - given
            assert unknown == set(), f"{table}.{key}.{name}"


def test_every_placeholder_that_can_be_filled_is_used() -> None:
    texts = [text for table in ("items", "says") for text in _texts(table)]
    texts += [text for text in sentences()["trail"].values() if isinstance(text, str)]
    used = {name for text in texts for name in fields_of(text)}
    # Of a word that names a state, which is asked for in a sentence of its own.
    assert _FILL.keys() - used == {"choices_spoken"}


def _texts(table: str) -> Iterator[str]:
    for texts in sentences()[table].values():
        yield from (str(value) for name, value in texts.items() if name != "priority")


@pytest.mark.parametrize("item", ITEMS, ids=of_id)
def test_an_item_is_rendered_without_a_hole(item: Item) -> None:
    for reply in item_replies(job(), item):
        rendered = render(reply)
        for text in (rendered.spoken, rendered.shown, rendered.why):
            assert text
            assert not set("{}") & set(text)


@pytest.mark.parametrize("key", sentences()["says"])
def test_a_sentence_is_rendered_without_a_hole(key: str) -> None:
    for reply in says_replies(job(), key):
        rendered = render(reply)
        assert rendered.spoken
        assert rendered.shown
        assert not set("{}") & set(rendered.spoken + rendered.shown)


# Parts that a text must have


@pytest.mark.parametrize("item", ITEMS, ids=of_id)
def test_an_item_has_its_three_texts_and_a_name(item: Item) -> None:
    texts = sentences()["items"][item.id]
    assert all(texts[name].strip() for name in ("spoken", "shown", "why", "done"))
    assert ("word" in texts) == (isinstance(item, Step) or item in PAUSES)
    looks = isinstance(item, Question) and FACTS[item.fact].looks_again
    assert ("look" in texts) == looks


# A step that reports the act of somebody else.
REPORTED = {"danger.released"}


@pytest.mark.parametrize("step", [s for s in STEPS if s.id not in REPORTED], ids=of_id)
def test_a_step_asks_for_one_act_with_a_verb_that_the_lint_knows(step: Step) -> None:
    talk = Job(1, Book(CARRY, demo_library()))
    for card in ("harrow", "dunlin", "corncrake"):
        for reply in item_replies(_with_card(talk, card), step):
            for text in (render(reply).spoken, render(reply).shown):
                assert len(acts_asked(text)) == 1, text


def _with_card(of: Job, card: str) -> Job:
    return replace(of, facts={"card": Fact(card, "typed", "p1", 1)})


def test_help_names_the_five_words() -> None:
    """Words for any time: repeat, back, hold, problem, status."""
    for name in ("spoken", "shown"):
        for one in ("repeat", "back", "hold", "problem", "status"):
            assert one in sentences()["says"]["help"][name]


def test_resume_restart_section_and_status_say_what_they_must() -> None:
    """The rules resume, lost track, section end and status."""
    says = sentences()["says"]
    assert set(fields_of(says["resume"]["spoken"])) == {"ref", "last_done", "next_done"}
    assert set(fields_of(says["restart"]["spoken"])) == {"ref", "last_done", "section_name"}
    section = {"section_name", "position", "total", "next_section"}
    assert set(fields_of(says["section_done"]["shown"])) == section
    status = {"ref", "section_at", "last_done", "next_done"}
    spoken = status | {"window_spoken", "open_spoken"}
    assert set(fields_of(says["status"]["spoken"])) == spoken
    assert set(fields_of(says["status"]["shown"])) == status | {
        "window_shown", "open_shown", "photos_shown",
    }  # fmt: skip


def test_three_times_not_understood_are_three_texts() -> None:
    """The rule say again."""
    found = {sentences()["says"][f"unclear_{level}"]["spoken"] for level in (1, 2, 3)}
    assert len(found) == 3
    assert "dispatch" in sentences()["says"]["unclear_3"]["spoken"]


def test_every_limit_has_its_word() -> None:
    sources = {limits.CARD, limits.CARDS, limits.DECK_SOURCE}
    sources |= {limits.TYRE_SOURCE, limits.KEPT_SOURCE, limits.ASKED_SOURCE}
    names = {text for name, text in vars(limits).items() if name.isupper()} - sources
    assert len(names) >= 19
    assert {name.replace(" ", "_") for name in names} <= sentences()["words"].keys()

"""A condition's name is its structure: another structure has another name, another digest."""

import hashlib
import itertools
from collections.abc import Iterator
from dataclasses import replace
from functools import reduce

import pytest
from hypothesis import given, strategies as st

from flows.routine.carry import CARRY, Routine
from flows.routine.catalogue import CONDITIONS
from flows.routine.condition import Condition
from flows.routine.former import former_texts
from flows.routine.items import Item, Section

LETTERS = ("a", "b", "c", "d")
ROWS = tuple(itertools.product((False, True), repeat=len(LETTERS)))


def letter(name: str) -> Condition:
    """Return a condition that is true where a row of a truth table says so."""
    place = LETTERS.index(name)
    return Condition(name, frozenset(), lambda row: row[place])  # type: ignore[index,return-value]


def structure(one: Condition) -> object:
    how, parts = one.made_of
    return (how, *map(structure, parts)) if parts else one.name


def table(one: Condition) -> tuple[bool, ...]:
    return tuple(bool(one.holds(row)) for row in ROWS)  # type: ignore[arg-type]


def combined(inner: st.SearchStrategy[Condition]) -> st.SearchStrategy[Condition]:
    several = st.lists(inner, min_size=2, max_size=3)
    return st.one_of(
        inner.map(Condition.__invert__),
        several.map(lambda parts: reduce(Condition.__and__, parts)),
        several.map(lambda parts: reduce(Condition.__or__, parts)),
        # The same parts put together from the right.
        several.map(lambda parts: reduce(lambda so_far, one: one | so_far, parts)),
    )


LEAVES = st.sampled_from(LETTERS).map(letter)
MADE = st.recursive(LEAVES, combined, max_leaves=8)


def small() -> list[Condition]:
    """Return every condition of two letters that is at most two combinations deep."""
    made = [letter("a"), letter("b")]
    for _ in range(2):
        pairs = list(itertools.product(made, made))
        combinations = (*(one & two for one, two in pairs), *(one | two for one, two in pairs))
        made = [*made, *(~one for one in made), *combinations]
    return [*made, *(~one for one in made)]


def test_every_small_name_is_equal_where_the_structure_is() -> None:
    pairs = {(one.name, structure(one)) for one in small()}
    assert len(pairs) == len(dict(pairs)) == len({of for _, of in pairs}) > 500


@given(MADE, MADE)
def test_a_name_is_equal_where_the_structure_is(one: Condition, other: Condition) -> None:
    assert (one.name == other.name) == (structure(one) == structure(other))
    assert table(one) == table(other) or one.name != other.name


@given(MADE)
def test_a_name_reads_as_its_condition_holds(one: Condition) -> None:
    """Python reads "not", "and", "or" and parentheses as a person does."""
    read = compile(one.name, "<name>", "eval")
    assert table(one) == tuple(
        bool(eval(read, {}, dict(zip(LETTERS, row, strict=True))))  # noqa: S307 - of our own letters
        for row in ROWS
    )


@pytest.mark.parametrize(
    ("made", "name"),
    [
        (lambda a, b, _c: ~(a & b), "not (a and b)"),
        (lambda a, b, _c: ~a & b, "not a and b"),
        (lambda a, b, _c: ~(a | b), "not (a or b)"),
        (lambda a, b, c: a & b | c, "(a and b) or c"),
        (lambda a, b, c: a & (b | c), "a and (b or c)"),
        (lambda a, b, c: a | b | c, "a or b or c"),
        (lambda a, b, c: a & (b & c), "a and b and c"),
        (lambda a, _b, _c: ~~a, "not not a"),
    ],
)
def test_names(made: object, name: str) -> None:
    assert made(*map(letter, "abc")).name == name  # type: ignore[operator]


def test_no_simple_name_reads_as_a_combination() -> None:
    names = [one.name for one in CONDITIONS.values()]
    assert sorted(set(names)) == sorted(names)
    for name in names:
        assert not {"and", "or"} & set(name.split()), name
        assert not name.startswith("not "), name
        assert not set("()|") & set(name), name


# Of the routine


def moved(one: Condition) -> Iterator[Condition]:
    """Yield a condition with the "not" of one conjunction in it moved to its first part."""
    how, parts = one.made_of
    if how == "not" and parts[0].made_of[0] == "and":
        first, *rest = parts[0].made_of[1]
        yield reduce(Condition.__and__, rest, ~first)
    for place, part in enumerate(parts):
        for other in moved(part):
            yield put_together(how, (*parts[:place], other, *parts[place + 1 :]))


def put_together(how: str, parts: tuple[Condition, ...]) -> Condition:
    if how == "not":
        return ~parts[0]
    return reduce(Condition.__and__ if how == "and" else Condition.__or__, parts)


def other_sections() -> Iterator[tuple[str, Section, Section]]:
    """Yield each section with one "not" moved: in its own condition, or in an item's."""
    for section in CARRY.sections:
        for applies in moved(section.applies):
            yield section.id, section, replace(section, applies=applies)
        for item in section.items:
            for applies in moved(item.applies):
                yield item.id, section, with_item(section, item, applies)


def with_item(section: Section, item: Item, applies: Condition) -> Section:
    items = (replace(one, applies=applies) if one is item else one for one in section.items)
    return replace(section, items=tuple(items))


OTHERS = [
    (where, Routine(CARRY.id, tuple(new if one is old else one for one in CARRY.sections)))
    for where, old, new in other_sections()
]


def test_another_routine_has_another_digest() -> None:
    places = {where for where, _ in OTHERS}
    assert {"access.pack_off", "power.pack_off"} <= places
    same = [where for where, other in OTHERS if other.digest == CARRY.digest]
    assert same == []


def test_a_text_is_found_by_its_digest() -> None:
    former = former_texts()
    assert len(former) > 0
    assert CARRY.digest not in former
    for digest, text in {**former, CARRY.digest: CARRY.text}.items():
        assert CARRY.text_of(digest) == text
        assert hashlib.sha256(text.encode()).hexdigest() == digest
    assert CARRY.text_of("") is None

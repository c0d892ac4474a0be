"""Emergencies by their parts: a clause that names somebody and a harm, a load and its motion.

A shape names groups of words; it is there where one clause has a word of each. So nothing here is
a sentence, and a group that learns a word learns it for every shape (`en_alarms.toml`).
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache, cached_property, lru_cache
from itertools import pairwise
from typing import Any

from flows.hearing.clauses import inflected, spelled_out, third
from flows.hearing.matching import MARKS, Tokens
from flows.measures.tokens import tokens
from flows.measures.words import NUMBER
from flows.texts import alarm_words

FIGURE = "figure"
"""The group of every number."""
HARMLESS = "none"
"""The kind of a shape whose sign is none: what sounds like danger there is left out."""
LONG_AGO, BY_NOW = "long_ago", "by_now"
"""What is told of long ago is no sign, unless it is so by now as well."""
ANY_NUMBER = 99


@dataclass(frozen=True)
class Shape:
    """What is named together in a clause where something may be wrong.

    Parameters
    ----------
    kind
        What may be wrong.
    of
        The groups, each of which is named.
    sign
        Which of them is the sign itself, which may be denied; the last where nothing is said.
    but
        Groups of which none is named.
    clear_of
        Groups of which none is named between the others.
    near
        How many words may stand between one and the next.
    in_order
        They are named in this order.
    starts
        The first of them begins the clause.
    alone
        Nothing else is said in the text.
    across
        They are named in one text, whatever marks stand between them.
    always
        It counts though its words were understood otherwise: "won't wake up" of somebody.
    only_acts
        It counts only while one of these is asked for.
    unless_acts, unless_facts
        It does not count while these are asked for: then it is the answer.
    """

    kind: str
    of: tuple[str, ...]
    but: tuple[str, ...] = ()
    clear_of: tuple[str, ...] = ()
    near: int = ANY_NUMBER
    sign: int = -1
    in_order: bool = False
    starts: bool = False
    alone: bool = False
    across: bool = False
    always: bool = False
    only_acts: frozenset[str] = frozenset()
    unless_acts: frozenset[str] = frozenset()
    unless_facts: frozenset[str] = frozenset()

    @cached_property
    def of_names(self) -> frozenset[str]:
        """Its groups, to be compared with those that are named."""
        return frozenset(self.of)

    def counts_with(self, acts: tuple[str, ...], fact: str) -> bool:
        """Say whether it counts while these acts or this fact are asked for."""
        if self.only_acts and self.only_acts.isdisjoint(acts):
            return False
        return self.unless_acts.isdisjoint(acts) and fact not in self.unless_facts


Place = tuple[int, int]
"""Where a word of a group begins and ends."""


@dataclass(frozen=True, slots=True)
class Seen:
    """A shape that a text has: its clause, where its sign stands in it and in the text."""

    shape: Shape
    clause: Tokens
    at: int
    words: frozenset[int]


@dataclass(frozen=True, slots=True)
class Clause:
    """Words as they are spelled out, and of which word of the text each is a part."""

    words: Tokens
    places: tuple[int, ...]


@lru_cache(maxsize=4096)
def shapes_in(said: Tokens) -> tuple[Seen, ...]:
    """Return the shapes that are there, clause by clause.

    Examples
    --------
    >>> {one.shape.kind for one in shapes_in(("my", "partner", "is", "wedged", "in", "there"))}
    {'people'}
    """
    clauses = list(_clauses(said))
    within = (one for clause in clauses for one in _in_clause(clause, across=False))
    return (*within, *_in_clause(_as_one(clauses), across=True))


def _as_one(clauses: list[Clause]) -> Clause:
    return Clause(
        tuple(word for one in clauses for word in one.words),
        tuple(place for one in clauses for place in one.places),
    )


def _clauses(said: Tokens) -> Iterator[Clause]:
    words: list[str] = []
    places: list[int] = []
    for at, token in enumerate((*said, ".")):
        if token not in MARKS:
            spelled = plain((token,))
            words += spelled
            places += [at] * len(spelled)
        elif words:
            yield Clause(tuple(words), tuple(places))
            words, places = [], []


def _in_clause(clause: Clause, *, across: bool) -> Iterator[Seen]:
    named = _named(clause.words)
    names = named.keys()
    is_tale = LONG_AGO in names and BY_NOW not in names
    for shape in _shapes(across=across):
        is_there = names >= shape.of_names and names.isdisjoint(shape.but)
        if is_there and not (is_tale and shape.kind != HARMLESS):
            yield from _seen(shape, named, clause)


def _seen(shape: Shape, named: dict[str, list[Place]], clause: Clause) -> Iterator[Seen]:
    """Yield a shape for each sign of it that belongs to the rest."""
    signs = {
        places[shape.sign]
        for places in _ways([named[one] for one in shape.of])
        if _belongs(shape, places, named, clause.words)
    }
    for start, stop in sorted(signs):
        yield Seen(shape, clause.words, start, frozenset(clause.places[start:stop]))


def _ways(groups: list[list[Place]]) -> Iterator[tuple[Place, ...]]:
    """Yield every choice of one place of each group that do not overlap."""
    if not groups:
        yield ()
        return
    for rest in _ways(groups[1:]):
        for place in groups[0]:
            if all(place[1] <= other[0] or other[1] <= place[0] for other in rest):
                yield (place, *rest)


def _belongs(
    shape: Shape, places: tuple[Place, ...], named: dict[str, list[Place]], clause: Tokens
) -> bool:
    if shape.in_order and list(places) != sorted(places):
        return False
    if shape.starts and not _begins(clause, places[0][0]):
        return False
    if shape.alone and (places[0][0], places[-1][1]) != (0, len(clause)):
        return False
    return _are_near(shape, places, named)


def _are_near(shape: Shape, places: tuple[Place, ...], named: dict[str, list[Place]]) -> bool:
    """Say whether there are few words between the places, and none that keeps them apart."""
    gaps = [range(one[1], other[0]) for one, other in pairwise(sorted(places))]
    barred = {at for name in shape.clear_of for at, _ in named.get(name, ())}
    return all(len(gap) <= shape.near and barred.isdisjoint(gap) for gap in gaps)


def _begins(clause: Tokens, at: int) -> bool:
    """Say whether only exclamations stand before a place in its clause."""
    return all(token in _exclaims() for token in clause[:at])


@cache
def _exclaims() -> frozenset[str]:
    return frozenset(alarm_words()["reach"]["before_commands"])


# The words of a clause


def _named(clause: Tokens) -> dict[str, list[Place]]:
    """Return the groups that a clause names, and where."""
    found: dict[str, list[Place]] = {}
    for at, token in enumerate(clause):
        for phrase, names in _words().get(token, ()):
            stop = at + len(phrase)
            if clause[at:stop] == phrase:
                for name in names:
                    found.setdefault(name, []).append((at, stop))
        if token[:1].isdecimal() or token in NUMBER:
            found.setdefault(FIGURE, []).append((at, at + 1))
    return found


def plain(said: Tokens) -> Tokens:
    """Return words with what was run together apart, and a dropped g put back.

    Examples
    --------
    >>> plain(("rig's", "a", "walkin"))
    ('rig', 'is', 'a', 'walking')
    """
    return tuple(
        one + "g" if one.endswith("in") and one + "g" in _gerunds() else one
        for one in spelled_out(said)
    )


@cache
def _gerunds() -> frozenset[str]:
    words = (word for rows in _words().values() for phrase, _ in rows for word in phrase)
    return frozenset(word for word in words if word.endswith("ing"))


@cache
def _words() -> dict[str, tuple[tuple[Tokens, tuple[str, ...]], ...]]:
    """Return the phrases of the groups under their first word, each with its groups."""
    names: dict[Tokens, list[str]] = {}
    for name, group in alarm_words()["groups"].items():
        for phrase in dict.fromkeys(_phrases(group)):
            names.setdefault(phrase, []).append(name)
    table: dict[str, list[tuple[Tokens, tuple[str, ...]]]] = {}
    for phrase, of in names.items():
        table.setdefault(phrase[0], []).append((phrase, tuple(of)))
    return {first: tuple(rows) for first, rows in table.items()}


def _phrases(group: dict[str, list[str]]) -> Iterator[Tokens]:
    for one in group.get("words", ()):
        phrase = spelled_out(tokens(one))
        yield phrase
        yield tuple(word.replace("n't", "nt") for word in phrase)
    for kind in group.get("of_kinds", ()):
        yield from ((one,) for one in alarm_words()["kinds"][kind]["words"])
    for verb in group.get("verbs", ()):
        yield from _forms(verb)
    for verb in group.get("happening", ()):
        yield from _forms(verb)[1:]


def _forms(verb: str) -> list[Tokens]:
    """Return the forms of a verb, that of commands first."""
    return [tuple(one.split()) for one in (*inflected(verb), third(inflected(verb)[0]))]


@cache
def _shapes(*, across: bool) -> tuple[Shape, ...]:
    every = (_shape(table) for table in alarm_words()["shapes"].values())
    return tuple(one for one in every if one.across == across)


def _shape(table: Mapping[str, Any]) -> Shape:
    return Shape(**{name: _given(name, value) for name, value in table.items()})


def _given(name: str, value: Any) -> Any:  # noqa: ANN401  of any TOML value
    """Return a field of a shape as it is kept: names in a set, any other list in order."""
    if name in {"only_acts", "unless_acts", "unless_facts"}:
        return frozenset(value)
    return tuple(value) if isinstance(value, list) else value

"""Free words that say by their head what they are: "to the county yard", "owner on 555 0142".

An opening brings several of them between commas, and so may any message after it.
"""

from collections.abc import Iterator
from functools import cache, lru_cache
from itertools import groupby

from flows.hearing.answers import Answer
from flows.hearing.lexicon import Lexicon
from flows.hearing.matching import Tokens
from flows.hearing.placing import facts_first
from flows.hearing.vins import is_vin, plate_of, vin_of
from flows.measures.numbers import read, rows_of
from flows.measures.tokens import tokens
from flows.measures.words import NUMBER
from flows.texts import phrases

LEAST_TEMPERATURES = 3
"""Of the air, of the ground and of one point of the pack."""


def enough(fact: str, words: str) -> bool:
    """Say whether a note is enough for its fact: three temperatures; a VIN; a plate.

    Examples
    --------
    >>> enough("temperatures", "air 61, ground 64, pack 70 and 71"), enough("place", "mile 9")
    (True, True)
    >>> enough("temperatures", "air forty eight, ground fifty, pack sixty one")
    True
    >>> enough("temperatures", "all cold")
    False
    """
    if fact == "vin":
        return vin_of(words) is not None
    if fact == "plate":
        return plate_of(words) is not None
    return fact != "temperatures" or len(list(_numbers(tokens(words)))) >= LEAST_TEMPERATURES


UNEVEN = 15
"""Ours: degrees between two points of one pack, of either scale, from which it is told."""


def uneven(words: str) -> bool:
    """Say whether one point of the pack reads much higher than another.

    Examples
    --------
    >>> uneven("air 47, ground 49, pack 70 72 70 95"), uneven("air 20, ground 49, pack 70 72")
    (True, False)
    >>> uneven("pack seventy and eighty five"), uneven("pack ninety nine, one hundred two")
    (True, False)
    """
    said = tokens(words)
    pack = next((n for n, one in enumerate(said) if one in {"pack", "battery"}), len(said))
    points = list(_numbers(said[pack + 1 :]))
    return bool(points) and max(points) - min(points) >= UNEVEN


def _numbers(said: Tokens) -> Iterator[int]:
    """Yield whole numbers, each in figures or in words: "eighty five", "one hundred two"."""
    for is_number, run in groupby(said, lambda one: one.isdecimal() or one in NUMBER):
        if is_number:
            atoms = [NUMBER.get(one, one) for one in run]
            rows = rows_of(atoms) or read(atoms, "plain")[:1]
            yield from map(int, rows)


ONLY_AT_FIRST = frozenset({("to",)})


@cache
def _heads() -> tuple[tuple[tuple[str, ...], str], ...]:
    """Return every head with the fact it opens, the longest first."""
    found = [
        (tokens(head), fact)
        for fact, table in phrases()["facts"].items()
        for head in table.get("heads", ())
    ]
    return tuple(sorted(found, key=lambda one: -len(one[0])))


@cache
def _longest_head() -> int:
    return len(_heads()[0][0])


@cache
def _first_words() -> frozenset[str]:
    return frozenset(head[0] for head, _ in _heads())


def parts_of(text: str) -> list[str]:
    """Return the parts of a text between its commas.

    Examples
    --------
    >>> parts_of("to the county yard, they take it;")
    ['to the county yard', 'they take it']
    """
    return [part for part in (one.strip() for one in text.replace(";", ",").split(",")) if part]


@lru_cache(maxsize=4096)
def headed(part: str, *, opens: bool = False) -> tuple[str, str] | None:
    """Return the fact that a part's head opens, and the words after it.

    Parameters
    ----------
    opens
        It is part of the opening, where a bare "to" says where the vehicle goes.

    Examples
    --------
    >>> headed("to the county yard", opens=True), headed("owner on 555 0142")
    (('destination', 'the county yard'), ('owner_contact', '555 0142'))
    >>> headed("mile 12"), headed("goes to"), headed("to the left")
    (None, None, None)
    """
    if is_vin(part):
        return "vin", part
    pieces = part.split()
    if _first_words().isdisjoint(tokens(part)[:1]):
        return None
    begins: dict[tuple[str, ...], int] = {}
    for stop in range(1, len(pieces)):
        said = tokens(" ".join(pieces[:stop]))
        if len(said) > _longest_head():
            break
        begins.setdefault(said, stop)
    for head, fact in _heads():
        if head in begins and (opens or head not in ONLY_AT_FIRST):
            rest = " ".join(pieces[begins[head] :])
            return (fact, rest) if enough(fact, rest) else None
    return None


def sorted_out(text: str, answer: Answer, lexicon: Lexicon) -> Iterator[tuple[str, str]]:
    """Yield each part of a text with its kind: the fact it opens, "facts", or "" for the rest.

    Next to free words that answer the open question, a phrase for a fact counts as that fact.
    """
    whole = headed(text)
    if whole is not None and whole[0] == "vin":
        # Spelled out, its characters may come between commas.
        yield whole
        return
    for part in parts_of(text):
        found = headed(part)
        if found is not None:
            yield found
        elif answer.takes_note and not facts_first(part, answer, lexicon)[1]:
            yield "facts", part
        else:
            yield "", part

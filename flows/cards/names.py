"""Names that a card cannot have: words that already mean something at any time."""

from collections.abc import Iterator
from functools import cache

from flows.figures.classes import families, sizes
from flows.measures.tokens import tokens
from flows.texts import phrases

Phrase = tuple[str, ...]


def clash(name: str) -> str:
    """Return the phrase in a name that the bot would take for something else; empty if none.

    A danger sign and "stop" are heard anywhere in an utterance, so no name may contain them. Any
    other phrase clashes only if it is the whole name.

    Examples
    --------
    >>> clash("Stop Wagon"), clash("Neutral"), clash("Harrow")
    ('stop', 'neutral', '')
    """
    said = tokens(name)
    for start in range(len(said)):
        for end in range(start + 1, len(said) + 1):
            if said[start:end] in _heard_anywhere():
                return " ".join(said[start:end])
    return " ".join(said) if _is_heard_alone(said) else ""


@cache
def _heard_anywhere() -> frozenset[Phrase]:
    return frozenset(map(tokens, (*phrases()["danger"]["signs"], "stop")))


def _is_heard_alone(said: Phrase) -> bool:
    """Say whether some phrase is these tokens and nothing else.

    The phrases are cut into tokens only for a name that begins as something in one of them.
    """
    return "".join(said[:1]) in _lines() and said in _heard_alone()


@cache
def _heard_alone() -> frozenset[Phrase]:
    return frozenset(map(tokens, _lines().splitlines()))


@cache
def _lines() -> str:
    return "\n".join(_phrases()).lower()


def _phrases() -> Iterator[str]:
    for said in (*phrases()["universal"].values(), *phrases()["steps"].values()):
        yield from said
    for act in phrases()["acts"].values():
        yield from (*act["said"], *act.get("undone", ()))
    for fact in phrases()["facts"].values():
        for value in fact.get("values", {}).values():
            label = (value["label"],) if "label" in value else ()
            yield from (*label, *value["local"], *value["said"])
    for family in families():
        yield from (family.id, family.label, *(size.label for size in sizes(family.id)))

"""Which phrases count at any time, for one company's cards and trucks."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, cached_property, lru_cache

from flows.cards.library import Library
from flows.figures.classes import families, sizes
from flows.job.intents import Did, DidAll, Give, Intent, Nothing, Undid, Word
from flows.measures.tokens import tokens
from flows.texts import phrases

Phrase = tuple[str, ...]
EMERGENCIES = (
    "loose",
    "truck_loose",
    "in_path",
    "chock_off",
    "brake_failed",
    "winch_runs",
    "hurt",
)
ANYWHERE = (*EMERGENCIES, "false_alarm", "strap_off", "truck_moved", "through_wheel", "by_line")
"""Words for any time that count among other words too."""


@dataclass(frozen=True, eq=False)
class Lexicon:
    """Phrases for facts and acts at any time, longest first by their first token."""

    library: Library

    @cached_property
    def anytime(self) -> dict[str, tuple[tuple[Phrase, Intent], ...]]:
        """Phrases that count whatever is open, by first token, longest first."""
        return by_first_token(dict(self._phrases()))

    def _phrases(self) -> Iterator[tuple[Phrase, Intent]]:
        yield from _facts()
        yield from _acts()
        yield from ((tokens(phrase), Nothing("unclear")) for phrase in phrases()["never"]["said"])
        yield from (
            (phrase, Word(name)) for phrase, name in universal().items() if name in ANYWHERE
        )
        for card in self.library.vehicles.values():
            yield tokens(card.name), Give("card", card.id)
        for truck in self.library.carriers:
            yield tokens(truck.name), Give("truck", truck.id)
        for truck in self.library.wreckers:
            yield tokens(truck.name), Give("second_truck", truck.id)


@lru_cache(maxsize=8)
def lexicon_of(library: Library) -> Lexicon:
    """Return the lexicon of a library of cards, built once for each."""
    return Lexicon(library)


def _facts() -> Iterator[tuple[Phrase, Intent]]:
    for fact, table in phrases()["facts"].items():
        for value, said in table.get("values", {}).items():
            for phrase in said["said"]:
                yield tokens(phrase), Give(fact, value)
    for family in families():
        for size in sizes(family.id):
            yield tokens(size.label), Give("weight_class", size.class_id)


def _acts() -> Iterator[tuple[Phrase, Intent]]:
    for together in phrases()["acts_together"].values():
        for phrase in together["said"]:
            yield tokens(phrase), DidAll(tuple(together["acts"]))
    for act, table in phrases()["acts"].items():
        for phrase in table["said"]:
            yield tokens(phrase), Did(act)
        for phrase in table.get("undone", ()):
            yield tokens(phrase), Undid(act)


def by_first_token(found: dict[Phrase, Intent]) -> dict[str, tuple[tuple[Phrase, Intent], ...]]:
    """Sort phrases under their first token, longest first."""
    table: dict[str, list[tuple[Phrase, Intent]]] = {}
    for phrase, intent in found.items():
        table.setdefault(phrase[0], []).append((phrase, intent))
    return {
        first: tuple(sorted(rows, key=lambda row: -len(row[0]))) for first, rows in table.items()
    }


@cache
def universal() -> dict[Phrase, str]:
    """Return the words understood at any time when they are all that was said."""
    return {
        tokens(phrase): name for name, said in phrases()["universal"].items() for phrase in said
    }


@cache
def danger_phrases() -> dict[str, tuple[tuple[Phrase, str], ...]]:
    """Return danger signs and phrases that sound like them, by first token, longest first."""
    table: dict[str, list[tuple[Phrase, str]]] = {}
    for sign in phrases()["danger"]["signs"]:
        table.setdefault(tokens(sign)[0], []).append((tokens(sign), sign))
    for other in phrases()["danger"]["not_signs"]:
        table.setdefault(tokens(other)[0], []).append((tokens(other), ""))
    return {
        first: tuple(sorted(rows, key=lambda row: -len(row[0]))) for first, rows in table.items()
    }


Gapped = tuple[str, frozenset[str], dict[str, tuple[Phrase, ...]], frozenset[Phrase]]


@cache
def gapped() -> dict[str, Gapped]:
    """Return the phrases for somebody somewhere: what they say, who, where, and their breaks.

    Any other words may come between who and where.
    """
    found: dict[str, Gapped] = {}
    for name, table in phrases()["gapped"].items():
        where: dict[str, list[Phrase]] = {}
        for phrase in map(tokens, table["where"]):
            where.setdefault(phrase[0], []).append(phrase)
        places = {first: tuple(rows) for first, rows in where.items()}
        who, but = frozenset(table["who"]), frozenset(map(tokens, table["but"]))
        found[name] = (table.get("says", name), who, places, but)
    return found


@cache
def talk(name: str) -> frozenset[Phrase]:
    """Return a set of small words: negators, fillers, intents, asks."""
    return frozenset(tokens(phrase) for phrase in phrases()["talk"][name])

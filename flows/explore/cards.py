"""Which cards stand for all: enough of them that every condition sees both sides of each."""

from collections.abc import Hashable, Iterator, Mapping
from functools import cache

from flows.book import Book
from flows.cards.vehicle import VehicleCard
from flows.catalogue import CONDITIONS
from flows.conditions import Condition
from flows.facts import FROM_CARD, Fact
from flows.job import Job
from flows.judging import ENDS

Trait = tuple[Hashable, ...]
_TELLS = frozenset({"card", "powertrain"})
OF_CARDS = _TELLS | {"facing", "weight"}
"""What a condition may read and still be one of the card, and of which end faces the truck."""


@cache
def few(book: Book) -> tuple[VehicleCard, ...]:
    """Return cards that show, together, every trait that any card of the library has.

    Starting from all, a card goes when the others show all of its traits, the one with least to
    show first. Every card that stays is a state of its own from its choice on.
    """
    kept = {card: frozenset(_traits(book, card)) for card in book.library.vehicles}
    for card in sorted(kept, key=lambda one: len(_rare(kept, one))):
        if not _rare(kept, card):
            del kept[card]
    return tuple(book.library.vehicles[card] for card in kept)


def _rare(kept: Mapping[str, frozenset[Trait]], card: str) -> frozenset[Trait]:
    """Return the traits that none of the others has."""
    others = (traits for one, traits in kept.items() if one != card)
    return kept[card].difference(*others)


def named(job: Job) -> tuple[VehicleCard, ...]:
    """Return the cards of the few that are worth naming: all that may be what is known.

    Hybrid counts as electric, as it does where states are told apart.
    """
    known = job.sure("powertrain")
    return tuple(
        card
        for card in few(job.book)
        if known is None or (card.powertrain == "combustion") == (known == "combustion")
    )


def _traits(book: Book, card: str) -> Iterator[Trait]:
    """Yield what conditions tell of a card, what it knows, and what it leaves to be asked."""
    of = book.library.vehicles[card]
    way = of.first_way
    yield ("hold known", way is not None and way.hold_min is not None)
    yield from ((name, getattr(of, name) is None) for name in FROM_CARD)
    for end in ENDS:
        given = {"card": card, "powertrain": of.powertrain, "facing": end}
        facts = {name: Fact(value, "card", "", 0) for name, value in given.items()}
        job = Job(1, book, facts=facts)
        for one in card_conditions():
            yield (one.name, end if "facing" in one.reads else "", one.holds(job))


@cache
def card_conditions() -> tuple[Condition, ...]:
    """Return the conditions that tell cards apart."""
    return tuple(
        one for one in CONDITIONS.values() if one.reads & _TELLS and one.reads <= OF_CARDS
    )

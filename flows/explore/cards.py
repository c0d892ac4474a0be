"""Which cards stand for all: enough of them that every condition sees both sides of each."""

from collections.abc import Hashable, Iterable, Iterator, Mapping
from functools import cache
from itertools import product

from flows.cards.library import Library
from flows.cards.vehicle import VehicleCard
from flows.job.acts import CLAMPS, ISOLATIONS, VARIABLES
from flows.job.facts import FACTS, FROM_CARD, Fact
from flows.job.state import Job
from flows.routine.book import Book
from flows.routine.carry import Routine
from flows.routine.catalogue import CONDITIONS
from flows.routine.condition import Condition
from flows.routine.items import Item
from flows.turn.as_rules_see import world

Trait = tuple[Hashable, ...]
_TELLS = frozenset({"card", "powertrain"})


@cache
def only_cards(library: Library) -> Book:
    """Return a library with no routine: what conditions tell of it is the same for every one."""
    return Book(Routine("no routine", ()), library)


@cache
def few(library: Library) -> tuple[VehicleCard, ...]:
    """Return cards that show, together, every trait that any card of the library has.

    Starting from all, a card goes when the others show all of its traits, the one with least to
    show first. Every card that stays is a state of its own from its choice on.
    """
    kept = {card: frozenset(_traits(library, card)) for card in library.vehicles}
    for card in sorted(kept, key=lambda one: len(_rare(kept, one))):
        if not _rare(kept, card):
            del kept[card]
    return tuple(library.vehicles[card] for card in kept)


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
        for card in few(job.book.library)
        if known is None or (card.powertrain == "combustion") == (known == "combustion")
    )


def _traits(library: Library, card: str) -> Iterator[Trait]:
    """Yield what conditions and rules tell of a card, and what it leaves to be asked."""
    yield from ((name, getattr(library.vehicles[card], name) is None) for name in FROM_CARD)
    yield from to_rules(library, card, frozenset(VARIABLES))
    for condition in card_conditions():
        holds = told(library, condition, card)
        yield from ((condition.name, case, case in holds) for case in _cases_of(condition))


@cache
def to_rules(library: Library, card: str, acts: frozenset[str]) -> tuple[Trait, ...]:
    """Return what the rules and the neutral window see of a card, or of none.

    Only what they hold against an act state among these: the others are not touched.
    """
    seen = world(_with(library, card, {}))
    of = library.vehicles.get(card)
    way = None if of is None else of.first_way
    hold_known = way is not None and way.hold_min is not None
    every = (
        ("isolations", seen.isolations, {"release", *ISOLATIONS}),
        ("holding ends", seen.holding_ends, {"hook"}),
        ("electric donor", seen.card_allows_electric_donor, {f"clamp.{one}" for one in CLAMPS}),
        ("hold known", hold_known, {"gear"}),
    )
    return tuple((name, value) for name, value, on in every if not acts.isdisjoint(on))


@cache
def told(library: Library, condition: Condition, card: str) -> frozenset[Trait]:
    """Return with which values of what else it reads a condition holds of a card, or of none."""
    return frozenset(
        case
        for case in _cases_of(condition)
        if condition.holds(_with(library, card, dict(zip(_beside(condition), case, strict=True))))
    )


def _with(library: Library, card: str, values: Mapping[str, Hashable]) -> Job:
    of = library.vehicles.get(card)
    given = {"card": card, **({} if of is None else {"powertrain": of.powertrain}), **values}
    facts = {
        name: Fact(value, "card", "", 0) for name, value in given.items() if value is not None
    }
    return Job(1, only_cards(library), facts=facts)


def _beside(condition: Condition) -> tuple[str, ...]:
    """Return the facts of a few values that a condition reads beside the card."""
    return tuple(n for n in sorted(condition.reads - _TELLS) if n in FACTS and FACTS[n].values)


@cache
def _cases_of(condition: Condition) -> tuple[Trait, ...]:
    return tuple(product(*((None, *FACTS[name].values) for name in _beside(condition))))


@cache
def card_conditions() -> tuple[Condition, ...]:
    """Return the conditions that may tell cards apart."""
    return tuple(one for one in CONDITIONS.values() if one.reads & _TELLS)


def asked_of_card(items: Iterable[tuple[Item, Condition]]) -> tuple[Condition, ...]:
    """Return the conditions of the card among those of items and of their sections."""
    asked = {one for item, also in items for of in (item.applies, also) for one in of.simple}
    return tuple(one for one in card_conditions() if one in asked)

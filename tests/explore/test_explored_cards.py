"""The few cards that are explored show what any card of the company can."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from bot.commands.bootstrap import read_cards
from flows.cards.vehicle import VehicleCard
from flows.explore.cards import few, named
from flows.explore.moves import any_time, offers
from flows.hearing.prompts import prompt_for
from flows.job.facts import Fact
from flows.job.state import Job
from flows.routine.book import Book
from flows.routine.carry import CARRY

BOOK = Book(CARRY, read_cards(None))

TRAITS: dict[str, Callable[[VehicleCard], object]] = {
    "combustion": lambda v: v.powertrain == "combustion",
    "a release that one isolation frees": lambda v: v.cord_release and len(v.isolations) == 1,
    "places to keep off": lambda v: v.keep_off,
    "a point at the nose": lambda v: v.holds.nose,
    "a point at the tail": lambda v: v.holds.tail,
    "a way without ready": lambda v: v.first_way and not v.first_way.needs_ready,
    "a hold that is known": lambda v: v.first_way and v.first_way.hold_min,
    "a class": lambda v: v.weight_class,
    "a drive": lambda v: v.drive,
}
"""What the routine goes by, written down here; the explorer asks its conditions."""


@pytest.mark.parametrize("trait", TRAITS)
def test_the_few_have_a_trait_and_lack_it(trait: str) -> None:
    assert {bool(TRAITS[trait](card)) for card in few(BOOK.library)} == {True, False}


def test_they_are_few() -> None:
    assert len(few(BOOK.library)) <= 6 < len(BOOK.library.vehicles)


def test_cards_that_are_alike_are_explored_once() -> None:
    harrow = BOOK.library.vehicles["harrow"]
    same = {f"harrow_{n}": harrow.model_copy(update={"id": f"harrow_{n}"}) for n in range(7)}
    assert len(few(replace(BOOK.library, vehicles=same))) == 1


def at_the_card(**known: str) -> Job:
    facts = {"history": "breakdown", "place": "here", "danger": "none", "slope": "level",
             "facing": "nose", **known}  # fmt: skip
    acts = Job(1, BOOK).acts
    for act in ("people_back", "truck_set", "warned", "chocks_in"):
        acts = acts.after(act)
    given = {name: Fact(value, "typed", "p1", 1) for name, value in facts.items()}
    return Job(1, BOOK, facts=given, acts=acts, at_vehicle="p1", done=frozenset({"scene.photos"}))


def test_each_of_the_few_is_named_where_it_may_be_the_one() -> None:
    job = at_the_card(powertrain="hybrid")
    assert prompt_for(job).key == "vehicle.card"
    # Hybrid and electric are one state, whichever is reached first.
    wanted = {card.name for card in few(BOOK.library) if card.powertrain != "combustion"}
    moves = {move.said for move in offers(job) if move.kind == "answer"}
    assert moves == {*wanted, "no card"}
    assert {card.name for card in named(job)} == wanted
    assert {card.name for card in named(at_the_card())} == {
        card.name for card in few(BOOK.library)
    }


def test_any_time_names_the_few_and_the_carriers() -> None:
    said = {(move.about, move.said) for move in any_time(BOOK) if move.kind == "correct"}
    assert {name for about, name in said if about == "truck"} == {"Wren", "Heron", "Godwit"}
    cards = {card.name for card in few(BOOK.library)}
    assert cards <= {name for about, name in said if about == "card"} <= cards | {"no card"}

"""The routine with one thing wrong in it: each mutant is noticed, or its survival has a reason."""

import random
from collections.abc import Callable

import pytest

from flows.routine.carry import CARRY
from tests.explore.explored import BOOK
from tests.explore.mutants import Mutant, killed_by, mutants

ALL = list(mutants(CARRY))
SAMPLE = 3
SEED = 20261126
EITHER = "two things the routine asks side by side: either order meets its description"
APART = "never open together: their conditions exclude each other"
FOLLOWS = "the later one's condition waits for what the earlier one gives, in either place"

SURVIVORS: dict[str, str] = {
    "swap open.history, open.place": EITHER,
    "swap scene.people, scene.slacken": EITHER,
    "swap scene.truck, scene.warn": EITHER,
    "swap scene.warn, scene.chock": EITHER,
    "swap scene.slope, scene.facing": EITHER,
    "swap scene.facing, scene.down": EITHER,
    "swap vehicle.powertrain, vehicle.family": EITHER,
    "swap vehicle.family, vehicle.card": EITHER,
    "swap vehicle.card, vehicle.variant": FOLLOWS,
    "drop vehicle.variant": "asked only of a card somebody else gave: test_variant.py holds it",
    "negate vehicle.variant": "the same, and one question too many where a card has no variant",
    "swap vehicle.variant, vehicle.size": APART,
    "swap vehicle.size, vehicle.drive": EITHER,
    "swap margin.figure, margin.load": FOLLOWS,
    "swap margin.load, margin.no_go": APART,
    "swap margin.no_go, margin.no_go_tied": APART,
    "swap margin.no_go_tied, margin.no_go_aboard": APART,
    "swap margin.no_go_aboard, margin.close": APART,
    "swap margin.close, margin.close_tied": APART,
    "swap destination.where, destination.takes": EITHER,
    "swap destination.takes, destination.takes_damaged": APART,
    "swap destination.takes_damaged, destination.refused": FOLLOWS,
    "swap destination.refused, destination.asked_by": EITHER,
    "swap destination.asked_by, destination.emergency": EITHER,
    "swap destination.emergency, destination.owner": EITHER,
    "swap destination.owner, destination.plate": EITHER,
    "swap destination.plate, destination.vin": FOLLOWS,
    "swap cord.state, cord.still": FOLLOWS,
    "swap cord.still, cord.park": EITHER,
    "swap cord.park, cord.end_charging": EITHER,
    "swap cord.end_charging, cord.unlock": EITHER,
    "swap cord.unlock, cord.try": "a try before unlocking only fails sooner: unlocking follows",
    "swap cord.try, cord.operator": FOLLOWS,
    "swap cord.operator, cord.hand_off": FOLLOWS,
    "swap cord.hand_off, cord.ajar": APART,
    "swap cord.out, cord.unpin_2": FOLLOWS,
    "swap cord.close_1, cord.tag_1": APART,
    "swap cord.tag_1, cord.tag_2": EITHER,
    "swap turn.chock, turn.park": EITHER,
    "swap turn.park, turn.slacken": "chocked, it is held in either order; both before the lift",
    "swap turn.unhook, turn.truck": EITHER,
    "swap turn.truck, turn.out_truck": APART,
    "swap turn.out_truck, turn.no_truck": APART,
    "swap turn.no_truck, turn.no_way_out": APART,
    "swap turn.no_way_out, turn.reach": "an end asked in vain before the hand-off; none missing",
    "swap turn.reach, turn.unreached": FOLLOWS,
    "swap turn.figure, turn.no_go": FOLLOWS,
    "swap turn.no_go, turn.set": APART,
    "swap turn.lift_nose, turn.lift_tail": APART,
    "swap turn.chocks_out, turn.path": FOLLOWS,
    "swap turn.turn, turn.out": APART,
    "swap turn.out, turn.swap": FOLLOWS,
    "swap plan.figure, plan.block": FOLLOWS,
    "swap plan.block, plan.distance": APART,
    "swap plan.distance, plan.weak": APART,
    "swap plan.weak, plan.weak_tied": APART,
    "swap plan.weak_tied, plan.long": APART,
    "swap plan.long, plan.long_tied": APART,
    "swap attach.wheels, attach.under": FOLLOWS,
    "swap attach.under, attach.dollies": FOLLOWS,
    "swap attach.dollies, attach.will_not_roll": FOLLOWS,
    "swap attach.will_not_roll, attach.turn": EITHER,
    "swap attach.turn, attach.shown": APART,
    "swap attach.shown, attach.no_point": FOLLOWS,
    "swap attach.no_point, attach.sound": "a look in vain then, before the hand-off; none missing",
    "swap attach.sound, attach.keep_off": EITHER,
    "swap attach.hook, attach.away": "hooking puts the path in doubt, so it is asked again after",
    "swap skate.figure, skate.too_weak": FOLLOWS,
    "swap skate.too_weak, skate.under": APART,
    "swap skate.under, skate.all": "all four on skates are asked for in either place",
    "swap skate.all, skate.dollies": APART,
    "swap skate.dollies, skate.braked": APART,
    "swap slide.chocks_out, slide.away": FOLLOWS,
    "swap slide.go, slide.deck": FOLLOWS,
    "swap neutral.ready, neutral.disconnect_1": FOLLOWS,
    "swap neutral.disconnect_1, neutral.disconnect_2": EITHER,
    "swap neutral.disconnect_2, neutral.under": FOLLOWS,
    "swap neutral.select, neutral.when": FOLLOWS,
    "swap neutral.confirm, neutral.chocks_out": FOLLOWS,
    "swap neutral.chocks_out, neutral.away": FOLLOWS,
    "swap neutral.go, neutral.deck": FOLLOWS,
    "swap neutral.deck, neutral.park": FOLLOWS,
    "swap secure.left_front, secure.right_front": EITHER,
    "swap secure.right_front, secure.left_rear": EITHER,
    "swap secure.left_rear, secure.right_rear": EITHER,
    "swap secure.right_rear, secure.slacken": FOLLOWS,
    "swap secure.slacken, secure.stow": EITHER,
    "swap secure.stow, secure.settle": EITHER,
    "swap secure.settle, secure.photos": EITHER,
    "swap secure.photos, secure.temperatures": EITHER,
    "swap road.go, road.where": APART,
    "swap road.where, road.temperatures": EITHER,
    "swap road.temperatures, road.aboard": EITHER,
    "swap road.aboard, road.straps": "with the deck in doubt both are asked before it goes on",
    "swap drop.no_way, drop.keep_off": EITHER,
    "swap drop.truck, drop.slope": EITHER,
    "swap drop.slope, drop.uphill": FOLLOWS,
    "swap drop.uphill, drop.wheels": EITHER,
    "swap drop.wheels, drop.shown": EITHER,
    "swap drop.shown, drop.no_hold": "a point not shown yet is no hand-off in either place",
    "swap drop.no_hold, drop.ready": EITHER,
    "swap drop.ready, drop.disconnect_1": FOLLOWS,
    "swap drop.disconnect_1, drop.disconnect_2": EITHER,
    "swap drop.hook, drop.away": "hooking puts the path in doubt, so it is asked again after",
    "swap drop.tension, drop.all": EITHER,
    "swap drop.select, drop.when": FOLLOWS,
    "swap drop.confirm, drop.chocks_out": FOLLOWS,
    "swap drop.chocks_out, drop.path": FOLLOWS,
    "swap drop.go, drop.down": FOLLOWS,
    "swap drop.down, drop.off": APART,
    "swap drop.park, drop.chocked": EITHER,
    "swap drop.skates_out, drop.dollies_out": EITHER,
    "swap drop.lift_down, drop.photos": EITHER,
    "swap drop.photos, drop.told_open": EITHER,
    "swap drop.told_open, drop.apart": EITHER,
    "swap drop.apart, drop.vin": EITHER,
    "swap drop.vin, drop.condition": EITHER,
    "swap drop.condition, drop.changes": FOLLOWS,
    "swap drop.changes, drop.key": EITHER,
    "swap drop.key, drop.received": EITHER,
}


def draws() -> Callable[[int], int]:
    return random.Random(SEED).randrange  # noqa: S311  no secret


def judge(mutant: Mutant) -> None:
    found = killed_by(mutant, BOOK, draws)
    if mutant.id in SURVIVORS:
        assert found is None, f"{mutant.id} is noticed now ({found}): take it off the table"
    else:
        assert found is not None, f"{mutant.id} survives, and no reason says why it may"


def test_there_are_all_kinds() -> None:
    kinds = {mutant.id.split()[0] for mutant in ALL}
    assert kinds == {"drop", "swap", "negate", "not", "skippable", "no"}
    assert len({mutant.id for mutant in ALL}) == len(ALL) > 300
    assert set(SURVIVORS) <= {mutant.id for mutant in ALL}


def sample() -> list[Mutant]:
    """Return a fixed sample. Sections that interrupt take minutes a mutant, so not in CI.

    Nor does one that survives: it takes its section's whole exploration.
    """
    quick = [one for one in ALL if one.section not in CARRY.first]
    noticed = [one for one in quick if one.id not in SURVIVORS]
    return random.Random(7).sample(noticed, SAMPLE)  # noqa: S311  no secret


@pytest.mark.parametrize("mutant", sample(), ids=lambda mutant: mutant.id)
def test_a_sample_is_noticed(mutant: Mutant) -> None:
    judge(mutant)


@pytest.mark.slow
@pytest.mark.parametrize("mutant", ALL, ids=lambda mutant: mutant.id)
def test_every_mutant_is_noticed(mutant: Mutant) -> None:
    judge(mutant)


@pytest.mark.slow
def test_the_routine_itself_is_not_noticed() -> None:
    """What notices mutants has nothing to say of the routine as it is."""
    assert killed_by(Mutant("none", "open", CARRY), BOOK, draws) is None

"""Jobs disturbed twice, as an exploration found them: each way once refused, or out of order."""

import pytest

from flows.routine.conditions.general import margin_allows
from flows.routine.items import HandOff
from flows.rules.safety import refusal
from flows.telling.render import render
from flows.turn.as_rules_see import world
from tests.explore.order_checks import unmet
from tests.flows.talker import TO_CLOSE, TO_MARGIN, TO_NEUTRAL, open_item, told

AT_DROP = (*TO_NEUTRAL, "neutral now", *TO_CLOSE[: TO_CLOSE.index("at the drop") + 1])
"""From the opening of a job to the first step at the drop."""
OFF = (*TO_NEUTRAL, "neutral now", *TO_CLOSE[: TO_CLOSE.index("no vin")])
"""To what is asked once it is off the truck."""


def test_straps_that_came_off_go_on_again_at_the_drop_whatever_it_weighs() -> None:
    """The truck has to move uphill of it, and a corrected weight has undone the margin."""
    talker = told(*AT_DROP)
    talker.say("it weighs 1500 pounds", "yes", "a strap came off", "secured", "uphill")
    assert not margin_allows.holds(talker.job)
    assert open_item(talker) == "secure.left_front"
    assert "says.guard" not in {one.key for one in talker.replies}
    assert refusal(world(talker.job), "strapped_left_front") is None
    assert refusal(world(talker.job), "departs") is not None


@pytest.mark.parametrize("said", ["stopped on the way", "yeah, stopped on the way, partner"])
def test_nothing_is_strapped_to_a_deck_it_is_not_on(said: str) -> None:
    talker = told(*OFF)
    talker.say(said)
    assert not open_item(talker).startswith("secure.")
    assert list(unmet(talker.job)) == []
    talker.say("arrived at the drop")
    assert open_item(talker).startswith("drop.")


def test_dead_with_the_line_tight_skates_come_before_a_hand_off() -> None:
    talker = told(*TO_NEUTRAL)
    talker.say("it will not wake", "here", "supply weak", "lithium", "no")
    assert open_item(talker) != "power.no_way"
    assert list(unmet(talker.job)) == []


@pytest.mark.parametrize("word", ["back", "problem", "later", "skip", "cannot", "hand off"])
def test_a_word_that_would_set_an_alarm_aside_is_understood_and_not_done(word: str) -> None:
    talker = told(*OFF, "it is venting")
    pending = talker.job.pending
    assert pending is not None
    (asked,) = [one for one in talker.say(word) if one.to == "driver"]
    assert talker.job.pending == pending
    assert asked.key == f"says.{pending.kind}"
    assert "smoke" in render(asked).spoken.lower()


@pytest.mark.parametrize("said", ["not triangles out", "Heron now", "um not triangles out"])
def test_what_is_of_the_scene_bars_nothing_at_the_drop(said: str) -> None:
    talker = told(*AT_DROP, "secured", "level", "on", "understood")
    talker.say(said)
    assert list(unmet(talker.job)) == []


@pytest.mark.parametrize("way", ["tail", "boxed in"])
def test_turned_with_nothing_lifted_it_is_asked_how_it_stands(way: str) -> None:
    """It was turned some other way, or not at all: nobody is handed a vehicle that may hold."""
    talker = told(*TO_MARGIN[: TO_MARGIN.index("nose")], way, "harrow", "heron", "yes", "not in")
    talker.say("Mallet", *(("nose",) if way == "boxed in" else ()), "set", "away", "go")
    talker.say("turned it around")
    assert talker.job.value("facing") is None
    talker.say("secured", "level")
    assert open_item(talker) == "scene.facing"
    talker.say("nose")
    assert open_item(talker) == "attach.wheels"


def test_on_the_deck_again_at_the_drop_the_end_at_the_truck_is_asked() -> None:
    talker = told(*OFF[: OFF.index("slack", OFF.index("off deck"))])
    talker.say("i moved the truck", "chocked", "on the deck", "secured")
    assert talker.job.value("facing") is None
    talker.say("level")
    assert open_item(talker) == "scene.facing"
    assert list(unmet(talker.job)) == []
    talker.say("nose")
    assert open_item(talker).startswith("drop.")
    assert list(unmet(talker.job)) == []


def test_on_the_lift_the_line_comes_off_before_the_truck_is_set_anew() -> None:
    """Somebody drove with one end up: nobody knows of the line, and lift and dollies carry it."""
    way = (*TO_MARGIN[: TO_MARGIN.index("nose")], "tail", "harrow", "heron", "yes", "not in")
    talker = told(*way, "Mallet", "set", "away", "go", "lifted", "wheels strapped")
    talker.say("dollies under", "dollies strapped", "chocks out", "driving now", "parked")
    assert open_item(talker) == "scene.unhook"
    assert list(unmet(talker.job)) == []


def test_not_ready_the_disconnects_are_looked_at_before_a_hand_off_at_the_drop() -> None:
    talker = told(
        *AT_DROP, "secured", "level", "opened the disconnect", "closed", "off", "boxed in"
    )
    assert open_item(talker) == "drop.disconnect_1"
    assert not isinstance(talker.job.next_item, HandOff)
    assert list(unmet(talker.job)) == []

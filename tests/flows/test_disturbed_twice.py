"""Jobs disturbed twice, as an exploration found them: each way once refused, or out of order."""

import pytest

from flows.routine.conditions.general import margin_allows
from flows.rules.safety import refusal
from flows.telling.render import render
from flows.turn.as_rules_see import world
from tests.explore.order_checks import unmet
from tests.flows.talker import TO_CLOSE, TO_NEUTRAL, open_item, told

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

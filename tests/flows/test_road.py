"""The road and the drop: acts that a driver takes back there, and the replies."""

import pytest

from tests.flows.talker import TO_CLOSE, TO_NEUTRAL, TO_ROAD, Talker, demo_library

TO_UNSTRAPPED = TO_CLOSE[: TO_CLOSE.index("straps off") + 1]


def told(*texts: str) -> Talker:
    talker = Talker(demo_library())
    talker.say(*TO_NEUTRAL, "neutral now", *texts)
    return talker


def test_a_stop_taken_back_with_a_strap_off_is_a_warning() -> None:
    talker = told(*TO_UNSTRAPPED)
    assert talker.job.acts["strap.left_rear"] == "off"
    heard = [reply.key for reply in talker.say("not pulled over")]
    assert talker.job.acts["rolling"] == "rolling"
    assert "says.rolling_untied" in heard
    assert "says.rolling_told" in heard


def test_a_stop_taken_back_with_every_strap_on_is_no_warning() -> None:
    talker = told(*TO_ROAD, "go", "parked")
    heard = [reply.key for reply in talker.say("not pulled over")]
    assert talker.job.acts["rolling"] == "rolling"
    assert "says.rolling_untied" not in heard


def test_an_unclear_message_on_the_way_down_offers_to_stop_the_winch() -> None:
    down = TO_CLOSE[: TO_CLOSE.index("off deck")]
    talker = told(*down)
    assert talker.job.acts["winch"] == "paying"
    assert [reply.key for reply in talker.say("wibble")] == ["says.unclear_pull_1"]


@pytest.mark.parametrize("taken_back", ["not on deck", "off deck"])
def test_a_vehicle_in_doubt_on_the_deck_is_checked_before_the_road(taken_back: str) -> None:
    talker = told(*TO_ROAD, "go", "parked", "on the way", "looked at", "same")
    assert talker.job.next_item is not None
    assert talker.job.next_item.id == "road.on"
    talker.say(taken_back, "chocked")
    assert talker.job.next_item.id == "road.aboard"
    assert not any(reply.key == "says.refused" for reply in talker.replies)
    talker.say("on deck")
    assert talker.job.acts["deck"] == "deck"
    assert talker.job.next_item.id.startswith(("road.", "secure.", "margin."))


def test_a_vehicle_that_left_in_neutral_is_put_in_park_on_the_way() -> None:
    """A random walk found it: the step that sets Park is before the road, and was passed by."""
    talker = Talker(demo_library())
    talker.say(*TO_NEUTRAL, "neutral now", "confirmed", "chocks out", "away", "go", "on deck")
    talker.say("pulled over")
    assert talker.job.next_item is not None
    assert talker.job.next_item.acts == ("park_set",)
    talker.say("parked")
    assert talker.job.acts["gear"] == "park"
    assert talker.job.next_item.acts == ("strapped_left_front",)


def test_at_the_drop_with_a_strap_never_put_on_the_line_comes_first() -> None:
    """A walk found it: said to be at the drop from the middle of the straps."""
    talker = Talker(demo_library())
    talker.say(*TO_NEUTRAL, "neutral now", *TO_CLOSE[:6], "strapped", "pulled over")
    talker.say("arrived at the drop", "no signs")
    assert talker.job.acts["strap.right_rear"] != "on"
    assert talker.job.next_item is not None
    assert talker.job.next_item.id == "drop.straps"
    assert all(talker.job.acts.holds(act) for act in ("hooked", "line_on", "tension_on"))
    talker.say("i never hooked it")
    assert talker.job.next_item.id == "drop.hook"

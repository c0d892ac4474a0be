"""What exploring disturbed jobs found: each once more, as it was said."""

import pytest

from flows.job.events import Told
from flows.telling.render import render
from tests.explore.words_asked import acts_in
from tests.flows.talker import TO_CLOSE, TO_MARGIN, TO_NEUTRAL, open_item, told

TO_LINE = TO_NEUTRAL[: TO_NEUTRAL.index("tight") + 1]
SKATED = (*TO_LINE, "off", "skates", "skates under")
FREED = ("ended", "unlocked", "still stuck", "ajar", "opened", "pinned", "go", "pulled", "out",
         "unpinned", "closed")  # fmt: skip
AT_DROP = (*TO_NEUTRAL, "neutral now", *TO_CLOSE[: TO_CLOSE.index("off deck") + 1])


def test_a_weight_said_while_nothing_is_asked_is_not_met_with_silence() -> None:
    talker = told(*TO_LINE, "i am hurt")
    replies = talker.say("it weighs 4600 pounds")
    assert [one.key for one in replies if one.to == "driver"] == ["says.still_held"]
    assert "says.read_back" in [one.key for one in talker.say("resume")]


def test_what_was_hit_is_looked_at_again_before_it_is_hooked_again() -> None:
    crashed = [text.replace("breakdown", "crash") for text in TO_LINE]
    crashed.insert(crashed.index("understood"), "sound")
    talker = told(*crashed)
    assert "attach.sound" in talker.job.done
    talker.say("hold", "unhooked")
    talker.say("resume", after_s=660)
    while open_item(talker).startswith("recover."):
        talker.say("stopped", "chocked")
    talker.say("understood")
    assert open_item(talker) == "attach.sound"


def test_chocks_that_came_out_for_a_pull_in_park_go_in_before_neutral() -> None:
    talker = told(*SKATED, "chocks out", "away")
    assert open_item(talker) == "slide.go"
    talker.say("it woke up", "on")
    assert open_item(talker) == "neutral.chock"
    talker.say("chocked")
    assert open_item(talker) == "neutral.pause"


def test_a_line_in_doubt_comes_off_before_a_truck_that_moved_is_set_again() -> None:
    talker = told(*AT_DROP, "parked")
    talker.say("i moved the truck", "chocked")
    assert open_item(talker) == "drop.slacken"
    talker.say("slack", "line off")
    assert open_item(talker) == "drop.truck"


def test_somebody_in_the_path_at_the_drop_is_behind_the_barrier_before_it_goes_on() -> None:
    talker = told(*AT_DROP, "parked", "chocked", "slack", "line off")
    talker.say("somebody is behind it")
    assert open_item(talker) == "scene.people"
    talker.say("behind")
    assert open_item(talker).startswith("drop.")


def test_what_is_boxed_in_is_chocked_first_not_left_to_the_line() -> None:
    talker = told(*TO_NEUTRAL, "neutral now", "confirmed", "chocks out", "away", "go")
    talker.happens(Told("truck_changed", talker.at))
    talker.say("boxed in now", "stopped")
    assert open_item(talker) == "turn.chock"
    talker.say("chocked")
    assert open_item(talker) == "turn.park"


def test_gear_that_went_under_it_on_the_way_is_tied_down_before_it_goes_on() -> None:
    way = (*TO_CLOSE[: TO_CLOSE.index("at the drop")], "on the way", "looked at")
    talker = told(*TO_NEUTRAL, "neutral now", *way, "braked axle on dollies")
    talker.say("tied down")
    assert open_item(talker) == "road.load"
    assert "secure.stow" in talker.job.done


@pytest.mark.parametrize("minutes", [16, 25.5])
def test_a_warning_of_neutral_orders_no_pull(minutes: float) -> None:
    """Somebody may stand in the path, or danger be seen: it says only how much is left."""
    talker = told(*TO_NEUTRAL, "neutral now", "confirmed", "smoke", "away", "called")
    assert talker.job.acts["danger"] == "seen"
    said = [render(one).spoken for one in talker.wait(60 * minutes) if one.to == "driver"]
    assert any("left at most" in text for text in said)
    assert [act for text in said for act in acts_in(text)] == []


def test_whoever_asks_for_the_point_in_danger_is_not_told_to_hook() -> None:
    talker = told(*TO_MARGIN, "smoke")
    said = [render(one).spoken for one in talker.say("where do i hook")]
    assert any("right tow socket" in text for text in said)
    assert [act for text in said for act in acts_in(text)] == []


def test_skates_that_are_under_it_are_no_reason_to_hand_it_off() -> None:
    talker = told(*TO_LINE[: TO_LINE.index("all roll")], "locked", "none")
    assert open_item(talker) == "attach.will_not_roll"
    talker.say("skates are under")
    assert open_item(talker) == "attach.keep_off"


def test_neutral_before_the_line_is_on_leaves_out_no_figure() -> None:
    """The load that may change the margin, and the pull against the winch, come before a hook."""
    to_end = TO_MARGIN[: TO_MARGIN.index("level")]
    talker = told(*to_end, "neutral 20 minutes ago", *TO_MARGIN[TO_MARGIN.index("level") :])
    talker.say("on", "not in")
    assert talker.job.acts["gear"] == "neutral"
    assert talker.job.pull_word == "fits"


def test_where_it_is_is_asked_before_anything_is_winched_down() -> None:
    talker = told(*TO_NEUTRAL, "neutral now", *TO_CLOSE[: TO_CLOSE.index("straps off") + 1])
    talker.say("not on deck")
    assert talker.job.acts["deck"] == "unknown"
    said = [render(one).spoken for one in talker.say("chocked")]
    assert open_item(talker) == "drop.down"
    assert [act for text in said for act in acts_in(text)] == []
    talker.say("on deck")
    assert open_item(talker).startswith("drop.")
    assert talker.job.acts["deck"] == "deck"


def test_neutral_said_again_by_a_way_without_a_hold_lengthens_no_window() -> None:
    """Ready gone, the card's other way promises nothing: the hold that began is not given up."""
    talker = told(*(text.replace("harrow", "fieldfare") for text in TO_NEUTRAL), "neutral now")
    first = talker.job.window
    assert first is not None
    assert first.ends_ns is not None
    for again in (
        ("ready light is off", "neutral 1 minute ago"),
        ("not in neutral", "in neutral"),
    ):
        keys = [one.key for one in talker.say(*again)]
        now = talker.job.window
        assert now is not None
        assert now.ends_ns is not None
        assert now.serial > first.serial
        assert now.ends_ns <= first.ends_ns
        assert "says.window_open" in keys


@pytest.mark.parametrize("gear", ["we have skates", "we have dollies", ""])
def test_not_ready_the_disconnect_comes_before_any_way_around(gear: str) -> None:
    """Said early, before anybody asked, that it is not ready changes nothing of the order."""
    talker = told(*TO_MARGIN, "yes", "stuck", *FREED, "ready light is off", *filter(None, [gear]))
    talker.say("all roll", "understood", "hooked", "away", "tight")
    assert open_item(talker) == "neutral.disconnect_1"
    talker.say("closed", "off")
    assert open_item(talker) in {"skate.under", "skate.braked", "neutral.under"}


def test_not_ready_on_skates_the_disconnect_comes_before_the_chocks_come_out() -> None:
    talker = told(*TO_MARGIN, "yes", "stuck", *FREED, "locked", "skates", "understood", "hooked")
    talker.say("away", "tight", "skates under", "off")
    assert open_item(talker) == "neutral.disconnect_1"
    talker.say("closed", "off")
    assert open_item(talker) == "skate.all"


def test_who_left_before_the_straps_were_taken_up_does_it_at_the_stop() -> None:
    strapped = TO_CLOSE[: TO_CLOSE.index("slack") + 1]
    talker = told(*TO_NEUTRAL, "neutral now", *strapped, "driving now")
    talker.say("parked", "on the way", "none")
    assert open_item(talker) == "secure.settle"
    talker.say("firm")
    assert open_item(talker) == "secure.photos"

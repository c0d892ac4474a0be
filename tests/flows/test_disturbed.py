"""What exploring disturbed jobs found: each once more, as it was said."""



from tests.flows.talker import (
    TO_CLOSE,
    TO_NEUTRAL,
    open_item,
    told,
)

TO_LINE = TO_NEUTRAL[: TO_NEUTRAL.index("tight") + 1]
SKATED = (*TO_LINE, "off", "skates", "skates under")
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

"""What is told before a step, without a turn: the tow eye, the magnet, the loaded height."""

from dataclasses import replace

from flows.job.state import Conclusion
from flows.telling.render import render
from flows.telling.told_before import told_before
from tests.flows.talker import TO_MARGIN, TO_NEUTRAL, TO_ROAD, open_item, told

AT_HOOK = TO_NEUTRAL[: TO_NEUTRAL.index("hooked")]
NO_CARD = (*TO_MARGIN[:-2], "combustion", "no card", "car", "midsize", "front wheel drive",
           "heron", "not sure", "yes", "all roll")  # fmt: skip


def test_a_tow_eye_goes_fully_in_and_is_pulled_straight() -> None:
    talker = told(*AT_HOOK)
    assert open_item(talker) == "attach.hook"
    eye, hook = (render(one) for one in talker.replies[-2:])
    assert eye.spoken == "Screw the tow eye in until it stops. Pull straight only."
    assert hook.spoken.startswith("Hook the line")


def test_it_is_told_once_and_not_with_another_device() -> None:
    talker = told(*AT_HOOK)
    assert [one.key for one in talker.say("repeat")] == ["items.attach.hook"]
    shackle = told(*TO_MARGIN[:-2], "corncrake", "all wheel drive", "midsize pickup", "heron",
                   "yes", "not in", "all roll", "understood")  # fmt: skip
    assert open_item(shackle) == "attach.hook"
    assert "says.tow_eye" not in {one.key for one in shackle.replies}


def test_without_a_card_a_magnet_rules_places_out() -> None:
    talker = told(*NO_CARD)
    assert open_item(talker) == "attach.shown"
    assert talker.replies[-2].key == "says.magnet"
    assert "says.magnet" not in {one.key for one in told(*AT_HOOK).replies}


def test_the_loaded_height_is_told_where_it_is_near_or_unknown() -> None:
    talker = told(*TO_NEUTRAL, "neutral now", *TO_ROAD[:-1])
    assert open_item(talker) == "secure.photos"
    assert told_before(talker.job, "secure.photos") == ""
    margin = talker.job.margin
    assert margin is not None
    near = {**margin.result, "lengths": [{"name": "overall height", "margin_in": 12}]}
    tight = replace(talker.job, margin=Conclusion(margin.seq, margin.rests_on, near))
    assert told_before(tight, "secure.photos") == "height_near"
    assert told_before(told(*NO_CARD).job, "secure.photos") == "height_unknown"

"""The small words of the radio: they count where they are safe, and are asked about where not."""

import pytest

from flows.telling.render import render
from tests.flows.talker import DISPATCHER, TO_NEUTRAL, TO_ROAD, Talker, open_item, told

HOOK = TO_NEUTRAL[: TO_NEUTRAL.index("hooked")]
AT_GO = (*TO_NEUTRAL, "neutral now", "confirmed", "chocks out", "away")
ON_THE_ROAD = (*TO_NEUTRAL, "neutral now", *TO_ROAD, "go")
BARE = ("yes", "yup", "ok", "copy", "copy that", "10-4", "ten four", "roger", "roger that")


def spoken(talker: Talker, said: str) -> list[str]:
    return [render(one).spoken for one in talker.say(said) if one.to == "driver"]


@pytest.mark.parametrize("said", BARE)
def test_a_critical_step_says_why_once_and_asks_for_its_word(said: str) -> None:
    talker = told(*HOOK)
    assert spoken(talker, said) == [
        "That may only mean you heard me.",
        "Hook the line at the right tow socket. Say hooked.",
    ]
    assert not talker.job.acts.holds("hooked")
    again = spoken(talker, said)
    assert "That may only mean you heard me." not in again, "once"
    assert not talker.job.acts.holds("hooked")


@pytest.mark.parametrize("said", ["yup", "yes", "yes sir", "yeah"])
def test_a_yes_of_any_kind_answers_a_question_that_asks_for_one(said: str) -> None:
    talker = told(*HOOK, "weighs 6400 pounds")
    talker.say(said)
    assert talker.job.value("weight") == 6400


@pytest.mark.parametrize("said", ["copy", "10-4", "roger"])
def test_that_it_was_heard_is_no_yes(said: str) -> None:
    talker = told(*HOOK, "weighs 6400 pounds")
    talker.say(said)
    assert talker.job.value("weight") is None
    assert talker.job.pending is not None


@pytest.mark.parametrize("said", ["copy", "10-4", "noted"])
def test_an_alarm_is_acknowledged_by_it(said: str) -> None:
    talker = told(*AT_GO, "go", "it's rolling away")
    assert talker.job.alarm is not None
    assert "Noted." in spoken(talker, said)
    assert talker.job.alarm is None


@pytest.mark.parametrize("said", ["copy", "noted", "10-4"])
def test_dispatch_acknowledges_by_it(said: str) -> None:
    talker = told(*HOOK)
    (reply,) = talker.say(said, who=DISPATCHER)
    assert reply.key == "says.noted"


def test_send_it_is_a_go_at_a_pause_and_nowhere_else() -> None:
    talker = told(*HOOK, "send it")
    assert open_item(talker) == "attach.hook"
    talker = told(*AT_GO, "send it")
    assert open_item(talker) == "neutral.deck"


@pytest.mark.parametrize("said", ["give me a sec", "gimme a minute", "hang on", "just a sec"])
def test_a_moment_is_given(said: str) -> None:
    talker = told(*HOOK)
    assert spoken(talker, said) == ["Paused. Say resume to go on."]


@pytest.mark.parametrize("said", ["what now", "say that another way", "how do you mean"])
def test_whoever_is_lost_hears_it_again(said: str) -> None:
    assert spoken(told(*HOOK), said) == ["Hook the line at the right tow socket. Say hooked."]


@pytest.mark.parametrize("said", ["smoke", "fire", "it's coming loose", "somebody's hurt", "stop"])
def test_an_emergency_is_heard_on_the_road(said: str) -> None:
    talker = told(*ON_THE_ROAD)
    assert any(one.priority == "stop" for one in talker.say(said))

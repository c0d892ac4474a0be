"""Who is told of it, and when: alarms that nobody answers, a take-over, silence never."""

import pytest

from flows.telling.reply import Reply
from tests.flows.talker import DISPATCHER, OTHER_DRIVER, TO_CLOSE, TO_NEUTRAL, Talker, demo_library


def talker(*said: str) -> Talker:
    found = Talker(demo_library())
    found.say(*said)
    return found


def to(whom: str, replies: list[Reply]) -> list[str]:
    return [reply.key.removeprefix("says.") for reply in replies if reply.to == whom]


def test_an_unanswered_end_is_repeated_and_dispatch_hears_after_120_s() -> None:
    """The end of the hold repeats at 60 s and 180 s; dispatch hears within 120 s."""
    job = talker(*TO_NEUTRAL, "neutral now", *TO_CLOSE[:4])
    window = job.job.window
    assert window is not None
    assert window.ends_ns is not None
    heard: list[tuple[int, str, str]] = []
    while (job.at.mono_ns - window.ends_ns) // 10**9 < 240:
        said = job.tick() if job.timers else job.wait(300)
        after = (job.at.mono_ns - window.ends_ns) // 10**9
        heard += [(after, one.to, one.key) for one in said if after >= 0]
    ends = [after for after, whom, key in heard if (whom, key) == ("driver", "says.window_end")]
    assert ends == [0, 60, 180]
    assert [a for a, whom, key in heard if (whom, key) == ("dispatchers", "says.silent_told")] == [
        120
    ]


def test_an_end_that_is_answered_is_not_repeated() -> None:
    job = talker(*TO_NEUTRAL, "neutral now", "confirmed")
    while job.job.window is None or job.job.window.state == "open":
        job.tick()
    job.say("noted")
    assert "window_end_held" not in to("driver", job.wait(240))


def test_the_hold_that_ended_before_it_was_said_is_told_with_the_chocks_in() -> None:
    job = talker(*TO_NEUTRAL)
    said = job.say("neutral an hour ago")
    # One stop, then the pause: never "chock both ways" together with "neutral is next".
    assert to("driver", said)[0] == "window_end_held"
    assert "window_end_parked" not in to("driver", said)


def test_a_take_over_in_mid_pull_stops_both_drivers_and_dispatch_hears_of_it() -> None:
    job = talker(*TO_NEUTRAL, "neutral now", *TO_CLOSE[:4])
    before = len(job.replies)
    job.say("take over", who=OTHER_DRIVER)
    said = job.replies[before:]
    old = [one for one in said if one.to == "driver" and one.job.at_vehicle == "p1"]
    new = [one for one in said if one.to == "driver" and one.job.at_vehicle == "p2"]
    assert [one.key for one in old] == ["says.taken_from_you"]
    assert new[-1].item == "recover.stop"
    assert "taken_over_told" in to("dispatchers", said)


@pytest.mark.parametrize("text", ["chocked", "back", "stop", "it weighs 4600 pounds", "hm"])
@pytest.mark.parametrize("who", [DISPATCHER, OTHER_DRIVER])
def test_nobody_else_is_met_with_silence(text: str, who: object) -> None:
    job = talker(*TO_NEUTRAL)
    assert [one for one in job.say(text, who=who) if one.to != "driver"]  # type: ignore[arg-type]


@pytest.mark.parametrize("text", ["chocked", "tight", "back", "nose", "it is nose first"])
def test_the_driver_hears_the_question_again_after_what_changes_nothing(text: str) -> None:
    job = talker(*TO_NEUTRAL)
    said = job.say(text)
    assert said[-1].answer.kind != "nothing"
    assert said[-1].to == "driver"


def test_a_hold_before_the_pull_puts_no_winch_in_doubt() -> None:
    job = talker(*TO_NEUTRAL)
    job.say("hold")
    job.wait(660)
    job.say("resume")
    assert job.job.acts["winch"] == "still"
    assert job.job.next_item is not None
    assert job.job.next_item.id == "neutral.pause"

"""Weights and times as people say them in a job: nothing of them is cut off in silence."""

import pytest

from flows.job.events import MINUTE_NS
from flows.telling.render import render
from tests.flows.talker import TO_FAMILY, TO_NEUTRAL, open_item, told

# Weights


@pytest.mark.parametrize(
    ("said", "high", "shown"),
    [
        ("6000 to 6500 lb", 6500, "6,000 to 6,500 lb"),
        ("five to six thousand", 6000, "5,000 to 6,000 lb"),
        ("between five and six thousand pounds", 6000, "5,000 to 6,000 lb"),
        ("4600-4800", 4800, "4,600 to 4,800 lb"),
        # 1 kg is 2.20462 lb (NIST SP 811, appendix B), rounded up at the high end.
        ("2700 to 2800 kg", 6173, "6,173 lb"),
    ],
)
def test_of_a_range_both_ends_are_said_and_the_high_one_decides(
    said: str, high: int, shown: str
) -> None:
    talker = told(*TO_FAMILY, said)
    text = render(talker.replies[-1])
    assert text.spoken.startswith("I'll use the higher figure.")
    assert shown in text.shown
    talker.say("yes")
    assert talker.job.value("weight") == high


@pytest.mark.parametrize("said", ["over 4600 lb", "a bit over 4600", "at least 4600 lb",
                                  "more than forty six hundred pounds", "4600 plus"])  # fmt: skip
def test_over_a_number_is_said_back_as_over(said: str) -> None:
    talker = told(*TO_FAMILY, said)
    text = render(talker.replies[-1])
    assert text.spoken == "You said over. Four six zero zero pounds. Yes or no?"
    assert "say the most" in text.shown
    assert told(*TO_FAMILY, said, "4900 lb", "yes").job.value("weight") == 4900
    talker.say("yes")
    assert talker.job.value("weight") == 4600


@pytest.mark.parametrize("said", ["about 4600", "4600 or so", "up to 4600", "4600 lb"])
def test_about_a_number_is_read_back_as_it_is(said: str) -> None:
    talker = told(*TO_FAMILY, said)
    assert render(talker.replies[-1]).spoken == "Four six zero zero pounds. Yes or no?"


@pytest.mark.parametrize("said", ["4600 lb plus 300 lb", "4600 lb with 300 lb of tools",
                                  "front 2400 lb rear 2200 lb"])  # fmt: skip
def test_two_weights_are_never_one_of_them(said: str) -> None:
    talker = told(*TO_FAMILY, said)
    assert "says.two_weights" in {reply.key for reply in talker.replies}
    talker.say("yes")
    assert talker.job.value("weight") is None
    talker.say("4900 pounds", "yes")
    assert talker.job.value("weight") == 4900


# When neutral was selected


def left_after(*texts: str) -> int:
    """Return the whole minutes that are left of a 30-minute hold, 0 once it has ended."""
    talker = told(*TO_NEUTRAL, "neutral", *texts)
    window = talker.job.window
    assert window is not None
    assert window.ends_ns is not None
    return max(window.ends_ns - talker.at.mono_ns, 0) // MINUTE_NS


@pytest.mark.parametrize(
    ("said", "most"),
    [("3", 27), ("three", 27), ("ten", 20), ("1", 29), ("about 5", 25), ("3 or 4", 26),
     ("3 to 5 minutes ago", 25), ("twenty five", 5), ("0", 30), ("40", 0)],
)  # fmt: skip
def test_a_bare_number_is_minutes_ago_and_only_shortens(said: str, most: int) -> None:
    """S10: of several readings the earliest start counts."""
    assert most - 2 <= left_after(said) <= most or left_after(said) == most == 0
    assert left_after(said) <= left_after("now")


def test_each_way_the_hint_names_works() -> None:
    """ "Say now, or three minutes ago": whoever repeats one of them is understood."""
    talker = told(*TO_NEUTRAL, "neutral", "xyzzy", "xyzzy")
    hint = next(
        render(one).spoken for one in talker.replies[::-1] if one.key != "says.or_emergency"
    )
    ways = [one.strip() for one in hint.removeprefix("Say ").rstrip(".").split(", or ")]
    assert len(ways) == 2
    for way in ways:
        talker = told(*TO_NEUTRAL, "neutral", way)
        assert talker.job.value("neutral_when") is not None, way


@pytest.mark.parametrize("said", ["confirmed", "it holds", "neutral confirmed", "neutral holds"])
def test_confirmed_is_taken_while_the_time_is_asked(said: str) -> None:
    talker = told(*TO_NEUTRAL, "neutral", said)
    assert talker.job.acts["neutral"] == "confirmed"
    assert open_item(talker) == "neutral.when", "the time is still wanted"
    talker.say("3")
    assert open_item(talker) == "neutral.chocks_out"

"""Every time of neutral that was heard is said back, as it was taken."""

import pytest

from flows.telling.render import render
from tests.flows.talker import TO_NEUTRAL, Talker, told


def echoed(talker: Talker, said: str) -> list[str]:
    heard = talker.say(said)
    return [render(one).spoken for one in heard if one.key.startswith("says.neutral_")]


@pytest.mark.parametrize(
    ("said", "echo"),
    [
        ("neutral, ten minutes ago", "Neutral ten minutes ago."),
        ("neutral since half an hour", "Neutral thirty minutes ago."),
        ("neutral, over ten minutes ago", "Neutral at least ten minutes ago."),
        ("neutral since twenty fifteen", "Neutral since twenty fifteen, thirteen minutes gone."),
        ("neutral at 20:15", "Neutral since twenty fifteen, thirteen minutes gone."),
        ("neutral at 8:15", "Neutral since twenty fifteen, thirteen minutes gone."),
        ("neutral, 20 15", "Neutral since twenty fifteen, thirteen minutes gone."),
    ],
)
def test_a_time_said_with_neutral_is_echoed(said: str, echo: str) -> None:
    talker = told(*TO_NEUTRAL)
    assert echoed(talker, said) == [echo]


@pytest.mark.parametrize("said", ["neutral now", "neutral"])
def test_now_is_no_time(said: str) -> None:
    assert echoed(told(*TO_NEUTRAL), said) == []


def test_a_time_said_afterwards_is_echoed() -> None:
    talker = told(*TO_NEUTRAL, "neutral now")
    assert echoed(talker, "no, make that five minutes ago") == ["Neutral five minutes ago."]
    assert echoed(talker, "no, at 20:20")[0].startswith("Neutral since twenty twenty,")
    assert echoed(told(*TO_NEUTRAL, "neutral"), "ten minutes ago") == ["Neutral ten minutes ago."]


@pytest.mark.parametrize(
    "said", ["no, at 20:20", "20:20", "it was at 20 20", "no, make that 20:20", "since 20:20"]
)
def test_a_time_of_day_alone_corrects_neutral(said: str) -> None:
    talker = told(*TO_NEUTRAL, "neutral now")
    begun = talker.job.window
    assert echoed(talker, said)[0].startswith("Neutral since twenty twenty,")
    assert begun is not None
    assert talker.job.window is not None
    assert talker.job.window.earliest_ns < begun.earliest_ns


def test_a_time_that_is_no_claim_is_not_echoed() -> None:
    assert echoed(told(*TO_NEUTRAL), "neutral at 23:15") == []

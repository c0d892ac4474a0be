"""A slope said from the truck is turned round, and read back with both ends named."""

import pytest

from flows.telling.render import render
from tests.flows.talker import DISPATCHER, TO_MARGIN, Talker, demo_library, open_item, told

TO_SLOPE = TO_MARGIN[: TO_MARGIN.index("level")]
ABOVE = "The vehicle stands above the truck. Yes or no?"
BELOW = "The vehicle stands below the truck. Yes or no?"


@pytest.mark.parametrize(
    ("said", "asked"),
    [
        ("I'm below it", ABOVE),
        ("im below it", ABOVE),
        ("the truck's downhill", ABOVE),
        ("truck is lower", ABOVE),
        ("my truck sits below the car", ABOVE),
        ("we're downhill of it", ABOVE),
        ("below it", ABOVE),
        ("it's above me", ABOVE),
        ("she's uphill of the truck", ABOVE),
        ("from the truck it's up", ABOVE),
        ("higher", ABOVE),
        ("I'm above it", BELOW),
        ("the truck's uphill", BELOW),
        ("rig sits higher than the car", BELOW),
        ("it's below me", BELOW),
        ("car's lower than the truck", BELOW),
        ("looking from my truck it's downhill", BELOW),
        ("down", BELOW),
    ],
)
def test_it_is_read_back_with_both_ends_and_counts_after_a_yes(said: str, asked: str) -> None:
    talker = told(*TO_SLOPE)
    assert render(talker.say(said)[-1]).spoken == asked
    assert talker.job.value("slope") is None
    talker.say("yes")
    assert talker.job.value("slope") == ("uphill" if asked == ABOVE else "downhill")


def test_a_no_asks_again() -> None:
    talker = told(*TO_SLOPE, "I'm below it", "no")
    assert talker.job.value("slope") is None
    assert open_item(talker) == "scene.slope"
    talker.say("downhill")
    assert talker.job.value("slope") == "downhill"


@pytest.mark.parametrize("said", ["uphill", "it is uphill", "level", "the truck's level with it"])
def test_the_words_of_the_question_answer_it(said: str) -> None:
    talker = told(*TO_SLOPE)
    talker.say(said)
    assert talker.job.value("slope") == ("uphill" if "uphill" in said else "level")


@pytest.mark.parametrize(
    "said", ["I'm not below it", "is the truck below it?", "he says the truck's lower",
             "the truck's downhill, I'm above it", "truck was below it"]
)  # fmt: skip
def test_what_is_denied_asked_or_contradicts_itself_is_none(said: str) -> None:
    talker = told(*TO_SLOPE)
    talker.say(said)
    assert talker.job.value("slope") is None
    assert talker.job.pending is None


def test_known_otherwise_the_worse_counts_at_once() -> None:
    talker = told(*TO_MARGIN)
    talker.say("the truck's downhill of it")
    assert talker.job.value("slope") == "uphill"


def test_somebody_else_says_it_turned_round_too() -> None:
    talker = Talker(demo_library())
    talker.say(*TO_SLOPE)
    talker.say("the truck's downhill of it", who=DISPATCHER)
    assert talker.job.value("slope") == "uphill"

"""Whatever of a message was not taken is said, in one sentence, where something else was."""

import pytest

from flows.hearing.left_out import MOST_WORDS
from flows.telling.render import render
from tests.flows.talker import PLACE, TO_MARGIN, TO_NEUTRAL, Talker, demo_library

TO_HOOK = TO_NEUTRAL[: TO_NEUTRAL.index("hooked")]
TO_CHOCK = TO_MARGIN[: TO_MARGIN.index("chocked")]


def left_out(to: tuple[str, ...], said: str) -> list[str]:
    """Return the sentences about what was not taken, and that whatever was asked for was."""
    talker = Talker(demo_library())
    talker.say(*to)
    return [render(one).spoken for one in talker.say(said) if one.key == "says.not_taken"]


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ("hooked, twelve volt's flat", "twelve volt's flat"),
        ("cold out here, hooked", "cold out here"),
        ("Hooked. Owner's dog barks", "Owner's dog barks"),
        ("hooked, away", "away"),
        ("hooked, real easy, wind's picking up again, boss", "wind's picking up again"),
    ],
)
def test_what_was_not_taken_is_said_back(said: str, words: str) -> None:
    assert left_out(TO_HOOK, said) == [f"Not taken, {words}."]


@pytest.mark.parametrize(
    "said",
    [
        "hooked",
        "hooked, boss",
        "ok, hooked, real easy, thanks",
        "hooked, to the tow eye",
        "hooked, line's on the eye",
        "yep. hooked it up. good and solid",
    ],
)
def test_nothing_is_said_of_small_words_or_of_more_about_it(said: str) -> None:
    assert left_out(TO_HOOK, said) == []


@pytest.mark.parametrize(
    "said", ["hooked, my back hurts", "hooked, i smell something", "hooked, sam might be pinned"]
)
def test_an_emergency_comes_alone(said: str) -> None:
    assert left_out(TO_HOOK, said) == []


def test_what_is_asked_about_anyway_is_not_said_twice() -> None:
    assert left_out(TO_HOOK, "chilly, wibble") == []
    assert left_out(TO_CHOCK, "chocked, on one side") == []


def test_a_long_rest_is_cut() -> None:
    (said,) = left_out(TO_HOOK, "hooked, coffee tastes like mud and old wet hay today")
    assert len(said.split()) == MOST_WORDS + 2


def test_it_goes_into_no_record() -> None:
    talker = Talker(demo_library())
    talker.say(*TO_HOOK, "hooked, twelve volt's flat")
    assert talker.replies[-2].key == "says.not_taken"
    assert "flat" not in repr(talker.job.facts)


def test_free_words_are_taken_whole() -> None:
    assert left_out(("new job breakdown",), PLACE) == []

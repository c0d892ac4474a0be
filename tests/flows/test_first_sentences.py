"""Sentences that were once taken for what they are not, each at the place where it was said."""

import pytest

from flows.telling.render import render
from tests.flows.talker import TO_MARGIN, TO_NEUTRAL, open_item, told

HOOKED = (*TO_NEUTRAL[: TO_NEUTRAL.index("hooked")], "hooked", "away")
TIGHT = (*HOOKED, "tight")


@pytest.mark.parametrize(
    "said", ["too tight", "tight but the hook slips", "they're tight, the nuts"]
)
def test_too_tight_is_not_tight(said: str) -> None:
    talker = told(*HOOKED)
    talker.say(said)
    assert not talker.job.acts.holds("tension_on")


@pytest.mark.parametrize(
    ("said", "act"),
    [
        ("hook is not on", "hooked"),
        ("no wait, line is not on", "line_on"),
        ("the hook's not on", "hooked"),
    ],
)
def test_what_is_denied_later_is_taken_back(said: str, act: str) -> None:
    talker = told(*TIGHT)
    assert talker.job.acts.holds(act)
    talker.say(said)
    assert not talker.job.acts.holds(act)


def test_straps_that_are_not_on_are_taken_back() -> None:
    talker = told(*TO_NEUTRAL, "neutral now", "confirmed", "chocks out", "away", "go", "on deck",
                  "parked", "strapped", "strapped", "strapped", "strapped")  # fmt: skip
    talker.say("straps are not on")
    assert talker.job.acts["strap.left_front"] != "on"


@pytest.mark.parametrize("said", ["it's still charging", "wibble", "not sure what you mean"])
def test_no_second_miss_gives_the_word_away(said: str) -> None:
    talker = told(*TO_MARGIN[: TO_MARGIN.index("chocked")])
    assert open_item(talker) == "scene.chock"
    told_back = [render(one).spoken for _ in range(3) for one in talker.say(said)]
    assert told_back
    misses = [one for one in told_back if not one.startswith("Chock the vehicle")]
    assert not any("chocked" in one.lower() for one in misses)


@pytest.mark.parametrize("said", ["at least fifteen", "20+", "over ten"])
def test_a_lower_bound_shortens_and_is_not_known(said: str) -> None:
    talker = told(*TO_NEUTRAL, "neutral")
    assert open_item(talker) == "neutral.when"
    full = talker.job.window
    talker.say(said)
    assert open_item(talker) == "neutral.when", "asked for the most"
    assert talker.job.window is not None
    assert full is not None
    assert talker.job.window.earliest_ns < full.earliest_ns


@pytest.mark.parametrize(
    ("said", "is_done"),
    [("chockd", True), ("chockd both ways", True), ("chock", False),
     ("chocky", False), ("chocke", False), ("chockin", False), ("shocked", False)],
)  # fmt: skip
def test_a_dropped_letter_is_mended_and_nothing_else(said: str, *, is_done: bool) -> None:
    talker = told(*TO_MARGIN[: TO_MARGIN.index("chocked")])
    talker.say(said)
    assert talker.job.acts.holds("chocks_in") is is_done

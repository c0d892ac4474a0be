"""On skates it stays in Park: nothing says of neutral what is not so, on the way up or down."""

import pytest

from flows.telling.render import render
from tests.flows.talker import PLACE, Talker, open_item, told

ON_SKATES = (
    "new job breakdown", PLACE, "none", "behind", "secured", "warned", "chocked", "too dark",
    "level", "nose", "harrow", "heron", "it wakes", "no cord", "all roll", "understood", "hooked",
    "away", "tight", "off", "none", "i have skates", "skates under",
)  # fmt: skip
UP = ("chocks out", "away", "go", "on deck", "parked", "all four strapped", "slack", "stowed",
      "firm", "too dark", "go", "parked", "at the drop", "secured", "level", "off", "understood",
      "hooked", "away", "tight", "straps off")  # fmt: skip


def spoken(talker: Talker, *words: str) -> str:
    said = [render(one) for one in talker.say(*words)]
    return " ".join(f"{one.spoken} {one.shown}" for one in said).lower()


@pytest.mark.parametrize("words", ["chocked", "chocks are in"])
def test_chocks_in_at_the_drop_come_out_in_park(words: str) -> None:
    talker = told(*ON_SKATES, *UP)
    assert open_item(talker) == "drop.go"
    said = spoken(talker, words)
    assert open_item(talker) == "drop.chocks_out"
    assert "neutral" not in said
    assert "park" in said


def test_no_step_on_skates_says_that_neutral_holds() -> None:
    talker = told(*ON_SKATES)
    said = spoken(talker, *UP, "chocked", "chocks out", "away", "go", "off deck")
    assert "neutral" not in said.replace("no way into neutral", "")
    assert talker.job.acts["gear"] == "park"


def test_in_neutral_it_says_so() -> None:
    talker = told(*ON_SKATES[:-4])
    said = spoken(talker, "on", "go", "neutral now", "confirmed")
    assert "neutral holds" in said

"""The draft of a card, from a job that had none: only answers that somebody gave."""

import tomllib

import pytest

from flows.errors import FlowError
from flows.reckoning.drafting import draft, hold_seen_min
from tests.flows.talker import TO_MARGIN, TO_NEUTRAL, TO_ROAD, told

AT_CARD = TO_MARGIN[:-2]
NO_CARD = (*AT_CARD, "electric", "no card", "suv", "small", "all wheel drive", "heron",
           "1M8GDM9AXKP042788", "yes", "not in", "all roll", "yes", "hooked", "away", "tight",
           "on", "go", "neutral now")  # fmt: skip


def test_it_has_every_answer_with_its_source() -> None:
    talker = told(*NO_CARD)
    talker.wait(600)
    talker.say("noted", *TO_ROAD[:6])
    text = draft(talker.job)
    found = tomllib.loads(text)
    assert (found["powertrain"], found["drive"]) == ("electric", "all")
    assert found["weight_class"] == talker.job.value("weight_class")
    assert hold_seen_min(talker.job) >= 10
    assert any("hold" in note for note in found["notes"])
    assert found["sources"]["drive"]["rank"] == "practice"
    assert found["sources"]["notes"]["rank"] == "practice"
    assert "1M8GDM9AXKP042788" not in text, "the number is private"


def test_a_weight_on_a_scale_is_measured() -> None:
    talker = told(*AT_CARD, "no card", "the scale ticket says 4100 pounds", "yes")
    found = tomllib.loads(draft(talker.job))
    assert found["notes"] == ["weight 4100 lb on a scale, as it sat"]
    assert found["sources"]["notes"]["rank"] == "measured"


def test_assumed_values_are_left_out() -> None:
    talker = told(*AT_CARD, "no card", "not sure", "pickup", "not sure", "not sure")
    with pytest.raises(FlowError, match="has nothing for a card"):
        draft(talker.job)


def test_a_job_with_a_card_has_no_draft() -> None:
    with pytest.raises(FlowError, match="used the card Harrow"):
        draft(told(*TO_NEUTRAL).job)

"""Questions back in the middle of things, and facts said where free words are asked."""

import pytest

from flows.telling.render import render
from tests.flows.talker import (
    PLACE,
    TO_FAMILY,
    TO_MARGIN,
    Talker,
    demo_library,
    open_item,
)

HARROW_ON_WREN = (*TO_MARGIN[:-1], "wren")


def asked(talker: Talker, words: str) -> str:
    """Return the first thing said back to words."""
    before = len(talker.replies)
    talker.say(words)
    return render(talker.replies[before]).spoken


def one_that(*said: str) -> Talker:
    talker = Talker(demo_library())
    talker.say(*said)
    return talker


@pytest.mark.parametrize(
    "words", ["what was the weight again", "how heavy is it", "what does it weigh?"]
)
def test_the_weight_is_told_as_the_margin_reckons_with_it(words: str) -> None:
    talker = one_that(*HARROW_ON_WREN)
    weights = demo_library().vehicles["harrow"].weights
    assert weights is not None
    assert [weights.front_lb, weights.rear_lb] == [2410, 2550], "they sum to what is told"
    assert asked(talker, words) == "Four nine six zero pounds."


def test_a_class_weight_is_told_with_both_ends() -> None:
    talker = one_that(*TO_FAMILY, "suv", "compact suv", "all", "heron")
    said = asked(talker, "how heavy is it")
    assert said.startswith("Likely ")
    assert " pounds. At most " in said


@pytest.mark.parametrize("words", ["what was the weight again", "margin", "what helps"])
def test_before_there_is_a_margin_that_is_said(words: str) -> None:
    talker = one_that("new job breakdown", PLACE, "none")
    assert "No margin yet" in asked(talker, words)


def test_what_helps_is_told_of_a_close_one_and_of_a_go() -> None:
    close = one_that(*HARROW_ON_WREN)
    assert close.job.verdict == "close"
    assert "another truck" in asked(close, "what would make it a go")
    go = one_that(*TO_MARGIN)
    assert go.job.verdict == "go"
    assert "It's a go as it is" in asked(go, "what helps")


def test_the_margin_is_told_again_and_nothing_is_settled_by_it() -> None:
    talker = one_that(*HARROW_ON_WREN)
    facts, acts = talker.job.facts, talker.job.acts
    assert asked(talker, "what was the margin again").startswith("Close. Rear axle governs")
    assert (talker.job.facts, talker.job.acts) == (facts, acts)


@pytest.mark.parametrize("words", ["looks fine", "all clear", "nothing wrong"])
def test_no_danger_is_said_in_more_ways_than_one(words: str) -> None:
    assert one_that("new job breakdown", PLACE, words).job.value("danger") == "none"


def test_a_fact_alone_is_no_answer_in_free_words() -> None:
    talker = one_that("new job breakdown", "its a rear wheel drive")
    assert talker.job.value("drive") == "rear"
    assert talker.job.value("place") is None
    talker.say("mile 9")
    assert talker.job.value("place") is not None


def test_said_once_more_it_is_the_answer() -> None:
    """Whoever insists is right: a place may be called like a fact."""
    talker = one_that("new job breakdown", "downhill")
    assert talker.job.value("place") is None
    talker.say("downhill")
    assert talker.job.value("place") is not None


def test_cannot_with_a_reason_is_said_in_short_too() -> None:
    talker = one_that("new job breakdown", PLACE, "none", "behind", "secured", "warned", "chocked")
    assert asked(talker, "can't, too dark") == "Noted, no photos."


def test_who_called_the_job_in_called_no_fire_service() -> None:
    talker = one_that("new job breakdown", PLACE, "none", "the owner called it in")
    assert talker.job.acts["help"] == "not_called"


def test_a_release_without_its_time_is_asked_for_the_time() -> None:
    talker = one_that("new job", "smoke", "away", "called", "county fire", "yes")
    assert asked(talker, "released").startswith("When was that?")
    assert talker.job.acts["danger"] == "seen"


@pytest.mark.parametrize("words", ["hook's on", "the hook is on"])
def test_what_is_said_with_is_is_what_is_said_without(words: str) -> None:
    talker = one_that(*TO_MARGIN, "yes", "not in", "all roll", "understood", words)
    assert talker.job.acts["hook"] == "on"


def test_a_question_with_is_in_it_does_nothing() -> None:
    talker = one_that(*TO_MARGIN, "yes", "not in", "all roll", "understood", "is the hook on")
    assert talker.job.acts["hook"] == "off"


def test_one_wheel_is_no_weight_where_a_weight_may_be_said() -> None:
    talker = one_that(*TO_FAMILY, "one wheel is locked")
    assert talker.job.value("wheels") == "locked"
    assert talker.job.pending is None


def test_a_weight_is_no_place() -> None:
    talker = one_that("new job breakdown", "label says 3400 pounds")
    assert talker.job.value("place") is None
    talker.say("yes", "mile 9")
    assert (talker.job.value("weight"), talker.job.value("place") is None) == (3400, False)


def test_what_is_no_vin_may_be_something_else() -> None:
    talker = one_that(*TO_FAMILY, "car", "midsize", "front", "heron")
    assert talker.job.next_item is not None
    assert talker.job.next_item.id == "destination.vin"
    talker.say("one wheel is locked")
    assert talker.job.value("wheels") == "locked"
    assert asked(talker, "abc") != ""
    assert talker.job.next_item.id == "destination.vin"


def test_a_bare_phone_number_is_how_the_owner_is_reached() -> None:
    place = "mile 9, goes to the county yard, they take it, ordered by police, planned tow"
    talker = one_that("new job breakdown", place, *TO_MARGIN[2:])
    assert talker.job.next_item is not None
    assert talker.job.next_item.id == "destination.owner"
    talker.say("555 0142")
    assert talker.job.value("owner_contact") is not None


_OPENS = ("new job breakdown", PLACE, "none", "behind", "secured", "warned", "chocked", "too dark")
NO_GOES = {
    "margin.no_go": ((*HARROW_ON_WREN, "it weighs 5200 pounds", "yes"),
                     "No-go. Rear axle governs,"),
    "turn.no_go": ((*_OPENS, "level", "tail", "harrow", "godwit", "it wakes", "no cord",
                    "it weighs 9500 pounds", "yes", "mallet"),
                   "No-go. Mallet lifts it."),
    "plan.weak": (("new job breakdown", PLACE, *_OPENS[2:], "it is in the mud", "downhill", "nose",
                   "dunlin", "wren", "it wakes", "no"), "The line pulls"),
    "plan.long": ((*_OPENS, "level", "nose", "corncrake", "all wheel drive", "midsize pickup",
                   "godwit", "it wakes", "not plugged in", "ninety feet", "yes"), "It takes"),
}  # fmt: skip
"""A no-go of each figure: how it comes to it, and how this no-go is told."""


@pytest.mark.parametrize("words", ["why not", "why no-go", "why not?", "why can't it"])
@pytest.mark.parametrize("item", NO_GOES)
def test_why_not_tells_the_no_go_that_is_open(item: str, words: str) -> None:
    way, begins = NO_GOES[item]
    talker = one_that(*way)
    assert open_item(talker) == item
    assert asked(talker, words).startswith(begins)
    assert open_item(talker) == item


def test_going_on_names_no_service_that_released_it() -> None:
    """Once "go on with it" was held as the service's name, and the real one said next was lost."""
    talker = one_that("new job breakdown", PLACE, "smoke", "away", "called")
    assert open_item(talker) == "danger.released_by"
    talker.say("go on with it")
    assert talker.job.pending is None
    talker.say("county fire")
    assert talker.job.pending is not None
    assert talker.job.pending.value == "county fire"

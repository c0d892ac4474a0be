"""A card counts for the variant it is of: told by what is seen, or taken for no card."""

import pytest

from flows.telling.render import render
from tests.flows.talker import DISPATCHER, TO_MARGIN, Talker, demo_library, open_item, told

AT_CARD = TO_MARGIN[:-2]
BY_DISPATCH = "new job, breakdown, mile 9, harrow"


def by_dispatch() -> Talker:
    talker = Talker(demo_library())
    talker.say(BY_DISPATCH, who=DISPATCHER)
    talker.say("take over", *AT_CARD[2:])
    return talker


def test_who_names_a_card_hears_what_tells_it() -> None:
    replies = told(*AT_CARD).say("harrow")
    assert render(replies[0]).spoken == "Harrow, with two motor badges. If not, say no card."
    assert "says.echo" not in {one.key for one in replies}


@pytest.mark.parametrize("said", ["no card", "wrong variant", "it is another variant"])
def test_another_variant_is_no_card(said: str) -> None:
    talker = told(*AT_CARD, "harrow", said)
    assert talker.job.value("card") == "none"
    assert talker.job.value("weight_class") is None


def test_a_card_that_dispatch_named_is_confirmed_at_the_vehicle() -> None:
    talker = by_dispatch()
    assert open_item(talker) == "vehicle.variant"
    talker.say("yes")
    assert talker.job.value("card") == "harrow"
    assert open_item(talker) == "margin.truck"


@pytest.mark.parametrize("said", ["no", "not sure"])
def test_without_a_yes_it_is_no_card(said: str) -> None:
    talker = by_dispatch()
    talker.say(said)
    assert talker.job.value("card") == "none"


def test_another_card_is_told_anew() -> None:
    talker = told(*AT_CARD, "harrow")
    assert talker.say("dunlin")[0].key == "says.card_variant"


def test_the_question_shows_what_tells_each_card() -> None:
    talker = told(*AT_CARD, "combustion")
    assert open_item(talker) == "vehicle.card"
    assert "Dunlin: four doors." in render(talker.replies[-1]).shown

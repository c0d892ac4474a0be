"""The vehicle's number: taken at any time, asked for once without a card, in nobody's way."""

import pytest

from flows.job.entries import Private
from flows.job.events import Heard
from flows.telling.render import render
from flows.turn.advance import advance
from tests.flows.talker import DISPATCHER, DRIVER, TO_MARGIN, TO_NEUTRAL, open_item, told

PUBLISHED = "1M8GDM9AXKP042788"
"""The sample number of 49 CFR 565."""
NO_CARD = (*TO_MARGIN[:-2], "combustion", "no card", "car", "midsize", "front wheel drive",
           "heron", "yes")  # fmt: skip


@pytest.mark.parametrize(
    "said",
    [
        PUBLISHED,
        f"vin {PUBLISHED}",
        f"the vin is {PUBLISHED.lower()}",
        f"vin {PUBLISHED[:8]} {PUBLISHED[8:]}",
        "vin one mike eight golf delta mike nine, alfa xray kilo papa zero four two seven "
        "eight eight",
    ],
)
@pytest.mark.parametrize("until", [8, len(TO_NEUTRAL)])
def test_it_is_taken_at_any_time_and_what_is_open_stays(said: str, until: int) -> None:
    talker = told(*TO_NEUTRAL[:until])
    was = open_item(talker)
    replies = talker.say(said)
    assert talker.job.value("vin") == PUBLISHED
    assert open_item(talker) == was
    assert replies[0].key == "says.vin_kept"


def test_dispatch_may_give_it_in_the_opening() -> None:
    talker = told()
    talker.say(f"new job breakdown, mile 9, vin {PUBLISHED}", who=DISPATCHER)
    assert (talker.job.value("vin"), talker.job.value("place")) == (PUBLISHED, "mile 9")


def test_it_is_asked_for_once_and_only_without_a_card() -> None:
    assert open_item(told(*NO_CARD)) == "destination.vin"
    assert "destination.vin" not in {one.item for one in told(*TO_NEUTRAL).replies}


@pytest.mark.parametrize(
    "said", ["not sure", "can't read it", "no vin", "it is covered", "cannot"]
)
def test_who_cannot_read_it_goes_on_at_once(said: str) -> None:
    talker = told(*NO_CARD, said)
    assert open_item(talker) == "access.wakes"
    assert talker.job.value("vin") == "not read"


def test_a_wrong_check_digit_is_a_warning_and_goes_on() -> None:
    talker = told(*NO_CARD)
    replies = talker.say(PUBLISHED[:-1] + "9")
    assert replies[0].key == "says.vin_check"
    assert PUBLISHED[:-1] + "9" in render(replies[0]).shown
    assert open_item(talker) == "access.wakes"


def test_letters_that_are_taken_for_others_are_named() -> None:
    shown = render(told(*NO_CARD, PUBLISHED).replies[-3]).shown
    assert "8 or 3" in shown


def test_what_is_no_number_asks_for_one() -> None:
    talker = told(*NO_CARD, "on the dash")
    assert open_item(talker) == "destination.vin"
    assert talker.job.value("vin") is None


def test_only_a_commitment_to_it_stands_in_the_record() -> None:
    talker = told(*NO_CARD)
    turn = advance(talker.job, Heard(DRIVER, talker.at, PUBLISHED))
    given = [one.body["value"] for one, _ in turn.entries if one.kind == "fact"]
    assert given == [Private(PUBLISHED)]

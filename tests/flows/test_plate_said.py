"""The plate: asked before anybody touches the vehicle, taken at any time, in nobody's way."""

import pytest

from flows.hearing.vins import plate_of
from flows.job.entries import Private
from flows.job.events import Heard
from flows.turn.advance import advance
from tests.flows.talker import DISPATCHER, DRIVER, TO_CLOSE, TO_MARGIN, TO_NEUTRAL, open_item, told

TO_PLATE = tuple(said.removesuffix(", plate KTR 4821") for said in TO_MARGIN)


def test_it_is_asked_for_once_before_anybody_touches_the_vehicle() -> None:
    talker = told(*TO_PLATE)
    assert open_item(talker) == "destination.plate"
    talker.say("KTR 4821")
    assert talker.job.value("plate") == "KTR 4821"
    # A card and a plate: its number waits for the drop.
    assert open_item(talker) == "access.wakes"
    closing = told(*TO_NEUTRAL, "neutral now", *TO_CLOSE[: TO_CLOSE.index("no vin")])
    assert open_item(closing) == "drop.vin"


@pytest.mark.parametrize(
    "said", ["not sure", "can't read it", "no plate", "it is covered", "it's missing", "cannot"]
)
def test_who_cannot_read_it_goes_on_and_is_asked_for_the_vin(said: str) -> None:
    talker = told(*TO_PLATE, said)
    assert talker.job.value("plate") == "not read"
    assert open_item(talker) == "destination.vin"
    talker.say("not sure")
    assert open_item(talker) == "access.wakes"


@pytest.mark.parametrize(
    ("said", "kept"),
    [
        ("plate KTR 4822", "KTR 4822"),
        ("license plate is ktr 4822", "KTR 4822"),
        ("plate number kilo tango romeo four eight two two", "KTR4822"),
        ("the plate is K T R 4 8 2 2", "K T R 4 8 2 2"),
    ],
)
@pytest.mark.parametrize("until", [8, len(TO_NEUTRAL)])
def test_it_is_taken_at_any_time_and_what_is_open_stays(said: str, kept: str, until: int) -> None:
    talker = told(*TO_NEUTRAL[:until])
    was = open_item(talker)
    talker.say(said)
    assert talker.job.value("plate") == kept
    assert open_item(talker) == was


def test_dispatch_may_give_it_in_the_opening() -> None:
    talker = told()
    talker.say("new job breakdown, mile 9, plate KTR 4821", who=DISPATCHER)
    assert (talker.job.value("plate"), talker.job.value("place")) == ("KTR 4821", "mile 9")


@pytest.mark.parametrize("said", ["on the back", "the blue one", "blah blah blah"])
def test_what_is_no_plate_asks_for_one(said: str) -> None:
    talker = told(*TO_PLATE, said)
    assert open_item(talker) == "destination.plate"
    assert talker.job.value("plate") is None


def test_danger_is_heard_at_its_question() -> None:
    talker = told(*TO_PLATE, "smoke")
    assert talker.job.acts["danger"] == "seen"
    assert talker.job.value("plate") is None


def test_only_a_commitment_to_it_is_in_the_record() -> None:
    talker = told(*TO_PLATE)
    turn = advance(talker.job, Heard(DRIVER, talker.at, "KTR 4821"))
    given = [one.body["value"] for one, _ in turn.entries if one.kind == "fact"]
    assert given == [Private("KTR 4821")]


@pytest.mark.parametrize("said", ["7", "", "no", "can't read it", "on the bumper"])
def test_what_is_too_little_is_no_plate(said: str) -> None:
    assert plate_of(said) is None

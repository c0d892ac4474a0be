"""Other people: whose word counts, and who hears of it."""

import pytest

from flows.job.events import Person
from flows.telling.render import render
from tests.flows.talker import DISPATCHER, OWNER, TO_CLOSE, TO_MARGIN, TO_NEUTRAL, open_item, told

ON_THE_PULL = (*TO_NEUTRAL, "neutral now", *TO_CLOSE[:4])
SECOND = Person("p9", "dispatcher")


# A weight that somebody else gives


@pytest.mark.parametrize("who", [DISPATCHER, OWNER])
def test_a_weight_is_read_back_to_whoever_gave_it_and_their_yes_counts(who: Person) -> None:
    talker = told(*TO_MARGIN)
    was = open_item(talker)
    replies = talker.say("it weighs 4600 pounds", who=who)
    sent = {reply.to: render(reply).spoken for reply in replies}
    assert sent["sender"] == "Four six zero zero pounds. Yes or no?"
    assert sent["driver"].startswith("Somebody else gave its weight. Four six zero zero pounds.")
    assert open_item(talker) == was, "the driver goes on with what was open"
    assert talker.job.pending is None
    talker.say("yes", who=who)
    weight = talker.job.facts["weight"]
    assert (weight.value, weight.by) == (4600, who.id)
    assert talker.job.theirs is None


def test_nobody_else_says_yes_to_it() -> None:
    talker = told(*TO_MARGIN, "it wakes")
    talker.say("4600 pounds", who=DISPATCHER)
    assert talker.say("yes", who=SECOND)[0].key == "says.not_yours"
    talker.say("no cord")
    assert talker.job.value("weight") is None
    talker.say("yes", who=DISPATCHER)
    assert talker.job.value("weight") == 4600


@pytest.mark.parametrize("said", ["wrong weight", "that weight is wrong", "no"])
def test_a_driver_stops_it(said: str) -> None:
    talker = told(*TO_MARGIN, "it wakes", "not in")
    talker.say("4600 pounds", who=DISPATCHER)
    assert open_item(talker) == "attach.wheels"
    replies = talker.say(said)
    assert [r.key for r in replies if r.to == "dispatchers"] == ["says.weight_objected"]
    talker.say("yes", who=DISPATCHER)
    assert talker.job.value("weight") is None


def test_a_driver_s_own_weight_goes_before_theirs() -> None:
    talker = told(*TO_MARGIN)
    talker.say("4600 pounds", who=DISPATCHER)
    talker.say("5200 pounds")
    talker.say("yes", who=DISPATCHER)
    assert talker.job.value("weight") is None
    talker.say("yes")
    assert talker.job.facts["weight"].value == 5200


def test_their_no_takes_it_back() -> None:
    talker = told(*TO_MARGIN)
    talker.say("4600 pounds", "no", who=DISPATCHER)
    assert (talker.job.theirs, talker.job.value("weight")) == (None, None)


def test_a_weight_that_stands_may_be_called_wrong() -> None:
    talker = told(*TO_MARGIN, "4600 pounds", "yes", "wrong weight")
    assert talker.job.pending is not None
    assert talker.job.pending.kind == "number"


def test_theirs_is_not_over_what_the_driver_has_in_hand() -> None:
    talker = told(*TO_MARGIN, "5200 pounds")
    talker.say("4600 pounds", who=DISPATCHER)
    assert talker.job.pending is not None
    assert talker.job.pending.value == 5200


def test_a_read_back_is_not_asked_again_when_the_item_under_it_is_settled() -> None:
    talker = told(
        *TO_NEUTRAL[: TO_NEUTRAL.index("harrow")], "electric", "no card", "SUV", "4600 pounds"
    )
    asked = talker.job.asked
    talker.say("midsize SUV", who=DISPATCHER)
    assert talker.job.asked == asked
    assert open_item(talker) == "vehicle.drive", "and it stands under what is open now"
    talker.say("yes")
    assert talker.job.value("weight") == 4600


# A hold on the pull


@pytest.mark.parametrize("said", ["hold", "wait", "hold on"])
def test_hold_on_the_pull_says_stop_the_winch_first(said: str) -> None:
    talker = told(*ON_THE_PULL)
    first = render(talker.say(said)[0])
    assert first.spoken.startswith("Stop. Stop the winch")
    talker.say("resume")
    assert open_item(talker) == "recover.stop"
    assert told(*TO_NEUTRAL).say(said)[0].key == "says.held"


# Nonsense of others


def test_a_dispatcher_s_nonsense_gets_three_texts() -> None:
    """The rule say again."""
    talker = told(*TO_NEUTRAL)
    spoken = [
        render(talker.say(said, who=DISPATCHER)[-1]).spoken
        for said in ("wibble", "xyzzy", "blurgh", "wibble")
    ]
    assert len(set(spoken[:3])) == 3
    assert spoken[3] != spoken[2]
    talker.say("status", who=DISPATCHER)
    assert render(talker.say("wibble", who=DISPATCHER)[-1]).spoken == spoken[0]
    assert render(talker.say("wibble", who=SECOND)[-1]).spoken == spoken[0]
    assert talker.job.unclear == 0, "the driver was understood"

"""A critical step that is refused or misunderstood says why, and never with its bare word."""

import re

import pytest

from flows.hearing.prompts import prompt_for
from flows.routine.items import Gate, Step
from flows.telling.render import render
from tests.flows.test_order_of_acts import CARRY, told

STEPS = tuple(
    at
    for at in range(2, len(CARRY))
    if isinstance(item := prompt_for(told(CARRY[:at]).job).item, Step | Gate) and item.critical
)
MISUNDERSTOOD = (
    "somebody is still in there", "not yet", "no", "almost", "he is not back yet", "ok", "yes",
    "skip", "later", "hm", "go?", "cannot tell",
)  # fmt: skip
BARE = re.compile(r"(say|answer:?) ([\w ]+)[.]?", re.IGNORECASE)


@pytest.mark.parametrize("said", MISUNDERSTOOD)
def test_the_reply_is_never_the_bare_word_that_would_settle_it(said: str) -> None:
    for at in STEPS:
        talker = told(CARRY[:at])
        for _ in range(3):
            prompt = prompt_for(talker.job)
            for reply in talker.say(said):
                if reply.to == "driver":
                    spoken = render(reply).spoken
                    assert not BARE.fullmatch(spoken), (CARRY[at], prompt.key, spoken)
                    assert not spoken.startswith("I need the word")


@pytest.mark.parametrize("said", ["not yet", "no", "he is not back yet"])
def test_what_is_not_done_is_waited_for(said: str) -> None:
    talker = told(CARRY[: CARRY.index("away")])
    assert [reply.key for reply in talker.say(said)] == ["says.not_done"]


def test_three_that_are_misunderstood_get_three_reasons() -> None:
    talker = told(CARRY[: CARRY.index("away")])
    said = [[one.key for one in talker.say("bless this mess")] for _ in range(3)]
    keys = [[key for key in one if key != "says.or_emergency"][-1] for one in said]
    assert keys == ["says.unclear_step", "says.unclear_state", "says.unclear_call"]


def test_ok_gets_the_question_once_more_and_why() -> None:
    talker = told(CARRY[: CARRY.index("away")])
    keys = [reply.key for reply in talker.say("ok")]
    assert keys == ["says.reask_state", "items.attach.away"]

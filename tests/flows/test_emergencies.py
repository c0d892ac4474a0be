"""Emergencies are understood in the words people have for them."""

from copy import copy
from functools import cache

import pytest

from flows.hearing import lexicon
from flows.hearing.prompts import prompt_for
from flows.routine.items import Step
from flows.telling.render import render
from flows.turn import emergencies
from tests.flows.talker import DISPATCHER, TO_CLOSE, TO_NEUTRAL, Talker, demo_library, open_item

ON_THE_PULL = (*TO_NEUTRAL, "neutral now", *TO_CLOSE[:4])
TIGHT = TO_NEUTRAL[: TO_NEUTRAL.index("tight") + 1]
TO_DANGER = TO_NEUTRAL[:2]


@cache
def _after(texts: tuple[str, ...]) -> Talker:
    if not texts:
        return Talker(demo_library())
    talker = told(*texts[:-1])
    talker.say(texts[-1])
    return talker


def told(*texts: str) -> Talker:
    """Return a talker of its own who has said these; equal beginnings are run once."""
    talker = copy(_after(texts))
    talker.replies = list(talker.replies)
    return talker


def test_each_has_its_words_and_its_doubts() -> None:
    assert set(lexicon.EMERGENCIES) == set(emergencies.EMERGENCIES)


IN_PATH = (
    "somebody is behind it", "Somebody is behind it!", "kid by the truck",
    "he walked under the line",
    "there is a man in front of it", "a kid just ran behind the car", "she's standing in the way",
    "someone is under the car", "they are too close to the line", "no he is under it",
    "the customer is in the path", "guy between the truck and the car", "kid behind it",
    "somebody in line", "a dog ran under the truck", "people in the path",
)  # fmt: skip


@pytest.mark.parametrize("said", IN_PATH)
def test_somebody_in_the_path_stops_the_pull(said: str) -> None:
    talker = told(*ON_THE_PULL)
    replies = talker.say(said)
    assert talker.job.acts["path"] == "unknown"
    assert [r.key for r in replies if r.to == "dispatchers"] == ["says.in_path_told"]
    assert next(r for r in replies if r.to == "driver").key == "says.in_path"
    assert open_item(talker) == "recover.stop"
    talker.say("stopped")
    assert open_item(talker) == "scene.people", "the barrier is looked at again"
    talker.say("behind")
    assert open_item(talker) == "neutral.away"


def test_somebody_in_the_path_before_the_line_is_tight_is_kept_from_it() -> None:
    talker = told(*TIGHT[:-1], "a kid ran behind it")
    assert open_item(talker) == "scene.people"
    talker.say("behind")
    assert open_item(talker) == "attach.away"


def test_behind_the_barrier_is_no_path() -> None:
    for said in ("they are behind it", "everyone is behind it", "people are behind the barrier"):
        assert told(*TO_NEUTRAL[:3], said).job.acts["bystanders"] == "back"


NOTHING_WRONG = (
    "nobody is behind it", "is anybody behind it?", "is anybody behind it", "no one is under it",
    "is somebody behind it", "somebody behind it?", "he is not in the path",
    "if somebody is behind it",
    "nobody is hurt", "i am not hurt", "is he hurt?", "the brake did not fail", "no brake failed",
    "the chock did not slip", "is the winch running away?",
    "if the brake fails", "it does not smell funny", "the truck has not rolled",
    "should i call 911?", "he left the keys in front of it", "people are behind the barrier",
)  # fmt: skip


@pytest.mark.parametrize("said", NOTHING_WRONG)
def test_what_is_negated_or_asked_is_no_emergency(said: str) -> None:
    talker = told(*ON_THE_PULL)
    before = talker.job.acts
    talker.say(said)
    assert talker.job.acts == before
    assert talker.job.alarm is None
    assert talker.job.paused is None


@pytest.mark.parametrize(
    "said", ["chock slipped", "the chock came out", "a chock broke", "it jumped the chock"]
)
def test_a_chock_that_slips_is_chocked_anew_and_the_truck_secured(said: str) -> None:
    talker = told(*TIGHT, said)
    assert (talker.job.acts["chocks"], talker.job.acts["line"]) == ("unknown", "on")
    assert open_item(talker) == "recover.chock"
    talker.say("chocked")
    assert open_item(talker) == "scene.truck"
    talker = told(*ON_THE_PULL, said)
    assert open_item(talker) == "recover.stop"


@pytest.mark.parametrize("said", ["brake failed", "the brakes let go", "the brake won't hold",
                                  "no brakes!", "lost the brakes"])  # fmt: skip
def test_a_brake_that_fails_stops_chocks_and_secures(said: str) -> None:
    talker = told(*ON_THE_PULL, said)
    for item, answer in (("recover.stop", "stopped"), ("recover.chock", "chocked"),
                         ("scene.truck", "secured"), ("attach.away", "away"),
                         ("attach.tension", "tight")):  # fmt: skip
        assert open_item(talker) == item
        talker.say(answer)


@pytest.mark.parametrize(
    "said",
    ["the winch won't stop", "winch will not stop", "it will not stop", "can't stop the winch",
     "the winch keeps pulling"],
)  # fmt: skip
def test_a_winch_that_does_not_stop_is_shut_off_then_chocked(said: str) -> None:
    talker = told(*ON_THE_PULL)
    replies = talker.say(said)
    assert "Turn the winch power off" in render(replies[0]).spoken
    assert talker.job.acts["path"] == "unknown"
    assert open_item(talker) == "recover.stop"
    talker.say("stopped")
    assert open_item(talker) == "recover.chock"
    # It runs though nobody said that it moves.
    assert open_item(told(*TIGHT, said)) == "recover.stop"


@pytest.mark.parametrize(
    "said", ["the truck is rolling", "truck slid back", "the truck rolled away"]
)
def test_a_truck_that_rolls_is_an_alarm_and_leaves_no_line(said: str) -> None:
    talker = told(*ON_THE_PULL)
    replies = talker.say(said)
    assert replies[0].key == "says.truck_loose"
    talker.say("stopped", "chocked")
    assert open_item(talker) == "scene.slacken"
    assert talker.job.value("slope") is None


@pytest.mark.parametrize(
    "said",
    [
        "it smells funny",
        "There is a strange smell",
        "I smell gas",
        "it stinks",
        "it smells burnt",
    ],
)
def test_a_smell_is_a_danger_sign(said: str) -> None:
    assert told(*ON_THE_PULL, said).job.acts["danger"] == "seen"


@pytest.mark.parametrize("said", ["a leak", "it is hot", "heat", "smell", "there's a leak",
                                  "hissing", "it is leaking", "damage under it"])  # fmt: skip
def test_each_sign_that_is_asked_for_is_an_answer(said: str) -> None:
    talker = told(*TO_DANGER)
    assert open_item(talker) == "scene.danger"
    talker.say(said)
    assert talker.job.acts["danger"] == "seen"
    assert told(*TO_DANGER, f"no {said}").job.acts["danger"] == "none"


@pytest.mark.parametrize("said", ["I am hurt", "I'm hurt", "he got hurt", "my hand is caught",
                                  "call 911", "call an ambulance", "mayday"])  # fmt: skip
def test_who_is_hurt_or_wants_help_is_told_who_calls(said: str) -> None:
    """The bot cannot call: it says so, tells dispatch, and asks nothing more until "resume"."""
    talker = told(*ON_THE_PULL)
    replies = talker.say(said)
    spoken = render(replies[0]).spoken
    assert "cannot call out" in spoken
    assert "emergency number" in spoken
    assert [r.key for r in replies if r.to == "dispatchers"] == ["says.hurt_told"]
    assert talker.job.paused is not None
    assert talker.job.acts["winch"] == "unknown"
    talker.say("resume")
    assert open_item(talker) == "recover.stop"


def test_at_the_gate_a_call_for_help_goes_on_with_the_gate() -> None:
    talker = told(*TIGHT, "smoke", "away")
    assert open_item(talker) == "danger.call"
    replies = talker.say("call 911")
    assert "cannot call" in render(replies[0]).spoken
    assert talker.job.paused is None
    assert open_item(talker) == "danger.call"
    talker.say("called 911")
    assert talker.job.acts["help"] == "called"


@pytest.mark.parametrize("said", ["whoa", "Whoa!", "whoa whoa", "woah stop"])
def test_whoa_is_stop(said: str) -> None:
    talker = told(*ON_THE_PULL)
    assert talker.say(said)[0].key == "says.stopped"


def test_a_dispatcher_who_sees_it_may_say_so() -> None:
    talker = told(*ON_THE_PULL)
    replies = talker.say("somebody is behind it", who=DISPATCHER)
    assert [r.key for r in replies if r.to == "driver"][:1] == ["says.in_path"]
    assert open_item(talker) == "recover.stop"


AGAIN = (
    ("attach.hook", "hook came off", ("hooked again", "hooked back on", "rehooked")),
    ("attach.tension", "line went slack", ("tight again", "it's tight again")),
)  # fmt: skip


@pytest.mark.parametrize(
    ("item", "gone", "said"), [(i, gone, one) for i, gone, said in AGAIN for one in said]
)
def test_what_was_put_right_again_is_understood(item: str, gone: str, said: str) -> None:
    talker = told(*TIGHT, gone)
    if open_item(talker) == "attach.away":
        talker.say("away")
    assert open_item(talker) == item
    step = prompt_for(talker.job).item
    assert isinstance(step, Step)
    talker.say(said)
    assert all(talker.job.acts.holds(act) for act in step.acts)

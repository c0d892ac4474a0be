"""What is made of words that were not understood: proposed by name, never taken, often nothing."""

import time
from collections import Counter

import pytest

from flows.hearing.answers import answer_for
from flows.hearing.likely import NEVER_ACTS, NEVER_FACTS, guessed, likely
from flows.routine.carry import CARRY
from flows.routine.items import Gate, Photo
from flows.telling.render import render
from flows.texts import likely_weights
from tests.flows.fit_likely import JOB, fitted, given, rows
from tests.flows.talker import TO_MARGIN, Talker, open_item, told

TO_PEOPLE = TO_MARGIN[: TO_MARGIN.index("behind")]
TO_FACING = TO_MARGIN[: TO_MARGIN.index("nose")]


def spoken(talker: Talker, said: str) -> list[str]:
    return [render(one).spoken for one in talker.say(said) if one.to == "driver"]


def test_an_act_is_proposed_by_its_word_and_needs_it() -> None:
    talker = told(*TO_PEOPLE)
    assert spoken(talker, "beind the barrier") == ["Do you mean behind? Then say behind."]
    talker.say("yes")
    assert not talker.job.acts.holds("people_back")
    talker.say("behind")
    assert talker.job.acts.holds("people_back")


def test_a_fact_that_decides_needs_its_word_too() -> None:
    talker = told(*TO_FACING)
    assert spoken(talker, "frnt") == ["Do you mean nose? Then say nose."]
    talker.say("yes")
    assert talker.job.value("facing") is None


@pytest.mark.parametrize(("said", "known"), [("yes", "crash"), ("no", None)])
def test_a_plain_fact_counts_with_a_yes(said: str, known: str | None) -> None:
    talker = told("new job")
    assert spoken(talker, "krash") == ["Do you mean crash? Yes or no?"]
    assert talker.job.value("history") is None
    talker.say(said)
    assert talker.job.value("history") == known
    assert open_item(talker) == ("open.place" if known else "open.history")


def test_nothing_is_proposed_twice_running_nor_where_it_may_not_be() -> None:
    talker = told(*TO_PEOPLE)
    talker.say("beind the barrier")
    assert not any("Do you mean" in one for one in spoken(talker, "beind the barrier"))
    talker = told(*TO_PEOPLE, "smoke")
    assert not any("Do you mean" in one for one in spoken(talker, "beind the wagn"))
    assert open_item(talker) == "danger.people"


NEVER = [
    item
    for item in CARRY.items.values()
    if isinstance(item, Gate | Photo)
    or getattr(item, "fact", "") in NEVER_FACTS
    or any(act.startswith(NEVER_ACTS) for act in getattr(item, "acts", ()))
]


def test_what_may_stand_in_no_doubt_is_never_proposed() -> None:
    assert {"neutral.select", "scene.slope", "scene.danger", "danger.released", "neutral.go",
            "cord.open_1"} <= {one.id for one in NEVER}  # fmt: skip
    for item in NEVER:
        answer = answer_for(JOB, item)
        for phrase, _ in answer.phrases:
            assert list(guessed(" ".join(phrase), answer)) == [], item.id


@pytest.mark.parametrize(
    "said", ["not beind it", "beind it?", "he says beind", "almost beind", "gonna be beind it",
             "two beind it", "is it beind", "cant get beind", "one is beind it"]
)  # fmt: skip
def test_words_that_deny_ask_or_put_off_propose_nothing(said: str) -> None:
    assert likely(said, answer_for(JOB, CARRY.items["scene.people"])) is None


def test_of_what_must_not_be_taken_hardly_anything_is_proposed() -> None:
    count = Counter[str]()
    for is_check in (False, True):
        count += given(one for one in rows() if one.is_check is is_check)
    assert count["nothing meant: wrong"] == 0
    assert count["to be taken: wrong"] == 0
    assert count["to be taken: right"] >= 7


def test_the_weights_are_those_that_the_sentences_give() -> None:
    again = fitted(tuple(one for one in rows() if not one.is_check))
    assert again == pytest.approx(dict(likely_weights()["weights"]), abs=0.6)


def test_it_takes_no_time() -> None:
    answer = answer_for(JOB, CARRY.items["scene.people"])
    for one in ("beind the barrier", "wibble wobble"):
        list(guessed(one, answer))
    begin = time.process_time()
    for n in range(50):
        list(guessed(f"beindx{n} the bariers ovr there", answer))
    assert (time.process_time() - begin) / 50 < 0.01


def test_a_second_miss_offers_the_emergencies() -> None:
    talker = told(*TO_FACING)
    assert "Or say smoke, hurt, or it's rolling." not in spoken(talker, "wibble")
    assert spoken(talker, "wobble")[-1] == "Or say smoke, hurt, or it's rolling."
    for said in ("smoke", "hurt", "it's rolling"):
        assert any(one.priority == "stop" for one in told(*TO_FACING).say(said)), said

"""The lint of messages: each rule finds a bad message, and passes a message at its limit.

The rules are those of `flows/texts/README.md`. Findings are compared as (rule, level), never by
their wording.
"""

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from flows.hearing.answers import NOTHING, Answer, answer_for
from flows.job.state import Job
from flows.telling.render import Rendered
from flows.telling.reply import Priority, Reply
from flows.texts.plainness import (
    acts_asked,
    double_negatives,
    flesch_kincaid,
    grade,
    passives,
    sentences,
    syllables,
    words,
    wrong_words,
)
from tests.flows.lint import CHECKS, LONG_KEYS, Finding, head, lint, lint_reply, most_tokens
from tests.flows.talker import Talker, demo_library

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "flows" / "texts" / "README.md"
FINE = "Chock the vehicle both ways. Say chocked."


@pytest.fixture(scope="module")
def job() -> Job:
    talker = Talker(demo_library())
    talker.say("new job")
    return talker.job


def found(rendered: Rendered, reply: Reply) -> set[tuple[str, str]]:
    return {(one.rule, one.level) for one in lint(rendered, reply)}


def texts(spoken: str = FINE, shown: str = FINE, why: str = "") -> Rendered:
    return Rendered(spoken, shown, why)


Of = Callable[..., Reply]


@pytest.fixture(scope="module")
def of(job: Job) -> Of:
    """A message: of an item with the answers it expects, or of no item with those given."""

    def make(
        item: str = "",
        *,
        key: str = "says.opened",
        answer: Answer = NOTHING,
        priority: Priority = "reply",
    ) -> Reply:
        if not item:
            return Reply("driver", key, job, priority, answer=answer)
        expected = answer_for(job, job.book.routine.items[item])
        return Reply("driver", f"items.{item}", job, priority, item=item, answer=expected)

    return make


# For each rule, messages that it finds, and messages close to them that pass.
ONE_ACTION = ("one action", "S")
SPOKEN_LENGTH = ("spoken length", "S")
SHOWN_LENGTH = ("shown length", "Q")
ACTION_FIRST = ("action first", "Q")
CHOICES = ("choices", "S")
STATE_WORD = ("state word", "S")
READ_BACK = ("read-back", "S")
RESUME = ("resume", "S")
PAUSE_POINT = ("pause point", "S")
PRIORITY_WORD = ("priority word", "S")
ALARM = ("alarm", "S")
ROLLING = ("rolling", "S")
TOO_LONG_SENTENCE = ("plain sentence", "S")
PLAIN_SENTENCE = ("plain sentence", "Q")
SPEAKABLE = ("speakable", "Q")
ANSWERS = ("answers", "S")
CAUTIONS = ("cautions", "S")


def test_every_rule_is_on_the_page_with_a_test_that_holds_it() -> None:
    rows = re.findall(
        r"^\| ([a-z, -]+) \| ([SQ, ]+) \|.*\| ([^|]+) \|$", PAGE.read_text("utf-8"), re.M
    )
    told = {(rule, level) for rule, levels, _ in rows for level in levels.split(", ")}
    assert len(rows) > 30, "the table was not found"
    checked = {(rule, level) for rule, level, _ in CHECKS}
    assert checked <= told
    by_lint = {rule for rule, _, held_by in rows if "lint" in held_by.split(", ")}
    assert {rule for rule, _ in checked} == by_lint
    for _, _, held_by in rows:
        assert all((ROOT / path).is_file() for path in re.findall(r"`(.+?)`", held_by)), held_by


def test_a_fine_message_has_no_finding(of: Of) -> None:
    assert lint(texts(), of("scene.chock")) == []


def test_a_finding_says_what_was_found_and_what_is_allowed(of: Of) -> None:
    (one,) = lint(texts(spoken="Tight. " * 17), of())
    assert one == Finding("spoken length", "S", "spoken has 17 tokens: 16 are allowed")


@pytest.mark.parametrize(
    "bad",
    [
        "Chock it and then hook it. Say chocked.",
        "Chock it; say chocked.",
        "Chock the vehicle. Hook the line. Say chocked.",
        "Chock the vehicle and hook the line. Say chocked.",
        "Leave it open, then tag it. Say tagged.",
    ],
)
def test_one_action(of: Of, bad: str) -> None:
    assert ONE_ACTION in found(texts(spoken=bad), of())
    assert ONE_ACTION in found(texts(shown=bad), of())


@pytest.mark.parametrize(
    "fine",
    [
        "Chock the vehicle, front and rear. Say chocked, or hand off.",
        "Set park and brake. Say parked.",
        "Stay away. Which service released it? Or say nobody came.",
        "Stop. Stop the winch. Say stopped.",
        "Pause. Line tight. Say go.",
    ],
)
def test_one_action_and_an_answer(of: Of, fine: str) -> None:
    assert ONE_ACTION not in found(texts(spoken=fine), of())


def test_spoken_length_at_its_limits(of: Of) -> None:
    sixteen, twenty = " ".join(["tight"] * 16), " ".join(["tight"] * 20)
    assert SPOKEN_LENGTH not in found(texts(spoken=sixteen), of())
    assert SPOKEN_LENGTH in found(texts(spoken=sixteen + " now"), of())
    for key in LONG_KEYS:
        assert SPOKEN_LENGTH not in found(texts(spoken=twenty), of(key=key))
        assert SPOKEN_LENGTH in found(texts(spoken=twenty + " now"), of(key=key))
    for priority in ("note", "check", "stop"):
        assert most_tokens(of(priority=priority)) == 20


def test_every_digit_unit_and_part_of_a_word_is_a_token(of: Of) -> None:
    long = "four two five zero pounds two point five tons hand-off no-go one three feet six"
    assert len(words(long)) == 17
    assert SPOKEN_LENGTH in found(texts(spoken=long), of())


def test_spoken_has_no_figures_and_is_not_empty(of: Of) -> None:
    assert SPOKEN_LENGTH in found(texts(spoken="Job 7 is open."), of())
    assert SPOKEN_LENGTH in found(texts(spoken=""), of())
    assert SPOKEN_LENGTH not in found(texts(shown="Job 7 is open."), of())


def test_shown_length_at_its_limits(of: Of) -> None:
    assert SHOWN_LENGTH not in found(texts(shown="x" * 119 + "."), of())
    assert SHOWN_LENGTH in found(texts(shown="x" * 120 + "."), of())
    assert SHOWN_LENGTH not in found(texts(shown="one\ntwo\nthree"), of())
    assert SHOWN_LENGTH in found(texts(shown="one\ntwo\nthree\nfour"), of())


def test_detail_begins_after_what_is_wanted_has_been_shown(of: Of) -> None:
    detail = "\n".join(["Smoke, heat, leak, sparks, water above the floor."] * 5)
    assert SHOWN_LENGTH not in found(texts(shown=f"Look from upwind. Any sign?\n{detail}"), of())
    assert SHOWN_LENGTH in found(texts(shown=f"Look from upwind.\n{detail}\nAny sign?"), of())
    assert SHOWN_LENGTH in found(texts(shown=detail.replace(".", "")), of())
    assert head("Chock it.\nTight.\nAnswer: chocked.\nOr roll.") == (
        "Chock it.\nTight.\nAnswer: chocked."
    )


def test_the_action_is_within_the_first_forty_characters(of: Of) -> None:
    late = "It stands uphill, the line will not do."
    assert len(late) == 39
    assert ACTION_FIRST in found(
        texts(shown=f"{late} Chock it. Answer: chocked."), of("scene.chock")
    )
    early = "It stands uphill, line alone fails."
    assert len(f"{early} chock") > 40
    assert ACTION_FIRST in found(
        texts(shown=f"{early} Chock it. Answer: chocked."), of("scene.chock")
    )
    assert ACTION_FIRST not in found(
        texts(shown=f"{early[7:]} Chock it. Answer: chocked."), of("scene.chock")
    )
    assert ACTION_FIRST in found(texts(shown="Chocked."), of("scene.chock"))
    assert ACTION_FIRST not in found(texts(shown=f"{late} Chock it."), of())


def _choices(count: int) -> Answer:
    return Answer("choice", choices=tuple((str(n), str(n)) for n in range(count)))


def test_choices_at_their_limits(of: Of) -> None:
    assert CHOICES not in found(texts(), of(answer=_choices(5)))
    assert CHOICES in found(texts(), of(answer=_choices(6)))
    gate = of("margin.no_go")
    assert len(gate.answer.choices) == 2
    assert CHOICES not in found(texts(), gate)
    assert CHOICES in found(texts(), replace(gate, answer=_choices(3)))


def test_a_critical_step_names_its_state_and_takes_no_bare_ok(of: Of) -> None:
    chock = of("scene.chock")
    assert STATE_WORD in found(texts(spoken="Chock the vehicle both ways. Say done."), chock)
    assert STATE_WORD in found(texts(shown="Chock the vehicle both ways."), chock)
    ok = replace(chock, answer=replace(chock.answer, words=("chocked", "ok")))
    assert STATE_WORD in found(texts(), ok)
    assert STATE_WORD not in found(texts(spoken="Unlock it. Say done."), of("cord.unlock"))


def test_a_read_back_says_each_digit_and_wants_a_yes(of: Of) -> None:
    reply = of(key="says.read_back")
    assert READ_BACK not in found(texts(spoken="Four two five zero pounds. Yes or no?"), reply)
    assert READ_BACK in found(texts(spoken="Forty two fifty pounds. Yes or no?"), reply)
    assert READ_BACK in found(texts(spoken="Four two five zero. Yes or no?"), reply)
    assert READ_BACK in found(texts(spoken="Four two five zero pounds."), reply)


def test_resume_says_job_last_and_next(of: Of) -> None:
    reply = of(key="says.resume")
    assert RESUME not in found(
        texts(spoken="Job one. Last, nothing yet. Next, what happened."), reply
    )
    assert RESUME in found(texts(spoken="Job one. Last, nothing yet."), reply)
    assert RESUME in found(texts(spoken="Job two. Last, nothing yet. Next, place."), reply)
    assert RESUME in found(texts(spoken="Job one. Last, chocked. Next, place."), reply)
    again = of(key="says.restart")
    said = "Job one. Last, nothing yet. Section Open starts again."
    assert RESUME not in found(texts(spoken=said), again)
    assert RESUME in found(texts(spoken="Job one. Last, nothing yet."), again)


def test_a_pause_begins_with_its_word(of: Of) -> None:
    assert PAUSE_POINT not in found(texts(spoken="Pause. Line tight. Say go."), of("neutral.go"))
    assert PAUSE_POINT in found(texts(spoken="Line tight. Say go."), of("neutral.go"))
    assert PAUSE_POINT not in found(texts(), of("margin.no_go"))


@pytest.mark.parametrize("priority", ["note", "check", "stop"])
def test_a_priority_is_its_first_word(of: Of, priority: Priority) -> None:
    fine = f"{priority.capitalize()}. Call the driver. Say noted."
    assert found(texts(fine, fine), of(priority=priority)) == set()
    assert PRIORITY_WORD in found(texts(fine, fine), of())
    assert PRIORITY_WORD in found(texts("Call the driver. Say noted."), of(priority=priority))


def test_no_reply_begins_with_the_word_of_a_priority(of: Of) -> None:
    assert PRIORITY_WORD in found(texts(spoken="Check the plug. Is it closed?"), of())
    assert PRIORITY_WORD in found(texts(spoken="Note the time."), of())
    assert PRIORITY_WORD not in found(texts(spoken="Noted."), of())


def test_an_alarm_names_one_action_and_how_to_acknowledge(of: Of) -> None:
    alarm = of(priority="stop")
    fine = "Stop. Stop the winch. Say stopped."
    for bad in ("Stop. The hold has ended. Say noted.", "Stop. Stop the winch."):
        assert ALARM in found(texts(bad, fine), alarm)
        assert ALARM in found(texts(fine, bad), alarm)
    assert ALARM not in found(texts(fine, fine), alarm)
    assert ALARM not in found(texts("The hold has ended.", "The hold has ended."), of())


def test_nothing_needs_an_answer_while_rolling(of: Of) -> None:
    still = of("scene.chock")
    rolling = replace(still.job, acts=still.job.acts.with_({"rolling": "rolling"}))
    assert ROLLING not in found(texts(), still)
    assert ROLLING in found(texts(), replace(still, job=rolling))
    assert ROLLING not in found(texts(), replace(still, job=rolling, to="dispatchers"))
    assert ROLLING not in found(texts(), replace(still, job=rolling, answer=NOTHING))


def test_sentences_at_their_limits(of: Of) -> None:
    def says(count: int) -> set[tuple[str, str]]:
        return found(texts(shown=" ".join(["go"] * count) + "."), of())

    assert says(12) == set()
    assert says(13) == {PLAIN_SENTENCE}
    assert says(20) == {PLAIN_SENTENCE}
    assert says(21) == {TOO_LONG_SENTENCE}
    assert PLAIN_SENTENCE in found(texts(why=" ".join(["go"] * 13) + "."), of())


def test_school_grade(of: Of) -> None:
    hard = "Immobilise the automobile utilising appropriate restraining apparatus."
    assert PLAIN_SENTENCE in found(texts(shown=hard), of())
    assert PLAIN_SENTENCE in found(texts(why=hard), of())


def test_plain_words(of: Of) -> None:
    assert PLAIN_SENTENCE in found(texts(spoken="The pin was taken out."), of())
    assert PLAIN_SENTENCE in found(texts(spoken="Never pull what nobody released."), of())
    assert PLAIN_SENTENCE in found(texts(spoken="Hook the cable. Say hooked."), of())


@pytest.mark.parametrize(
    "bad",
    ["Hook it \U0001f517 now", "**Stop** it", "Front/rear", "Job # one", "Four lbs", "Ten ft. on",
     "Say `ok`", "Half \u2013 or more", "{left} left"],
)  # fmt: skip
def test_what_is_not_read_aloud_well(of: Of, bad: str) -> None:
    assert SPEAKABLE in found(texts(spoken=bad), of())
    assert SPEAKABLE not in found(texts(shown=bad), of())


def test_a_bare_decimal_is_not_spoken(of: Of) -> None:
    assert SPOKEN_LENGTH in found(texts(spoken="Pull it 0.25 inches."), of())


@pytest.mark.parametrize("word", ["clear", "all clear", "good", "Right"])
def test_words_that_are_never_answers(of: Of, word: str) -> None:
    chock = of("scene.chock").answer
    assert ANSWERS in found(texts(), of(answer=replace(chock, words=(word,))))
    assert ANSWERS in found(texts(), of(answer=replace(chock, choices=(("a", word),))))


def test_a_side_is_an_answer(of: Of) -> None:
    strapped = replace(of("scene.chock").answer, words=("right front strapped",))
    assert ANSWERS not in found(texts(), of(answer=strapped))


def test_a_state_is_never_negated(of: Of) -> None:
    assert ANSWERS in found(texts(spoken="Is it closed, or not closed?"), of())
    assert ANSWERS in found(texts(spoken="Take the pin out. Say unpinned."), of())
    assert ANSWERS not in found(texts(spoken="Is it closed, or open?"), of())


@pytest.mark.parametrize(
    "claim",
    ["It is safe now.", "It's safe.", "Safe to pull.", "The path is clear.", "All good."],
)
def test_a_prompt_is_no_lifeguard(of: Of, claim: str) -> None:
    for bad in (texts(spoken=claim), texts(shown=claim), texts(why=claim)):
        assert CAUTIONS in found(bad, of())


def test_every_reply_is_rendered_and_linted(of: Of) -> None:
    assert lint_reply(of("scene.chock")) == []


# Grade level, checked from outside.


def test_flesch_kincaid_against_published_values() -> None:
    """The platypus sentence: 11.3 with 24 syllables (the encyclopedia's example), and 13.08
    with 26 (the readme of the flesch-kincaid package); both of 13 words."""
    assert flesch_kincaid(13, 1, 24) == pytest.approx(11.3, abs=0.05)
    assert flesch_kincaid(13, 1, 26) == pytest.approx(13.08, abs=0.005)
    sentence = "The Australian platypus is seemingly a hybrid of a mammal and reptilian creature."
    assert grade(sentence) == pytest.approx(11.3, abs=0.05)


def test_flesch_kincaid_needs_words() -> None:
    with pytest.raises(ValueError, match="each must be 1 or more"):
        flesch_kincaid(0, 1, 1)


# Division as in a dictionary, from memory.
DIVIDED = """
chock chocked hook winch strapped wheels slack pulled come sides
up-hill lev-el o-pen hand-ed no-ted set-tled han-dle driv-er be-ing in-ches ser-vice qui-et
peo-ple head-board mar-gin
ve-hi-cle e-lec-tric bat-ter-y neu-tral-ly dis-con-nect dis-patch-es ar-e-a po-si-tion
ev-ery-one com-bus-tion de-vi-ces
in-di-ca-tion i-so-la-tion in-for-ma-tion al-u-min-um
"""


@pytest.mark.parametrize("divided", DIVIDED.split())
def test_syllables(divided: str) -> None:
    assert syllables(divided.replace("-", "")) == len(divided.split("-"))


def test_known_terms_are_not_counted() -> None:
    text = "Is the ready indication on or off?"
    assert grade(text, {"indication"}) < 3 < grade(text)
    assert grade("Indication.", {"indication"}) == 0


def test_sentences_end_at_marks_and_lines() -> None:
    assert sentences("Stop. Any smoke?\nSay away!") == ["Stop.", "Any smoke?", "Say away!"]
    assert sentences("  ... ") == []


def test_passives_and_states() -> None:
    assert passives("Dispatch was told. It is not pulled.") == ["was told", "is not pulled"]
    assert passives("The plug is closed. The hold has ended. They told dispatch.") == []


def test_double_negatives_within_a_clause() -> None:
    assert double_negatives("No card, no pull. Nobody came.") == []
    assert double_negatives("Don't pull it without the pin.") == ["Don't pull it without the pin"]


def test_the_glossary_knows_one_word_a_thing() -> None:
    assert list(wrong_words("Tie downs and ropes")) == [("Tie downs", "strap"), ("ropes", "line")]
    assert list(wrong_words("The entire line")) == []


def test_acts_are_verbs_at_the_head_of_a_sentence() -> None:
    assert acts_asked("Close. Hand off? Open or shut? Then take it out.") == ["take"]
    assert acts_asked("Say go. The line holds, brake and chocks.") == []

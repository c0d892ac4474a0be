"""Answers by voice: taken, read back or asked again, by how sure they are and their harm."""

import pytest

from flows.hearing.prompts import prompt_for
from flows.job.events import Heard, Media, Spoken
from flows.telling.render import render
from flows.turn.voicing import CHECK, TAKE
from tests.flows.talker import DRIVER, PLACE, TO_MARGIN, TO_NEUTRAL, Talker, demo_library

TO_DANGER = TO_MARGIN[:2]
SURE, LIKELY, UNSURE = TAKE, TAKE - 1, CHECK - 1
NOTE = Media("voice", "ab" * 32, 900, "audio/ogg")


def voiced(talker: Talker, text: str, score: int = SURE, **more: object) -> list[str]:
    """Let the driver say something by voice; return the spoken answers."""
    more.setdefault("under", prompt_for(talker.job).key)
    spoken = Spoken(text, score, "planted", "1", **more)  # type: ignore[arg-type]  # any of its fields
    talker.wait(5)
    replies = talker.happens(Heard(DRIVER, talker.at, media=NOTE, spoken=spoken))
    return [render(reply).spoken for reply in replies]


def at(*said: str) -> Talker:
    talker = Talker(demo_library())
    talker.say(*said)
    return talker


def test_a_sure_answer_is_taken_and_echoed_and_marked_as_heard() -> None:
    talker = at(*TO_MARGIN[:3])
    asked = prompt_for(talker.job).key
    said = voiced(talker, "Behind.")
    assert said[0] == "Behind."
    assert prompt_for(talker.job).key != asked


def test_a_fact_by_voice_says_so_in_the_record() -> None:
    talker = at(*TO_MARGIN[:8])
    voiced(talker, "Level.")
    assert talker.job.value("slope") == "level"
    assert talker.job.facts["slope"].how == "voice"


def test_a_likely_answer_is_read_back_and_counts_after_a_yes() -> None:
    talker = at(*TO_MARGIN[:8])
    assert voiced(talker, "Uphill.", LIKELY)[-1] == "Uphill. Yes or no?"
    assert talker.job.value("slope") is None
    talker.say("yes")
    assert talker.job.value("slope") == "uphill"
    assert talker.job.facts["slope"].how == "voice"


def test_a_likely_answer_is_dropped_after_a_no() -> None:
    talker = at(*TO_MARGIN[:8])
    voiced(talker, "Uphill.", LIKELY)
    talker.say("no")
    assert talker.job.value("slope") is None
    assert prompt_for(talker.job).key == "scene.slope"


def test_another_answer_takes_the_place_of_what_is_read_back() -> None:
    talker = at(*TO_MARGIN[:8])
    voiced(talker, "Uphill.", LIKELY)
    talker.say("downhill")
    assert talker.job.value("slope") == "downhill"
    assert talker.job.facts["slope"].how == "typed"


def test_an_unsure_answer_is_asked_again_and_the_second_miss_brings_the_choices() -> None:
    talker = at(*TO_MARGIN[:8])
    first = voiced(talker, "Level.", UNSURE)
    second = voiced(talker, "Level.", UNSURE)
    assert talker.job.value("slope") is None
    assert first != second
    assert "level" in " ".join(second).lower()


@pytest.mark.parametrize("score", [CHECK, SURE, 100])
def test_a_weight_by_voice_is_read_back_however_sure(score: int) -> None:
    talker = at(*TO_MARGIN)
    talker.say("wrong weight")
    said = voiced(talker, "Six thousand four hundred pounds.", score)
    assert said[-1].endswith("Yes or no?")
    assert "six four zero zero" in said[-1].lower()
    assert talker.job.value("weight") != 6400


def test_a_short_yes_to_a_deciding_number_is_not_enough() -> None:
    talker = at(*TO_MARGIN)
    talker.say("wrong weight", "6400 pounds")
    before = talker.job.value("weight")
    said = voiced(talker, "Yeah.", 100)
    assert "affirmative" in said[0]
    assert talker.job.value("weight") == before
    voiced(talker, "Affirmative.", SURE)
    assert talker.job.value("weight") == 6400


def test_a_short_no_is_no_look_for_danger() -> None:
    talker = at(*TO_DANGER)
    assert "nothing seen" in voiced(talker, "No.", 100)[0]
    assert not talker.job.acts.holds("danger_seen")
    assert talker.job.value("danger") is None
    voiced(talker, "Nothing seen.", SURE)
    assert talker.job.value("danger") == "none"


def test_a_short_go_by_voice_starts_nothing_that_cannot_be_taken_back() -> None:
    talker = at(*TO_NEUTRAL[:-1])
    asked = prompt_for(talker.job).key
    assert "go ahead" in voiced(talker, "Go.", 100)[0]
    assert prompt_for(talker.job).key == asked
    voiced(talker, "Go ahead.", SURE)
    assert prompt_for(talker.job).key != asked


@pytest.mark.parametrize("text", ["Smoke.", "Fire.", "I see smoke."])
def test_danger_by_voice_counts_from_the_middle_on(text: str) -> None:
    talker = at(*TO_MARGIN[:8])
    voiced(talker, text, CHECK)
    assert talker.job.acts["danger"] == "seen"


def test_stop_by_voice_counts_also_while_another_question_was_open() -> None:
    talker = at(*TO_NEUTRAL)
    voiced(talker, "Stop.", CHECK, under="scene.slope")
    assert talker.job.paused is not None


def test_a_time_by_voice_is_read_back_since_a_window_hangs_on_it() -> None:
    talker = at(*TO_NEUTRAL)
    talker.say("neutral")
    assert prompt_for(talker.job).key == "neutral.when"
    said = voiced(talker, "Fifteen minutes ago.", 100)
    assert said[-1] == "Fifteen minutes ago. Yes or no?"


def test_what_was_heard_under_another_question_answers_none() -> None:
    talker = at(*TO_MARGIN[:8])
    voiced(talker, "Level.", 100, under="scene.truck")
    assert talker.job.value("slope") is None


def test_a_free_note_is_a_draft_that_go_back_corrects() -> None:
    talker = at("new job breakdown")
    said = voiced(talker, "Mile nine, northbound.", 0, is_free=True)
    assert "draft" in said[0]
    assert talker.job.value("place") == "Mile nine, northbound."
    voiced(talker, "Go back.")
    talker.say("mile 12")
    assert talker.job.value("place") == "mile 12"


@pytest.mark.parametrize("why", ["empty", "too_quiet", "too_long", "unreadable", "no_engine"])
def test_a_note_in_which_nothing_was_heard_changes_nothing(why: str) -> None:
    talker = at(*TO_MARGIN[:8])
    before = talker.job.facts
    said = voiced(talker, "", 0, why=why)
    assert said[0]
    assert talker.job.facts == before


def test_the_transcript_is_in_the_record_as_the_softwares_own() -> None:
    talker = at("new job breakdown", PLACE)
    spoken = Spoken("None seen.", 97, "planted", "1", prompt_for(talker.job).key)
    from flows.turn.advance import advance  # noqa: PLC0415  the turn itself is looked at

    turn = advance(talker.job, Heard(DRIVER, talker.at, media=NOTE, spoken=spoken))
    found = [(entry, by) for entry, by in turn.entries if entry.kind == "transcript"]
    assert [(entry.body["score"], entry.body["engine"], by) for entry, by in found] == [
        (97, "planted", "bot")
    ]

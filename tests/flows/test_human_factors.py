"""Rows of the project's table of human factors that no other test holds, by their number."""

import re
from dataclasses import replace

import pytest

from flows.hearing.answers import answer_for
from flows.hearing.prompts import prompt_for
from flows.job.events import SECOND_NS, Tick
from flows.job.facts import FACTS
from flows.routine.carry import CARRY
from flows.routine.items import Gate, Item, Question, Step
from flows.telling.render import render
from flows.telling.reply import Reply
from flows.telling.saying import fill
from flows.telling.status_words import done_before
from flows.texts import sentences, word
from flows.texts.plainness import words
from flows.turn.flood import is_flooded
from flows.turn.timers import silence_generation
from tests.flows.talker import PLACE, TO_CLOSE, TO_MARGIN, TO_NEUTRAL, Talker, demo_library, told

ITEMS = list(CARRY.items.values())
TO_RELEASE = (*TO_MARGIN, "yes", "stuck", "ended", "done", "no", "ajar", "opened", "pinned")
PAUSES = [item for item in ITEMS if isinstance(item, Gate) and item.acts]


def of_id(item: Item) -> str:
    return item.id


# Done, then confirmed: a pause point shows the steps done and speaks their count


@pytest.mark.parametrize("pause", PAUSES, ids=of_id)
def test_a_pause_shows_what_is_done_and_speaks_only_the_count(pause: Gate) -> None:
    texts = sentences()["items"][pause.id]
    assert "{done_shown}" in texts["shown"]
    assert "{done_shown}" not in texts["spoken"]
    assert "{done_spoken}" in texts["spoken"]
    assert pause.usual_s <= 90


@pytest.mark.parametrize(
    ("way", "exception", "variable"),
    [
        (TO_NEUTRAL[:-1], "not hooked", "hook"),
        ((*TO_NEUTRAL, "neutral now", *TO_CLOSE[:3]), "not hooked", "hook"),
        (
            (*TO_MARGIN, "yes", "stuck", "ended", "done", "no", "ajar", "opened", "pinned"),
            "not chocked",
            "chocks",
        ),
    ],
    ids=("neutral", "pull", "release"),
)
def test_five_to_nine_are_shown_and_an_exception_is_taken_back(
    way: tuple[str, ...], exception: str, variable: str
) -> None:
    talker = told(*way)
    item = talker.job.next_item
    assert item in PAUSES
    done = done_before(talker.job)
    assert 5 <= len(done) <= 9
    shown = render(talker.replies[-1]).shown
    assert all(label in shown for label in done)
    # The exception is taken back, and comes before the pause again.
    talker.say(exception)
    assert talker.job.acts[variable] == "unknown"
    assert talker.job.next_item != item


# Critical first: within a section a critical step that protects comes before one that may wait


def test_ok_or_all_done_passes_no_pause() -> None:
    talker = told(*TO_NEUTRAL[:-1])
    for text in ("ok", "all done", "yes"):
        talker.say(text)
        assert talker.job.next_item in PAUSES


# Put off: it comes back


def test_what_is_put_off_comes_back_after_two_minutes() -> None:
    talker = told(*TO_NEUTRAL[:5])
    assert talker.say("later")[0].key == "says.deferred"
    assert prompt_for(talker.job).key == "scene.chock"
    assert "warning devices out" in render(talker.say("status")[0]).shown
    talker.say("chocked")
    at = talker.at.mono_ns
    first = talker.job.deferred[0].at.mono_ns
    talker.wait((first - at) / SECOND_NS + 119)
    assert talker.job.deferred
    replies = talker.wait(1)
    assert [reply.key for reply in replies] == ["says.deferred_back", "items.scene.warn"]
    assert prompt_for(talker.job).key == "scene.warn"
    talker.say("warned")
    assert prompt_for(talker.job).key == "scene.photos"


def test_what_is_put_off_comes_back_before_the_next_pause() -> None:
    way = [text for text in TO_NEUTRAL[:-1] if text not in {"warned", PLACE}]
    talker = Talker(demo_library())
    talker.say(f"{way[0]}, {PLACE.removeprefix('mile 9, ')}", after_s=1)
    talker.say("later", after_s=1)
    for text in way[1:]:
        if text == "chocked":
            talker.say("later", after_s=1)
        talker.say(text, after_s=1)
    assert prompt_for(talker.job).key == "open.place", "before the pause, in its order"
    talker.say("mile 9", after_s=1)
    assert prompt_for(talker.job).key == "scene.warn"
    assert talker.say("later", after_s=1)[0].key == "says.defer_refused", "not twice"
    talker.say("warned", after_s=1)
    assert prompt_for(talker.job).item in PAUSES


def test_at_most_two_wait_and_nothing_that_a_rule_rests_on() -> None:
    talker = told("new job breakdown", "later", "none", "behind", "secured")
    talker.say("later")
    assert len(talker.job.deferred) == 2
    talker.say("chocked")
    for item in ITEMS:
        if item.deferrable:
            assert not item.critical or item.skippable, item.id
    job = replace(talker.job, deferred=(*talker.job.deferred,))
    assert len(job.deferred) == 2
    assert told(*TO_NEUTRAL[:6]).say("later")[0].key == "says.defer_refused"


# Done twice: harmless, or the step says "only once" and is critical


@pytest.mark.parametrize("item", [i for i in ITEMS if isinstance(i, Step)], ids=of_id)
def test_a_step_done_twice_is_harmless_or_says_only_once(item: Step) -> None:
    shown = sentences()["items"][item.id]["shown"].lower()
    assert item.repeatable or (item.critical and "only once" in shown)


def test_saying_a_done_step_again_changes_nothing() -> None:
    talker = told(*TO_NEUTRAL)
    acts = talker.job.acts
    talker.say("chocked", "hooked the line")
    assert talker.job.acts == acts


# Words for any time, and rolling


@pytest.mark.parametrize("text", ["smoke", "fire", "i see flames"])
def test_danger_is_understood_while_it_rolls(text: str) -> None:
    talker = told(*TO_NEUTRAL[:6])
    talker.job = replace(talker.job, acts=talker.job.acts.after("departs"))
    talker.say(text)
    assert talker.job.acts["danger"] == "seen"


# Confirmed by consequence: every answer kind declares its risk


def test_what_decides_is_confirmed_explicitly() -> None:
    job = told(*TO_NEUTRAL).job
    for item in ITEMS:
        answer = answer_for(job, item)
        assert answer.risk in {"none", "echo", "explicit"}
        if isinstance(item, Question) and (FACTS[item.fact].is_name or FACTS[item.fact].decides):
            assert answer.risk == "explicit", item.id


# Flood: it is held back


def test_fifty_events_in_ten_minutes_are_ten_messages_and_one_that_says_so() -> None:
    talker = told(*TO_NEUTRAL, "neutral now", *TO_CLOSE[:4])
    before = len(talker.replies)
    for _ in range(50):
        # Each question is asked again and gets no answer for a while.
        assert talker.job.asked is not None
        asked = replace(talker.job.asked, stage=0, at=talker.at)
        talker.job = replace(talker.job, asked=asked)
        talker.happens(Tick("silence", silence_generation(asked), talker.at))
        talker.at = replace(talker.at, mono_ns=talker.at.mono_ns + 11 * SECOND_NS)
    unasked = [r.key for r in talker.replies[before:] if r.to == "driver" and r.priority != "stop"]
    assert len(unasked) == 11
    assert unasked.count("says.held_back") == 1


def test_when_ten_were_sent_lesser_ones_wait_and_stop_passes() -> None:
    talker = told(*TO_NEUTRAL, "neutral now", *TO_CLOSE[:4])
    window = talker.job.window
    assert window is not None

    def flooded_until(minute: float) -> list[str]:
        talker.wait((window.earliest_ns - talker.at.mono_ns) / SECOND_NS + 60 * minute - 30)
        talker.job = replace(talker.job, unasked=(talker.at,) * 10)
        assert is_flooded(replace(talker.job, now=talker.at))
        return [reply.key for reply in talker.wait(60) if reply.to == "driver"]

    assert flooded_until(15) == ["says.held_back"]
    assert "says.window_fifteenth" in flooded_until(28), "Stop passes"


# Alarm, with several jobs: one that names its job is still short enough


def test_an_alarm_that_names_its_job_is_short_enough() -> None:
    job = told(*TO_NEUTRAL, "neutral now").job
    for key, texts in sentences()["says"].items():
        if texts["priority"] != "reply" and "{ref}" not in texts["spoken"] and "told" not in key:
            reply = Reply(
                "driver", f"says.{key}", job, texts["priority"], {"rule": "S1", "noted": "hooked"}
            )
            spoken = render(reply).spoken
            named = fill(word("named_spoken"), job, {"text": spoken})
            assert len(words(named)) <= 24, key
            assert re.match(r"(Stop|Check|Note)\.", named)


# Correction: two turns correct the last answer, and append


def test_two_turns_correct_the_last_answer() -> None:
    talker = told(*TO_MARGIN[:9])
    assert talker.job.value("slope") == "level"
    seq = talker.job.seq
    talker.say("back", "downhill")
    assert talker.job.value("slope") == "downhill"
    assert talker.job.seq > seq, "it appends"
    one = told(*TO_MARGIN[:9])
    one.say("back", "no")
    talker = told(*TO_MARGIN[:7])
    talker.say("back", "no")
    assert talker.job.acts["chocks"] == "unknown"


# Every item says why, and cites only sources that a reader can find

UNFINDABLE = re.compile(r"\broutine\b|\bsection \d|\bHF-\d", re.IGNORECASE)
RULE = re.compile(r"\bS\d+\b")


def reasons() -> dict[str, str]:
    return {
        f"{table}.{key}": texts["why"]
        for table in ("items", "says")
        for key, texts in sentences()[table].items()
        if "why" in texts
    }


@pytest.mark.parametrize("why", reasons().values(), ids=list(reasons()))
def test_why_gives_a_reason_and_cites_only_what_can_be_found(why: str) -> None:
    assert not UNFINDABLE.search(why)
    assert set(RULE.findall(why)) <= {f"S{n}" for n in range(1, 17)}
    if "ommon practice" in why:
        assert "ommon practice, no published source." in why
    assert len(words(RULE.sub("", why).replace("Our rule", ""))) >= 4, "a rule alone is no reason"

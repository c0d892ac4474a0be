"""Clock torture: the window is never longer than true, never missing, and not needlessly short."""

from dataclasses import replace
from functools import cache

import pytest

from bot.commands.bootstrap import read_cards
from flows.job.events import MINUTE_NS, Heard, Person, Tick
from flows.job.state import Job
from flows.measures import say
from flows.routine.book import Book
from flows.routine.carry import CARRY
from flows.telling.render import render
from flows.turn.advance import advance, opening
from flows.turn.timers import timers_for
from tests.flows.talker import DISPATCHER, OWNER, PLACE
from tests.flows.truth import (
    DRIVER,
    HOUR_MS,
    MINUTE_MS,
    Chance,
    Machine,
    Report,
    Telling,
    ago,
    bare,
    by_the_clock,
    earliest_true_ms,
    roughly_ago,
)

BOOK = Book(CARRY, read_cards(None))
HOLD_MS = 30 * MINUTE_MS
TO_NEUTRAL = ("breakdown", PLACE, "none", "behind", "secured", "warned", "chocked",
              "too dark", "level", "nose", "harrow", "heron", "yes", "not in", "all roll",
              "understood", "hooked", "away", "tight", "on", "go")  # fmt: skip
# 2026-06-03 15:00 UTC; and minutes before the zone's clocks go forward and back.
STARTS = {
    "summer": 1_780_498_800_000,
    "forward": 1_772_960_400_000 - 10 * MINUTE_MS,
    "back": 1_793_520_000_000 - 20 * MINUTE_MS,
}


@cache
def to_neutral(start: int) -> tuple[Job, int]:
    """Bring a job to the question for neutral; return it and when that was asked [true ms].

    On a machine booted an hour before: every history of a start goes the same way so far.
    """
    machine = Machine(booted_ms=start - HOUR_MS)
    said = Heard(DRIVER, machine.at(start), "new job", stamped_ms=start)
    job, true = opening(Job(1, BOOK), said, {}).job, start
    for text in TO_NEUTRAL:
        true += 3000
        job = advance(job, Heard(DRIVER, machine.at(true), text, stamped_ms=true)).job
    assert job.asked is not None
    assert job.asked.item == "neutral.select"
    return job, true


def history(
    seed: int, telling: Telling, start: int, others: tuple[Person, ...] = ()
) -> tuple[Job, Machine, Report, int]:
    """Play one history: neutral, said, stamped, received, with our wall clock stepped.

    `others` ask something just before, each by a clock of their own that is minutes wrong.
    """
    chance = Chance(seed)
    machine = Machine(booted_ms=start - HOUR_MS)
    job, asked = to_neutral(start)
    for who in others:
        wrong = Heard(who, machine.at(asked), "status", stamped_ms=asked + chance.ms(-900, 900))
        job = advance(job, wrong).job
    early = 0 if telling is bare else chance.ms(0, 1200)
    selected = asked - early + chance.ms(0, 240)
    said = max(selected, asked) + chance.ms(1, 900)
    stamped = said + (chance.ms(0, 900) if chance.dice.random() < 0.3 else 0)
    received = stamped + chance.ms(0, 2) + (chance.ms(0, 600) if chance.dice.random() < 0.3 else 0)
    if chance.dice.random() < 0.5:
        machine.off_ms = chance.ms(-5 * 3600, 5 * 3600)
    report = Report(selected, said, stamped, received, telling(selected, said))
    return advance(job, report.heard(machine)).job, machine, report, asked


@pytest.mark.parametrize("start", STARTS.values(), ids=STARTS)
@pytest.mark.parametrize("telling", [bare, ago, roughly_ago, by_the_clock])
def test_never_longer_than_true_and_never_missing(telling: Telling, start: int) -> None:
    for seed in range(120):
        job, machine, report, _ = history(seed, telling, start)
        window = job.window
        assert window is not None, f"seed {seed}: {report}"
        ends = machine.true_ms(window.ends_ns or 0)
        assert ends <= report.selected + HOLD_MS + report.told.slack_ms, f"seed {seed}: {report}"
        if window.state == "open":
            assert any(timer.name == "window" for timer in timers_for(job)), f"seed {seed}"
        else:
            assert window.state == "ended"
            assert job.acts["gear"] == "unknown"


@pytest.mark.parametrize("telling", [bare, by_the_clock])
@pytest.mark.parametrize("who", [DISPATCHER, DRIVER])
def test_another_message_by_a_wrong_clock_never_makes_it_longer(
    telling: Telling, who: Person
) -> None:
    for seed in range(60):
        job, machine, report, _ = history(seed, telling, STARTS["summer"], (who,))
        assert job.window is not None, f"seed {seed}: {report}"
        ends = machine.true_ms(job.window.ends_ns or 0)
        assert ends <= report.selected + HOLD_MS + report.told.slack_ms, f"seed {seed}: {report}"


@pytest.mark.parametrize("others", [(), (DISPATCHER, OWNER)], ids=["alone", "with others"])
@pytest.mark.parametrize("telling", [bare, ago, roughly_ago, by_the_clock])
def test_not_needlessly_short(telling: Telling, others: tuple[Person, ...]) -> None:
    """Without a step of our wall clock it ends no earlier than the known facts require.

    Others in the job may have any clocks: they are no facts about the driver's.
    """
    seen_open = 0
    for seed in range(0, 200, 2 if others else 1):
        job, machine, report, asked = history(seed, telling, STARTS["summer"], others)
        if machine.off_ms:
            continue
        assert job.window is not None
        ends = machine.true_ms(job.window.ends_ns or 0)
        # A clock's minute said of a message on its way counts back over the way, too.
        way = report.received - report.stamped + 1000 if telling is by_the_clock else 1000
        assert ends >= earliest_true_ms(asked, report) + HOLD_MS - way, f"seed {seed}: {report}"
        seen_open += job.window.state == "open"
    assert seen_open > 20


def test_a_later_claim_never_lengthens() -> None:
    machine = Machine(booted_ms=STARTS["summer"] - HOUR_MS)
    job, asked = to_neutral(STARTS["summer"])
    job = advance(job, Heard(DRIVER, machine.at(asked + 60_000), "neutral")).job
    assert job.window is not None
    first = job.window.ends_ns or 0
    for text in ("now", "neutral now", "at 23:59", "in five minutes", "neutral"):
        asked += 90_000
        job = advance(job, Heard(DRIVER, machine.at(asked), text)).job
        assert job.window is not None
        assert (job.window.ends_ns or 0) <= first, text
        assert job.window.state in {"open", "ended"}


def test_a_step_of_the_wall_clock_alone_changes_nothing() -> None:
    start = STARTS["summer"]
    ends = set()
    for off in (0, HOUR_MS, -HOUR_MS, 30 * 24 * HOUR_MS, -5 * MINUTE_MS):
        machine = Machine(booted_ms=start - HOUR_MS)
        job, asked = to_neutral(start)
        job = advance(job, Heard(DRIVER, machine.at(asked + 5000), "neutral two minutes ago")).job
        machine.off_ms = off
        job = advance(job, Heard(DRIVER, machine.at(asked + 9000), "confirmed")).job
        assert job.window is not None
        assert job.window.state == "open"
        ends.add(job.window.ends_ns)
    assert len(ends) == 1


@pytest.mark.parametrize("trouble", ["reboot", "gone back"])
def test_untrusted_elapsed_time_ends_the_window_with_words(trouble: str) -> None:
    machine = Machine(booted_ms=STARTS["summer"] - HOUR_MS)
    job, asked = to_neutral(STARTS["summer"])
    job = advance(job, Heard(DRIVER, machine.at(asked + 5000), "neutral now")).job
    if trouble == "reboot":
        # Another boot alone, with a boot clock that is further on.
        machine.boot, machine.booted_ms = "b2", asked - 9 * HOUR_MS
    else:
        machine.back_ms = 20_000
    turn = advance(job, Heard(DRIVER, machine.at(asked + 9000), "confirmed"))
    assert turn.job.window is not None
    assert turn.job.window.state == "ended"
    assert turn.job.acts["gear"] == "unknown"
    assert "says.clock_doubt" in {reply.key for reply in turn.replies}


def test_every_warning_comes_at_its_time() -> None:
    """15, 5 and 2 minutes of 30 are left, then the end, repeated at 60 s and 180 s.

    A warning comes five seconds before its mark, so that it is true when it is heard.
    """
    machine = Machine(booted_ms=STARTS["summer"] - HOUR_MS)
    job, asked = to_neutral(STARTS["summer"])
    job = advance(job, Heard(DRIVER, machine.at(asked + 1000), "neutral now")).job
    assert job.window is not None
    began, told = job.window.earliest_ns, []
    for _ in range(40):
        timers = [timer for timer in timers_for(job) if timer.name == "window"]
        if not timers:
            break
        due = timers[0]
        at = replace(machine.at(asked), mono_ns=due.due_ns)
        stale = advance(job, Tick("window", due.generation - 1, at))
        assert [r for r in stale.replies if r.priority != "reply"] == []
        turn = advance(job, Tick("window", due.generation, at))
        told.append(((due.due_ns - began) // 1_000_000_000, turn.replies[0].priority))
        job = turn.job
    assert told == [(895, "note"), (1495, "check"), (1675, "stop"), (1800, "stop"),
                    (1860, "stop"), (1980, "stop")]  # fmt: skip


@pytest.mark.parametrize("late_ms", [0, 1, 200, 999, 1000, 4999, 5000, 5001, 40_000])
def test_a_warning_never_says_more_time_than_there_is(late_ms: int) -> None:
    """By the real clock a timer is late: the minutes left are said to the second, and never more.

    On time, and up to five seconds late, a warning says 15, 5 and 2 minutes of 30; later it says
    a minute less.
    """
    machine = Machine(booted_ms=STARTS["summer"] - HOUR_MS)
    job, asked = to_neutral(STARTS["summer"])
    job = advance(job, Heard(DRIVER, machine.at(asked + 1000), "neutral now")).job
    for minutes in (15, 5, 2):
        timer = next(timer for timer in timers_for(job) if timer.name == "window")
        mono_ns = timer.due_ns + late_ms * 1_000_000
        turn = advance(
            job, Tick("window", timer.generation, replace(machine.at(asked), mono_ns=mono_ns))
        )
        job = turn.job
        assert job.window is not None
        assert job.window.ends_ns is not None
        said = minutes if late_ms <= 5000 else minutes - 1
        assert f"{say.plain_minutes(said)} left at most" in render(turn.replies[0]).spoken.lower()
        assert said * MINUTE_NS <= job.window.ends_ns - mono_ns


def test_an_unknown_hold_promises_nothing() -> None:
    start = STARTS["summer"]
    machine = Machine(booted_ms=start - HOUR_MS)
    job = opening(Job(1, BOOK), Heard(DRIVER, machine.at(start), "new job"), {}).job
    for n, text in enumerate(TO_NEUTRAL, 1):
        words = {"harrow": "dunlin", "not in": "all roll", "all roll": "understood",
                 "understood": "hooked", "hooked": "away", "away": "tight", "tight": "go",
                 "on": "neutral now", "go": "confirmed"}.get(text, text)  # fmt: skip
        job = advance(job, Heard(DRIVER, machine.at(start + n * 3000), words)).job
    assert job.acts["neutral"] == "confirmed"
    assert job.window is not None
    assert (job.window.state, job.window.ends_ns) == ("open", None)
    assert [timer for timer in timers_for(job) if timer.name == "window"] == []


@pytest.mark.parametrize(
    ("said", "left_min"),
    [
        # The clocks go back at 08:00 UTC: 01:50 was at 07:50 and at 08:50. The first counts.
        ("neutral at 01:50", 0),
        # 01:10 is an hour from now, or more than an hour ago: the past time counts.
        ("neutral at 01:10", 0),
    ],
)
def test_a_time_that_was_twice_is_its_first(said: str, left_min: int) -> None:
    start = 1_793_520_000_000 - 5 * MINUTE_MS
    machine = Machine(booted_ms=start - HOUR_MS)
    job, _ = to_neutral(start)
    at = machine.at(1_793_520_000_000 + 55 * MINUTE_MS)
    turn = advance(job, Heard(DRIVER, at, said))
    assert turn.job.window is not None
    assert turn.job.window.state == ("ended" if left_min == 0 else "open")


def test_a_time_ahead_is_asked_again_but_neutral_counts() -> None:
    machine = Machine(booted_ms=STARTS["summer"] - HOUR_MS)
    job, asked = to_neutral(STARTS["summer"])
    turn = advance(job, Heard(DRIVER, machine.at(asked + 5000), "neutral at 23:30"))
    assert "says.when_ahead" in {reply.key for reply in turn.replies}
    assert turn.job.acts["gear"] == "neutral"
    assert turn.job.window is not None
    assert turn.job.window.state == "open"

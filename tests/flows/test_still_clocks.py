"""On the road the clocks of what was put off and of an alarm stand still."""

from dataclasses import replace

import pytest

from flows.job.entries import Entry
from flows.job.events import MINUTE_NS, SECOND_NS, Moment
from flows.job.folding import fold
from flows.job.state import Alarm, Envelope
from flows.turn.timers import DEFERRED_S
from tests.flows.talker import PLACE, Talker, told

AT_WARN = ("new job breakdown", PLACE, "none", "behind", "secured")


def due_s(talker: Talker, name: str) -> float:
    """Return in how many seconds a timer falls due."""
    timer = next(one for one in talker.timers if one.name == name)
    return (timer.due_ns - talker.at.mono_ns) / SECOND_NS


def test_what_was_put_off_comes_back_with_the_time_that_was_left() -> None:
    talker = told(*AT_WARN, "later")
    talker.say("driving off", after_s=30)
    assert {timer.name for timer in talker.timers}.isdisjoint({"deferral", "silence"})
    left = DEFERRED_S - 30
    replies = talker.say("parked", after_s=1800)
    assert "says.deferred_back" not in {one.key for one in replies}
    assert due_s(talker, "deferral") == pytest.approx(left, abs=2)


@pytest.mark.parametrize(("raised_s", "left_s"), [(-40, 80), (300, 120)])
def test_an_alarm_waits_for_its_answer_only_while_the_truck_stands(
    raised_s: int, left_s: int
) -> None:
    talker = told(*AT_WARN)
    talker.say("driving off")
    start = talker.at
    raised = replace(start, mono_ns=start.mono_ns + raised_s * SECOND_NS)
    job = talker.job.with_(alarm=Alarm("window_5", raised, True, 120, 3))  # noqa: FBT003
    stands = replace(start, mono_ns=start.mono_ns + 20 * MINUTE_NS)
    after = fold(job, Entry("act", {"act": "arrives"}), Envelope(stands, "p1", job.seq))
    assert after.alarm is not None
    due = after.alarm.at.mono_ns + 120 * SECOND_NS
    assert (due - stands.mono_ns) // SECOND_NS == left_s


def test_another_start_of_the_machine_leaves_them_as_they_are() -> None:
    talker = told(*AT_WARN, "later")
    talker.say("driving off")
    at = Moment(talker.at.wall_ms + 60_000, SECOND_NS, "boot-2")
    before = talker.job.deferred
    after = fold(talker.job, Entry("act", {"act": "arrives"}), Envelope(at, "p1", 99))
    assert after.deferred == before

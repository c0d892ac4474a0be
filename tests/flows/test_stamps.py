"""Stamps that are ahead: they make nobody deaf, and one chat's clock is no other's."""

from dataclasses import replace

import pytest

from flows.job.events import SECOND_NS, Heard, Person
from tests.flows.talker import (
    DISPATCHER,
    DRIVER,
    OTHER_DRIVER,
    TO_CLOSE,
    TO_NEUTRAL,
    Talker,
    told as told_all,
)

PULLS = (*TO_NEUTRAL, "neutral now", *TO_CLOSE[:4])


def sends(talker: Talker, text: str, who: Person = DRIVER, ahead_s: float = 0) -> list[str]:
    """Say something with a stamp, so far ahead of the true time."""
    talker.wait(2)
    stamped = talker.at.wall_ms + int(ahead_s * 1000)
    replies = talker.happens(Heard(who, talker.at, text, stamped_ms=stamped))
    return [reply.key for reply in replies]


@pytest.mark.parametrize("ahead_s", [120, 3_600, 1e9])
@pytest.mark.parametrize("who", [DISPATCHER, OTHER_DRIVER, DRIVER])
def test_a_stamp_ahead_makes_nobody_deaf(who: Person, ahead_s: float) -> None:
    talker = told_all(*PULLS)
    sends(talker, "status", DRIVER)
    sends(talker, "status", who, ahead_s)
    sends(talker, "hold")
    sends(talker, "resume")
    sends(talker, "stopped")
    assert talker.job.acts["winch"] == "still"
    for said in ("away", "go", "on deck"):
        assert "says.parked" not in sends(talker, said)
    assert talker.job.acts["deck"] == "deck"


def test_a_wall_clock_set_back_makes_nobody_deaf() -> None:
    talker = told_all(*PULLS[:-2])
    sends(talker, "status")
    talker.at = replace(talker.at, wall_ms=talker.at.wall_ms - 3_600_000)
    assert "says.parked" not in sends(talker, "away", ahead_s=3_600)
    assert "says.parked" not in sends(talker, "go", ahead_s=3_600)


@pytest.mark.parametrize("who", [DISPATCHER, OTHER_DRIVER])
def test_the_stamp_of_another_chat_shortens_no_window(who: Person) -> None:
    left = []
    for ahead_s in (0, 600):
        talker = told_all(*TO_NEUTRAL)
        sends(talker, "status", who, ahead_s)
        sends(talker, "status")
        sends(talker, "neutral now")
        assert talker.job.window is not None
        left.append(talker.job.window.earliest_ns - talker.job.opened.mono_ns)
    assert left[0] == left[1]


def test_what_was_sent_before_its_question_still_waits() -> None:
    talker = told_all(*TO_NEUTRAL[:4])
    sends(talker, "status")
    early = talker.at.wall_ms
    sends(talker, "secured")
    talker.at = replace(
        talker.at, wall_ms=talker.at.wall_ms + 2000, mono_ns=talker.at.mono_ns + 2 * SECOND_NS
    )
    replies = talker.happens(Heard(DRIVER, talker.at, "warned", stamped_ms=early))
    assert [reply.key for reply in replies] == ["says.parked"]

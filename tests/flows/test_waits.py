"""A wait is at least: never over early, whatever interrupts it or happens to the clock."""

import pytest

from flows.hearing.prompts import prompt_for
from flows.routine.items import WaitStep
from tests.flows.talker import TO_MARGIN, Talker, demo_library

FIELDFARE_MIN = 10
"""Its card: wait ten minutes once the rear seat link is open."""
TO_WAIT = (
    *(text if text != "harrow" else "fieldfare" for text in TO_MARGIN[:-1]), "godwit", "yes",
    "stuck", "ended", "done", "no", "ajar", "covers off", "opened", "pinned", "opened", "pinned",
)  # fmt: skip


def waiting() -> Talker:
    talker = Talker(demo_library())
    talker.say(*TO_WAIT)
    assert isinstance(prompt_for(talker.job).item, WaitStep)
    return talker


def is_over(talker: Talker) -> bool:
    talker.say("waited", after_s=0)
    return talker.job.acts.holds("isolations_waited")


@pytest.mark.parametrize(("waited_s", "over"), [(599, False), (600, True), (2000, True)])
def test_it_counts_from_the_last_pin(waited_s: int, *, over: bool) -> None:
    talker = waiting()
    talker.wait(waited_s)
    assert is_over(talker) is over


def test_it_says_when_it_is_over() -> None:
    talker = waiting()
    talker.wait(FIELDFARE_MIN * 60 - 1)
    before = len(talker.replies)
    talker.wait(1)
    said = [reply.key for reply in talker.replies[before:]]
    assert said == ["items.cord.wait"]
    assert talker.replies[-1].variant == "over"
    assert not talker.job.acts.holds("isolations_waited"), "silence settles nothing"


def test_other_messages_do_not_shorten_it() -> None:
    talker = waiting()
    talker.wait(300)
    talker.say("problem", "not sure", "hold", "resume", after_s=5)
    talker.wait(200)
    assert not is_over(talker)
    talker.wait(100)
    assert is_over(talker)


def test_after_a_restart_of_the_clock_it_starts_again() -> None:
    talker = waiting()
    talker.wait(500)
    talker.reboot()
    talker.say("status", after_s=0)
    talker.wait(FIELDFARE_MIN * 60 - 10)
    assert not is_over(talker)
    talker.wait(30)
    assert is_over(talker)


def test_an_isolation_opened_again_is_waited_for_again() -> None:
    talker = waiting()
    talker.wait(700)
    assert is_over(talker)
    talker.say("not disconnect opened")
    talker.say("opened", "pinned")
    assert prompt_for(talker.job).key == "cord.wait"
    assert not is_over(talker)

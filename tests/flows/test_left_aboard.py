"""A vehicle that an ended job left on the deck: whatever its number, it is named and said off."""

import pytest

from flows.job.events import Aboard, Heard
from flows.telling.render import render
from tests.flows.talker import DRIVER, TO_MARGIN, told


@pytest.mark.parametrize("number", [1, 99, 100, 9999])
def test_it_is_named_by_the_number_of_its_job(number: int) -> None:
    talker = told(*TO_MARGIN[:-1])
    fleet = {"heron": (Aboard(number, 5000, 200, left=True),)}
    found = talker.happens(Heard(DRIVER, talker.at, "heron", fleet=fleet))
    shown = [render(one).shown for one in found if one.key == "says.left_aboard"]
    assert [f"job {number} " in one for one in shown] == [True], "once, beside the margin"
    assert talker.job.verdict == "no-go"
    talker.happens(Heard(DRIVER, talker.at, "deck empty", fleet=fleet))
    assert talker.job.verdict == "go"

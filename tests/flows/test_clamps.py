"""Clamps come off when the donor turns out to be another: always the last clamp on first."""

from itertools import product

import pytest

from flows.job.acts import CLAMPS, FROM_A_PACK, UNKNOWN, Acts
from flows.job.facts import Fact
from flows.job.state import Job
from flows.routine.conditions.waking import out_of_order
from tests.explore.explored import BOOK

DONORS = {"pack": FROM_A_PACK, "combustion": CLAMPS}


def job(donor: str, states: tuple[str, ...]) -> Job:
    acts = Acts.initial().with_(
        {f"clamp.{post}": state for post, state in zip(CLAMPS, states, strict=True)}
    )
    return Job(1, BOOK, acts=acts, facts={"donor": Fact(donor, "typed", "", 0)})


@pytest.mark.parametrize("donor", DONORS)
def test_clamps_come_off_in_reverse_order(donor: str) -> None:
    """Flat +, donor +, donor -, flat's ground; reversed: common practice, no source."""
    for states in product(("off", "on", UNKNOWN), repeat=len(CLAMPS)):
        at = job(donor, states)
        on = [post for post, state in zip(CLAMPS, states, strict=True) if state != "off"]
        asked = [post for post in reversed(CLAMPS) if post in on and out_of_order[post].holds(at)]
        # Whatever is asked off has nothing left on that went on after it.
        assert asked == on[::-1][: len(asked)], states


@pytest.mark.parametrize("donor", DONORS)
def test_all_clamps_of_another_donor_come_off(donor: str) -> None:
    foreign = [post for post in CLAMPS if post not in DONORS[donor]]
    for states in product(("off", "on"), repeat=len(CLAMPS)):
        at = job(donor, states)
        for post in foreign:
            assert out_of_order[post].holds(at)

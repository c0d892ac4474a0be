"""A figure rests on every fact it reads: change a fact, and the figure is open again."""

from dataclasses import replace
from typing import Any

import pytest
from typing_extensions import override

from flows.job.entries import Entry
from flows.job.facts import WEIGHT_RESTS_ON, Fact
from flows.job.folding import fold
from flows.job.state import Envelope, Job
from flows.reckoning.lifts import conclude_lift
from flows.reckoning.margin_inputs import conclude_margin
from flows.reckoning.planning import conclude_pull
from flows.routine.carry import CARRY
from flows.routine.items import Figure, LiftPlan, PullPlan
from tests.flows.talker import TO_MARGIN, Talker, demo_library

FIGURES = [item for item in CARRY.items.values() if isinstance(item, Figure)]
# Ways to know a vehicle: each reads other facts.
WAYS: list[dict[str, Any]] = [
    {},
    {"load_lb": 400},
    {"weight": 5200, "weight_how": "stated", "load_lb": "not sure"},
    {"weight": 5200, "weight_how": "ticket", "passengers": "two"},
    {"card": "none", "family": "suv", "weight_class": "any"},
    {"card": "none", "family": "any", "weight_class": "any", "load_lb": 300, "pull_ft": 60},
]


class Watched(dict[str, Fact]):
    """Facts that write down which of them was asked for."""

    def __init__(self, facts: dict[str, Fact]) -> None:
        super().__init__(facts)
        self.read: set[str] = set()

    @override
    def get(self, name: str, default: Any = None) -> Any:
        self.read.add(name)
        return super().get(name, default)


def concluded(item: Figure, job: Job) -> object:
    match item:
        case PullPlan():
            return conclude_pull(job)
        case LiftPlan():
            return conclude_lift(job, item.by)
        case _:
            return conclude_margin(job)


@pytest.fixture(scope="module")
def at_margin() -> Job:
    talker = Talker(demo_library())
    talker.say(*TO_MARGIN)
    return talker.job


def watched(job: Job, known: dict[str, Any]) -> Watched:
    wrecker = job.book.library.wreckers[0].id
    given = {name: Fact(value, "typed", "p1", 3) for name, value in known.items()}
    second = {"second_truck": Fact(wrecker, "typed", "p1", 3)}
    return Watched({**job.facts, **second, **given})


@pytest.mark.parametrize("item", FIGURES, ids=lambda item: item.id)
def test_it_reads_only_facts_that_it_rests_on(item: Figure, at_margin: Job) -> None:
    read: set[str] = set()
    for known in WAYS:
        facts = watched(at_margin, known)
        assert concluded(item, replace(at_margin, facts=facts)) is not None
        read |= facts.read
    assert read <= set(item.rests_on), f"{item.id} reads {read - set(item.rests_on)} too"
    assert {"card", "weight", "load_lb", "family"} <= read


@pytest.mark.parametrize("name", WEIGHT_RESTS_ON)
def test_a_margin_is_computed_again_when_a_fact_under_it_is_said_again(
    name: str, at_margin: Job
) -> None:
    assert at_margin.margin_stands
    assert at_margin.now is not None
    said = Entry("fact", {"name": name, "value": "any", "how": "typed"})
    after = fold(at_margin, said, Envelope(at_margin.now, "p1", at_margin.seq))
    assert not after.margin_stands

"""Which item is next is worked out once, and kept as long as nothing that decides it changed."""

import dataclasses
from dataclasses import replace
from typing import Any

import pytest
from typing_extensions import override

from flows.job.acts import VARIABLES
from flows.job.entries import Entry
from flows.job.facts import Fact
from flows.job.folding import fold
from flows.job.state import DECIDES_NEXT, Envelope, Job
from flows.routine.carry import CARRY
from flows.routine.condition import View
from flows.routine.judged import Judged, Judgement, Readers
from tests.flows.talker import TO_CLOSE, TO_NEUTRAL, Talker, demo_library

FIELDS = {one.name for one in dataclasses.fields(Job)}
WHOLE = (*TO_NEUTRAL, "neutral now", *TO_CLOSE)


class Watched(Job):
    """A job that writes down which part of its state was read."""

    @override
    def __getattribute__(self, name: str) -> Any:
        if name in FIELDS:
            object.__getattribute__(self, "__dict__").setdefault("read", set()).add(name)
        return super().__getattribute__(name)


def watched(job: Job) -> Watched:
    return Watched(**{name: getattr(job, name) for name in FIELDS})


@pytest.fixture(scope="module")
def jobs() -> list[Job]:
    """Every job that a whole carry goes through, entry by entry."""
    talker, found = Talker(demo_library()), []
    for said in WHOLE:
        talker.say(said)
        found.append(talker.job)
    assert found[-1].ended is not None
    return found


def test_nothing_else_decides_which_item_is_next(jobs: list[Job]) -> None:
    read: set[str] = set()
    for job in jobs:
        seen = watched(job)
        for section in CARRY.sections:
            section.applies.holds(seen)
            for item in section.items:
                item.settled(seen)
                item.applies.holds(seen)
                item.open(seen)
        list(CARRY.open_items(seen))
        read |= seen.__dict__["read"]
    assert read <= DECIDES_NEXT, f"add {read - DECIDES_NEXT} to DECIDES_NEXT in flows/job/state.py"
    assert {"facts", "acts", "done", "window", "margin"} <= read


def test_a_view_shows_nothing_else(jobs: list[Job]) -> None:
    class Anything(frozenset[str]):
        @override
        def __contains__(self, name: object) -> bool:
            return True

    seen = watched(jobs[-1])
    view = View(seen, "anything", Anything())
    shown = [name for name, one in vars(View).items() if isinstance(one, property)]
    assert "verdict" in shown
    for name in shown:
        getattr(view, name)
    for look in (view.fact, view.sure, view.done):
        look("slope")
    view.act("line")
    assert seen.__dict__["read"] <= DECIDES_NEXT


def test_the_kept_item_is_the_item_a_new_search_finds(jobs: list[Job]) -> None:
    for job in jobs:
        afresh = replace(job)
        assert job.next_item == afresh.next_item
        assert job.margin_stands == afresh.margin_stands


def test_only_a_change_that_decides_drops_the_kept_item() -> None:
    talker = Talker(demo_library())
    talker.say(*TO_NEUTRAL)
    job, moment = talker.job, talker.job.now
    assert moment is not None
    assert job.next_item is not None

    def after(kind: Any, **body: Any) -> Job:
        return fold(job, Entry(kind, body), Envelope(moment, "p1", job.seq))

    assert after("asked", item="x", n=9).__dict__["next_item"] is job.next_item
    assert "next_item" not in after("act", act="path_empty").__dict__
    assert "next_item" not in after("fact_cleared", name="slope").__dict__


def test_values_derived_from_a_job_are_not_taken_for_another() -> None:
    job = Job(1, Talker(demo_library()).job.book)
    job.memo["prompt"] = "old"
    assert "prompt" not in job.with_(asks=2).memo


def afresh(job: Job) -> list[str]:
    """Every open item, found without anything from the job before."""
    return [item.id for item in job.book.routine.open_items(replace(job))]


def test_after_any_one_change_the_items_open_are_those_found_afresh(jobs: list[Job]) -> None:
    for job in jobs[::5]:
        list(job.book.routine.open_items(job))
        for name in job.facts:
            facts = {one: fact for one, fact in job.facts.items() if one != name}
            without = job.with_(facts=facts)
            assert [item.id for item in CARRY.open_items(without)] == afresh(without), name
        for variable, domain in VARIABLES.items():
            other = next(value for value in domain if value != job.acts[variable])
            changed = job.with_(acts=job.acts.with_({variable: other}))
            assert [item.id for item in CARRY.open_items(changed)] == afresh(changed), variable
        for rest in ("margin", "pull", "lift", "window", "handoff", "override"):
            changed = job.with_(**{rest: None})
            assert [item.id for item in CARRY.open_items(changed)] == afresh(changed), rest


def test_only_what_looked_up_a_change_is_judged_again() -> None:
    judged: list[str] = []

    def judgement(name: str) -> Judgement:
        def judge(job: Job) -> bool:
            judged.append(name)
            return job.value(name) is not None

        return judge

    judgements = {1: judgement("slope"), 2: judgement("card")}
    readers = Readers(int)
    job = Job(1, Talker(demo_library()).job.book, facts={"card": Fact("none", "typed", "", 0)})
    before = Judged(job, judgements, readers)
    assert [before(1), before(2), before(1)] == [False, True, False]
    assert judged == ["slope", "card"]
    level = job.with_(facts={**job.facts, "slope": Fact("level", "typed", "", 1)})
    after = Judged(level, judgements, readers, before)
    assert [after(1), after(2)] == [True, True]
    assert judged == ["slope", "card", "slope"]
    assert Judged(level, judgements, Readers(int), before).perhaps(3) == 3

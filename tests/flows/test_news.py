"""News counts from whoever brings it, and in answer to whatever message; answers do not."""

from dataclasses import replace

import pytest

from flows.job.events import Heard, Person
from flows.job.state import Job
from tests.flows.talker import (
    DISPATCHER,
    DRIVER,
    OTHER_DRIVER,
    OWNER,
    TO_CLOSE,
    TO_NEUTRAL,
    Talker,
    open_item,
)
from tests.flows.test_order_of_acts import CARRY, PULLS, told

OTHERS = (DISPATCHER, OTHER_DRIVER, OWNER)
LATE = ("an old message", "sent before its question", "an edit")


def late(talker: Talker, said: str, how: str) -> list[str]:
    """Say something that answers no open question: to an old one, too early, or an edit."""
    talker.wait(3)
    asked = talker.job.asked
    assert asked is not None
    heard = Heard(DRIVER, talker.at, said)
    if how == "an old message":
        heard = replace(heard, ask=max(asked.n - 1, 0))
    elif how == "an edit":
        heard = replace(heard, is_edit=True)
    else:
        talker.happens(Heard(DRIVER, talker.at, "status", stamped_ms=talker.at.wall_ms))
        heard = replace(heard, stamped_ms=talker.at.wall_ms - 600_000)
    return [reply.key for reply in talker.happens(heard)]


BAD = {
    "the hook came off": ("hook", "unknown"),
    "the line broke": ("line", "unknown"),
    "not chocked": ("chocks", "unknown"),
    "smoke": ("danger", "seen"),
    "danger seen": ("danger", "seen"),
    "stop, there is smoke": ("danger", "seen"),
    "it is rolling": ("tension", "unknown"),
    "the truck moved": ("truck", "unknown"),
}


@pytest.mark.parametrize("how", LATE)
@pytest.mark.parametrize("said", BAD)
def test_news_counts_whatever_message_it_answers(said: str, how: str) -> None:
    at = len(TO_NEUTRAL) - 1 if "chock" in said else len(PULLS)
    talker = told(CARRY[:at])
    keys = late(talker, said, how)
    variable, state = BAD[said]
    assert talker.job.acts[variable] == {"truck": "as_found"}.get(variable, state)
    assert not {"says.stale", "says.parked", "says.edit"}.intersection(keys)


@pytest.mark.parametrize("how", LATE)
@pytest.mark.parametrize("said", ["it was a crash", "one wheel is locked", "it is uphill"])
def test_a_fact_that_asks_for_more_care_counts_too(said: str, how: str) -> None:
    talker = told(TO_NEUTRAL[:-1])
    late(talker, said, how)
    known = {talker.job.value(name) for name in ("history", "wheels", "slope")}
    assert known & {"crash", "locked", "uphill"}


@pytest.mark.parametrize("how", LATE)
@pytest.mark.parametrize(
    "said", ["chocked", "go", "neutral now", "level", "harrow", "yes", "chocks out", "on deck"]
)
def test_an_answer_stays_bound_to_its_question(said: str, how: str) -> None:
    talker = told(TO_NEUTRAL[:-1])
    before = state(talker.job)
    keys = late(talker, said, how)
    assert state(talker.job) == before
    assert {"says.stale", "says.parked", "says.edit"}.intersection(keys)


def state(job: Job) -> object:
    facts = {name: fact.value for name, fact in job.facts.items()}
    return job.acts.changed(), facts, job.pending, job.paused


# From others


@pytest.mark.parametrize("who", OTHERS, ids=lambda who: who.role)
@pytest.mark.parametrize("said", BAD)
def test_news_counts_from_anybody(said: str, who: Person) -> None:
    at = len(TO_NEUTRAL) - 1 if "chock" in said else len(PULLS)
    talker = told(CARRY[:at])
    replies = talker.say(said, who=who)
    variable, state = BAD[said]
    assert talker.job.acts[variable] == {"truck": "as_found"}.get(variable, state)
    assert "says.not_yours" not in {reply.key for reply in replies}
    assert any(reply.to == "driver" for reply in replies)
    assert open_item(talker) in {
        "recover.stop", "danger.winch", "recover.chock", "danger.people",
    }  # fmt: skip


@pytest.mark.parametrize("who", OTHERS, ids=lambda who: who.role)
@pytest.mark.parametrize(
    ("said", "variable"),
    [("chocks are out", "chocks"), ("line off", "line"), ("line is slack", "tension"),
     ("it is in neutral", "gear")],
)  # fmt: skip
def test_what_holds_less_by_others_words_is_looked_at(
    said: str, variable: str, who: Person
) -> None:
    talker = told(TO_NEUTRAL[:-1])
    talker.say(said, who=who)
    assert talker.job.acts[variable] == "unknown"
    assert "says.news_done" in keys_of(talker) or "says.news_undone" in keys_of(talker)


def keys_of(talker: Talker) -> set[str]:
    return {reply.key for reply in talker.replies if reply.to == "driver"}


@pytest.mark.parametrize("who", OTHERS, ids=lambda who: who.role)
@pytest.mark.parametrize("said", ["chocked", "hooked", "on deck", "line tight", "truck is set"])
def test_nobody_else_settles_a_step(said: str, who: Person) -> None:
    talker = told(TO_NEUTRAL[:6])
    before = talker.job.acts
    talker.say(said, who=who)
    assert talker.job.acts == before


@pytest.mark.parametrize("who", OTHERS, ids=lambda who: who.role)
def test_a_strap_that_others_see_come_off_on_the_road_is_told_the_driver(who: Person) -> None:
    talker = told((*CARRY[: CARRY.index("firm")], "firm", "too dark", "go"))
    assert talker.job.acts["rolling"] == "rolling"
    replies = talker.say("the left front strap broke", who=who)
    assert [one.key for one in replies if one.to == "driver"] == ["says.rolling_untied"]
    assert talker.job.acts["strap.left_front"] == "unknown"


@pytest.mark.parametrize("who", OTHERS, ids=lambda who: who.role)
@pytest.mark.parametrize(
    "said", ["not parked", "we never arrived", "no danger", "not on the road"]
)
def test_where_the_truck_is_nobody_else_takes_back(said: str, who: Person) -> None:
    talker = told((*TO_NEUTRAL, "neutral now", *TO_CLOSE[:15]))
    before = talker.job.acts["rolling"], talker.job.acts["danger"]
    talker.say(said, who=who)
    assert (talker.job.acts["rolling"], talker.job.acts["danger"]) == before


@pytest.mark.parametrize("said", ["stop, there is smoke", "stop! fire", "smoke, stop the winch"])
def test_stop_and_smoke_is_danger(said: str) -> None:
    for at in range(3, len(CARRY) - 1, 4):
        talker = told(CARRY[:at])
        talker.say(said)
        assert talker.job.acts["danger"] == "seen"
        assert talker.job.paused is None


# As a reason


WATER = "it was in the water up to the doors"
SKIPS = TO_NEUTRAL[: TO_NEUTRAL.index("warned")]
PHOTOS = TO_NEUTRAL[: TO_NEUTRAL.index("too dark")]


@pytest.mark.parametrize("said", ["it was a crash", WATER, "no room, it was a crash",
                                  "it was a crash so no room for cones"])  # fmt: skip
@pytest.mark.parametrize(
    ("way", "asks"),
    [(SKIPS, ("skip",)), (SKIPS, ()), (PHOTOS, ("cannot",)), (PHOTOS, ())],
    ids=("why skip", "skip at once", "why no photos", "cannot at once"),
)
def test_what_happened_is_news_where_a_reason_is_asked(
    way: tuple[str, ...], asks: tuple[str, ...], said: str
) -> None:
    talker = told(way)
    head = "" if asks else ("skip, " if way == SKIPS else "cannot, ")
    talker.say(*asks, head + said)
    assert talker.job.value("history") in {"crash", "water"}
    reasons = [skip.reason for skip in talker.job.skips] + [u.reason for u in talker.job.unseen]
    assert "it was a crash" not in reasons
    if said == "it was a crash":
        assert reasons == []
        assert talker.job.pending is not None, "it is asked for again"


def test_nothing_is_boosted_after_a_crash_told_as_a_reason() -> None:
    talker = told(SKIPS)
    talker.say("skip", "it was a crash", "no room here", *TO_NEUTRAL[6:12], "yes")
    talker.say("it won't wake")
    assert "boost" not in open_item(talker)
    assert talker.job.is_damaged
    assert not any(reply.item.startswith("power.") for reply in talker.replies)


@pytest.mark.parametrize("who", OTHERS, ids=lambda who: who.role)
def test_others_are_heard_while_the_driver_is_asked_for_free_words(who: Person) -> None:
    talker = told(SKIPS)
    talker.say("skip")
    talker.say("it was a crash", who=who)
    assert talker.job.value("history") == "crash"
    assert talker.job.skips == ()

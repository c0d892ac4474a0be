"""What is in it and who rides along counts on the axles; asked for where it decides."""

import pytest

from flows.reckoning.margin_inputs import MOST_LOAD_LB, PERSON_LB, conclude_margin, plan_of
from flows.telling.render import render
from tests.flows.talker import DISPATCHER, TO_MARGIN, Talker, open_item, told

HALF_TON = (*TO_MARGIN[:-2], "combustion", "no card", "pickup", "half ton", "rear wheel drive",
            "heron")  # fmt: skip


def limit(talker: Talker, name: str) -> int:
    rows = {row["name"]: row["load_lb"] for row in conclude_margin(talker.job)["limits"]}
    return int(rows[name])


@pytest.mark.parametrize(
    ("said", "pounds"),
    [
        ("about 400 pounds in the bed", 400),
        ("four hundred pounds of tools in it", 400),
        ("300 to 500 pounds of gear", 500),
        ("contents, 250 lb", 250),
    ],
)
def test_a_load_is_read_back_and_then_counts(said: str, pounds: int) -> None:
    talker = told(*TO_MARGIN)
    before = limit(talker, "gross weight")
    replies = talker.say(said)
    assert talker.job.value("load_lb") is None
    assert replies[0].key == "says.read_back_load"
    talker.say("yes")
    assert talker.job.value("load_lb") == pounds
    assert limit(talker, "gross weight") == before + pounds


MINUS = (
    "minus 200 pounds of tools in the bed",
    "negative two hundred pounds in it",
    "minus 200 to 300 pounds of gear",
    "it weighs minus 4200 pounds",
    "minus 200 to 4200 pounds",
    "the scale ticket says minus 4200 pounds",
)


@pytest.mark.parametrize("said", MINUS)
def test_less_than_nothing_is_refused_when_it_is_said(said: str) -> None:
    talker = told(*TO_MARGIN)
    first, *_ = talker.say(said)
    assert first.key in {"says.impossible", "says.impossible_load"}
    talker.say("yes")
    for fact in ("weight", "load_lb"):
        assert talker.job.value(fact) is None
    assert talker.job.verdict == "go"


@pytest.mark.parametrize("said", ["minus 200 pounds", "minus 200", "minus 200 to 300 pounds"])
def test_a_load_asked_for_is_not_less_than_nothing_either(said: str) -> None:
    talker = told(*HALF_TON)
    talker.say(said, "yes")
    assert talker.job.value("load_lb") is None
    assert open_item(talker) == "margin.load"


@pytest.mark.parametrize("said", ["it weighs 4600 pounds with tools in it", "4600 lb all up"])
def test_the_whole_weight_is_no_load(said: str) -> None:
    assert told(*TO_MARGIN).say(said)[0].key == "says.read_back"


def test_it_is_asked_only_where_it_changes_the_word() -> None:
    assert open_item(told(*TO_MARGIN)) == "access.wakes"
    assert open_item(told(*HALF_TON)) == "margin.load"


def test_nothing_in_it_leaves_the_margin_as_it_was() -> None:
    talker = told(*HALF_TON)
    before = len([one for one in talker.replies if one.item == "margin.figure"])
    assert render(talker.say("nothing")[-1]).spoken == "Zero pounds in it. Yes or no?"
    talker.say("yes")
    assert (talker.job.value("load_lb"), talker.job.verdict) == (0, "go")
    assert len([one for one in talker.replies if one.item == "margin.figure"]) == before
    assert open_item(talker) == "destination.vin"


def test_not_sure_takes_the_most_it_may_carry() -> None:
    bare = plan_of(told(*HALF_TON).job).high_lb
    talker = told(*HALF_TON, "not sure")
    assert plan_of(talker.job).high_lb == bare + MOST_LOAD_LB["pickup"]
    assert talker.job.verdict != "go"


def test_of_a_ticket_nothing_is_asked_or_added() -> None:
    talker = told(*HALF_TON, "4000 pounds on the scale ticket", "yes")
    assert open_item(talker) != "margin.load"
    high = plan_of(talker.job).high_lb
    talker.say("300 pounds in the bed", "yes")
    assert plan_of(talker.job).high_lb == high


def test_passengers_sit_in_the_cab() -> None:
    talker = told(*TO_MARGIN)
    before = limit(talker, "gross weight"), limit(talker, "front axle")
    talker.say("two passengers ride with me")
    assert limit(talker, "gross weight") == before[0] + 2 * PERSON_LB
    assert limit(talker, "front axle") > before[1]


def test_another_number_in_place_of_a_yes_is_a_load_too() -> None:
    talker = told(*HALF_TON, "600 pounds")
    assert talker.say("no, 900 pounds")[0].key == "says.read_back_load"
    talker.say("yes")
    assert (talker.job.value("load_lb"), talker.job.value("weight")) == (900, None)


def test_a_load_far_over_what_it_weighs_is_no_go_and_no_fault() -> None:
    talker = told(*HALF_TON, "9000 pounds", "yes", "it weighs 1500 pounds", "yes")
    assert talker.job.value("weight") == 1500
    assert conclude_margin(talker.job)["verdict"] in {"close", "no-go"}


def test_a_load_that_cannot_be_is_asked_anew() -> None:
    assert told(*HALF_TON).say("90000 pounds in the bed")[0].key == "says.impossible_load"


def test_who_is_not_at_the_vehicle_gives_no_load() -> None:
    talker = told(*HALF_TON)
    assert talker.say("400 pounds in the bed", who=DISPATCHER)[0].key == "says.not_yours"

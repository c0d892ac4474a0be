"""The pull planned before neutral: against the winch's last layer, and half of the hold."""

import pytest

from flows.figures.pull import TRADE, Slope, pull
from flows.figures.window import window
from flows.reckoning.margin_inputs import plan_of
from flows.reckoning.planning import conclude_pull, longest_ft
from flows.telling.render import render
from tests.flows.talker import TO_MARGIN, TO_NEUTRAL, Talker, open_item, told

AT_PLAN = TO_NEUTRAL[: TO_NEUTRAL.index("not in") + 1]
ON_THE_BIG_ONE = (*TO_MARGIN[:-2], "corncrake", "all wheel drive", "midsize pickup", "godwit",
                  "yes", "not in")  # fmt: skip
IN_MUD = tuple("downhill" if said == "level" else said for said in TO_MARGIN[:-2])
TOO_HEAVY = (*IN_MUD, "dunlin", "wren", "it is in the mud", "yes")


def plan(talker: Talker) -> dict[str, object]:
    return {} if talker.job.pull is None else dict(talker.job.pull.result)


def test_the_whole_rope_fits_and_no_turn_is_asked_for() -> None:
    talker = told(*AT_PLAN)
    assert open_item(talker) == "attach.wheels"
    said = [render(one).spoken for one in talker.replies if one.key == "items.plan.figure"]
    assert said == ["Seven minutes at most for the pull. Half of the hold is fifteen minutes."]


def test_it_agrees_with_the_figures() -> None:
    talker = told(*AT_PLAN)
    truck = talker.job.book.library.trucks["heron"]
    assert truck.winch is not None
    assert truck.deck is not None
    found = pull(plan_of(talker.job).high_lb, "hard", TRADE, slope=Slope(truck.deck.tilt_pct or 0))
    rated = truck.winch.rated()
    whole = longest_ft(rated)
    timed = window(rated, 1, (whole, whole), truck.winch.speed_ft_min or 0, 30)
    assert plan(talker)["pull_lb"] == found.amount("pull_with_reserve")
    assert plan(talker)["rating_lb"] == rated.pull_lb(rated.layer_at(0))
    assert plan(talker)["minutes"] == timed.amount("minutes")


def test_without_a_hold_no_window_is_promised() -> None:
    talker = told(*TO_MARGIN[:-2], "dunlin", "heron", "yes")
    assert plan(talker)["hold_min"] is None
    said = [render(one).spoken for one in talker.replies if one.key == "items.plan.figure"]
    assert said == ["The winch is strong enough. I can't promise a window."]


def test_the_distance_decides_and_is_read_back() -> None:
    talker = told(*ON_THE_BIG_ONE)
    assert open_item(talker) == "plan.distance"
    talker.say("forty feet")
    assert talker.job.value("pull_ft") is None
    assert render(talker.replies[-1]).spoken == "Four zero feet. Yes or no?"
    talker.say("no")
    assert open_item(talker) == "plan.distance"
    talker.say("40 ft", "yes")
    assert talker.job.value("pull_ft") == 40
    assert plan(talker)["word"] == "fits"


@pytest.mark.parametrize("said", [("not sure",), ("ninety feet", "yes"), ("300 feet", "yes")])
def test_too_far_for_the_hold_moves_the_truck_or_hands_off(said: tuple[str, ...]) -> None:
    talker = told(*ON_THE_BIG_ONE, *said)
    assert open_item(talker) == "plan.long"
    fits = plan(talker)["fits_ft"]
    assert f"{fits} ft fit" in render(talker.replies[-1]).shown
    talker.say("truck moved")
    assert talker.job.value("pull_ft") is None
    assert talker.job.acts["truck"] == "as_found"


def test_a_block_halves_the_load_on_the_line_or_it_is_a_no_go() -> None:
    talker = told(*TOO_HEAVY)
    assert open_item(talker) == "plan.block"
    talker.say("no")
    assert open_item(talker) == "plan.weak"
    talker.say("with a block")
    assert (open_item(talker), plan(talker)["parts"]) == ("attach.wheels", 2)
    assert int(str(plan(talker)["line_lb"])) < int(str(plan(talker)["rating_lb"]))


def test_a_stronger_truck_takes_the_pull() -> None:
    talker = told(*TOO_HEAVY, "no", "another truck", "godwit", "secured", "level", "nose")
    assert (open_item(talker), plan(talker)["word"]) == ("attach.wheels", "fits")


def test_a_no_go_pull_with_the_line_on_is_a_hand_off() -> None:
    talker = told(*AT_PLAN, "all roll", "understood", "hooked", "it is in the mud", "downhill")
    talker.say("it weighs 6000 pounds", "yes", "no")
    assert open_item(talker) == "plan.weak_tied"
    talker.say("hand off")
    assert talker.job.handoff == "weak"


def test_the_shortest_hold_of_a_card_counts() -> None:
    talker = told(*TO_MARGIN[:-2], "electric", "fieldfare", "heron")
    record = conclude_pull(talker.job)
    holds = [one.hold_min for one in talker.job.book.library.vehicles["fieldfare"].neutral]
    assert record["hold_min"] == min(hold for hold in holds if hold is not None)

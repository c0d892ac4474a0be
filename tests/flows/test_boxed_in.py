"""Boxed in: no end faces the truck. A second truck lifts the end it reaches, or nobody."""

import pytest

from flows.job.state import Job
from flows.rules.safety import refusal
from flows.rules.world import Place
from flows.telling.render import render
from flows.turn.as_rules_see import world
from tests.flows.lint import lint_reply
from tests.flows.talker import TO_MARGIN, Talker, demo_library, open_item, told

TYRES = Place("tyres")
TO_BOX = (*TO_MARGIN[: TO_MARGIN.index("nose")], "boxed in", "harrow", "heron", "yes", "not in")
"""From the opening of a job to where the line would go on; it is boxed in, and its nose holds."""
LIFTED = ("set", "away", "go", "lifted")
CARRIED = ("wheels strapped", "dollies under", "dollies strapped")
OUT = ("chocks out", "away", "taken out", "chocked", "down")


def lift_of(talker: Talker) -> dict[str, object]:
    assert talker.job.lift is not None
    return dict(talker.job.lift.result)


def refused(job: Job, act: str) -> bool:
    return refusal(world(job), act, TYRES) is not None


def test_boxed_in_a_second_truck_is_asked_for_and_then_the_end_it_reaches() -> None:
    talker = told(*TO_BOX)
    assert open_item(talker) == "turn.out_truck"
    talker.say("Mallet")
    assert open_item(talker) == "turn.reach"
    talker.say("the nose")
    assert talker.job.value("lift_end") == "nose"
    assert open_item(talker) == "turn.set"


@pytest.mark.parametrize(("end", "act"), [("nose", "front"), ("tail", "rear")])
def test_it_is_taken_out_by_the_end_the_second_truck_reaches(end: str, act: str) -> None:
    talker = told(*TO_BOX, "Mallet", end, *LIFTED)
    assert talker.job.acts["lifted"] == act
    talker.say(*CARRIED)
    assert not refused(talker.job, "chocks_out")
    talker.say(*OUT)
    # Set down in the open: where the truck stands and which end faces it is asked again.
    assert talker.job.acts["lifted"] == "none"
    talker.say("secured", "level", "nose")
    assert open_item(talker) == "attach.wheels"


def test_it_is_not_taken_out_on_wheels_of_its_own() -> None:
    talker = told(*TO_BOX, "Mallet", "nose", *LIFTED)
    assert refused(talker.job, "taken_out")
    talker.say(*CARRIED, "chocks out")
    assert refused(talker.job, "taken_out")  # nobody said that the path is empty
    talker.say("away")
    assert not refused(talker.job, "taken_out")


def test_the_limits_are_those_of_the_truck_that_lifts_at_the_end_it_lifts() -> None:
    """Harrow's ticket: 2,410 lb in front, 2,550 behind; the share as of a card to a per mille."""
    by_end = {}
    for end in ("nose", "tail"):
        talker = told(*TO_BOX, "Mallet", end)
        by_end[end] = lift_of(talker)
        assert by_end[end]["truck"] == "mallet"
    hangs = {
        end: next(
            row["load_lb"]
            for row in found["limits"]
            if row["name"] == "wheel lift rating"  # type: ignore[attr-defined]
        )
        for end, found in by_end.items()
    }
    assert hangs["nose"] < hangs["tail"]
    rolls = {end: found["amounts"]["rolling"] for end, found in by_end.items()}  # type: ignore[index]
    assert rolls["nose"] > rolls["tail"]


def test_the_other_end_has_its_own_figure_and_the_truck_is_set_again() -> None:
    talker = told(*TO_BOX, "Mallet", "nose", "set", "away")
    was = lift_of(talker)
    talker.say("it reaches the tail")
    assert talker.job.value("lift_end") == "tail"
    assert lift_of(talker) != was
    assert open_item(talker) == "turn.set"
    assert refused(talker.job, "front_lifted")


def test_another_second_truck_is_asked_about_its_own_end() -> None:
    talker = told(*TO_BOX, "Mallet", "nose", "set")
    talker.say("none comes")
    talker.say("no wrecker comes")
    assert open_item(talker) == "turn.no_way_out"
    talker.say("Mallet")
    assert open_item(talker) == "turn.reach"


@pytest.mark.parametrize(
    ("said", "item", "missing"),
    [
        (("none comes",), "turn.no_way_out", "no second truck"),
        (("not sure",), "turn.no_way_out", "no second truck"),
        (("a wheel is missing", "Mallet"), "turn.no_way_out", "wheel"),
        (("Mallet", "neither"), "turn.unreached", "neither end"),
        (("Mallet", "not sure", "not sure"), "turn.unreached", "neither end"),
    ],
)
def test_without_it_is_said_what_is_missing(
    said: tuple[str, ...], item: str, missing: str
) -> None:
    talker = told(*TO_BOX)
    talker.say(*said)
    assert open_item(talker) == item
    asked = talker.replies[-1]
    assert missing in render(asked).spoken.lower()
    assert not list(lint_reply(asked))
    for act in ("front_lifted", "rear_lifted", "hooked", "winch_moves"):
        assert refused(talker.job, act), act


def test_an_end_looked_at_again_and_another_truck_are_ways_on() -> None:
    talker = told(*TO_BOX, "Mallet", "neither")
    talker.say("look again")
    assert open_item(talker) == "turn.reach"
    talker.say("neither", "another truck")
    assert open_item(talker) == "turn.out_truck"
    talker.say("Mallet")
    assert open_item(talker) == "turn.reach"


def test_a_lift_that_is_a_no_go_is_one_boxed_in_too() -> None:
    talker = told(*("godwit" if text == "heron" else text for text in TO_BOX))
    talker.say("Mallet", "tail", "set", "it weighs 9500 pounds", "yes")
    assert talker.job.lift_by("second_truck") == "no-go"
    assert open_item(talker) == "turn.no_go"
    assert refused(talker.job, "rear_lifted")


def test_boxed_in_is_told_early_since_a_second_truck_takes_its_time() -> None:
    talker = told(*TO_BOX[: TO_BOX.index("harrow")], "harrow")
    keys = [reply.key for reply in talker.replies]
    assert keys.count("says.boxed_ahead") == 1


def test_out_it_may_be_boxed_in_again_and_the_end_is_asked_again() -> None:
    talker = told(
        *TO_BOX, "Mallet", "nose", *LIFTED, *CARRIED, *OUT, "secured", "level", "boxed in"
    )
    assert open_item(talker) == "turn.reach"


def test_without_a_card_a_point_is_looked_for_once_it_is_out() -> None:
    way = [*TO_BOX]
    at = way.index("harrow")
    way[at : at + 1] = ["no card", "suv", "midsize"]
    talker = Talker(demo_library())
    talker.say(*way)
    assert talker.job.value("card") == "none"
    assert talker.job.value("facing") == "boxed"

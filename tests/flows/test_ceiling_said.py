"""A ceiling height that is said is kept, and compared with the truck's and the loaded height."""

import pytest

from flows.telling.render import render
from tests.flows.talker import DISPATCHER, TO_MARGIN, Talker, open_item, told

# Heron by its card: 8 ft 4 in; loaded with harrow, 38 in of deck and 65 in of car.
LOADED = TO_MARGIN
AT_TRUCK = TO_MARGIN[:-1]


def ceiling(talker: Talker) -> object:
    return talker.job.value("ceiling_in")


def keys(talker: Talker, *words: str) -> list[str]:
    return [reply.key for reply in talker.say(*words)]


@pytest.mark.parametrize(
    ("said", "inches"),
    [
        ("the ceiling is seven feet", 84),
        ("ceiling is 7 ft 2 in", 86),
        ("clearance 6 foot 8", 80),
        ("there is a height limit of 9 feet here", 108),
        ("headroom is about eight and a half feet", 102),
        ("we are in a garage, the ceiling is 7 ft", 84),
        ("max height 2 inches", None),
        ("ground clearance is 6 inches", None),
        ("no ceiling at 7 feet", None),
        ("is the ceiling 7 feet?", None),
        ("the ceiling is high", None),
    ],
)
def test_it_is_kept_in_whole_inches(said: str, inches: int | None) -> None:
    talker = told(*AT_TRUCK)
    talker.say(said)
    assert ceiling(talker) == inches


@pytest.mark.parametrize("who", ["driver", "dispatcher"])
def test_it_is_compared_once_truck_and_vehicle_are_known(who: str) -> None:
    talker = told(*AT_TRUCK)
    library = talker.job.book.library
    truck, deck = library.trucks["heron"], library.trucks["heron"].deck
    assert deck is not None
    loaded = max(deck.height_in + library.vehicles["harrow"].height_in, truck.height_in)
    assert truck.height_in < loaded
    for inches, key in (
        (truck.height_in - 1, "says.ceiling_truck"),
        (truck.height_in, "says.ceiling_loaded"),
        (loaded - 1, "says.ceiling_loaded"),
        (loaded, ""),
    ):
        talker = told(*AT_TRUCK)
        feet, over = divmod(inches, 12)
        words = f"the ceiling is {feet} ft {over} in"
        if who == "driver":
            talker.say(words)
        else:
            talker.say(words, who=DISPATCHER)
        found = [one for one in keys(talker, "heron") if one.startswith("says.ceiling")]
        assert found == ([key] if key else [])


def test_said_later_it_is_compared_at_once_and_changes_no_act() -> None:
    talker = told(*LOADED)
    before = (talker.job.acts, open_item(talker))
    assert "says.ceiling_truck" in keys(talker, "ceiling is 7 feet")
    assert (talker.job.acts, open_item(talker)) == before
    assert "says.ceiling_truck" not in keys(talker, "status")


def test_without_a_card_the_loaded_height_is_not_known_and_that_is_said() -> None:
    talker = told(*AT_TRUCK[:-1], "electric", "no card", "suv", "compact suv", "all", "heron")
    assert "says.ceiling_unknown" in keys(talker, "ceiling is 9 feet")


def test_a_danger_beside_it_comes_first() -> None:
    talker = told(*LOADED)
    talker.say("the ceiling is 7 feet and there is smoke")
    assert talker.job.acts["danger"] == "seen"


def test_no_sentence_says_that_it_fits() -> None:
    talker = told(*LOADED)
    said = [render(one).spoken for one in talker.say("ceiling is 20 feet")]
    assert not any("fit" in one or "safe" in one for one in said)


def test_beside_a_place_both_are_kept() -> None:
    talker = told("new job breakdown", "the garage on fifth, ceiling is 7 feet", "none")
    assert ceiling(talker) == 84
    assert "garage on fifth" in str(talker.job.value("place"))

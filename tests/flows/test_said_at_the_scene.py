"""Drivers in words of their own: nothing taken that was not said, nothing said lost."""

from dataclasses import replace
from itertools import pairwise

import pytest

from flows.hearing.corrections import ender_said
from flows.hearing.notes import enough, uneven
from flows.job.acts import CLAMPS
from flows.job.events import SECOND_NS
from flows.job.facts import Fact
from flows.telling.render import render
from flows.telling.slots import loaded_height_in
from flows.telling.status_words import done_before
from flows.telling.told_before import told_before
from tests.flows.talker import PLACE, TO_MARGIN, TO_NEUTRAL, TO_ROAD, Talker, demo_library

TO_TRUCK = ("new job breakdown", PLACE, "none", "behind")
IN_NEUTRAL = (*TO_NEUTRAL, "neutral now", "confirmed", "chocks out")


def told(*said: str) -> Talker:
    talker = Talker(demo_library())
    talker.say(*said)
    return talker


def open_item(talker: Talker) -> str:
    item = talker.job.next_item
    return "" if item is None else item.id


@pytest.mark.parametrize(
    "words",
    [
        "driver door opened",
        "the driver door is open",
        "kim opened the drivers door",
        "she unclipped the belt",
        "the key is away",
        "neutral's gone, it clunked back into park",
        "it popped into park",
        "lost neutral",
    ],
)
def test_what_ends_neutral_is_heard_as_the_card_tells_it(words: str) -> None:
    talker = told(*IN_NEUTRAL)
    assert talker.job.window is not None
    assert talker.job.window.state == "open"
    talker.say(words)
    # Whether it is in neutral is in doubt, and so the clock of the hold runs on.
    assert talker.job.acts["gear"] != "neutral"
    assert not talker.job.acts.holds("neutral_confirmed")


def test_what_was_done_beside_it_counts_all_the_same() -> None:
    talker = told(*TO_NEUTRAL, "neutral now", "confirmed", "chocks out, the driver door is open")
    assert talker.job.acts["chocks"] != "in"
    assert talker.job.acts["gear"] != "neutral"


def test_with_the_winch_running_it_stops_first() -> None:
    talker = told(*IN_NEUTRAL, "away", "go", "the driver door came open")
    assert open_item(talker) == "recover.stop"


@pytest.mark.parametrize(
    "words",
    ["the driver door is not open", "is the door open?", "should i keep the door open", "away"],
)
def test_what_was_not_done_ends_nothing(words: str) -> None:
    talker = told(*IN_NEUTRAL, words)
    assert talker.job.acts["gear"] == "neutral"


def test_nothing_ends_a_neutral_that_is_not_there() -> None:
    assert not ender_said(told(*TO_NEUTRAL).job, "driver door opened")


@pytest.mark.parametrize(
    "words", ["brake's set and truck's chocked", "truck is chocked", "chocked my truck"]
)
def test_the_trucks_own_chocks_are_never_the_vehicles(words: str) -> None:
    assert told(*TO_TRUCK, words).job.acts["chocks"] != "in"
    talker = told(*TO_TRUCK, "secured", "warned", words)
    assert talker.job.acts["chocks"] != "in"
    assert open_item(talker) == "scene.chock"


def test_a_truck_that_moved_is_secured_again() -> None:
    talker = told(*TO_MARGIN[: TO_MARGIN.index("level")], "uphill", "nose")
    assert open_item(talker) == "scene.uphill"
    talker.say("ok i moved round, im above it now")
    assert talker.job.acts["truck"] != "set"


@pytest.mark.parametrize(
    ("before", "words", "act"),
    [
        ((*TO_NEUTRAL, "neutral now"), "letter stays lit, confirmed", "neutral_confirmed"),
        ((*TO_NEUTRAL, "neutral now"), "confirmed, dash says free roll", "neutral_confirmed"),
        (IN_NEUTRAL, "everyone's away", "path_empty"),
        ((*IN_NEUTRAL, "away", "go"), "on deck, easy", "on_deck"),
    ],
)
def test_an_answer_between_commas_counts(before: tuple[str, ...], words: str, act: str) -> None:
    talker = told(*before)
    assert not talker.job.acts.holds(act)
    talker.say(words)
    assert talker.job.acts.holds(act)


@pytest.mark.parametrize(
    "words",
    [
        "confirmed, i think",
        "confirmed, but it rolled a bit",
        "confirmed, not sure about the letter",
        "when it is lit, confirmed",
        "confirmed, should be",
        "can't read the dash, confirmed",
    ],
)
def test_an_answer_that_anything_puts_in_doubt_does_not(words: str) -> None:
    talker = told(*TO_NEUTRAL, "neutral now", words)
    assert not talker.job.acts.holds("neutral_confirmed")


def test_what_could_not_be_done_was_not_done() -> None:
    talker = told(*TO_TRUCK, "secured", "warned")
    talker.say("cant chock the right front, theres no wheel, chocked the rest")
    assert talker.job.acts["chocks"] != "in"


def test_two_straps_in_a_breath() -> None:
    talker = told(*TO_NEUTRAL, "neutral now", *TO_ROAD[: TO_ROAD.index("strapped")])
    talker.say("left front and right front strapped")
    assert open_item(talker) == "secure.left_rear"
    talker.say("both rears strapped")
    assert open_item(talker) == "secure.slacken"


def test_going_back_to_free_words_ends_with_the_new_ones() -> None:
    talker = told("new job breakdown", "mile 12", "back", "mile 13 northbound")
    assert talker.job.pending is None
    assert talker.job.value("place") == "mile 13 northbound"
    assert open_item(talker) == "scene.danger"


def test_a_truck_higher_than_its_load_is_what_has_to_pass() -> None:
    library = demo_library()
    job = told(*TO_MARGIN).job
    truck, card = library.trucks[job.value("truck")], library.vehicles[job.value("card")]
    assert truck.deck is not None
    for height in (60, truck.deck.height_in + card.height_in + 10):
        trucks = {truck.id: truck.model_copy(update={"height_in": height})}
        book = replace(job.book, library=replace(library, trucks=trucks))
        expected = max(truck.deck.height_in + card.height_in, height)
        assert loaded_height_in(replace(job, book=book)) == expected


def test_photos_that_were_not_taken_are_not_told_as_done() -> None:
    talker = told(*TO_MARGIN[: TO_MARGIN.index("too dark")], "too dark")
    assert "scene.photos" in {skip.item for skip in talker.job.skips} | set(talker.job.done)
    assert not [one for one in done_before(talker.job) if "photo" in one]


def test_warning_devices_set_out_before_they_are_asked_for_are_told_their_places() -> None:
    talker = told("new job breakdown", PLACE, "none, triangles are out")
    assert "hundred feet out" in " ".join(render(one).spoken for one in talker.replies)


def test_a_damaged_electric_vehicle_is_told_to_stand_apart_before_it_is_lowered() -> None:
    job = told(*TO_MARGIN).job
    assert told_before(job, "drop.truck") == ""
    crashed = replace(job, facts={**job.facts, "history": Fact("crash", "typed", "", 0)})
    assert told_before(crashed, "drop.truck") == "apart_ahead"


@pytest.mark.parametrize(
    ("words", "is_enough"),
    [
        ("air forty eight, ground fifty, pack sixty one", True),
        ("air 48 ground 50 pack 61", True),
        ("air forty eight, ground fifty", False),
        ("all cold", False),
    ],
)
def test_temperatures_may_be_spoken(words: str, *, is_enough: bool) -> None:
    assert enough("temperatures", words) is is_enough


def test_in_park_a_skate_under_the_locked_wheel_alone_is_not_enough() -> None:
    talker = told(*TO_MARGIN, "yes", "not in", "locked", "skates", "understood", "hooked", "away")
    talker.say("tight", "skates under")
    assert open_item(talker) == "neutral.ready"
    talker.say("off")
    assert open_item(talker) == "skate.all"
    talker.say("skates under")
    assert open_item(talker) == "skate.all"
    talker.say("all four")
    assert open_item(talker) == "slide.chocks_out"


def test_what_has_an_engine_alone_is_asked_for_no_ready_indication() -> None:
    known = TO_MARGIN[: TO_MARGIN.index("harrow")]
    of_it = ("combustion", "no card", "pickup", "full size", "all", "heron", "nothing", "yes")
    talker = told(*known, *of_it, "too dark", "yes", "all roll", "yes", "hooked", "away", "tight")
    assert open_item(talker) == "neutral.pause"


@pytest.mark.parametrize(
    ("words", "is_uneven"),
    [
        ("air 47 ground 49 pack 70 72 70 95", True),
        ("air 47 ground 49 pack 70 72 70 84", False),
        ("air forty seven, ground forty nine, pack seventy, seventy two, eighty five", True),
        ("air ten, ground forty, pack fifty and sixty", False),
        ("air 47 ground 90", False),
        ("pack ninety nine, one hundred two", False),
        ("pack ninety, one hundred eight", True),
    ],
)
def test_one_hot_point_of_a_pack_is_told(words: str, *, is_uneven: bool) -> None:
    assert uneven(words) is is_uneven


def test_papers_that_say_nothing_of_it_are_no_weight() -> None:
    talker = told(*TO_MARGIN[:-1], "the papers are in the box, two of them")
    assert talker.job.pending is None
    assert talker.job.value("weight") is None


def test_a_weight_by_the_papers_is_one_without_its_unit() -> None:
    talker = told(*TO_MARGIN[:-1], "wren", "papers say fifty four hundred")
    talker.say("yes")
    assert talker.job.value("weight") == 5400


# Neutral's time, said again


@pytest.mark.parametrize(
    "words",
    [
        "no, make that five minutes ago",
        "it was five minutes ago",
        "sorry, more like 5 minutes ago",
    ],
)
def test_neutrals_time_is_corrected_by_a_time_alone(words: str) -> None:
    talker = told(*TO_NEUTRAL, "neutral now", "confirmed")
    before = talker.job.window
    talker.say(words)
    after = talker.job.window
    assert before is not None
    assert after is not None
    assert before.earliest_ns - after.earliest_ns > 4 * 60 * SECOND_NS


@pytest.mark.parametrize(
    "words",
    ["was it five minutes ago?", "not five minutes ago", "in five minutes",
     "i called them five minutes ago"],
)  # fmt: skip
def test_other_times_move_no_window(words: str) -> None:
    talker = told(*TO_NEUTRAL, "neutral now", "confirmed")
    before = talker.job.window
    talker.say(words)
    assert talker.job.window == before


def test_a_later_time_never_makes_the_hold_longer() -> None:
    talker = told(*TO_NEUTRAL, "neutral five minutes ago", "confirmed")
    before = talker.job.window
    talker.say("no, two minutes ago")
    assert before is not None
    assert talker.job.window is not None
    assert talker.job.window.earliest_ns == before.earliest_ns


# A part that was hit may not hold


def test_a_crashed_one_is_hooked_only_at_a_point_that_was_looked_at() -> None:
    talker = told("new job crash", *TO_MARGIN[1:], "not in", "all roll")
    assert open_item(talker) == "attach.sound"
    talker.say("ok")
    assert open_item(talker) == "attach.sound"
    talker.say("sound")
    assert open_item(talker) == "attach.keep_off"


def test_a_bent_point_ends_in_a_hand_off() -> None:
    talker = told("new job crash", *TO_MARGIN[1:], "not in", "all roll", "cannot")
    assert open_item(talker) == "handoff.who"
    assert not talker.job.acts.holds("hooked")


def test_another_end_or_another_card_is_looked_at_anew() -> None:
    """Dunlin holds at either end; its keep-off places are not those of Harrow."""
    way = (*TO_MARGIN[1:10], "dunlin", "heron", "all roll", "sound", "understood")
    talker = told("new job crash", *way)
    assert open_item(talker) == "attach.hook"
    talker.say("nose first")
    assert open_item(talker) == "attach.hook"
    talker.say("tail first")
    assert open_item(talker) == "attach.sound"
    talker.say("sound", "harrow", "nose first")
    assert {"attach.sound", "attach.keep_off"}.isdisjoint(talker.job.done)


# Told early where it takes time; asked on the road, and off it


def test_the_second_truck_is_called_for_as_soon_as_the_end_is_known() -> None:
    talker = told(*TO_MARGIN[:9], "tail", "harrow")
    assert open_item(talker) == "margin.truck"
    keys = [reply.key for reply in talker.replies]
    assert keys.count("says.turn_ahead") == 1
    ahead = told(*TO_MARGIN[:9], "nose", "harrow")
    assert "says.turn_ahead" not in [reply.key for reply in ahead.replies]


def test_on_the_road_nothing_that_was_not_understood_asks_for_an_answer() -> None:
    talker = told(*TO_NEUTRAL, "neutral now", *TO_ROAD, "go")
    shown = [render(talker.say("wibble wobble")[0]).shown for _ in range(4)]
    assert all(first != second for first, second in pairwise(shown))
    assert not any("?" in text or "Tap" in text for text in shown)


def test_the_loaded_height_is_told_when_it_is_asked_for() -> None:
    talker = told(*TO_MARGIN)
    spoken = render(talker.say("how high am i")[0]).spoken
    height = loaded_height_in(talker.job)
    assert height is not None
    feet, inches = divmod(height, 12)
    assert (feet, inches) == (8, 11)
    assert "eight feet one one inches" in spoken
    assert told("new job breakdown").say("how high is it")[0].key == "says.height_none"


def test_all_clamps_off_takes_the_pack_off_too_in_order() -> None:
    way = (
        *TO_MARGIN[:10], "corncrake", "pickup", "not sure", "rear", "godwit", "stays dead",
        "phone", "on the line", "9.8 volts", "lead acid", "yes", "pack", "red on", "ground on",
        "pack on",
    )  # fmt: skip
    talker = told(*way)
    assert talker.job.acts.holds("pack_on")
    talker.say("took the pack off, all clamps off")
    assert not talker.job.acts.holds("pack_on")
    assert all(talker.job.acts[f"clamp.{post}"] == "off" for post in CLAMPS)


def test_words_taken_for_a_fact_say_which() -> None:
    talker = told(*TO_MARGIN[:1], "mile 9", *TO_MARGIN[2:])
    assert open_item(talker) == "destination.where"
    assert render(talker.say("the charge light is red")[0]).spoken == "Noted, destination."

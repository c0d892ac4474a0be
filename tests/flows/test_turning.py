"""Vehicles that do not simply roll: skates, dollies, a second truck, and mishaps with each."""

from dataclasses import replace
from types import MappingProxyType

import pytest

from flows.cards.gear import Tyres
from flows.cards.library import Library
from flows.hearing.prompts import prompt_for
from flows.job.events import Told
from flows.reckoning.lifts import conclude_lift, dollies_of
from flows.routine.conditions.holding import held, loose
from flows.rules.safety import refusal
from flows.rules.world import Place
from flows.telling.render import render
from flows.turn.as_rules_see import world
from tests.flows.lint import lint_reply
from tests.flows.talker import DISPATCHER, OWNER, TO_MARGIN, Talker, demo_library, open_item, told

TO_ATTACH = (*TO_MARGIN, "yes", "not in")
"""From the opening of a job to the question of the wheels; its nose faces the truck, and holds."""
TO_TURN = (*TO_MARGIN[: TO_MARGIN.index("nose")], "tail", "harrow", "heron", "yes", "not in")
"""The same with its tail at the truck, where nothing holds."""
TO_LIFT = (*TO_TURN, "Mallet", "set", "away", "go")
CARRIED = ("lifted", "wheels strapped", "dollies under", "dollies strapped")
SKATED = (*TO_ATTACH, "locked", "skates", "understood", "hooked", "away", "tight", "skates under")
PULLED = (*SKATED, "on", "go", "neutral now", "confirmed", "chocks out", "away", "go")
SLID = (
    *TO_ATTACH, "all roll", "understood", "hooked", "away", "tight", "off", "skates",
    "skates under", "chocks out", "away", "go",
)  # fmt: skip
NO_WAY = (*TO_ATTACH, "all roll", "understood", "hooked", "away", "tight", "off")
"""To the question of gear under a vehicle with no way into neutral; Park holds its rear."""
ROLLED = (*NO_WAY, "dollies", "dollies under", "dollies strapped", "chocks out", "away", "go")


@pytest.mark.parametrize(
    ("wheels", "gear", "item"),
    [
        ("flat", "skates", "attach.keep_off"),
        ("locked", "skates", "attach.keep_off"),
        ("locked", "dollies", "attach.keep_off"),
        ("missing", "dollies", "attach.keep_off"),
        ("missing", "skates", "attach.will_not_roll"),
        ("locked", "none", "attach.will_not_roll"),
        ("locked", "not sure", "attach.will_not_roll"),
    ],
)
def test_the_gear_is_asked_for_once_a_wheel_does_not_roll(
    wheels: str, gear: str, item: str
) -> None:
    talker = told(*TO_ATTACH, wheels)
    assert open_item(talker) == "attach.under"
    talker.say(gear)
    assert open_item(talker) == item


def test_nothing_goes_under_before_the_line_holds_it() -> None:
    talker = told(*SKATED[:-2])
    assert open_item(talker) == "attach.tension"
    talker.say("tight")
    assert open_item(talker) == "skate.under"


def test_wheels_that_roll_after_all_need_no_skates() -> None:
    talker = told(*SKATED[:-1])
    talker.say("all wheels roll")
    assert open_item(talker) == "neutral.ready"


def test_the_heavier_axle_goes_against_the_dollies_rating() -> None:
    # By hand from the card's ticket, 2,410 lb in front and 2,550 lb behind: the share in front is
    # 485 per mille, rounded down, so at most 515 of 4,960 lb, 2,554.4, rest on the other axle.
    talker = told(*TO_ATTACH, "locked", "dollies")
    lift = talker.job.lift
    assert lift is not None
    assert (lift.result["by"], lift.result["word"]) == ("dollies", "go")
    assert lift.result["limits"][0] == {
        "name": "dollies under the other axle", "load_lb": 2555, "limit_lb": 4600,
        "source": "gear card",
    }  # fmt: skip
    talker.say("no card", "suv", "full size", "it weighs 9900 pounds", "yes")
    assert talker.job.lift_by("dollies") != "go"


def test_a_truck_without_dollies_carries_nothing_on_them() -> None:
    job = told(*TO_TURN).job
    assert [dollies_of(job, who).carry_lb for who in ("mallet", "nobody")] == [4600, 0]
    assert conclude_lift(job, "second_truck") is None


@pytest.mark.parametrize("way", [PULLED, SLID])
def test_a_skate_that_comes_out_stops_the_winch(way: tuple[str, ...]) -> None:
    talker = told(*way)
    assert talker.job.acts["winch"] == "moving"
    talker.say("a skate slipped")
    assert open_item(talker) == "recover.stop"
    assert talker.replies[-1].priority == "stop"
    talker.say("stopped")
    assert open_item(talker) == "skate.under"


def test_the_axle_that_park_holds_goes_on_dollies_after_their_figure() -> None:
    talker = told(*NO_WAY)
    assert open_item(talker) == "neutral.under"
    talker.say("dollies")
    assert talker.job.lift_by("dollies") == "go"
    assert open_item(talker) == "skate.braked"
    talker.say("dollies under")
    assert open_item(talker) == "skate.strap"
    assert (talker.job.acts["dollies"], talker.job.acts["gear"]) == ("braked", "as_found")
    talker.say("dollies strapped")
    assert open_item(talker) == "slide.chocks_out"


def test_where_park_holds_every_axle_one_set_of_dollies_is_not_enough() -> None:
    """Its card says so of bittern; and a wheel that does not roll besides takes them itself."""
    way = [*NO_WAY]
    way[way.index("harrow")] = "bittern"
    for said in (way, [*NO_WAY[:-6], "locked", "dollies", *NO_WAY[-5:]]):
        talker = told(*said)
        if open_item(talker) == "neutral.under":
            talker.say("dollies")
        assert open_item(talker) not in {"skate.braked", "slide.chocks_out"}, said
        assert refusal(world(talker.job), "chocks_out") is not None


def test_dollies_that_are_too_weak_end_in_a_hand_off() -> None:
    """By hand: 8,500 lb said, 15 percent more as a label's, 9,775; by its class at least 46.0
    percent are in front, so at most 54.0 behind: 5,278.5 lb, where the set carries 4,600."""
    talker = told(*NO_WAY, "dollies", "it weighs 8500 pounds", "yes")
    assert talker.job.lift is not None
    assert talker.job.lift.result["limits"][0]["load_lb"] == 5279
    assert talker.job.lift_by("dollies") == "no-go"
    assert open_item(talker) == "skate.too_weak"
    talker.say("sam", "yes")
    assert talker.job.ended is not None
    assert talker.job.ended.reason == "lift_no_go"


@pytest.mark.parametrize("said", ["a dolly slipped", "dolly strap came off", "a wheel is flat"])
def test_a_vehicle_off_its_dollies_stops_the_winch(said: str) -> None:
    talker = told(*ROLLED)
    assert talker.job.acts["winch"] == "moving"
    talker.say(said)
    assert open_item(talker) == "recover.stop"
    assert talker.replies[-1].priority == "stop"


def test_dollies_said_again_are_the_dollies_already_under_it() -> None:
    talker = told(*ROLLED)
    talker.say("dollies are under")
    assert talker.job.acts["dollies"] == "braked"
    assert open_item(talker) == "slide.deck"


def test_on_dollies_in_park_no_window_is_opened() -> None:
    talker = told(*ROLLED)
    assert talker.job.window is None
    talker.wait(3600)
    talker.say("on deck", "parked")
    assert open_item(talker) == "secure.left_front"


def test_in_park_on_skates_no_window_is_opened_and_none_runs_out() -> None:
    talker = told(*SLID)
    assert talker.job.window is None
    talker.wait(3600)
    assert open_item(talker) == "slide.deck"
    talker.say("on deck", "parked")
    assert open_item(talker) == "secure.left_front"
    assert talker.job.acts["gear"] == "park"


def test_a_ready_indication_that_comes_back_leads_to_neutral() -> None:
    talker = told(*SLID[: SLID.index("chocks out")])
    assert open_item(talker) == "slide.chocks_out"
    talker.say("ready light is on")
    assert open_item(talker) == "neutral.pause"


@pytest.mark.parametrize("sign", ["smoke", "it is rolling", "stop"])
def test_danger_while_it_slides_stops_everything(sign: str) -> None:
    talker = told(*SLID)
    talker.say(sign)
    assert talker.job.acts["winch"] != "moving"
    talker.say("resume")
    assert open_item(talker) in {"danger.winch", "recover.stop", "danger.people"}


def with_dollies(**changed: object) -> Library:
    library = demo_library()
    card = library.gear["axle_dollies"].model_copy(update=changed)
    return replace(library, gear=MappingProxyType({**library.gear, card.id: card}))


def test_tyres_that_carry_less_than_the_rating_govern() -> None:
    """2,555 lb are on the other axle (above). Four tyres of 745 lb under a set of 340 carry
    2,640: a go, close at 95 percent of it; of 720 lb they carry 2,540, of 724 just enough."""
    for each, word, left in ((745, "close", 85), (724, "close", 1), (720, "no-go", -15)):
        talker = Talker(with_dollies(tyres=Tyres(count=4, each_lb=each, own_lb=340)))
        talker.say(*TO_ATTACH, "locked", "dollies")
        assert talker.job.lift is not None
        found = talker.job.lift.result
        assert (found["word"], found["governing"]) == (word, "tyres of the dollies")
        assert found["left_lb"] == left
        assert found["limits"][1]["source"] == "sidewall on the gear card, 49 CFR 393.75(g)"
        assert talker.job.lift_by("dollies") == word
        if word != "no-go":
            [told_so] = [one for one in talker.replies if one.key == "items.attach.dollies"]
            assert f"\nThe tires of the dollies 2555 of {2555 + left} lb" in render(told_so).shown


def test_of_several_sets_the_weakest_by_its_tyres_counts() -> None:
    library = with_dollies(axle_rating_lb=9000, tyres=Tyres(count=4, each_lb=745, own_lb=340))
    more = library.gear["axle_dollies"].model_copy(
        update={"id": "spare", "axle_rating_lb": 4600, "tyres": None, "on": ("mallet", "godwit")}
    )
    gear = MappingProxyType({**library.gear, "spare": more})
    job = Talker(replace(library, gear=gear)).job
    assert dollies_of(job, "mallet").carry_lb == 2640


def test_a_lift_that_would_hold_retracted_is_told_so_and_stays_a_no_go() -> None:
    """Mallet's rear axle takes 7,142 lb hung extended and 7,828 retracted; see the figure's page.
    11,900 lb, 15 percent more as by a label: 13,685, of which at most 54 percent are behind."""
    talker = Talker(with_dollies(axle_rating_lb=20_000, tyres=None))
    talker.say(*("godwit" if text == "heron" else text for text in TO_TURN))
    talker.say("Mallet", "it weighs 11900 pounds", "yes")
    assert talker.job.lift is not None
    found = talker.job.lift.result
    rows = {one["name"]: one for one in found["limits"]}
    assert rows["rear axle"]["load_lb"] > 22_000 >= rows["rear axle, retracted"]["load_lb"]
    assert (found["word"], found["governing"]) == ("no-go", "rear axle")
    assert found["notes"] == ["fits_retracted"]
    assert open_item(talker) == "turn.no_go"
    said = render(talker.replies[-1]).shown
    assert said.endswith("Or hand off.\nIt would hold retracted, but it goes up extended.")
    assert not list(lint_reply(talker.replies[-1]))
    assert refusal(world(talker.job), "rear_lifted", Place("tyres")) is not None
    talker.say("it weighs 5000 pounds", "yes")
    assert talker.job.lift.result["notes"] == []
    shown = "\n".join(render(one).shown for one in talker.replies)
    assert "\nRear axle, retracted, " in shown
    assert "trade's rule, retracted, " in shown


def test_the_record_has_the_second_truck_and_its_margin() -> None:
    talker = told(*TO_TURN, "Mallet")
    lift = talker.job.lift
    assert lift is not None
    assert lift.result["truck"] == "mallet"
    names = [one["name"] for one in lift.result["limits"]]
    assert names[:2] == ["lift for the front axle share kept", "wheel lift rating"]
    assert "trade standard, not law" in lift.result["limits"][0]["source"]
    assert lift.result["amounts"]["rolling"] <= 4600
    assert talker.job.value("second_truck") == "mallet"


@pytest.mark.parametrize(
    ("said", "item"),
    [
        (("none comes",), "turn.no_truck"),
        (("not sure",), "turn.no_truck"),
        (("a wheel is missing", "Mallet"), "turn.no_truck"),
        (("Mallet",), "turn.set"),
        (("Mallet", "a wheel is missing"), "turn.no_truck"),
        (("wheel locked", "Mallet"), "turn.set"),
    ],
)
def test_who_turns_it_round(said: tuple[str, ...], item: str) -> None:
    talker = told(*TO_TURN)
    talker.say(*said)
    assert open_item(talker) == item


def test_carried_it_is_held_without_chocks() -> None:
    talker = told(*TO_LIFT, *CARRIED, "chocks out")
    assert held.holds(talker.job)
    assert not loose.holds(talker.job)
    assert open_item(talker) == "turn.path"


@pytest.mark.parametrize(
    "said", ["a strap came off", "dolly slipped", "tail slipped off the lift", "off the dollies"]
)
def test_a_carried_vehicle_that_comes_off_is_chocked_first(said: str) -> None:
    talker = told(*TO_LIFT, *CARRIED, "chocks out")
    talker.say(said)
    assert open_item(talker) == "recover.chock"
    talker.say("chocked")
    assert open_item(talker).startswith("turn.")


def test_after_a_pause_while_it_is_up_the_open_step_is_asked_again() -> None:
    talker = told(*TO_LIFT, *CARRIED)
    talker.say("hold", "resume")
    assert open_item(talker) == "turn.chocks_out"
    assert any(reply.key == "says.resume" for reply in talker.replies[-2:])
    talker.say("hold")
    talker.wait(700)
    talker.say("resume")
    assert open_item(talker) in {"turn.chock", "turn.swap", "recover.chock", "attach.wheels"}


def test_danger_while_it_is_up_asks_for_nothing_else() -> None:
    talker = told(*TO_LIFT, *CARRIED, "chocks out", "smoke")
    assert open_item(talker) == "danger.people"
    talker.say("away", "called")
    assert open_item(talker) == "danger.released_by"


def test_an_end_that_holds_after_all_is_only_set_down() -> None:
    talker = told(*TO_LIFT, "lifted", "nose to the truck")
    assert open_item(talker) == "turn.down"
    talker.say("down")
    assert open_item(talker) == "attach.wheels"


def test_not_turned_round_far_enough_it_is_turned_again() -> None:
    talker = told(*TO_LIFT, *CARRIED, "chocks out", "away", "turned", "chocked", "down")
    talker.say("secured", "level", "tail")
    assert open_item(talker) == "turn.set"


def test_a_corrected_weight_is_computed_again_before_the_lift() -> None:
    talker = told(*("godwit" if text == "heron" else text for text in TO_TURN))
    talker.say("Mallet", "set", "it weighs 9500 pounds", "yes")
    assert talker.job.lift_by("second_truck") == "no-go"
    assert open_item(talker) == "turn.no_go"
    talker.say("override the ticket is on file", who=OWNER)
    assert refusal(world(talker.job), "rear_lifted", Place("tyres")) is not None


def test_others_settle_nothing_of_a_lift() -> None:
    talker = told(*TO_LIFT)
    talker.say("tail is lifted", who=DISPATCHER)
    assert talker.job.acts["lifted"] == "none"
    talker.happens(Told("restarted", talker.at))
    assert prompt_for(talker.job).item is not None
    assert open_item(talker) == "turn.lift_tail"


def test_nothing_stays_under_it_at_the_end() -> None:
    talker = told(*TO_LIFT)
    assert refusal(world(talker.job), "job_closed") is not None

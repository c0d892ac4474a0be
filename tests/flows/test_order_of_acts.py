"""What is asked first: whatever is said out of turn, the act that has to come before comes first.

Each is said in every state that it can be said in, along one whole carry.
"""

from collections.abc import Iterator
from copy import copy
from functools import cache

import pytest

from flows.hearing.prompts import prompt_for
from flows.job.acts import PROTECTIVE, WHEELS
from flows.telling.render import render
from flows.telling.reply import Reply
from flows.turn import advance
from tests.flows.talker import OTHER_DRIVER, TO_CLOSE, TO_NEUTRAL, Talker, demo_library, open_item

CARRY = (*TO_NEUTRAL, "neutral now", *TO_CLOSE)
AT_DROP = CARRY.index("at the drop")
PAYS_OUT = CARRY[: CARRY.index("off deck")]
"""To where the winch pays out."""
PULLS = CARRY[: CARRY.index("on deck")]
"""To where it pulls in."""
RUNS = {"pulls": PULLS, "pays out": PAYS_OUT}
WHILE_IT_RUNS = PROTECTIVE | {"winch_stops", "on_deck", "off_deck", "danger_released"}


@cache
def _after(texts: tuple[str, ...]) -> Talker:
    talker = copy(_after(texts[:-1])) if texts else Talker(demo_library())
    talker.replies = list(talker.replies)
    if texts:
        talker.say(texts[-1])
    return talker


def told(texts: tuple[str, ...]) -> Talker:
    """Return a talker of its own who has said these; equal beginnings are run once."""
    talker = copy(_after(texts))
    talker.replies = list(talker.replies)
    return talker


def asked_acts(talker: Talker) -> tuple[str, ...]:
    """Return the acts that the open question asks for."""
    item = prompt_for(talker.job).item
    return () if item is None else item.acts


def is_refused(talker: Talker) -> bool:
    return any(reply.key == "says.refused" for reply in talker.replies)


# The truck stays where it is until what is aboard is tied for it


IN_ORDER = {
    "recover.stop": "stopped", "recover.chock": "chocked", "secure.park": "parked",
    "secure.slacken": "slack", **{f"secure.{wheel}": "strapped" for wheel in WHEELS},
}  # fmt: skip


def to_the_gate(talker: Talker) -> Iterator[str]:
    """Yield what is asked until the truck is told to move; each is done."""
    while (item := open_item(talker)) in IN_ORDER:
        yield item
        talker.say(IN_ORDER[item])


@pytest.mark.parametrize("said", range(AT_DROP + 3, CARRY.index("off deck")))
def test_found_uphill_at_the_drop_it_is_tied_down_before_the_truck_turns(said: int) -> None:
    talker = told(CARRY[: said + 1])
    talker.say("it is uphill")
    asked = list(to_the_gate(talker))
    acts = talker.job.acts
    assert open_item(talker) == "drop.uphill", asked
    assert [acts[f"strap.{wheel}"] for wheel in WHEELS] == ["on"] * 4
    assert (acts["gear"], acts["tension"], acts["winch"]) == ("park", "off", "still")
    talker.say("truck moved", "secured", "level")
    assert open_item(talker) in {"drop.ready", "drop.keep_off", "drop.hook", "drop.away"}
    assert not is_refused(talker)


def test_a_truck_with_its_line_on_makes_way_for_no_other() -> None:
    talker = told(TO_NEUTRAL[:-2])
    talker.say("it weighs 9200 pounds", "yes")
    assert talker.job.verdict == "close"
    assert open_item(talker) == "margin.close_tied"
    assert [one.id for one in prompt_for(talker.job).item.options] == ["hand_off"]


def test_what_may_be_on_the_deck_is_looked_at_before_the_truck_moves() -> None:
    talker = told(CARRY[: CARRY.index("on deck") + 1])
    talker.say("not on deck", "chocked", "it is uphill")
    while open_item(talker) not in {"scene.down", "scene.uphill"}:
        talker.say({"scene.slacken": "slack", "scene.unhook": "line off"}[open_item(talker)])
    assert open_item(talker) == "scene.down"
    talker.say("off deck")
    assert open_item(talker) == "scene.uphill"


# While the winch runs nothing is asked at the vehicle: it stops first


NEWS = (
    "stopped on the way", "I opened the disconnect", "the disconnect is open", "it was a crash",
    "the pack is on", "red is on flat positive", "it is on the charger", "one wheel is locked",
    "it is uphill", "the covers are off", "not in neutral", "they do not take it",
    "it won't wake", "the truck moved", "a strap came off", "it weighs 4800 pounds",
)  # fmt: skip


@pytest.mark.parametrize("said", NEWS)
@pytest.mark.parametrize("way", RUNS)
def test_while_the_winch_runs_it_stops_before_anything_else_is_asked(way: str, said: str) -> None:
    talker = told(RUNS[way])
    talker.say(said)
    assert not is_refused(talker)
    if talker.job.acts["winch"] != "still":
        assert set(asked_acts(talker)) <= WHILE_IT_RUNS
        assert prompt_for(talker.job).item.acts, "a question is asked at the vehicle"


def test_stopped_while_it_runs_is_the_winch_and_no_stop_on_the_road() -> None:
    talker = told(PAYS_OUT)
    talker.say("stopped on the way")
    assert talker.job.acts["winch"] == "still"
    assert talker.job.value("stop_at") == "drop"


# No disconnect opens inside a neutral window


def test_neutral_taken_back_is_parked_before_a_disconnect_opens() -> None:
    talker = told(CARRY[: CARRY.index("confirmed") + 1])
    talker.say("not in neutral", "the cord is stuck")
    seen = []
    said = {"cord.end_charging": "ended", "cord.unlock": "done", "cord.try": "no",
            "cord.park": "parked", "cord.ajar": "ajar"}  # fmt: skip
    while (item := open_item(talker)) in said:
        seen.append(item)
        talker.say(said[item])
    assert item == "cord.open_1"
    assert "cord.park" in seen
    assert talker.job.window is not None
    assert talker.job.window.state != "open"


# Keep-off places are read out before every hook


def replied(replies: list[Reply]) -> str:
    return " ".join(render(reply).spoken for reply in replies)


def test_keep_off_places_are_read_again_at_the_drop() -> None:
    talker = told(CARRY[: AT_DROP + 3])
    assert "Keep hooks off" in replied(talker.say("on"))
    assert open_item(talker) == "drop.keep_off"
    assert open_item_after(talker, "understood") == "drop.hook"


def open_item_after(talker: Talker, said: str) -> str:
    talker.say(said)
    return open_item(talker)


@pytest.mark.parametrize("change", ["tail toward the truck", "dunlin"])
def test_keep_off_places_are_read_again_for_another_end(change: str) -> None:
    talker = told(TO_NEUTRAL[: TO_NEUTRAL.index("understood") + 1])
    assert open_item(talker) == "attach.hook"
    talker.say(change)
    assert not talker.job.acts.holds("keep_off_told")


def test_keep_off_places_are_read_once_where_nothing_changed() -> None:
    talker = told(TO_NEUTRAL[: TO_NEUTRAL.index("understood") + 1])
    talker.say("nose toward the truck", "not hooked")
    assert open_item(talker) == "attach.hook"


# A number or another exchange: the winch stops for it, and on the road it waits


LOAD = "900 pounds of tools in the bed"
EXCHANGES = (LOAD, "it weighs 4800 pounds", "problem", "back", "wrong weight")


@pytest.mark.parametrize("said", EXCHANGES)
@pytest.mark.parametrize("way", RUNS)
def test_the_winch_stops_before_anything_is_read_back(way: str, said: str) -> None:
    talker = told(RUNS[way])
    talker.say(said)
    stops = asked_acts(talker)
    talker.say("stopped")
    assert not is_refused(talker)
    assert stops[:1] == ("winch_stops",)
    assert talker.job.acts["winch"] == "still"


def test_a_load_said_at_stop_the_winch_is_read_back_once_it_is_stopped() -> None:
    talker = told(PULLS)
    talker.say("hold", "resume", LOAD)
    assert open_item(talker) == "recover.stop"
    replies = talker.say("stopped")
    assert [reply.key for reply in replies] == ["says.read_back_load"]
    talker.say("yes")
    assert talker.job.value("load_lb") == 900
    assert not is_refused(talker)


@pytest.mark.parametrize("said", [LOAD, "it weighs 4800 pounds"])
def test_no_yes_on_the_road_counts_a_number_that_nobody_read_back(said: str) -> None:
    talker = told(CARRY[: CARRY.index("too dark", CARRY.index("firm")) + 2])
    talker.say(said, "yes")
    assert talker.job.acts["rolling"] == "rolling"
    assert talker.job.value("load_lb") is None
    assert talker.job.value("weight") is None
    assert talker.say("parked")[-1].key.startswith("says.read_back")
    talker.say("yes")
    assert (talker.job.value("load_lb") or talker.job.value("weight")) > 0
    assert not is_refused(talker)


@pytest.mark.parametrize("in_between", [("yes",), ()])
def test_a_weight_of_ones_own_goes_along_with_a_take_over(in_between: tuple[str, ...]) -> None:
    talker = told(TO_NEUTRAL[:14])
    talker.say("it weighs 4700 pounds", "take over", who=OTHER_DRIVER)
    assert talker.replies[-1].key == "says.read_back"
    replies = talker.say(*in_between, "hand off", "acme yard", "yes", who=OTHER_DRIVER)
    assert not is_refused(talker)
    assert "says.handed_off" in {reply.key for reply in replies}
    assert talker.job.ended is not None


# A turn that breaks a rule is taken back, and never the last word


def refuses(monkeypatch: pytest.MonkeyPatch, rule: str) -> None:
    """Let the rules refuse the next turn, whatever it is."""
    left = [rule]
    monkeypatch.setattr(advance, "broken", lambda _: [f"{left.pop()}: tried"] if left else [])


@pytest.mark.parametrize("said", range(2, len(CARRY)))
def test_after_a_refused_turn_the_next_message_is_taken(
    said: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    talker = told(CARRY[:said])
    ran = talker.job.acts["winch"] != "still"
    refuses(monkeypatch, "S2")
    talker.say("hmm")
    assert open_item(talker)
    assert talker.replies[-1].key == "says.dispatch_asked"
    assert talker.replies[-2].to == "driver"
    if ran:
        assert asked_acts(talker) == ("winch_stops",)
        talker.say("stopped")
        assert talker.job.acts["winch"] == "still"


def test_a_refused_turn_ends_no_job_and_counts_no_number(monkeypatch: pytest.MonkeyPatch) -> None:
    talker = told(TO_NEUTRAL[:14])
    talker.say("hand off", "acme yard")
    refuses(monkeypatch, "S14")
    talker.say("yes")
    assert talker.job.ended is None
    assert talker.job.value("handed_to") is None
    assert talker.job.pending is None
    talker.say("acme yard", "yes")
    assert talker.job.ended is not None


def test_a_refused_turn_keeps_what_happened(monkeypatch: pytest.MonkeyPatch) -> None:
    talker = told(CARRY[: CARRY.index("neutral now")])
    refuses(monkeypatch, "S2")
    talker.say("neutral now")
    assert talker.job.acts["gear"] == "neutral"
    assert talker.job.window is not None

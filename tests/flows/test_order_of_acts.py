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
from tests.flows.talker import TO_CLOSE, TO_NEUTRAL, Talker, demo_library, open_item

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

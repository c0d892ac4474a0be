"""The safety rules against the page they come from: what each sentence of it refuses.

Each case is a trace that has to be refused, beside its nearest neighbour that has to pass. The
rules judge acts, questions, figures and raw words, never what the routine made of the words.
"""

from dataclasses import dataclass, field, replace
from typing import Any

import pytest

from flows.job.acts import WHEELS, Acts
from flows.rules.ear import hears
from flows.rules.safety import broken, refusal
from flows.rules.world import Asked, Hold, Place, Release, Skipped, TurnSeen, World

CALM = {"danger": "none", "history": "breakdown", "wheels": "roll"}
TIED = ("line_on", "hooked", "tension_on")
STRAPPED = tuple(f"strapped_{wheel}" for wheel in WHEELS)
ABOARD = ("on_deck", "park_set", *STRAPPED)
ON_LIFT = ("rear_lifted", "lift_strapped", "dollies_under", "dollies_strapped")
PULLING = (*TIED, "neutral_selected", "neutral_confirmed", "chocks_out", "path_empty",
           "winch_moves")  # fmt: skip
OPENED = ("isolation_opened_1",)
CLOSED = (*OPENED, "isolation_closed_1")
SEEN = (*CLOSED, "isolation_checked_1")
DELIVERED = ("on_deck", "departs", "arrives", "off_deck", "park_set", "chocks_in",
             "line_slackened", "unhooked", "line_off")  # fmt: skip


def seen(
    *acts: str, facts: dict[str, str] | None = None, taken_back: str = "", **more: Any
) -> World:
    """Return the world after acts, with nothing in the way but what a case is about."""
    states = Acts.initial()
    for act in acts:
        states = states.after(act)
    if taken_back:
        states = states.without(taken_back)
    known = {name: value for name, value in {**CALM, **(facts or {})}.items() if value}
    usual: dict[str, Any] = {"verdict": "go", "lift": "go", "window": "open"}
    return World(facts=known, acts=states, **{**usual, **more})


@dataclass(frozen=True)
class Case:
    """An act that is asked for, where the rule refuses it and where it does not."""

    rule: str
    act: str
    refused: World
    allowed: World
    at: Place | None = None
    at_allowed: Place | None = field(default=None)


LEVEL, UPHILL = {"slope": "level"}, {"slope": "uphill"}
LOCKED = {"ready": "off"}
ELECTRIC = {"powertrain": "electric", "drive": "all"}
HOLDS: dict[str, Any] = {
    "holding_ends": frozenset({"nose"}),
    "keep_off": frozenset({"front valance", "battery case"}),
    "battery": (18, 96),
}
HOOK = Place("left frame loop", -38)
NOSE = {"facing": "nose"}
AT_NOSE = seen("keep_off_told", facts=NOSE, **HOLDS)

CASES = (
    # S2: whatever takes away what holds it lets wheels turn as much as neutral does
    Case("S2", "line_slackened", seen(*TIED, facts=LEVEL), seen(*TIED, "chocks_in", facts=LEVEL)),
    Case("S2", "line_slackened", seen("on_deck", *TIED, facts=LEVEL), seen(*ABOARD, *TIED)),
    Case("S2", "unhooked", seen(*TIED, facts=LEVEL), seen(*TIED, "chocks_in", facts=LEVEL)),
    Case("S2", "line_off", seen(*TIED, facts=LEVEL), seen(*TIED, "chocks_in", facts=LEVEL)),
    Case("S2", "winch_moves", seen(*PULLING[:-1], facts=UPHILL), seen(*PULLING[:-1], facts=LEVEL)),
    Case("S2", "winch_moves", seen("path_empty"), seen(*PULLING[:-1], facts=LEVEL)),
    Case("S2", "pays_out", seen(*PULLING[:-1], facts=UPHILL), seen(*PULLING[:-1], facts=LEVEL)),
    Case("S2", "pays_out", seen(*PULLING[:-1]), seen(*PULLING[:-1], facts=LEVEL)),
    # Off lift or deck it has to be held without them
    Case("S2", "set_down", seen(*ON_LIFT), seen(*ON_LIFT, "chocks_in")),
    Case("S2", "off_deck", seen(*ABOARD), seen(*ABOARD, *TIED, facts=LEVEL)),
    # "A named hand-off": the vehicle is held, and not by the truck that leaves
    Case("S2", "handed_off", seen(*TIED, facts=LEVEL), seen("chocks_in")),
    Case("S2", "handed_off", seen(*TIED, facts=LEVEL), seen(*ABOARD)),
    Case("S2", "handed_off", seen(*TIED, facts=LEVEL), seen("danger_seen")),
    # S4: not ready after the cord section, the disconnect comes first
    Case("S4", "neutral_cleared", seen(*CLOSED, facts=LOCKED), seen(*SEEN, facts=LOCKED)),
    Case("S4", "neutral_selected", seen(*CLOSED, "chocks_in", facts=LOCKED),
         seen(*CLOSED, "chocks_in", facts={"ready": "on"})),
    Case("S4", "skates_under", seen(*CLOSED, "chocks_in", facts=LOCKED),
         seen(*CLOSED, "chocks_in", facts={**LOCKED, "wheels": "locked"})),
    Case("S4", "chocks_out", seen(*CLOSED, *TIED, "skates_under", facts=LOCKED),
         seen(*SEEN, *TIED, "skates_under", facts=LOCKED)),
    Case("S4", "chocks_out", seen(*CLOSED, *TIED, "skates_under", facts=LOCKED),
         seen(*CLOSED, *TIED, "skates_under", "neutral_selected", facts=LOCKED)),
    Case("S4", "braked_on_dollies", seen(*CLOSED, "chocks_in", facts=LOCKED),
         seen("chocks_in", facts=LOCKED)),
    # S4: open and tagged, it is handed over as open
    Case("S4", "job_closed", seen(*DELIVERED, *OPENED, "isolation_tagged_1",
                                  facts={"history": "crash"}),
         seen(*DELIVERED, *OPENED, "isolation_tagged_1", "open_told", facts={"history": "crash"})),
    # S5: nobody knows the donor, so nobody knows that it burns fuel
    Case("S5", "clamp_on_flat_positive", seen(), seen(donor="combustion")),
    Case("S5", "clamp_on_flat_positive", seen(), seen(donor="pack")),
    # S6: nobody knows which end is up; and it is not turned round on wheels of its own
    Case("S6", "departs", seen("rear_lifted", "dollies_under", taken_back="rear_lifted"),
         seen("rear_lifted", "dollies_under")),
    Case("S6", "turned", seen("path_empty", facts=ELECTRIC),
         seen(*ON_LIFT, "path_empty", facts=ELECTRIC)),
    Case("S6", "turned", seen("rear_lifted", "lift_strapped", "path_empty", facts=ELECTRIC),
         seen(*ON_LIFT, "path_empty", facts=ELECTRIC)),
    # S6: boxed in, it is taken out with every wheel carried, never dragged
    Case("S6", "taken_out", seen("path_empty", facts=ELECTRIC),
         seen(*ON_LIFT, "path_empty", facts=ELECTRIC)),
    Case("S6", "taken_out", seen("rear_lifted", "lift_strapped", "path_empty", facts=ELECTRIC),
         seen(*ON_LIFT, "path_empty", facts=ELECTRIC)),
    # S6: a skate goes under no wheel that is missing
    Case("S6", "winch_moves", seen("skates_under", facts={"wheels": "missing"}),
         seen("dollies_under", facts={"wheels": "missing"})),
    Case("S6", "winch_moves", seen("skates_under", facts={"wheels": "missing"}),
         seen("skates_under", facts={"wheels": "locked"})),
    # S7: the place itself is judged, by the words of the card and by its battery
    Case("S7", "hooked", AT_NOSE, AT_NOSE, None, HOOK),
    Case("S7", "hooked", AT_NOSE, AT_NOSE,
         Place("front valance", -38), HOOK),
    Case("S7", "hooked", AT_NOSE, AT_NOSE,
         Place("left front valance", -38), Place("left front loop", -38)),
    Case("S7", "hooked", AT_NOSE, AT_NOSE,
         Place("subframe", 40), Place("subframe", 10)),
    Case("S7", "hooked", AT_NOSE, AT_NOSE,
         Place("subframe"), Place("subframe", 97)),
    Case("S7", "rear_lifted", seen(facts=NOSE, **{**HOLDS, "holding_ends": {"tail"}}),
         seen(facts=NOSE, **{**HOLDS, "holding_ends": {"tail"}}),
         Place("axle tube", 90), Place("axle tube", 110)),
    Case("S7", "front_lifted", seen(facts=NOSE, **HOLDS), seen(facts=NOSE, **HOLDS),
         Place("battery case", 0), Place("tyres")),
    # S15: nothing is asked at the vehicle while the winch moves, or may
    *(Case("S15", act, seen(*PULLING, facts=LEVEL), seen(*PULLING, "winch_stops", facts=LEVEL))
      for act in ("park_set", "chocks_in", "hooked", "isolation_closed_1", "on_deck",
                  "strapped_left_rear", "line_slackened", "skates_under", "neutral_cleared")),
    Case("S15", "chocks_in", seen(*PULLING, taken_back="winch_moves"),
         seen(*PULLING, "winch_stops")),
    Case("S15", "off_deck", seen(*ABOARD[:1], *PULLING[:-1], "pays_out", facts=LEVEL),
         seen(*ABOARD[:1], *PULLING[:-1], "pays_out", "winch_stops", facts=LEVEL)),
)  # fmt: skip


def refused_by(rule: str, world: World, act: str, at: Place | None) -> list[str]:
    asked = Asked(acts=(act,), at=at, needs_answer=True, is_critical=True)
    return [why for why in broken(TurnSeen(world, world, (asked,))) if why.startswith(f"{rule}:")]


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case.rule} {case.act}")
def test_the_page_refuses_it_and_not_its_neighbour(case: Case) -> None:
    at_allowed = case.at if case.at_allowed is None else case.at_allowed
    assert refused_by(case.rule, case.refused, case.act, case.at)
    assert refused_by(case.rule, case.allowed, case.act, at_allowed) == []


def test_what_stops_the_winch_comes_before_what_is_asked_with_it() -> None:
    """The acts of one message are done in its order."""
    pulling = seen(*PULLING, facts=LEVEL)
    both = Asked(acts=("winch_stops", "on_deck"), needs_answer=True)
    assert broken(TurnSeen(pulling, pulling, (both,))) == []
    other_way = replace(both, acts=("on_deck", "winch_stops"))
    assert any(why.startswith("S15:") for why in broken(TurnSeen(pulling, pulling, (other_way,))))


# Whole turns

HERE = seen()
DANGER = seen("danger_seen")
FREE = seen(*TIED, "chocks_in", "neutral_selected", "neutral_confirmed", facts=LEVEL)


def asks(fact: str) -> Asked:
    return Asked(asks=fact, needs_answer=True)


OUT = Asked(acts=("chocks_out",), needs_answer=True, is_critical=True)
GATE = Release("the fire chief", is_timed=True, is_after=True)
FIRST = Hold(1, is_open=True, ends_ns=100)
PARKED = replace(FIRST, is_open=False)
LATER = Hold(2, is_open=True, ends_ns=101)

TURNS = (
    # S1: nothing but the danger gate, questions included
    *(("S1", TurnSeen(DANGER, DANGER, (asks(fact),)), TurnSeen(DANGER, DANGER, (asks(gate),)))
      for fact, gate in (("weight", "danger"), ("destination", "released_by"),
                         ("received_by", "handed_to"))),
    ("S1", TurnSeen(DANGER, DANGER, (asks("slope"),)), TurnSeen(HERE, HERE, (asks("slope"),))),
    ("S1", TurnSeen(DANGER, DANGER, (asks("slope"),)),
     TurnSeen(DANGER, DANGER, (replace(asks("slope"), to_driver=False),))),
    # S1: released by a named service at a stated time
    *(("S1", TurnSeen(DANGER, HERE, released=wrong), TurnSeen(DANGER, HERE, released=GATE))
      for wrong in (replace(GATE, is_timed=False), replace(GATE, by=" "),
                    replace(GATE, is_after=False))),
    # S1: the three words, as they were said, rolling included
    *(("S1", TurnSeen(seen(*acts), seen(*acts), heard=said),
       TurnSeen(seen(*acts), seen(*acts, "danger_seen"), heard=said))
      for acts in ((), ("departs",), PULLING)
      for said in ("smoke", "Fire!", "I see smoke here", "there's a fire")),
    *(("S1", TurnSeen(seen(*acts), seen(*acts), heard=said),
       TurnSeen(seen(*acts), seen(*acts), heard=said, halted=True))
      for acts in ((), ("departs",), PULLING)
      for said in ("stop", "STOP STOP", "stop now please")),
    # S2: taking the chocks out is a critical step of its own
    ("S2", TurnSeen(FREE, FREE, (replace(OUT, is_critical=False),)), TurnSeen(FREE, FREE, (OUT,))),
    ("S2", TurnSeen(FREE, FREE, (replace(OUT, acts=("chocks_out", "path_empty")),)),
     TurnSeen(FREE, FREE, (OUT,))),
    # S10: neutral said again is no new hold, as long as nobody saw Park
    ("S10", TurnSeen(HERE, HERE, hold_before=FIRST, hold_after=LATER),
     TurnSeen(HERE, HERE, hold_before=FIRST, hold_after=replace(LATER, ends_ns=99))),
    ("S10", TurnSeen(HERE, HERE, hold_before=FIRST, hold_after=LATER),
     TurnSeen(HERE, HERE, hold_before=PARKED, hold_after=LATER)),
    ("S10", TurnSeen(HERE, HERE, hold_before=FIRST, hold_after=replace(LATER, ends_ns=None)),
     TurnSeen(HERE, HERE, hold_before=replace(FIRST, ends_ns=None), hold_after=LATER)),
    # S11: a skip without a reason is a skip
    ("S11", TurnSeen(HERE, HERE, skipped=(Skipped(("warned",), " "),)),
     TurnSeen(HERE, HERE, skipped=(Skipped(("warned",), "no room on the shoulder"),))),
)  # fmt: skip


@pytest.mark.parametrize(("rule", "refused", "allowed"), TURNS)
def test_the_page_refuses_the_turn_and_not_its_neighbour(
    rule: str, refused: TurnSeen, allowed: TurnSeen
) -> None:
    assert [why for why in broken(refused) if why.startswith(f"{rule}:")]
    assert [why for why in broken(allowed) if why.startswith(f"{rule}:")] == []


@pytest.mark.parametrize(
    ("said", "heard"),
    [
        ("smoke", "danger"),
        ("there is a fire here", "danger"),
        ("Stop!", "stop"),
        ("stop there is smoke", "danger"),
        ("no smoke", ""),
        ("the fire service has been", ""),
        ("stopped", ""),
        ("smoke stop diner, route nine", ""),
        ("the truck stop", ""),
        ("", ""),
    ],
)
def test_the_rules_have_an_ear_of_their_own(said: str, heard: str) -> None:
    """It hears the three words alone, or among words that say nothing else."""
    assert hears(said) == heard


def test_a_refusal_names_its_rule_first() -> None:
    assert str(refusal(seen("danger_seen"), "set_down")).startswith("S1: ")

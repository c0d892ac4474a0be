"""Each safety rule allows and refuses, on traces written from the text of the rules.

Each row has the acts done so far, the act that a message would ask for, and whether the rule
allows it. Rules whose sections come later (boost, lift, road) are judged here alone.
"""

from dataclasses import dataclass, field, replace
from typing import Any

import pytest
from hypothesis import given, strategies as st

from flows.job.acts import ACTS, CLAMPS, WHEELS, Acts
from flows.rules.safety import LETS_ROLL, RULES, broken, refusal
from flows.rules.world import Asked, Hold, Place, Skipped, TurnSeen, World

LOOKED = {"danger": "none", "history": "breakdown"}
TIED = ("line_on", "hooked", "tension_on")
STRAPS = ("strapped_left_front", "strapped_right_front", "strapped_left_rear",
          "strapped_right_rear")  # fmt: skip
DROPPED = ("on_deck", "departs", "arrives", "off_deck", "park_set", "chocks_in", "line_slackened",
           "unhooked", "line_off")  # fmt: skip
ON_DOLLIES = ("braked_on_dollies", "dollies_strapped")
CARRIED = ("rear_lifted", "lift_strapped", "dollies_under", "dollies_strapped")
FROM_VEHICLE = ("flat_positive", "donor_positive", "donor_negative", "flat_ground")


@dataclass(frozen=True)
class Row:
    rule: str
    so_far: tuple[str, ...]
    act: str
    allowed: bool
    facts: dict[str, str] = field(default_factory=dict)
    at: Place | None = None
    more: dict[str, Any] = field(default_factory=dict)


def on(*posts: str) -> tuple[str, ...]:
    return tuple(f"clamp_on_{post}" for post in posts)


ROWS = (
    # S1 danger seen, or unknown: nothing but the gate; people, traffic and help always
    Row("S1", ("danger_seen",), "chocks_in", allowed=False),
    Row("S1", ("danger_seen",), "people_away", allowed=True),
    Row("S1", ("danger_seen",), "help_called", allowed=True),
    Row("S1", ("danger_seen",), "warned", allowed=True),
    Row("S1", ("danger_seen", "danger_released"), "chocks_in", allowed=True),
    Row("S1", (), "truck_set", allowed=False, facts={"danger": ""}),
    Row("S1", (), "people_back", allowed=True, facts={"danger": ""}),
    # S2 held before wheels can turn; uphill or not known, never by the line alone
    Row("S2", (), "neutral_selected", allowed=False),
    Row("S2", ("chocks_in",), "neutral_selected", allowed=True),
    Row("S2", TIED, "neutral_selected", allowed=True, facts={"slope": "level"}),
    Row("S2", TIED, "neutral_selected", allowed=True, facts={"slope": "downhill"}),
    Row("S2", TIED, "neutral_selected", allowed=False, facts={"slope": "uphill"}),
    Row("S2", TIED, "neutral_selected", allowed=False),
    Row("S2", TIED[:2], "wheels_freed", allowed=False, facts={"slope": "level"}),
    Row("S2", (), "skates_under", allowed=False),
    Row("S2", ("front_lifted",), "wheels_freed", allowed=False),
    Row("S2", ("front_lifted", "dollies_under"), "wheels_freed", allowed=True),
    # Skates under, in Park: the line that holds is enough; on lift and dollies, each strapped
    Row("S2", (*TIED, "skates_under"), "chocks_out", allowed=True, facts={"slope": "level"}),
    Row("S2", (*TIED, "skates_under"), "chocks_out", allowed=False, facts={"slope": "uphill"}),
    Row("S2", (*TIED, "skates_under", "neutral_selected"), "chocks_out", allowed=False,
        facts={"slope": "level"}),
    Row("S2", TIED, "chocks_out", allowed=False, facts={"slope": "level"}),
    # The axle that Park holds on dollies, strapped to them
    Row("S2", (), "braked_on_dollies", allowed=False),
    Row("S2", ("chocks_in",), "braked_on_dollies", allowed=True),
    Row("S2", (*TIED, *ON_DOLLIES), "chocks_out", allowed=True, facts={"slope": "level"}),
    Row("S2", (*TIED, *ON_DOLLIES), "chocks_out", allowed=False, facts={"slope": "uphill"}),
    Row("S2", (*TIED, ON_DOLLIES[0]), "chocks_out", allowed=False, facts={"slope": "level"}),
    Row("S2", (*TIED, *ON_DOLLIES, "neutral_selected"), "chocks_out", allowed=False,
        facts={"slope": "level"}),
    Row("S2", (*TIED, "dollies_under", "dollies_strapped"), "chocks_out", allowed=False,
        facts={"slope": "level"}),
    Row("S2", ("chocks_in", *CARRIED), "chocks_out", allowed=True),
    *(Row("S2", ("chocks_in", *(one for one in CARRIED if one != left)), "chocks_out",
          allowed=False) for left in CARRIED),
    Row("S2", ("chocks_in", *CARRIED, "set_down"), "chocks_out", allowed=False),
    # Down from the lift, dollies hold nothing: chocks do
    Row("S2", CARRIED, "set_down", allowed=False),
    Row("S2", (*CARRIED, "dollies_out"), "set_down", allowed=False),
    Row("S2", (*CARRIED, "dollies_out", "chocks_in"), "set_down", allowed=True),
    # The drop: on the deck straps hold it, and the line before they come off; Park alone never
    Row("S2", ("on_deck", *STRAPS), "off_deck", allowed=False),
    Row("S2", ("on_deck",), "off_deck", allowed=False),
    Row("S2", ("on_deck", *TIED), "off_deck", allowed=True, facts={"slope": "downhill"}),
    Row("S2", ("on_deck", *TIED), "off_deck", allowed=False, facts={"slope": "uphill"}),
    Row("S2", ("on_deck", "park_set"), "neutral_selected", allowed=False),
    Row("S2", ("on_deck", "park_set", "chocks_in"), "neutral_selected", allowed=True),
    Row("S2", ("on_deck", *STRAPS), "unstrapped_left_rear", allowed=False,
        facts={"slope": "level"}),
    Row("S2", ("on_deck", *STRAPS, *TIED), "unstrapped_left_rear", allowed=True,
        facts={"slope": "level"}),
    Row("S2", ("on_deck", *STRAPS, *TIED), "unstrapped_left_rear", allowed=False,
        facts={"slope": "uphill"}),
    Row("S2", ("on_deck", *STRAPS, *TIED, "departs", "arrives"), "unstrapped_left_rear",
        allowed=False, facts={"slope": "level"}),
    Row("S2", ("on_deck", *TIED, "chocks_in"), "chocks_out", allowed=False,
        facts={"slope": "level"}),
    Row("S2", (*TIED, "chocks_in", "neutral_selected"), "chocks_out", allowed=False,
        facts={"slope": "level"}),
    Row("S2", (*TIED, "chocks_in", "neutral_selected", "neutral_confirmed"), "chocks_out",
        allowed=True, facts={"slope": "level"}),
    Row("S2", ("chocks_in", "neutral_selected", "neutral_confirmed"), "chocks_out",
        allowed=False, facts={"slope": "level"}),
    Row("S2", (*TIED, "chocks_in", "neutral_selected", "neutral_confirmed"), "chocks_out",
        allowed=False, facts={"slope": "uphill"}),
    # S3 charging ended, every isolation open and pinned; a card that says nothing: not pulled
    Row("S3", ("charging_ended", "isolation_opened_1", "isolation_pinned_1"), "release_pulled",
        allowed=True, more={"isolations": 1}),
    Row("S3", ("charging_ended", "isolation_opened_1"), "release_pulled", allowed=False,
        more={"isolations": 1}),
    Row("S3", ("charging_ended", "isolation_opened_1", "isolation_pinned_1"), "release_pulled",
        allowed=False, more={"isolations": 2}),
    Row("S3", ("isolation_opened_1", "isolation_pinned_1"), "release_pulled", allowed=False,
        more={"isolations": 1}),
    # S3 no disconnect opens inside a neutral window, nor in a neutral that may still be in
    Row("S3", (), "isolation_opened_1", allowed=True),
    Row("S3", ("park_set",), "isolation_opened_1", allowed=True),
    Row("S3", ("neutral_selected",), "isolation_opened_1", allowed=False),
    Row("S3", ("charging_ended",), "release_pulled", allowed=True,
        more={"isolations": 0}),
    Row("S3", ("charging_ended", "isolation_opened_1", "isolation_pinned_1"), "release_pulled",
        allowed=False),
    Row("S3", ("charging_ended", "isolation_opened_1", "isolation_pinned_1", "isolation_opened_2",
               "isolation_pinned_2"), "release_pulled", allowed=True, more={"isolations": 2}),
    Row("S3", ("charging_ended", "isolation_opened_2", "isolation_pinned_2"), "release_pulled",
        allowed=False, more={"isolations": 1}),
    Row("S3", ("charging_ended", "isolation_opened_1", "isolation_pinned_1", "isolation_opened_2",
               "isolation_pinned_2"), "release_pulled", allowed=False, more={"isolations": 3}),
    # S4 closed before a ready check counts and before closing; damaged: open, tagged
    Row("S4", ("isolation_opened_1",), "ready_counts", allowed=False),
    Row("S4", ("isolation_opened_1", "isolation_closed_1"), "ready_counts", allowed=True),
    Row("S4", (), "ready_counts", allowed=True),
    Row("S4", ("isolation_opened_1",), "job_closed", allowed=False),
    Row("S4", ("isolation_opened_1", "isolation_tagged_1"), "job_closed", allowed=False),
    Row("S4", ("isolation_opened_1", "isolation_tagged_1", "open_told"), "job_closed",
        allowed=True, facts={"history": "crash"}),
    Row("S4", ("isolation_opened_1",), "isolation_closed_1", allowed=False,
        facts={"history": "water"}),
    Row("S4", ("isolation_opened_1",), "isolation_closed_1", allowed=True),
    Row("S4", ("isolation_opened_1", "isolation_opened_2", "isolation_closed_2"), "ready_counts",
        allowed=False),
    Row("S4", ("isolation_opened_1", "isolation_opened_2", "isolation_closed_1"), "job_closed",
        allowed=False),
    Row("S4", ("isolation_opened_1", "isolation_opened_2", "isolation_closed_2",
               "isolation_closed_1"), "job_closed", allowed=True),
    Row("S4", ("isolation_opened_1", "isolation_tagged_1", "isolation_opened_2"), "job_closed",
        allowed=False, facts={"history": "crash"}),
    Row("S4", ("isolation_opened_2",), "isolation_closed_2", allowed=False,
        facts={"history": "water"}),
    # S5 clamps: flat +, donor +, donor -, flat's ground; off in exact reverse; pack off first
    *(Row("S5", on(*FROM_VEHICLE[:n]), f"clamp_on_{post}", allowed=True,
          more={"donor": "combustion"}) for n, post in enumerate(FROM_VEHICLE)),
    *(Row("S5", on(*FROM_VEHICLE[:n + 1]), f"clamp_off_{post}", allowed=True)
      for n, post in enumerate(FROM_VEHICLE)),
    Row("S5", (), "clamp_on_donor_positive", allowed=False),
    Row("S5", (), "clamp_on_flat_ground", allowed=False),
    Row("S5", on(*FROM_VEHICLE), "clamp_off_flat_positive", allowed=False),
    Row("S5", (), "clamp_on_flat_positive", allowed=False, more={"donor": "electric"}),
    Row("S5", (), "clamp_on_flat_positive", allowed=True,
        more={"donor": "electric", "card_allows_electric_donor": True}),
    Row("S5", (), "clamp_on_flat_positive", allowed=True, more={"donor": "pack"}),
    Row("S5", on("flat_positive"), "clamp_on_flat_ground", allowed=True, more={"donor": "pack"}),
    Row("S5", on("flat_positive"), "pack_on", allowed=False, more={"donor": "pack"}),
    Row("S5", on("flat_positive", "flat_ground"), "pack_on", allowed=True,
        more={"donor": "pack"}),
    Row("S5", (*on("flat_positive", "flat_ground"), "pack_on"), "clamp_off_flat_ground",
        allowed=False, more={"donor": "pack"}),
    Row("S5", on("flat_positive"), "clamp_on_donor_negative", allowed=False,
        more={"donor": "pack"}),
    Row("S5", (), "clamp_on_post_negative", allowed=False),
    Row("S5", (), "clamp_on_post_positive", allowed=True),
    Row("S5", on("post_positive"), "clamp_on_post_negative", allowed=True),
    Row("S5", on("post_positive"), "pack_on", allowed=False),
    Row("S5", on("post_positive", "post_negative"), "pack_on", allowed=True),
    Row("S5", on("post_positive", "post_negative"), "clamp_off_post_positive", allowed=False),
    Row("S5", (*on("post_positive", "post_negative"), "pack_on"), "clamp_off_post_negative",
        allowed=False),
    # Whatever boosts: a clamp that has no place in its order comes off first, and may
    Row("S5", on("donor_negative"), "clamp_on_flat_positive", allowed=False),
    Row("S5", on("donor_negative"), "clamp_off_donor_negative", allowed=True,
        more={"donor": "pack"}),
    Row("S5", on("flat_positive"), "clamp_off_flat_positive", allowed=True,
        more={"donor": "electric"}),
    # S6 locked wheels are not dragged; on the road all wheels are carried
    Row("S6", (), "winch_moves", allowed=False, facts={"wheels": "locked"}),
    Row("S6", ("skates_under",), "winch_moves", allowed=True, facts={"wheels": "locked"}),
    Row("S6", (), "winch_moves", allowed=True, facts={"wheels": "roll"}),
    Row("S6", (), "winch_moves", allowed=False),
    Row("S6", ("front_lifted",), "departs", allowed=False,
        facts={"powertrain": "electric", "drive": "front"}),
    Row("S6", ("front_lifted",), "departs", allowed=False, facts={"drive": "front"}),
    Row("S6", ("front_lifted",), "departs", allowed=False,
        facts={"powertrain": "combustion", "drive": "all"}),
    Row("S6", ("front_lifted",), "departs", allowed=True,
        facts={"powertrain": "combustion", "drive": "front"}),
    Row("S6", ("rear_lifted",), "departs", allowed=False,
        facts={"powertrain": "combustion", "drive": "front"}),
    Row("S6", ("front_lifted", "dollies_under"), "departs", allowed=True,
        facts={"powertrain": "electric", "drive": "all"}),
    Row("S6", ("on_deck",), "departs", allowed=True),
    Row("S6", ("on_deck",), "pays_out", allowed=False, facts={"wheels": "locked"}),
    Row("S6", ("on_deck",), "pays_out", allowed=True, facts={"wheels": "roll"}),
    # On skates or dollies it is let down the same way; a skate that came out does not count
    Row("S6", ("on_deck", "skates_under"), "pays_out", allowed=True, facts={"wheels": "locked"}),
    Row("S6", ("dollies_under",), "winch_moves", allowed=True, facts={"wheels": "missing"}),
    Row("S6", ("skates_under", "skates_out"), "winch_moves", allowed=False,
        facts={"wheels": "flat"}),
    # Dollies under the axle that Park holds carry no other wheel that does not roll
    Row("S6", ON_DOLLIES, "winch_moves", allowed=True, facts={"wheels": "roll"}),
    Row("S6", ON_DOLLIES, "winch_moves", allowed=False, facts={"wheels": "flat"}),
    # S7 no hook or lift at a keep-off place or an end without points; by the tyres allowed
    Row("S7", (), "hooked", allowed=True, facts={"facing": "nose"}, at=Place("tow eye"),
        more={"holding_ends": frozenset({"nose"})}),
    Row("S7", (), "hooked", allowed=False, facts={"facing": "tail"},
        more={"holding_ends": frozenset({"nose"})}),
    Row("S7", (), "hooked", allowed=False, facts={"facing": "nose"}, at=Place("sill", -30),
        more={"holding_ends": frozenset({"nose"}), "keep_off": frozenset({"sill"})}),
    Row("S7", (), "hooked", allowed=False),
    Row("S7", (), "hooked", allowed=True, facts={"point_shown": "yes"}),
    Row("S7", (), "rear_lifted", allowed=True, at=Place("tyres"),
        more={"holding_ends": frozenset({"nose"})}),
    Row("S7", (), "rear_lifted", allowed=False, at=Place("axle", 120),
        more={"holding_ends": frozenset({"nose"})}),
    # S7 the keep-off places are read out before the hook, at each end and again at the drop
    *(Row("S7", told, "hooked", allowed=told[-1:] == ("keep_off_told",), facts={"facing": "nose"},
          at=Place("tow eye"),
          more={"holding_ends": frozenset({"nose"}), "keep_off": frozenset({"sill"})})
      for told in ((), ("keep_off_told",), ("keep_off_told", "on_deck", "departs", "arrives"))),
    # S8 the truck moves only with what is aboard tied for it, or away from what holds by itself
    Row("S8", ("on_deck", "park_set", *STRAPS), "truck_moves", allowed=True),
    Row("S8", ("on_deck", "park_set", *STRAPS[1:]), "truck_moves", allowed=False),
    Row("S8", ("on_deck", "park_set", "chocks_in", *TIED), "truck_moves", allowed=False,
        facts={"slope": "level"}),
    Row("S8", ("on_deck", "park_set", *STRAPS, *TIED), "truck_moves", allowed=False),
    Row("S8", ("on_deck", "neutral_selected", *STRAPS), "truck_moves", allowed=False),
    Row("S8", ("on_deck", *STRAPS), "truck_moves", allowed=True),
    Row("S8", ("chocks_in",), "truck_moves", allowed=True),
    Row("S8", (), "truck_moves", allowed=False),
    Row("S8", ("chocks_in", "line_on"), "truck_moves", allowed=False),
    Row("S8", ("chocks_in", "hooked"), "truck_moves", allowed=False),
    Row("S8", CARRIED, "truck_moves", allowed=True),
    # S8 nothing on the road by the winch line; eight points; lift: straps, chains, lights
    Row("S8", ("on_deck", *STRAPS), "departs", allowed=True),
    Row("S8", ("on_deck", *STRAPS, "tension_on"), "departs", allowed=False),
    Row("S8", ("on_deck", *STRAPS[:3]), "departs", allowed=False),
    Row("S8", ("on_deck", *STRAPS[1:]), "job_closed", allowed=False),
    Row("S8", ("front_lifted", "lift_strapped", "dollies_strapped", "chains_on",
               "tow_lights_on"), "departs", allowed=True),
    Row("S8", ("front_lifted", "lift_strapped", "dollies_strapped", "tow_lights_on"),
        "departs", allowed=False),
    Row("S8", ("front_lifted", "lift_strapped", "dollies_strapped", "chains_on"),
        "departs", allowed=False),
    # S8 at the drop: nothing of the truck stays on it, and it is held
    Row("S8", DROPPED, "job_closed", allowed=True),
    *(Row("S8", (*DROPPED, act), "job_closed", allowed=False)
      for act in ("on_deck", "line_on", "hooked", "tension_on", "chocks_out",
                  "neutral_selected")),
    # S9 a no-go is not talked into a go; an owner may, a driver may not
    Row("S9", (), "tension_on", allowed=True, more={"verdict": "go"}),
    Row("S9", (), "tension_on", allowed=False, more={"verdict": "no-go"}),
    Row("S9", (), "tension_on", allowed=False, more={"verdict": "close"}),
    Row("S9", (), "winch_moves", allowed=False),
    Row("S9", (), "winch_moves", allowed=True, more={"verdict": "no-go", "decided_by": "owner"}),
    Row("S9", (), "winch_moves", allowed=False,
        more={"verdict": "no-go", "decided_by": "driver"}),
    Row("S9", (), "departs", allowed=False, more={"verdict": "no-go", "decided_by": "dispatcher"}),
    # No end is lifted past what lift and dollies may take, by whatever decided the margin
    Row("S9", (), "rear_lifted", allowed=True, facts={"facing": "tail"},
        more={"verdict": "go", "lift": "go"}),
    Row("S9", (), "rear_lifted", allowed=True, facts={"facing": "tail"},
        more={"verdict": "go", "lift": "close"}),
    # Nor another end than the figure is of: the one at the truck, boxed in the one that is reached
    *(Row("S9", (), act, allowed=allowed, facts=facts, more={"verdict": "go", "lift": "go"})
      for act, allowed, facts in (
          ("front_lifted", False, {"facing": "tail"}),
          ("front_lifted", False, {"facing": "tail", "lift_end": "nose"}),
          ("front_lifted", True, {"facing": "nose", "lift_end": "tail"}),
          ("front_lifted", False, {"facing": "boxed"}),
          ("front_lifted", False, {"facing": "boxed", "lift_end": "tail"}),
          ("front_lifted", False, {"facing": "boxed", "lift_end": "neither"}),
          ("front_lifted", True, {"facing": "boxed", "lift_end": "nose"}),
          ("rear_lifted", True, {"facing": "boxed", "lift_end": "tail"}),
          ("rear_lifted", False, {}),
      )),
    Row("S9", (), "front_lifted", allowed=False,
        more={"verdict": "go", "lift": "no-go", "decided_by": "owner"}),
    Row("S9", (), "front_lifted", allowed=False, more={"verdict": "go"}),
    Row("S9", (), "front_lifted", allowed=False, more={"verdict": "no-go", "lift": "go"}),
    Row("S9", ("departs", "arrives"), "departs", allowed=False, more={"verdict": "no-go"}),
    Row("S9", ("departs", "arrives"), "tension_on", allowed=True, more={"verdict": "no-go"}),
    Row("S9", ("departs", "arrives"), "winch_moves", allowed=False, more={"verdict": "no-go"}),
    # S10 no pull in a hold that has ended or was never opened
    Row("S10", (), "winch_moves", allowed=True, more={"window": "open"}),
    Row("S10", (), "winch_moves", allowed=True, more={"window": "unpromised"}),
    Row("S10", (), "winch_moves", allowed=False, more={"window": "ended"}),
    Row("S10", (), "pays_out", allowed=True, more={"window": "open"}),
    Row("S10", (), "pays_out", allowed=False, more={"window": "ended"}),
    Row("S10", (), "chocks_out", allowed=False, more={"window": "none"}),
    # In Park on skates, and with all wheels carried, nothing leans on a hold
    Row("S10", ("skates_under",), "winch_moves", allowed=True, more={"window": "none"}),
    Row("S10", ("skates_under", "park_set"), "pays_out", allowed=True, more={"window": "ended"}),
    Row("S10", ("skates_under", "neutral_selected"), "winch_moves", allowed=False,
        more={"window": "ended"}),
    Row("S10", ON_DOLLIES, "winch_moves", allowed=True, more={"window": "none"}),
    Row("S10", (*ON_DOLLIES, "dollies_out"), "winch_moves", allowed=False,
        more={"window": "none"}),
    Row("S10", CARRIED, "chocks_out", allowed=True, more={"window": "none"}),
    Row("S10", CARRIED, "winch_moves", allowed=False, more={"window": "none"}),
    # S11 a skip blocks closing until settled
    Row("S11", (), "job_closed", allowed=True),
    Row("S11", (), "job_closed", allowed=False, more={"open_skips": 1}),
    # S15 nobody in line: before the first pull and after each stop
    Row("S15", (), "winch_moves", allowed=False),
    Row("S15", (), "pays_out", allowed=False),
    Row("S15", ("path_empty",), "pays_out", allowed=True),
    Row("S15", ("path_empty", "pays_out", "winch_stops"), "pays_out", allowed=False),
    Row("S15", ("path_empty",), "winch_moves", allowed=True),
    Row("S15", ("path_empty", "winch_moves", "winch_stops"), "winch_moves", allowed=False),
    Row("S15", ("path_empty", "chocks_out"), "winch_moves", allowed=False),
    Row("S15", (), "tension_on", allowed=False),
    Row("S15", (), "rear_lifted", allowed=False),
    Row("S15", ("path_empty",), "rear_lifted", allowed=True),
    Row("S15", ("path_empty", "lift_strapped"), "turned", allowed=False),
    Row("S15", ("path_empty",), "turned", allowed=True),
    Row("S15", ("path_empty", "lift_strapped"), "taken_out", allowed=False),
    Row("S15", ("path_empty",), "taken_out", allowed=True),
    # S15 while the winch runs nothing else is asked at the vehicle: it stops first
    *(Row("S15", (runs,), act, allowed=act in {"winch_stops", "people_away", "help_called"})
      for runs in ("winch_moves", "pays_out")
      for act in ("winch_stops", "people_away", "help_called", "park_set", "isolation_closed_1",
                  "strapped_left_front", "chocks_in", "truck_set", "job_closed")),
    Row("S15", ("winch_moves", "winch_stops"), "park_set", allowed=True),
    # S16 no waking, boosting, charging on a damaged, flooded or released vehicle
    Row("S16", (), "woken", allowed=True),
    Row("S16", (), "woken", allowed=False, facts={"history": "crash"}),
    Row("S16", (), "woken", allowed=False, facts={"history": ""}),
    Row("S16", (), "clamp_on_flat_positive", allowed=False, facts={"history": "water"}),
    Row("S16", ("danger_seen", "danger_released"), "woken", allowed=False),
    Row("S16", (), "clamp_on_post_positive", allowed=False, facts={"history": "crash"}),
    Row("S16", on("flat_positive"), "clamp_off_flat_positive", allowed=True,
        facts={"history": "water"}),
)  # fmt: skip


def world(row: Row) -> World:
    acts = Acts.initial()
    for act in row.so_far:
        acts = acts.after(act)
    facts = {name: value for name, value in {**LOOKED, **row.facts}.items() if value}
    return World(facts=facts, acts=acts, **row.more)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row.rule}-{row.act}-{row.allowed}")
def test_the_rule_judges_the_act(row: Row) -> None:
    rule = next(rule for rule in RULES if rule.id == row.rule)
    why = rule.refuses(world(row), row.act, row.at)
    assert (why is None) is row.allowed, why


TURN_RULES = {"S12", "S13", "S14"}


def test_every_rule_is_seen_allowing_and_refusing() -> None:
    for rule in RULES:
        if rule.id not in TURN_RULES:
            assert {row.allowed for row in ROWS if row.rule == rule.id} == {True, False}, rule.id


def test_the_first_rule_that_refuses_gives_the_reason() -> None:
    assert refusal(World(facts=LOOKED), "neutral_selected") == "S2: it is not held"
    assert str(refusal(World(), "neutral_selected")).startswith("S1")
    assert refusal(World(facts=LOOKED), "chocks_in") is None


PLAIN = World(facts=LOOKED)
QUESTION = Asked(needs_answer=True)


def rolling() -> World:
    return World(facts=LOOKED, acts=Acts.initial().after("departs"))


def pulling(*undone: str, **more: Any) -> World:
    acts = Acts.initial()
    for act in (*TIED, "neutral_selected", "neutral_confirmed", "path_empty", "winch_moves"):
        acts = acts.after(act)
    for act in undone:
        acts = acts.without(act)
    facts = {**LOOKED, "slope": "level"}
    return World(facts=facts, acts=acts, window="open", verdict="go", **more)


def aboard(*acts: str) -> World:
    states = Acts.initial()
    for act in ("on_deck", *acts):
        states = states.after(act)
    return World(facts={**LOOKED, "slope": "level"}, acts=states, window="open")


def hold(ends_ns: int | None) -> Hold:
    return Hold(1, is_open=True, ends_ns=ends_ns)


GOING_DOWN = ("line_on", "hooked", "tension_on", "neutral_selected", "neutral_confirmed",
              "path_empty", "pays_out")  # fmt: skip
TURNS = (
    # Paying out is watched as pulling in is
    ("S2", TurnSeen(PLAIN, aboard(*GOING_DOWN), (QUESTION,)), True),
    ("S2", TurnSeen(PLAIN, aboard(*GOING_DOWN, "line_off"), (QUESTION,)), False),
    ("S2", TurnSeen(PLAIN, aboard(*GOING_DOWN, "line_off"),
                  (Asked(acts=("winch_stops",), needs_answer=True),)), True),
    # Who drives off without straps hears it
    ("S8", TurnSeen(aboard(), aboard("departs"), (Asked(priority="note"),)), False),
    ("S8", TurnSeen(aboard(), aboard("departs"), (Asked(priority="stop"),)), True),
    ("S8", TurnSeen(aboard(*STRAPS), aboard(*STRAPS, "departs"), ()), True),
    ("S8", TurnSeen(aboard(*STRAPS, "tension_on"), aboard(*STRAPS, "tension_on", "departs"), ()),
     False),
    ("S1", TurnSeen(PLAIN, PLAIN, heard="smoke"), False),
    ("S1", TurnSeen(PLAIN, World(facts=LOOKED, acts=Acts.initial().after("danger_seen")),
                  heard="smoke"), True),
    ("S2", TurnSeen(pulling(), pulling("line_on"), (QUESTION,)), False),
    ("S2", TurnSeen(pulling(), pulling("line_on"),
                  (Asked(acts=("winch_stops",), needs_answer=True),)), True),
    ("S2", TurnSeen(pulling(), replace(pulling(), window="ended"), (QUESTION,)), False),
    ("S2", TurnSeen(pulling(), pulling(), (QUESTION,)), True),
    ("S9", TurnSeen(PLAIN, PLAIN, overridden_by="driver"), False),
    ("S9", TurnSeen(PLAIN, PLAIN, overridden_by="dispatcher"), False),
    ("S9", TurnSeen(PLAIN, PLAIN, overridden_by="owner"), True),
    ("S10", TurnSeen(PLAIN, PLAIN, hold_before=hold(100), hold_after=hold(101)), False),
    ("S10", TurnSeen(PLAIN, PLAIN, hold_before=hold(100), hold_after=hold(None)), False),
    ("S10", TurnSeen(PLAIN, PLAIN, hold_before=hold(100), hold_after=hold(99)), True),
    ("S11", TurnSeen(PLAIN, PLAIN, skipped=(Skipped(("warned",), ""),)), False),
    ("S11", TurnSeen(PLAIN, PLAIN, skipped=(Skipped(("chocks_in",), "no gear aboard"),)), False),
    ("S11", TurnSeen(PLAIN, PLAIN, skipped=(Skipped(("warned",), "no gear aboard"),)), True),
    ("S12", TurnSeen(rolling(), rolling(), (QUESTION,)), False),
    ("S12", TurnSeen(rolling(), rolling(), (Asked(priority="note"),)), True),
    ("S12", TurnSeen(rolling(), rolling(), (Asked(needs_answer=True, to_driver=False),)), True),
    ("S13", TurnSeen(PLAIN, PLAIN, resumed=True), False),
    ("S13", TurnSeen(PLAIN, PLAIN, resumed=True, said_resume=True), True),
    ("S14", TurnSeen(PLAIN, PLAIN, decided=(("weight", "at once"),)), False),
    ("S14", TurnSeen(PLAIN, PLAIN, decided=(("weight", "read_back"),)), True),
)  # fmt: skip


@pytest.mark.parametrize(("rule", "turn", "holds"), TURNS)
def test_the_rule_judges_the_turn(rule: str, turn: TurnSeen, holds: bool) -> None:  # noqa: FBT001  a table's column
    found = [why for why in broken(turn) if why.startswith(f"{rule}:")]
    assert (found == []) is holds, found


ANY_ACTS = st.lists(st.sampled_from(sorted(ACTS)), max_size=25)
SLOPES = st.sampled_from(["uphill", "level", "downhill", ""])


def after(done: list[str], slope: str) -> World:
    acts = Acts.initial()
    for act in done:
        acts = acts.after(act)
    return World(facts={**LOOKED, **({"slope": slope} if slope else {})}, acts=acts)


@given(ANY_ACTS, SLOPES)
def test_nothing_frees_the_wheels_of_a_vehicle_that_is_not_held(
    done: list[str], slope: str
) -> None:
    """S2 by its own words: chocks, or a tight line not uphill, or all wheels carried."""
    found = after(done, slope)
    acts = found.acts
    tied = all(acts[part] == "on" for part in ("hook", "line", "tension"))
    strapped = all(acts[f"strap.{wheel}"] == "on" for wheel in WHEELS)
    carried = (acts["deck"] == "deck" and strapped) or (
        acts["lifted"] != "none" and acts["dollies"] == "under"
    )
    held = acts["chocks"] == "in" or (tied and slope in {"level", "downhill"}) or carried
    rule = next(rule for rule in RULES if rule.id == "S2")
    if not held:
        assert all(rule.refuses(found, act, None) for act in LETS_ROLL)


@given(st.integers(0, len(FROM_VEHICLE)))
def test_clamps_come_off_in_exact_reverse(connected: int) -> None:
    assert CLAMPS == FROM_VEHICLE
    found = after(list(on(*FROM_VEHICLE[:connected])), "level")
    rule = next(rule for rule in RULES if rule.id == "S5")
    may_come_off = [
        post
        for post in FROM_VEHICLE[:connected]
        if rule.refuses(found, f"clamp_off_{post}", None) is None
    ]
    assert may_come_off == list(FROM_VEHICLE[max(connected - 1, 0) : connected])

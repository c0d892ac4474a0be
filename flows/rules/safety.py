"""The safety rules S1 to S16, as monitors over facts, act states and messages.

They know nothing of items or sections: a new section cannot slip past them. `refusal` judges
one act that a message would ask for; `broken` judges a whole turn. Each rule is here once, in
order of its number, and says in one sentence why it refuses.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from flows.job.acts import (
    ACTS,
    CLAMPS,
    FROM_A_PACK,
    ISOLATIONS,
    NUMBERS,
    POSTS,
    PROTECTIVE,
    UNKNOWN,
    WHEELS,
)
from flows.rules.ear import hears
from flows.rules.securement import left_standing, tied_to_truck, untied
from flows.rules.world import Asked, Hold, Place, TurnSeen, World

IN_DANGER = PROTECTIVE | {"danger_seen", "danger_released", "winch_stops", "handed_off"}
"""What may be asked for while danger stands: people, traffic, help, and how the gate ends."""
GATE_FACTS = frozenset({"danger", "released_by", "handed_to"})
LETS_ROLL = frozenset(
    {"neutral_selected", "wheels_freed", "chocks_out", "skates_under", "off_deck", "set_down",
     "braked_on_dollies"}
)  # fmt: skip
TAKES_HOLD = frozenset({"line_slackened", "unhooked", "line_off", "off_deck", "set_down"})
"""Acts after which line, deck or lift no longer holds it: something else has to."""
WINCHED = frozenset({"winch_moves", "pays_out"})
LIFTS = frozenset({"front_lifted", "rear_lifted"})
ON_THE_LIFT = frozenset({"turned", "taken_out"})
"""Acts that move it while one end hangs on a second truck."""
STRAPS_OFF = frozenset(f"unstrapped_{wheel}" for wheel in WHEELS)
IRREVERSIBLE = frozenset(
    {
        "release_pulled",
        "neutral_selected",
        "winch_moves",
        "pays_out",
        "front_lifted",
        "rear_lifted",
        "departs",
    }
)
ELECTRIC_WORK = frozenset(
    {"woken", "pack_on"}
    | {f"isolation_{did}_{n}" for did in ("closed", "checked", "unpinned") for n in NUMBERS}
    | {f"clamp_on_{post}" for post in (*CLAMPS, *POSTS)}
)


Check = Callable[[World, str, Place | None], str | None]


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule: its number, its title, and why it refuses an act, if it does."""

    id: str
    title: str
    refuses: Check


def _s1(world: World, act: str, _at: Place | None) -> str | None:
    seen = world.acts["danger"] == "seen"
    looked = world.fact("danger") == "none" or world.acts["danger"] == "released"
    if (seen or not looked) and act not in IN_DANGER:
        return "danger was seen, or nobody has looked"
    return None


def _s2(world: World, act: str, _at: Place | None) -> str | None:
    if act == "chocks_out":
        free = _chocks_may_go(world)
        return _unless(free, "the line does not hold it in a confirmed neutral")
    if act in STRAPS_OFF | WINCHED:
        return _unless(world.line_holds, f"no line holds it for {act}")
    if act in TAKES_HOLD:
        return _unless(world.once(act).is_held, "nothing else would hold it")
    if act == "handed_off":
        return _unless(world.is_left_held, "the truck alone holds it")
    return _unless(act not in LETS_ROLL or world.is_held, "it is not held")


def _unless(holds: bool, why: str) -> str | None:  # noqa: FBT001  what the reason depends on
    """Return why an act is refused, None where what it needs holds."""
    return None if holds else why


def _chocks_may_go(world: World) -> bool:
    """Lift and dollies carry every wheel, or a line holds it and it is free to move."""
    is_free = world.slides or world.acts["neutral"] == "confirmed"
    return world.is_carried or (world.line_holds and is_free)


def _s3(world: World, act: str, _at: Place | None) -> str | None:
    if act.startswith("isolation_opened_"):
        return _unless(not world.is_out_of_park, "it is in neutral, or may be")
    return _not_released(world) if act == "release_pulled" else None


def _not_released(world: World) -> str | None:
    """Return why a release is not pulled yet, None where it may be."""
    if world.isolations is None:
        return "the card says nothing of a release"
    if world.acts["charging"] != "ended":
        return "charging is not confirmed ended"
    required = ISOLATIONS[: world.isolations]
    pinned = len(required) == world.isolations and all(
        world.acts[name] == "pinned" for name in required
    )
    return _unless(pinned, "not every isolation is open and pinned")


def _s4(world: World, act: str, _at: Place | None) -> str | None:
    if act.startswith("isolation_closed_") and world.is_damaged:
        return "on a damaged vehicle the disconnect stays open, tagged"
    if _goes_round_ready(world, act) and _may_lack_ready(world):
        return "not ready, and a disconnect was not seen closed since it was opened"
    bars = {"ready_counts": _is_open, "job_closed": _is_left_open}.get(act)
    if bars is not None and any(bars(world, n) for n in NUMBERS):
        return "a disconnect was opened and is not confirmed closed"
    return None


def _goes_round_ready(world: World, act: str) -> bool:
    """Say whether an act goes on as if nothing could make it ready."""
    if act == "skates_under":
        return world.fact("wheels") == "roll"
    if act == "chocks_out":
        return world.slides and not world.is_carried
    return act in {"neutral_cleared", "neutral_selected", "braked_on_dollies"}


def _may_lack_ready(world: World) -> bool:
    """It is not ready, and a disconnect that was opened may be why. Damaged, it stays open."""
    seen = {"as_found", "checked"}
    opened = any(world.acts[f"isolation.{n}"] not in seen for n in NUMBERS)
    return world.fact("ready") == "off" and opened and not world.is_damaged


def _is_open(world: World, n: int) -> bool:
    return world.acts[f"isolation.{n}"] in {"open", "pinned", UNKNOWN}


def _is_left_open(world: World, n: int) -> bool:
    """It is open, without the tag and the words with which a damaged vehicle goes over so."""
    tagged = world.is_damaged and world.acts[f"tag.{n}"] == "tagged"
    return _is_open(world, n) and not (tagged and world.acts["handed_open"] == "told")


def _s5(world: World, act: str, _at: Place | None) -> str | None:
    if act == "pack_on":
        ready = _clamps_are("on", world, FROM_A_PACK) or _clamps_are("on", world, POSTS)
        return None if ready else "the pack goes on after every clamp"
    if not act.startswith("clamp_"):
        return None
    if world.acts["pack_switch"] != "off":
        return "the pack is off while clamping"
    _, way, post = act.split("_", 2)
    chain = POSTS if post in POSTS else CLAMPS
    return _s5_off(world, post, chain) if way == "off" else _s5_on(world, post, chain)


def _clamps_are(state: str, world: World, posts: Iterable[str]) -> bool:
    return all(world.acts[f"clamp.{post}"] == state for post in posts)


def _s5_off(world: World, post: str, chain: tuple[str, ...]) -> str | None:
    later = chain[chain.index(post) + 1 :]
    return None if _clamps_are("off", world, later) else "clamps come off in reverse order"


def _s5_on(world: World, post: str, chain: tuple[str, ...]) -> str | None:
    order = _clamp_order(world, post)
    if post not in order:
        return "a pack has no such clamp"
    if post in CLAMPS and _donor_is_ruled_out(world):
        return "the donor is a combustion vehicle unless the card allows another"
    before = order[: order.index(post)]
    others = (one for one in chain if one not in {*before, post})
    ready = _clamps_are("on", world, before) and _clamps_are("off", world, others)
    return None if ready else "clamps go on in order"


def _clamp_order(world: World, post: str) -> tuple[str, ...]:
    if post in POSTS:
        return POSTS
    return FROM_A_PACK if world.donor == "pack" else CLAMPS


def _donor_is_ruled_out(world: World) -> bool:
    """No pack, and not known to burn fuel, unless the card allows another."""
    known = world.donor in {"pack", "combustion"}
    return not known and not (world.donor == "electric" and world.card_allows_electric_donor)


def _s6(world: World, act: str, _at: Place | None) -> str | None:
    if act in ON_THE_LIFT:
        return _unless(world.is_carried, "it would move on its own wheels")
    if act == "departs":
        return _unless(_may_take_the_road(world), "on the road all its wheels are carried")
    if act == "wheels_freed" or act in WINCHED:
        rolls = world.fact("wheels") == "roll" or world.is_under
        return _unless(rolls, "wheels that do not roll are not dragged")
    return None


def _may_take_the_road(world: World) -> bool:
    """It is on the deck, on a lift and dollies, or lifted by the only axle that is driven."""
    lifted, drive = world.acts["lifted"], world.fact("drive")
    on_dollies = lifted in {"front", "rear"} and world.acts["dollies"] == "under"
    has_one_drive = world.fact("powertrain") == "combustion" and drive in {"front", "rear"}
    return world.acts["deck"] == "deck" or on_dollies or (has_one_drive and lifted == drive)


def _s7(world: World, act: str, at: Place | None) -> str | None:
    if _lifts_by_tyres(act, at) or act not in LIFTS | {"hooked"}:
        return None
    if act == "hooked" and world.keep_off and world.acts["keep_off"] != "told":
        return "the keep-off places were not read out"
    if world.holding_ends is None:
        shown = world.fact("point_shown") == "yes"
        return _unless(shown, "no manual or label shows a point")
    return _end_holds_nothing(world, act) or _bears_nothing(world, at)


def _lifts_by_tyres(act: str, at: Place | None) -> bool:
    return act in LIFTS and at is not None and at.name == BY_TYRES


def _end_holds_nothing(world: World, act: str) -> str | None:
    end = {"front_lifted": "nose", "rear_lifted": "tail"}.get(act, world.fact("facing"))
    return _unless(end in (world.holding_ends or ()), "that end has no holding point")


BY_TYRES = "tyres"


def _bears_nothing(world: World, at: Place | None) -> str | None:
    """Return why a place of a vehicle with a card takes neither hook nor lift, if it does not."""
    if at is None:
        return "nobody says which place"
    if any(_is_the_place(at.name, place) for place in world.keep_off):
        return "that is a keep-off place"
    if world.battery is None:
        return None
    if at.at_in is None or world.battery[0] <= at.at_in <= world.battery[1]:
        return "it may be within the battery's length"
    return None


def _is_the_place(name: str, keep_off: str) -> bool:
    """Say whether one name has every word of the other: the same place, named more closely."""
    named, kept = set(name.lower().split()), set(keep_off.lower().split())
    return named <= kept or kept <= named


def _s8(world: World, act: str, _at: Place | None) -> str | None:
    if act == "job_closed" and world.acts["rolling"] == "stopped":
        return left_standing(world)
    if act == "truck_moves":
        return tied_to_truck(world)
    return untied(world) if act in {"departs", "job_closed"} else None


TAKES_OFF = frozenset({"hooked", "line_on", "tension_on", "neutral_selected", "job_closed"})
"""Acts that take a vehicle off the truck again: no margin bars them at the drop."""
TIES = frozenset(f"strapped_{wheel}" for wheel in WHEELS)
"""No margin bars them once it rode here: untied it is worse on the truck than tied."""
PAST_THE_MARGIN = frozenset(
    {"hooked", "line_on", "tension_on", "neutral_selected", "winch_moves", "departs", "job_closed"}
    | LIFTS
    | TIES
)


def _s9(world: World, act: str, _at: Place | None) -> str | None:
    if act in LIFTS and world.lift not in {"go", "close"}:
        return _figure_bars("lift", world.lift)
    if act in LIFTS and not _is_lifted_end(world, act):
        return "the lift was computed for another end"
    if _needs_the_margin(world, act) and not _margin_allows(world):
        return _figure_bars("margin", world.verdict)
    return None


def _is_lifted_end(world: World, act: str) -> bool:
    """Say whether a lift is at the end its figure is of: the truck's, boxed in the one reached."""
    facing = world.fact("facing")
    end = world.fact("lift_end") if facing == "boxed" else facing
    return act == {"nose": "front_lifted", "tail": "rear_lifted"}.get(end or "")


def _needs_the_margin(world: World, act: str) -> bool:
    at_the_drop = act in TAKES_OFF | TIES and world.acts["rolling"] == "stopped"
    return act in PAST_THE_MARGIN and not at_the_drop


def _margin_allows(world: World) -> bool:
    decided = world.verdict is not None and world.decided_by == "owner"
    return world.verdict == "go" or decided


def _figure_bars(figure: str, result: str | None) -> str:
    return f"no {figure} stands" if result is None else f"the {figure} is {result}"


_ON_NEUTRAL = WINCHED | {"chocks_out"}


def _s10(world: World, act: str, _at: Place | None) -> str | None:
    """In Park on skates, or with all wheels carried, nothing depends on the neutral hold."""
    leans = WINCHED if world.is_carried else _ON_NEUTRAL
    if act not in leans or world.slides:
        return None
    return None if world.window in {"open", "unpromised"} else "no neutral window is open"


def _s11(world: World, act: str, _at: Place | None) -> str | None:
    return "a skipped step is not settled" if act == "job_closed" and world.open_skips else None


def _s15(world: World, act: str, _at: Place | None) -> str | None:
    loads = LIFTS | WINCHED | ON_THE_LIFT | {"tension_on"}
    if act in loads and world.acts["path"] != "empty":
        return "the path is not confirmed empty"
    if world.acts["winch"] != "still" and act not in IN_DANGER | {"arrives"}:
        return "the winch runs, or may"
    return None


def _s16(world: World, act: str, _at: Place | None) -> str | None:
    if act in ELECTRIC_WORK and world.is_damaged:
        return "no waking, boosting or charging on a damaged or flooded vehicle"
    return None


def _never(_world: World, _act: str, _at: Place | None) -> None:
    """Return None: the rule judges turns, not single acts."""


RULES: Sequence[Rule] = (
    Rule("S1", "Danger first, and only a named service releases it", _s1),
    Rule("S2", "Nothing lets wheels turn unless it is held", _s2),
    Rule("S3", "A release is pulled after charging ended and isolations pinned", _s3),
    Rule("S4", "An opened disconnect is closed, or tagged on a damaged vehicle", _s4),
    Rule("S5", "Boost clamps in order, off in reverse", _s5),
    Rule("S6", "No wheel that may be driven rolls fast, none is dragged", _s6),
    Rule("S7", "No hook where nothing holds", _s7),
    Rule("S8", "Nothing rides on the winch line", _s8),
    Rule("S9", "A no-go is not talked into a go", _s9),
    Rule("S10", "A neutral hold is at most", _s10),
    Rule("S11", "A skip has a reason and blocks closing", _s11),
    Rule("S12", "Nothing that needs an answer while rolling", _never),
    Rule("S13", "After an interruption, last and next", _never),
    Rule("S14", "A deciding number is read back", _never),
    Rule("S15", "Nobody in line while a line is loaded", _s15),
    Rule("S16", "No electrical work on a damaged vehicle", _s16),
)


def refusal(world: World, act: str, at: Place | None = None) -> str | None:
    """Return which rule refuses an act and why, None when all allow it.

    Examples
    --------
    >>> refusal(World(facts={"danger": "none"}), "neutral_selected")
    'S2: it is not held'
    """
    for rule in RULES:
        why = rule.refuses(world, act, at)
        if why is not None:
            return f"{rule.id}: {why}"
    return None


NEVER_SKIPPED = frozenset(
    act
    for act in ACTS
    if act in LETS_ROLL | ELECTRIC_WORK
    or act.startswith(("isolation_", "strapped_", "unstrapped_", "clamp_"))
    or act
    in {
        "chocks_in", "keep_off_told", "hooked", "line_on", "tension_on", "neutral_confirmed",
        "charging_ended", "release_pulled", "path_empty", "line_slackened",
        "danger_released", "people_away", "help_called", "winch_stops", "park_set",
        "on_deck", "front_lifted", "rear_lifted", "dollies_under", "skates_out",
        "dollies_out", "lift_strapped", "dollies_strapped", "chains_on", "tow_lights_on",
        "lifter_set", "lift_cleared", "turned", "taken_out", "winch_moves", "pays_out", "departs",
        "arrives", "straps_checked", "load_checked", "unhooked", "line_off", "open_told",
        "stored_apart",
    }
)  # fmt: skip


def broken(turn: TurnSeen) -> list[str]:
    """Return every rule that a turn breaks, each with its reason; empty when all hold.

    Examples
    --------
    >>> from flows.rules.world import Asked, TurnSeen, World
    >>> start = World(facts={"danger": "none"})
    >>> out = Asked(acts=("chocks_out",), needs_answer=True, is_critical=True)
    >>> broken(TurnSeen(start, start, (out,)))
    ['S2: the line does not hold it in a confirmed neutral', 'S10: no neutral window is open']
    """
    found = [why for message in turn.messages for why in _refused(turn.after, message)]
    for rule_id, check in _TURN_CHECKS:
        why = check(turn)
        if why is not None:
            found.append(f"{rule_id}: {why}")
    return found


def _refused(world: World, message: Asked) -> Iterator[str]:
    """Yield why a message may not be sent: its acts are done in their order."""
    for act in message.acts:
        for rule in RULES:
            why = rule.refuses(world, act, message.at)
            if why is not None:
                yield f"{rule.id}: {why}"
        world = world.once(act)


def _put_to_driver(turn: TurnSeen) -> Iterator[Asked]:
    return (one for one in turn.messages if one.needs_answer and one.to_driver)


def _only_the_gate(turn: TurnSeen) -> str | None:
    if turn.after.acts["danger"] != "seen":
        return None
    asked = (one.asks for one in _put_to_driver(turn))
    beside = next((fact for fact in asked if fact and fact not in GATE_FACTS), None)
    return None if beside is None else f"{beside} is asked for while danger stands"


def _cries_understood(turn: TurnSeen) -> str | None:
    """What anybody cries out counts at once: a danger opens the gate, "stop" halts."""
    cry, seen = hears(turn.heard), turn.after.acts["danger"] == "seen"
    if cry and not seen and not (cry == "stop" and turn.halted):
        return f"a cry of {cry} was not understood"
    return None


def _released_by_whom(turn: TurnSeen) -> str | None:
    """A release names who gave it and when, and comes after the danger."""
    one = turn.released
    if one is None:
        return None
    if not one.by.strip() or one.by == "nobody_came":
        return "released, and nobody knows by whom"
    if not one.is_timed:
        return "released, and nobody said when"
    return None if one.is_after else "released at a time before the danger was seen"


def _chocks_of_their_own(turn: TurnSeen) -> str | None:
    """Taking the chocks out is a critical step of its own."""
    for message in turn.messages:
        alone = message.acts == ("chocks_out",) and message.is_critical
        if "chocks_out" in message.acts and not alone:
            return "the chocks come out by the way"
    return None


def _pulls_on(turn: TurnSeen) -> str | None:
    """While the winch moves and a condition for the pull is not met, the turn says to stop it."""
    if turn.after.acts["winch"] == "still" or turn.after.pull_stands:
        return None
    asks = list(_put_to_driver(turn))
    if asks and "winch_stops" not in asks[-1].acts:
        return "the winch moves on without what the pull needs"
    return None


def _window_never_longer(turn: TurnSeen) -> str | None:
    """A hold gets no longer; as long as it counts, neither by a new one in its place."""
    before, after = turn.hold_before, turn.hold_after
    if before is None or after is None or before.boot != after.boot:
        return None
    is_same = before.serial == after.serial or before.is_open
    return "the window got longer" if is_same and _ends_later(after, before) else None


def _ends_later(one: Hold, other: Hold) -> bool:
    if one.ends_ns is None or other.ends_ns is None:
        return other.ends_ns is not None
    return one.ends_ns > other.ends_ns


def _skips_have_reasons(turn: TurnSeen) -> str | None:
    for skip in turn.skipped:
        if not skip.reason.strip():
            return "a critical step was skipped without a reason"
        if NEVER_SKIPPED.intersection(skip.acts):
            return "an act that the safety rules need was skipped"
    return None


def _quiet_while_rolling(turn: TurnSeen) -> str | None:
    if turn.after.acts["rolling"] != "rolling":
        return None
    return "a question was sent while rolling" if any(_put_to_driver(turn)) else None


def _tied_down_or_told(turn: TurnSeen) -> str | None:
    """A driver who leaves with a load that is not tied down is told to stop."""
    started = turn.after.acts["rolling"] == "rolling" != turn.before.acts["rolling"]
    if not started or untied(turn.before) is None:
        return None
    told = any(message.priority == "stop" and message.to_driver for message in turn.messages)
    return None if told else "it drives off, not tied down, and nobody is told"


def _resumes_with_words(turn: TurnSeen) -> str | None:
    if turn.resumed and not turn.said_resume:
        return "it went on after an interruption without saying last and next"
    return None


def _reads_back(turn: TurnSeen) -> str | None:
    for fact, how in turn.decided:
        if how != "read_back":
            return f"{fact} decides and was taken without a read-back"
    return None


def _only_owner(turn: TurnSeen) -> str | None:
    if turn.overridden_by not in {None, "owner"}:
        return f"a {turn.overridden_by} overrode the margin"
    return None


_TURN_CHECKS: tuple[tuple[str, Callable[[TurnSeen], str | None]], ...] = (
    ("S1", _only_the_gate),
    ("S1", _cries_understood),
    ("S1", _released_by_whom),
    ("S2", _chocks_of_their_own),
    ("S2", _pulls_on),
    ("S8", _tied_down_or_told),
    ("S9", _only_owner),
    ("S10", _window_never_longer),
    ("S11", _skips_have_reasons),
    ("S12", _quiet_while_rolling),
    ("S13", _resumes_with_words),
    ("S14", _reads_back),
)

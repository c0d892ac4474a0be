"""The effects of facts and acts on a job: given, done or taken back, and the neutral window."""

from collections.abc import Callable, Mapping

from flows.cards.chosen import chosen_card
from flows.figures.classes import families, sizes
from flows.hearing.answers import ALARMS
from flows.hearing.vins import looks_wrong, plate_of, vin_of
from flows.job import windows
from flows.job.acts import UNKNOWN, WHEELS, WINCH_RUNS, Acts
from flows.job.entries import Private
from flows.job.events import Heard
from flows.job.facts import FACTS, FROM_CARD, LOOKED_AT, REOPENS, UNTOLD, How
from flows.job.intents import When
from flows.job.state import LOOK, Pending
from flows.job.windows import claim, claimed_value
from flows.measures.say import plain_minutes, say_clock
from flows.routine.items import Question, WindowStep
from flows.routine.neutral_ways import way_of
from flows.telling.card_words import ends_neutral
from flows.turn.turning import BOT, Turning

SPELLED: Mapping[str, Callable[[str], str | None]] = {"vin": vin_of, "plate": plate_of}
"""The facts that are letters and digits, kept as they are written on the vehicle."""


def how_said(t: Turning) -> How:
    """Return how the sender gave it: tapped, typed, or by voice."""
    if t.by_voice:
        return "voice"
    return "tapped" if isinstance(t.event, Heard) and t.event.tap is not None else "typed"


def give(t: Turning, name: str, value: object, how: How, item: str = "") -> None:
    """Record a fact and its immediate consequences."""
    if name == "danger" and value == "none" and t.job.acts["danger"] == "seen":
        t.answer_sender("danger_stays")
        return
    spec = FACTS[name]
    value = _as_written(name, value)
    was = t.job.last_truck if name == "truck" else t.job.value(name)
    body = Private(value) if spec.private else value
    extra = {"item": item} if item else {}
    t.note("fact", name=name, value=body, how=how, **extra)
    _follow(t, name, value, was)


def _as_written(name: str, value: object) -> object:
    """Return letters and digits as they stand on the vehicle, anything else as it is."""
    return SPELLED[name](str(value)) or value if name in SPELLED else value


def _follow(t: Turning, name: str, value: object, was: object) -> None:
    clear(t, name, *REOPENS.get((name, value), ()))
    if value != was:
        looked = t.job.done.intersection(LOOKED_AT.get(name, ()))
        told = UNTOLD.get(name, {})
        doubt(t, _changes(t, told), tuple(sorted(looked)))
    match name, value:
        case "danger", "seen":
            do(t, "danger_seen")
        case "truck", _ if was not in {None, value}:
            truck_moved(t)
        case (("second_truck" | "lift_end"), _) if was != value:
            _lifts_otherwise(t, name)
        case "weight_class", str():
            _take_family(t, value)
        case "family", str():
            _drop_class(t, value)
        case ("cord_tried" | "operator_freed", "yes"):
            # It comes out now: taking it out is the driver's own step.
            give(t, "cord", "free", "computed")
        case _:
            _follow_card(t, name, value)
            _follow_waking(t, name, value)


def _changes(t: Turning, states: Mapping[str, str]) -> dict[str, str]:
    """Return those of some act states that are not as they are now."""
    return {name: state for name, state in states.items() if t.job.acts[name] != state}


def _follow_card(t: Turning, name: str, value: object) -> None:
    match name, value:
        case "vin", str() if value != FACTS[name].not_sure:
            t.answer_sender("vin_check" if looks_wrong(value) else "vin_kept")
        case "card", _:
            _take_card(t)
            _tell_variant(t)
        case "variant", "no" if t.job.value("card") in t.job.book.library.vehicles:
            give(t, "card", "none", "computed")
        case _:
            pass


def _follow_waking(t: Turning, name: str, value: object) -> None:
    match name, value:
        case "wakes", "shut":
            # Shut again: the earlier tries have to be made again.
            clear(t, "wakes", "unlocked", "posts_opened")
        case "wakes", "no" if t.job.acts["awake"] != "asleep":
            # Dead again: it has to be woken again.
            doubt(t, {"awake": UNKNOWN, "boost_wait": "none"})
        case ("unlocked" | "posts_opened", "yes") | ("doors", "open"):
            if t.job.value("wakes") == "shut":
                clear(t, name, "wakes")
        case _:
            pass


def clear(t: Turning, why: str, *names: str) -> None:
    """Let facts be asked again, those that are known."""
    for name in names:
        if name in t.job.facts:
            t.note("fact_cleared", BOT, name=name, why=why)


def _take_card(t: Turning) -> None:
    """Let the card give its facts, and take back those an earlier card gave.

    A fact that somebody said stays; an assumption gives way to the card.
    """
    card = chosen_card(t.job)
    for name in FROM_CARD:
        known = t.job.facts.get(name)
        how = None if known is None else known.how
        said = None if card is None else getattr(card, name)
        if said is not None and how in {None, "card", "assumed"}:
            t.note("fact", BOT, name=name, value=said, how="card")
        elif said is None and how == "card":
            t.note("fact_cleared", BOT, name=name, why="card")


def _tell_variant(t: Turning) -> None:
    """Say which variant the card is of; given by somebody else, the driver is asked for it."""
    clear(t, "card", "variant")
    card = chosen_card(t.job)
    if card is not None and card.told_by is not None and t.sender_is_driver():
        t.say("card_variant")
        give(t, "variant", "yes", "computed")


def _take_family(t: Turning, class_id: str) -> None:
    for family in families():
        is_of = class_id in {size.class_id for size in sizes(family.id)}
        if is_of and t.job.value("family") != family.id:
            t.note("fact", BOT, name="family", value=family.id, how="computed")


def _drop_class(t: Turning, family: str) -> None:
    chosen = t.job.facts.get("weight_class")
    if chosen is None or chosen.how == "card":
        return
    if family != "any" and chosen.value not in {size.class_id for size in sizes(family)}:
        t.note("fact_cleared", BOT, name="weight_class", why="family")


def not_sure(t: Turning, item: Question) -> None:
    """Take "not sure": ask to look once where the fact asks for it, else the cautious value."""
    spec = FACTS[item.fact]
    if spec.not_sure is None:
        t.answer_sender("ask_dispatch" if item.fact == "truck" else "unclear_1")
    elif spec.looks_again and not t.job.looked(item.fact):
        t.note("fact", name=item.fact, value=LOOK, how="assumed", item=item.id)
    else:
        give(t, item.fact, spec.not_sure, "assumed", item.id)


def see_danger(t: Turning, sign: str) -> None:
    """Open the danger gate; an exchange in hand is dropped, and dispatch is told."""
    if t.job.acts["danger"] == "seen":
        _see_more(t, sign)
        return
    if t.job.paused is not None:
        t.note("resumed", BOT, why="danger")
    if t.job.pending is not None:
        t.note("unpended", BOT)
    t.note("fact", name="danger", value="seen", how=how_said(t), sign=sign)
    clear(t, "danger", "released_by")
    if t.job.handoff is not None:
        t.note("handoff_dropped", BOT)
    do(t, "danger_seen")
    if t.job.acts["rolling"] == "rolling":
        t.say("danger_rolling")
    t.say("danger_told", "dispatchers")


def _see_more(t: Turning, sign: str) -> None:
    """Take one more sign: people move away again, and no release before it counts."""
    if t.job.pending is not None:
        t.note("unpended", BOT)
    clear(t, "danger", "released_by")
    note_sign(t, sign)
    doubt(t, {"bystanders": UNKNOWN})


def note_sign(t: Turning, sign: str) -> None:
    """Record one more sign that was named while danger is open, and let dispatch hear of it."""
    t.note("fact", name="danger", value="seen", how=how_said(t), sign=sign)
    t.say("danger_more_told", "dispatchers")


def was_mistaken(t: Turning) -> None:
    """Take a danger sign back that whoever saw it has looked at again: there is none.

    What it put in doubt stays in doubt, and the record keeps both.
    """
    t.note("retracted", act="danger_seen")
    give(t, "danger", "none", how_said(t))
    t.say("danger_mistaken_told", "dispatchers")


def do(t: Turning, act: str, item: str = "", when: When | None = None) -> None:
    """Record an act, and open or close the neutral window with it."""
    was_moving = t.job.acts["winch"] in WINCH_RUNS
    extra: dict[str, object] = {"item": item} if item else {}
    if when is not None:
        extra["claimed"] = claim(when)
    t.note("act", act=act, **extra)
    if act == "danger_seen" and was_moving:
        doubt(t, {"winch": UNKNOWN})
    if act == "departs":
        _warn_untied(t)
    _follow_act(t, act, when)


def _follow_act(t: Turning, act: str, when: When | None) -> None:
    match act:
        case "neutral_cleared" if ends_neutral(t.job):
            t.say("neutral_ends")
        case "woken":
            give(t, "wakes", "yes", "computed")
        case "neutral_selected":
            open_window(t, when)
        case "park_set":
            close_window(t, "closed")
        case "danger_released":
            # Whoever takes a plain breakdown may not take this.
            clear(t, "danger", "takes_it")
        case "departs" if t.job.acts["deck"] == "deck":
            clear(t, "road", "stop_at", "temperatures")
        case "arrives":
            _parked(t)
        case _:
            _on_its_wheels(t, act)


def _lifts_otherwise(t: Turning, name: str) -> None:
    """Take that another truck lifts, or at another end: it reaches and is set anew, nothing up."""
    acts = t.job.acts
    if acts["lifted"] != "none" or acts["dollies"] != "none":
        return
    doubt(t, _changes(t, {"lifter": "as_found", "go_lift": "no"}))
    if name == "second_truck":
        clear(t, name, "lift_end")


def _warn_untied(t: Turning) -> None:
    """Tell who drives without it on the deck, a strap at each wheel, no line that pulls."""
    acts = t.job.acts
    strapped = all(acts[f"strap.{wheel}"] == "on" for wheel in WHEELS)
    if acts["deck"] != "deck" or not strapped or acts["tension"] != "off":
        t.say("rolling_untied")


def _parked(t: Turning) -> None:
    """Take that the truck has parked: with a load, where and whether it is safe is asked again.

    A truck that left without its vehicle is at a scene again, unless it had dropped it off.
    """
    if t.job.acts["deck"] == "deck":
        clear(t, "road", "stop_at")
        if t.job.is_damaged and t.job.acts["danger"] != "seen":
            clear(t, "road", "danger")
    elif t.job.value("stop_at") != "drop":
        doubt(t, {"rolling": "parked"})


def _on_its_wheels(t: Turning, act: str) -> None:
    """Take that it is on its wheels again: turned round, its other end is near the truck.

    What is said to be turned with no lift under it stands some other way already.
    """
    acts = t.job.acts
    is_down = acts["lifted"] == acts["dollies"] == "none"
    was_turned = acts["turned"] != "no"
    is_over = act in {"set_down", "dollies_out", "turned", "taken_out"} and is_down
    if not is_over or (acts["lifter"] == "as_found" and not was_turned):
        return
    doubt(t, {"lifter": "as_found", "turned": "no"})
    if was_turned:
        truck_moved(t)


def undo(t: Turning, act: str) -> None:
    """Take an act back: its state is not known from now on, and the worst is assumed."""
    t.note("retracted", act=act)
    if act == "arrives":
        # It rolls on, whatever was taken off since.
        _warn_untied(t)
    window = t.job.window
    if act == "park_set" and window is not None and window.state == "closed":
        # It may never have left neutral: the hold counts on from where it began.
        t.note("window", BOT, event="reopened", stage=window.stage)
        _begin_warnings(t)


def doubt(t: Turning, states: dict[str, str], items: tuple[str, ...] = ()) -> None:
    """Put states in doubt, without a claim that an act was taken back."""
    if states or items:
        t.note("doubted", BOT, states=states, items=list(items))


# In doubt once the truck is replaced or has moved: its own states, and those of its line.
OF_TRUCK = {"truck": "as_found", "path": UNKNOWN, "winch": UNKNOWN, "go_neutral": "no"}
# How it stands to the truck: asked again once that has moved.
OF_PLACE = ("facing", "lift_end", "pull_ft", "block")
ON_LINE = {"line": UNKNOWN, "hook": UNKNOWN, "tension": UNKNOWN}


def truck_moved(t: Turning) -> None:
    """Put in doubt the states that depend on a truck that moved or was replaced.

    A vehicle on the deck goes with the truck: its line and its end at the headboard stay.
    """
    aboard = t.job.acts["deck"] == "deck"
    start = Acts.initial()
    doubted = OF_TRUCK if aboard else OF_TRUCK | ON_LINE
    doubt(t, {name: to for name, to in doubted.items() if t.job.acts[name] != start[name]})
    clear(t, "truck", "slope", *(() if aboard else OF_PLACE))


def open_window(t: Turning, when: When | None) -> None:
    """Open the window at the earliest moment neutral can have been selected."""
    heard = t.event
    if not isinstance(heard, Heard):
        return
    asked = t.before.asked
    item = None if asked is None else t.job.book.routine.items.get(asked.item)
    earliest = windows.earliest_ns(t.before, heard, when, is_answer=isinstance(item, WindowStep))
    earliest = min(earliest, _standing_start(t))
    serial = 1 if t.job.window is None else t.job.window.serial + 1
    t.note(
        "window",
        BOT,
        event="opened",
        serial=serial,
        earliest_ns=str(earliest),
        boot=t.at.boot,
        hold_min=_no_longer(t, hold_min(t)),
    )
    if when is not None and not when.is_least:
        t.note("fact", name="neutral_when", value=claimed_value(when), how=how_said(t))
    _begin_warnings(t)
    # Of one that is over before it was told, the alarm speaks first.
    first, then = (echo_time, _read_back) if _is_open(t) else (_read_back, echo_time)
    first(t, when)
    then(t, when)


def _is_open(t: Turning) -> bool:
    return t.job.window is not None and t.job.window.state == "open"


def _read_back(t: Turning, _when: When | None) -> None:
    read_back_window(t)


def echo_time(t: Turning, when: When | None) -> None:
    """Say the time of neutral as it was taken, if one was told, and how long ago that is."""
    heard = t.event
    if not isinstance(heard, Heard) or when is None or when.is_to_come or when == When(0):
        return
    if when.ago_min is not None:
        key = "neutral_at_least" if when.is_least else "neutral_ago"
        t.answer_sender(key, gone=plain_minutes(when.ago_min), gone_shown=f"{when.ago_min} min")
        return
    clock, wall_ms = windows.claimed_clock(when, heard.at, heard.stamped_ms)
    if clock is not None:
        gone = max(heard.at.wall_ms - wall_ms, 0) // 60_000
        t.answer_sender(
            "neutral_since",
            since=say_clock(clock.hour, clock.minute),
            since_shown=f"{clock.hour:02d}:{clock.minute:02d}",
            gone=plain_minutes(gone),
            gone_shown=f"{gone} min",
        )


def _standing_start(t: Turning) -> int:
    """Return the start of a window that is open already: saying neutral twice gains nothing."""
    window = t.job.window
    if window is None or window.state != "open":
        return t.at.mono_ns
    return window.earliest_ns


def _no_longer(t: Turning, minutes: int | None) -> int | None:
    """Return a hold [minutes] cut to that of a window that is open already, whatever its way."""
    window = t.job.window
    if window is None or window.state != "open" or window.hold_min is None:
        return minutes
    return window.hold_min if minutes is None else min(minutes, window.hold_min)


def hold_min(t: Turning) -> int | None:
    """Return the card's hold [minutes]; None where nothing is promised."""
    way = way_of(t.job)
    return None if way is None else way.hold_min


def earlier_window(t: Turning, when: When) -> None:
    """Let a time said afterwards move the start back, never forward."""
    window, heard = t.job.window, t.event
    if window is None or window.state != "open" or not isinstance(heard, Heard):
        return
    echo_time(t, when)
    earliest = windows.earliest_ns(t.before, heard, when, is_answer=True)
    if earliest < window.earliest_ns:
        t.note("window", BOT, event="earlier", earliest_ns=str(earliest))
        _begin_warnings(t)
        read_back_window(t)


def _begin_warnings(t: Turning) -> None:
    """Pass over the warnings that are past already; a hold that is over ends at once."""
    window = t.job.window
    if window is None or window.hold_min is None or window.state != "open":
        return
    stage = windows.stage_at(window, t.at)
    if stage > windows.END_STAGE:
        end_window(t)
    elif stage != window.stage:
        t.note("window", BOT, event="warned", stage=stage, told=False)


def read_back_window(t: Turning) -> None:
    """Say how much of the window is left, at its start and when its start moves back."""
    window = t.job.window
    if window is None or window.hold_min is None:
        t.say("window_unknown")
    elif window.state == "open":
        t.say("window_open")
    else:
        tell_end(t)


def tell_end(t: Turning) -> None:
    """Say that the hold is over, and the thing to do about it."""
    key = "window_end_held" if t.job.acts["chocks"] == "in" else "window_end_parked"
    t.alarm(key if t.job.acts["winch"] == "still" else "window_end", escalates=True)


def end_window(t: Turning) -> None:
    """End the hold: its gear is not known, and a running winch is in doubt."""
    stage = windows.END_STAGE + 1
    t.note("window", BOT, event="ended", stage=stage)
    states = {"gear": UNKNOWN, "neutral": "unconfirmed", "go_neutral": "no"}
    if t.job.acts["winch"] in WINCH_RUNS:
        states["winch"] = UNKNOWN
    doubt(t, states)


def close_window(t: Turning, state: str) -> None:
    """Close an open window with its time."""
    if t.job.window is not None and t.job.window.state == "open":
        t.note("window", BOT, event=state, stage=t.job.window.stage)


def hold(t: Turning, why: str) -> None:
    """Ask nothing for now; a question whether there is an emergency waits for the end of it."""
    pending = t.job.pending
    t.note("held", why=why)
    if pending is not None and pending.kind in ALARMS:
        pend(t, pending)


def pend(t: Turning, pending: Pending) -> None:
    """Put an exchange before the next item; whether there is an emergency is settled first.

    The winch stops for it, unless it only asks whether the words about the pull were heard.
    """
    if t.job.pending is not None and t.job.pending.kind in ALARMS:
        return
    if pending.kind != "heard" and t.job.acts["winch"] in WINCH_RUNS:
        doubt(t, {"winch": UNKNOWN})
    said = {"said": pending.said} if pending.said else {}
    t.note(
        "pending",
        BOT,
        kind=pending.kind,
        fact=pending.fact,
        value=_kept(pending),
        item=pending.item,
        misses=pending.misses,
        **said,
    )


def _kept(pending: Pending) -> object:
    """Return a value as the record keeps it: names and words only as a commitment."""
    has_words = pending.kind == "heard" or (pending.kind in ALARMS and pending.value is not None)
    is_private = has_words or (pending.fact in FACTS and FACTS[pending.fact].private)
    return Private(pending.value) if is_private else pending.value

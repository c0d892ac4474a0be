"""What the written routine asks of the order of things, beside the rules: judged in any state.

Each line is one sentence of the routine's own description, as a test on the state in which an
act is asked for. The rules say what may never be; this says what has to come before what.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from flows import predicates as p
from flows import underway as u
from flows.acts import WHEELS
from flows.conditions import Condition
from flows.items import Gate, HandOff, Item, Photo, Question, Step
from flows.job import Job
from flows.prompts import prompt_for
from flows.routine import Routine
from flows.rules import NEVER_SKIPPED


@dataclass(frozen=True, slots=True)
class Need:
    """Something that has to be so before an act is asked for, in words and as a test."""

    words: str
    met: Callable[[Job], bool]


def _known(*facts: str) -> Need:
    return Need(
        f"{', '.join(facts)} known", lambda job: all(job.value(f) is not None for f in facts)
    )


def _stands(act: str) -> Need:
    return Need(act, lambda job: job.acts.holds(act))


def _holds(condition: Condition, words: str) -> Need:
    return Need(words, condition.holds)


def _warned_or_left_out(job: Job) -> bool:
    return job.acts.holds("warned") or any(skip.item == "scene.warn" for skip in job.skips)


def _size_known(job: Job) -> bool:
    sized = job.value("weight") is not None or job.value("weight_class") is not None
    return sized or not p.class_is_open.holds(job)


def _keep_off_read(job: Job) -> bool:
    return not p.card_has_keep_off.holds(job) or "attach.keep_off" in job.done


def _ready_on(job: Job) -> bool:
    return not p.neutral_needs_ready.holds(job) or job.value("ready") == "on"


def _ordinary_ways(job: Job) -> bool:
    return "cord.unlock" in job.done and job.value("cord_tried") == "no"


def _isolated(job: Job) -> bool:
    return not p.release_needs_isolation.holds(job) or p.isolation_is_pinned.holds(job)


def _taken_out_or_free(job: Job) -> bool:
    return job.value("cord") == "free" or job.acts.holds("release_pulled")


def _held_for_hand_off(job: Job) -> bool:
    return job.acts["chocks"] == "in" or job.acts["deck"] == "deck"


def _settled_in(job: Job) -> bool:
    warm = not u.damaged_electric.holds(job) or job.value("temperatures") is not None
    return "secure.settle" in job.done and warm


def _may_move(job: Job) -> bool:
    aboard = p.parked_on_deck.holds(job) and p.all_strapped.holds(job)
    return aboard or not p.line_is_on.holds(job)


_GATE_OVER = (_stands("people_away"), _stands("help_called"))
_SCENE = (
    _known("history", "place", "danger", "slope", "facing"),
    _stands("people_back"),
    _stands("truck_set"),
    Need("warning devices out, or left out with a reason", _warned_or_left_out),
)
_MARGIN = (
    _known("card", "powertrain", "drive", "truck"),
    Need("weight or class, unless the card gives it", _size_known),
    _holds(p.margin_allows, "a margin that allows it"),
)
_GOES = (
    _known("destination", "takes_it", "asked_by", "emergency", "owner_contact"),
    _holds(~u.is_not_taken, "a place that takes it"),
)
_UNPLUGGED = _holds(~p.plug_is_in, "the plug out, if it was in")
_READY = Need("the ready indication on, where the way needs it", _ready_on)
_TRIED = Need("the ordinary ways tried", _ordinary_ways)
_TIED = (_stands("hooked"), _stands("line_on"), _stands("tension_on"))


def _may_slacken(job: Job) -> bool:
    aboard = p.parked_on_deck.holds(job) and p.all_strapped.holds(job)
    down = u.at_the_drop.holds(job) and job.acts["gear"] == "park" and job.acts["chocks"] == "in"
    return aboard or down or (p.uphill_of_truck.holds(job) and p.held.holds(job))


def _may_unhook(job: Job) -> bool:
    return p.held.holds(job) and p.line_is_slack.holds(job)


def _stands_still(job: Job) -> bool:
    aboard = job.acts["deck"] == "deck" and not u.at_the_drop.holds(job)
    off = job.acts["deck"] == "ground" and u.at_the_drop.holds(job)
    return job.acts["winch"] == "still" and (aboard or off)


_DROPPED = (
    _holds(u.at_the_drop, "the drop"),
    _stands("truck_set"),
    _known("slope", "wheels"),
)
_ABOARD = _holds(p.parked_on_deck, "it on the deck, in Park")

# Act asked for, and what the routine's sections put before it.
NEEDS: Mapping[str, tuple[Need, ...]] = {
    # Section 2: "People away and upwind, call the fire service"; "released-by-whom, at-what-time"
    "help_called": (_stands("people_away"),),
    "danger_released": (*_GATE_OVER, _known("released_by")),
    # Sections 1 and 2 come before 3, 4 and 8; section 4 before 8
    "hooked": (
        *_SCENE,
        *_MARGIN,
        *_GOES,
        _UNPLUGGED,
        _known("wheels"),
        Need("the keep-off places read", _keep_off_read),
        _holds(~p.wheels_do_not_roll, "wheels that roll"),
        _holds(~p.facing_end_does_not_hold, "an end that holds"),
    ),
    "tension_on": (_stands("hooked"), _stands("line_on"), _stands("path_empty")),
    # Section 7: "Ordinary ways first"; "every isolation it requires opened and pinned"
    "isolation_opened": (_stands("charging_ended"), _TRIED),
    "isolation_pinned": (_stands("isolation_opened"),),
    "release_cleared": (
        _stands("charging_ended"),
        _TRIED,
        Need("the isolation pinned, where one is required", _isolated),
    ),
    "release_pulled": (_stands("release_cleared"), _TRIED),
    "plug_out": (_stands("charging_ended"), Need("it free, or released", _taken_out_or_free)),
    "isolation_unpinned": (_UNPLUGGED,),
    "isolation_closed": (_UNPLUGGED, _holds(~p.isolation_is_pinned, "the pin out")),
    "isolation_tagged": (_UNPLUGGED,),
    # Section 9: the pause before what cannot be taken back; "counted from the earliest moment"
    "neutral_cleared": (*_TIED, _UNPLUGGED, _READY),
    "neutral_selected": (*_TIED, _stands("neutral_cleared"), _READY),
    "neutral_confirmed": (_stands("neutral_selected"), _known("neutral_when")),
    "chocks_out": (*_TIED, _stands("neutral_confirmed")),
    "winch_moves": (
        *_TIED,
        _stands("neutral_confirmed"),
        _stands("chocks_out"),
        _stands("path_empty"),
    ),
    "park_set": (Need("it on the deck, or off it at the drop, the winch still", _stands_still),),
    # Section 11: straps at all four wheels, "then the line is slackened"
    **{f"strapped_{wheel}": (_ABOARD,) for wheel in WHEELS},
    # Section 2 and S2: uphill of the truck the line comes off a chocked vehicle first
    "line_slackened": (Need("straps on the deck, or chocks and uphill", _may_slacken),),
    # Sections 11 and 12: eight points, the line slack, before the road
    "departs": (
        *_MARGIN,
        *_GOES,
        _ABOARD,
        _holds(p.all_strapped, "all four wheels strapped"),
        _holds(p.line_is_slack, "the line slack"),
        Need("straps taken up once more, temperatures where they count", _settled_in),
    ),
    "load_checked": (_stands("straps_checked"),),
    # Section 13: "Line on before neutral", and before a strap comes off
    **{f"unstrapped_{wheel}": (*_TIED, *_DROPPED, _READY) for wheel in WHEELS},
    "pays_out": (
        *_TIED,
        *_DROPPED,
        _stands("neutral_confirmed"),
        _stands("chocks_out"),
        _stands("path_empty"),
    ),
    "stored_apart": (_holds(u.delivered, "it off the truck"),),
    "unhooked": (Need("chocks in, the line slack", _may_unhook),),
}

OPENING = frozenset({"history", "place"})
"""What section 1 asks, usually answered by the dispatcher before the driver is there."""
DANGER_FACTS = frozenset({"danger", "released_by"})

CLOSING = (
    *_SCENE, *_MARGIN, *_GOES, _UNPLUGGED,
    _holds(u.delivered, "it off the truck, in Park, chocked, the line off"),
    _known("received_by", "condition", "key_left"),
    _holds(p.disconnect_settled, "no disconnect open and untagged"),
    _holds(~p.skips_are_open, "no open skip"),
)  # fmt: skip


def unmet(job: Job) -> Iterator[str]:
    """Yield what the routine wants before the thing that is open now, and that is not so."""
    item = prompt_for(job).item
    if item is None or job.pending is not None:
        return
    yield from _danger_first(job, item)
    for act, needs in _asked(job, item):
        for need in needs:
            if not need.met(job):
                yield f"{item.id} asks for {act} without {need.words}"


def _danger_first(job: Job, item: Item) -> Iterator[str]:
    """Section 2: danger signs first; and "if nobody attends, the job stands down"."""
    looks = isinstance(item, Question) and item.fact == "danger"
    early = isinstance(item, Question) and item.fact in OPENING
    urgent = p.loose.holds(job) or p.winch_must_stop.holds(job) or job.handoff is not None
    if job.value("danger") is None and not looks and (urgent or not early):
        yield f"{item.id} comes before anybody looked for danger"
    if job.acts["danger"] == "seen" and job.handoff is not None and isinstance(item, Question):
        yield f"{item.id} asks on when nobody came"


def _asked(job: Job, item: Item) -> Iterator[tuple[str, tuple[Need, ...]]]:
    for act in item.acts:
        if not job.acts.holds(act):
            yield act, NEEDS.get(act, ())
    if isinstance(item, Gate) and any(option.closes for option in item.options):
        yield "the end", CLOSING
    if isinstance(item, Gate) and any(option.moves_truck for option in item.options):
        yield "the truck to move", (Need("the line off, or it strapped on the deck", _may_move),)
    if isinstance(item, HandOff):
        seen = job.acts["danger"] == "seen"
        held = (Need("it held", _held_for_hand_off),)
        yield "a hand-off", _GATE_OVER if seen else held


def misbuilt(routine: Routine) -> Iterator[str]:
    """Yield what is wrong with the items themselves: what is critical, what may be skipped.

    Every act that S1 to S8, S15 and S16 rest on is critical and has no skip; so is every pause
    and every decision. Devices on the road and photos are what may be
    left out for a reason.
    """
    for item in routine.items.values():
        decides = isinstance(item, Gate) or bool(NEVER_SKIPPED.intersection(item.acts))
        decides = decides or (isinstance(item, Question) and item.fact in DANGER_FACTS)
        if (decides or (isinstance(item, Step) and item.acts)) and not item.critical:
            yield f"{item.id} is not critical"
        if item.skippable and item.acts != ("warned",) and not isinstance(item, Photo):
            yield f"{item.id} may be skipped"


__all__ = ["CLOSING", "NEEDS", "Need", "misbuilt", "unmet"]

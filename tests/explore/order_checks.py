"""What the written routine asks of the order of things, beside the rules: judged in any state.

Each line is one sentence of the routine's own description, as a test on the state in which an
act is asked for. The rules say what may never be; this says what has to come before what.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from flows.hearing.prompts import prompt_for
from flows.job.acts import CLAMPS, NUMBERS, POSTS, WHEELS
from flows.job.state import Job
from flows.routine.condition import Condition
from flows.routine.conditions import (
    electrics as e,
    general as g,
    holding as h,
    road as r,
    under as u,
    waking as w,
)
from flows.routine.items import Gate, HandOff, Item, Question, Wait
from flows.rules.safety import LIFTS, ON_THE_LIFT
from tests.explore import state_checks as nd


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
    """Section 2: at the scene; once it left, what stood there says nothing of the drop."""
    out = job.acts.holds("warned") or any(skip.item == "scene.warn" for skip in job.skips)
    return out or r.has_left.holds(job)


def _size_known(job: Job) -> bool:
    sized = job.value("weight") is not None or job.value("weight_class") is not None
    return sized or not g.class_is_open.holds(job)


def _ordinary_ways(job: Job) -> bool:
    return "cord.unlock" in job.done and job.value("cord_tried") == "no"


def _isolated(job: Job) -> bool:
    return all(
        e.isolation_is_pinned[n].holds(job) for n in NUMBERS if e.release_requires[n].holds(job)
    )


def _waited(job: Job) -> bool:
    return not e.isolations_need_waiting.holds(job) or job.acts.holds("isolations_waited")


def _uncovered(job: Job) -> bool:
    return not e.isolations_are_covered.holds(job) or job.acts.holds("covers_off")


def _boost_waited(job: Job) -> bool:
    return job.acts.holds("boost_waited") or w.clamps_are_off.holds(job)


def _taken_out_or_free(job: Job) -> bool:
    return job.value("cord") == "free" or job.acts.holds("release_pulled")


def _held_for_hand_off(job: Job) -> bool:
    return job.acts["chocks"] == "in" or job.acts["deck"] == "deck"


def _slope_known(job: Job) -> bool:
    return job.value("slope") is not None or job.acts["deck"] == "deck"


def _no_line_astray(job: Job) -> bool:
    return job.acts["deck"] == "deck" or not h.line_is_in_doubt.holds(job)


def _pictured(photos: str) -> Need:
    """Sections 11 and 13: a set of photos, or why there is none."""
    return Need(photos, lambda job: photos in {*job.done, *(skip.item for skip in job.skips)})


def _settled_in(job: Job) -> bool:
    warm = not r.damaged_electric.holds(job) or job.value("temperatures") is not None
    return "secure.settle" in job.done and warm


def _may_move(job: Job) -> bool:
    aboard = h.parked_on_deck.holds(job) and h.all_strapped.holds(job)
    return aboard or not h.line_is_on.holds(job)


_GATE_OVER = (_stands("people_away"), _stands("help_called"))
_LOOKED_AT = (
    _known("history", "place", "danger"),
    _stands("people_back"),
    _stands("truck_set"),
)
# Traffic, and how it stands to the truck: no more of any use once it was set down for good.
_SCENE = (
    *_LOOKED_AT,
    Need("warning devices out, or left out with a reason", _warned_or_left_out),
    _known("facing"),
    Need("the slope known, on the ground", _slope_known),
)
_MARGIN = (
    _known("card", "powertrain", "drive", "truck"),
    Need("weight or class, unless the card gives it", _size_known),
    Need("a margin that allows it", nd.margin_allows),
)
_PLANNED = (
    Need("the load asked about where it may change the word", nd.load_asked),
    Need("a pull that fits winch and hold", nd.pull_planned),
    Need("the number asked for where no card or no plate tells the vehicle", nd.number_asked),
)
_GOES = (
    _known("destination", "takes_it", "asked_by", "emergency", "owner_contact", "plate"),
    _holds(~r.is_not_taken, "a place that takes it"),
)
_UNPLUGGED = _holds(~e.plug_is_in, "the plug out, if it was in")
_READY = Need("the ready indication on, where the way needs it", nd.ready_on)
_CLOSED = Need("the disconnects seen closed, where it is not ready", nd.disconnects_seen)
_TRIED = Need("the ordinary ways tried", _ordinary_ways)
_UNDAMAGED = _holds(~g.is_damaged, "it undamaged and dry")
_NO_CLAMPS = _holds(w.clamps_are_off & w.posts_are_bare, "every clamp off")
_PLAIN_WAYS = _holds(w.unlocking_failed, "key and owner tried")
_UNDER = Need("skates or dollies under wheels that do not roll", nd.under)
_LETS_GO = Need("neutral confirmed, or no way into it and skates under", nd.lets_go)
_TIED = (_stands("hooked"), _stands("line_on"), _stands("tension_on"))


def _may_slacken(job: Job) -> bool:
    aboard = h.parked_on_deck.holds(job) and h.all_strapped.holds(job)
    apart = h.uphill_of_truck.holds(job) or not h.truck_is_set.holds(job)
    down = r.at_the_drop.holds(job) and job.acts["gear"] == "park"
    turns = g.facing_end_does_not_hold.holds(job)
    return aboard or ((apart or down or turns) and job.acts["chocks"] == "in")


def _may_park(job: Job) -> bool:
    if job.acts["winch"] != "still":
        return False
    if r.at_the_drop.holds(job):
        # Off the deck; or still on it and the truck turns first, or its plug is found in.
        again = h.uphill_of_truck.holds(job) or e.plug_is_in.holds(job)
        return job.acts["deck"] == "ground" or again
    turns = g.facing_end_does_not_hold.holds(job) and h.chocks_are_in.holds(job)
    return job.acts.holds("on_deck") or e.plug_is_in.holds(job) or turns


def _looked_at_again(job: Job) -> bool:
    return not r.stopped_on_the_way.holds(job) or job.acts.holds("load_checked")


def _may_unhook(job: Job) -> bool:
    return h.held.holds(job) and h.line_is_slack.holds(job)


_DROPPED = (
    _holds(r.at_the_drop, "the drop"),
    _stands("truck_set"),
    _known("slope", "wheels"),
)
_ABOARD = _holds(h.parked_on_deck, "it on the deck, in Park")

# Act asked for, and what the routine's sections put before it.
NEEDS: Mapping[str, tuple[Need, ...]] = {
    # Section 2: "People away and upwind, call the fire service"; "released-by-whom, at-what-time"
    "help_called": (_stands("people_away"),),
    "danger_released": (*_GATE_OVER, _known("released_by")),
    # A truck that moved, or is another one, is secured once no line is left between them
    "truck_set": (Need("no line in doubt on the vehicle", _no_line_astray),),
    # Sections 1 and 2 come before 3, 4 and 8; section 4 before 8
    "hooked": (
        *_SCENE,
        *_MARGIN,
        *_PLANNED,
        *_GOES,
        _UNPLUGGED,
        _NO_CLAMPS,
        _known("wheels"),
        Need("the keep-off places read", nd.keep_off_read),
        Need("the holding point seen sound, damaged or flooded", nd.point_seen),
        Need("a point shown where no card gives one", nd.point_shown),
        Need("wheels that roll, or what goes under them", nd.carried_on),
        _holds(~g.facing_end_does_not_hold, "an end that holds"),
    ),
    "path_empty": (Need("the truck that lifts in its place", nd.lifter_stands),),
    "tension_on": (_stands("hooked"), _stands("line_on"), _stands("path_empty")),
    # Section 5: "a door or window left ajar" before the pack goes off; section 6: "connect in
    # order, wait, wake it with the key present", "as the card allows", only undamaged and dry
    **{
        f"clamp_on_{post}": (_UNDAMAGED, _holds(w.donor_is_allowed, "a donor that may boost it"))
        for post in CLAMPS
    },
    **{f"clamp_on_{post}": (_UNDAMAGED, _PLAIN_WAYS) for post in POSTS},
    "pack_on": (_UNDAMAGED,),
    "woken": (_UNDAMAGED, _known("key"), Need("the wait over, if boosted", _boost_waited)),
    # Section 7: "Ordinary ways first"; "every isolation it requires opened and pinned ... never
    # inside an open neutral window"; section 5: "left ajar ... before any 12-volt supply is cut"
    **{
        f"isolation_opened_{n}": (
            _stands("charging_ended"),
            _TRIED,
            _stands("left_ajar"),
            Need("the covers off", _uncovered),
            _NO_CLAMPS,
            _holds(~g.in_neutral, "no open neutral window"),
            *(_stands(f"isolation_pinned_{before}") for before in NUMBERS if before < n),
        )
        for n in NUMBERS
    },
    **{f"isolation_pinned_{n}": (_stands(f"isolation_opened_{n}"),) for n in NUMBERS},
    "release_cleared": (
        _stands("charging_ended"),
        _TRIED,
        Need("every isolation pinned that is required", _isolated),
        Need("the card's wait over", _waited),
    ),
    "release_pulled": (_stands("release_cleared"), _TRIED),
    "plug_out": (_stands("charging_ended"), Need("it free, or released", _taken_out_or_free)),
    # Section 7: "pin out, closed again" in reverse; covers last
    **{
        f"isolation_{done}_{n}": (
            _UNPLUGGED,
            *needs,
            *(
                _holds(~e.isolation_not_closed[after], "what was opened later closed")
                for after in NUMBERS
                if after > n
            ),
        )
        for n in NUMBERS
        for done, needs in (
            ("unpinned", ()),
            ("closed", (_holds(~e.isolation_is_pinned[n], "the pin out"),)),
        )
    },
    **{f"isolation_tagged_{n}": (_UNPLUGGED,) for n in NUMBERS},
    "covers_on": (_UNPLUGGED, _holds(e.disconnect_settled, "every disconnect closed or tagged")),
    # Section 9: the pause before what cannot be taken back; "counted from the earliest moment"
    "neutral_cleared": (*_TIED, _stands("chocks_in"), _UNPLUGGED, _CLOSED, _READY, _UNDER),
    # Section 10: skates and dollies "while held", the line on first; off the deck they come out
    "skates_under": (Need("the line tight, on the ground", nd.tied_down),),
    "dollies_under": (Need("the line tight, or an end lifted, strapped", nd.goes_under),),
    "braked_on_dollies": (Need("the line tight, one braked axle", nd.braked_carried),),
    "dollies_strapped": (Need("dollies under it", nd.on_dollies),),
    "skates_out": (_holds(r.delivered, "it off the truck"),),
    "dollies_out": (Need("it off the truck, or on the lift", nd.comes_out),),
    # Section 10: the end at the truck does not hold; by the tyres, with every wheel carried
    "lift_cleared": (
        *_SCENE,
        *_MARGIN,
        *_GOES,
        _UNPLUGGED,
        _NO_CLAMPS,
        _known("second_truck"),
        _holds(~h.line_is_on, "the line off"),
        *(_stands(act) for act in ("chocks_in", "lifter_set", "path_empty")),
        Need("a lift that may be", nd.may_lift),
        Need("the end that is lifted known", nd.end_is_known),
        _holds(~u.is_out_of_park, "it in Park, as far as it was out of it"),
    ),
    **{act: (_stands("lift_cleared"), _stands("chocks_in")) for act in sorted(LIFTS)},
    "lift_strapped": (Need("an end lifted", nd.is_lifted),),
    **{
        act: (
            Need("all wheels carried", nd.carried),
            _stands("chocks_out"),
            _stands("path_empty"),
            Need("the end that was meant lifted", nd.right_end_is_up),
        )
        for act in sorted(ON_THE_LIFT)
    },
    "set_down": (_stands("chocks_in"), _stands("dollies_out")),
    "neutral_selected": (*_TIED, _stands("neutral_cleared"), _READY),
    "neutral_confirmed": (_stands("neutral_selected"), _known("neutral_when")),
    "chocks_out": (Need("a line that holds it, or all wheels carried", nd.chocks_may_go),),
    "winch_moves": (
        *_TIED,
        _LETS_GO,
        _UNDER,
        _stands("chocks_out"),
        _stands("path_empty"),
    ),
    "park_set": (Need("it on the deck, plugged in, or off at the drop; winch still", _may_park),),
    # Section 11: straps at all four wheels, "then the line is slackened"
    **{f"strapped_{wheel}": (_ABOARD,) for wheel in WHEELS},
    # Section 2 and S2: the line comes off a chocked vehicle before the truck moves, or once it has
    "line_slackened": (Need("straps on the deck, or chocks and a line to go", _may_slacken),),
    # Sections 11 and 12: eight points, the line slack, before the road
    "departs": (
        *_MARGIN,
        *_GOES,
        _ABOARD,
        _holds(h.all_strapped, "all four wheels strapped"),
        _holds(h.line_is_slack, "the line slack"),
        Need("straps taken up once more, temperatures where they count", _settled_in),
        Need("the load looked at again at a stop", _looked_at_again),
        Need("skates and dollies that ride along tied down", nd.stowed),
        _pictured("secure.photos"),
    ),
    "load_checked": (_stands("straps_checked"),),
    # Section 13: "Line on before neutral", and before a strap comes off
    **{f"unstrapped_{wheel}": (*_TIED, *_DROPPED, _READY) for wheel in WHEELS},
    "pays_out": (
        *_TIED,
        *_DROPPED,
        _LETS_GO,
        _UNDER,
        _stands("chocks_out"),
        _stands("path_empty"),
        _holds(r.straps_are_off, "every strap off"),
    ),
    "stored_apart": (_holds(r.delivered, "it off the truck"),),
    "unhooked": (Need("chocks in, the line slack", _may_unhook),),
}

OPENING = frozenset({"history", "place"})
"""What section 1 asks, usually answered by the dispatcher before the driver is there."""

CLOSING = (
    *_LOOKED_AT, *_MARGIN, *_GOES, _UNPLUGGED,
    _holds(r.delivered, "it off the truck, in Park, chocked, the line off"),
    _known("received_by", "condition", "key_left", "vin"),
    Need("what changed, where its condition did", nd.change_told),
    _holds(e.disconnect_settled, "no disconnect open and untagged"),
    _holds(e.covers_are_on, "the covers refitted"),
    _holds(~g.skips_are_open, "no open skip"), _pictured("drop.photos"),
    Need("whoever takes it told what stays open", nd.told_of_open),
    Need("a damaged electric vehicle apart from others", nd.stored_apart),
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
    """Section 2: danger signs first, but a winch that runs stops before anybody looks.

    While the truck rolls nobody is asked anything.

    And "if nobody attends, the job stands down".
    """
    looks = (isinstance(item, Question) and item.fact == "danger") or item.acts == ("winch_stops",)
    looks = looks or isinstance(item, Wait)
    early = isinstance(item, Question) and item.fact in OPENING
    urgent = h.loose.holds(job) or h.winch_must_stop.holds(job) or job.handoff is not None
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
    if isinstance(item, Gate) and g.pull_is_weak.holds(job):
        yield "another way for a pull that is too weak", (_known("block"),)
    if isinstance(item, HandOff):
        seen = job.acts["danger"] == "seen"
        yield "a hand-off", _GATE_OVER if seen else _HANDED_OFF


_HANDED_OFF = (
    Need("it held", _held_for_hand_off),
    Need("a reason, or somebody's word", nd.cannot_go_on),
    _CLOSED,
    Need("asked what goes under, where no way into neutral is left", nd.under_asked),
)


__all__ = ["CLOSING", "NEEDS", "Need", "unmet"]

"""What the written routine asks, as tests on a state, of what does not simply roll.

And of what stays open, or stands apart, once it is handed over.
"""

from flows.cards.chosen import chosen_card
from flows.job.acts import NUMBERS
from flows.job.state import Job
from flows.routine.conditions import (
    electrics as e,
    general as g,
    holding as h,
    lifting as li,
    road as r,
    under as u,
    waking as w,
)
from flows.routine.neutral_ways import way_of


def tied(job: Job) -> bool:
    """Say whether line, hook and tension stand."""
    return all(job.acts.holds(act) for act in ("hooked", "line_on", "tension_on"))


def carried(job: Job) -> bool:
    """Say whether lift and dollies carry every wheel, strapped."""
    return li.all_wheels_are_carried.holds(job)


def chocks_may_go(job: Job) -> bool:
    """Say whether the line holds it, free to go or on skates, or lift and dollies carry it."""
    return (tied(job) and lets_go(job) and under(job)) or carried(job)


def goes_under(job: Job) -> bool:
    """Say whether it is held for that: by the line, or strapped on a lift and chocked."""
    lifted = job.acts["lifted"] != "none" and job.acts.holds("lift_strapped")
    return tied_down(job) or (lifted and job.acts["chocks"] == "in")


def lifter_stands(job: Job) -> bool:
    """Section 10: who is in the path is looked at once the second truck stands, not before."""
    lifts = g.facing_end_does_not_hold.holds(job) and job.lift_by("second_truck") is not None
    up = job.acts["lifted"] != "none" or h.line_is_on.holds(job)
    return not lifts or up or job.acts.holds("lifter_set")


def comes_out(job: Job) -> bool:
    """Say whether it is delivered, or stands on the lift."""
    return r.delivered.holds(job) or li.is_up.holds(job)


def margin_allows(job: Job) -> bool:
    """Section 4: the margin allows it; what has arrived comes off the truck whatever it weighs."""
    return g.margin_allows.holds(job) or r.at_the_drop.holds(job)


def carried_on(job: Job) -> bool:
    """Say whether every wheel rolls, or skates or dollies are here, or under those that do not."""
    if under(job):
        return True
    carry = job.lift_by("dollies") in {"go", "close"}
    return job.value("goes_under") == "skates" or (job.value("goes_under") == "dollies" and carry)


def braked_carried(job: Job) -> bool:
    """Say whether it hangs on the line and dollies may carry the one axle that Park holds."""
    carry = job.lift_by("dollies") in {"go", "close"}
    return tied_down(job) and u.dollies_free_it.holds(job) and carry


def on_dollies(job: Job) -> bool:
    """Say whether dollies are surely under an axle."""
    return job.acts["dollies"] in {"under", "braked"}


def under(job: Job) -> bool:
    """Say whether nothing is dragged: all wheels roll, or something is under those that do not."""
    return not g.wheels_do_not_roll.holds(job) or u.something_is_under.holds(job)


def lets_go(job: Job) -> bool:
    """Say whether neutral is confirmed, or it slides in Park since no way out of it works."""
    slides = u.slides.holds(job) and (w.no_way_is_left.holds(job) or not still(job))
    slides = slides and all_are_under(job)
    return job.acts.holds("neutral_confirmed") or slides


def all_are_under(job: Job) -> bool:
    """Say whether Park drags no wheel beside those that stopped by themselves."""
    first = g.wheels_do_not_roll.holds(job) and u.skates_go_under.holds(job)
    return not first or u.all_on_skates.holds(job)


def still(job: Job) -> bool:
    """Say whether the winch stands still."""
    return job.acts["winch"] == "still"


def tied_down(job: Job) -> bool:
    """Say whether it hangs on a line that stands still, not on the deck."""
    return job.acts["deck"] != "deck" and tied(job) and still(job)


def may_lift(job: Job) -> bool:
    """Say whether the lift that was reckoned may be."""
    return job.lift_by("second_truck") in {"go", "close"}


def end_is_known(job: Job) -> bool:
    """Say whether the end that is lifted is known: at the truck, or boxed in as it is reached."""
    is_boxed = job.value("facing") == "boxed"
    return job.value("lift_end" if is_boxed else "facing") in {"nose", "tail"}


def right_end_is_up(job: Job) -> bool:
    """Say whether the end that hangs is the one that was to be lifted."""
    end = job.value("lift_end" if job.value("facing") == "boxed" else "facing")
    return job.acts["lifted"] == {"nose": "front", "tail": "rear"}.get(str(end))


def is_lifted(job: Job) -> bool:
    """Say whether an end is surely up."""
    return job.acts["lifted"] in {"front", "rear"}


def ready_on(job: Job) -> bool:
    """Say whether it is ready, its way needs no ready indication, or it rides in Park."""
    way = way_of(job)
    has_one = job.value("card") not in {None, "none"} or job.value("powertrain") != "combustion"
    needs = way.needs_ready if way is not None else has_one
    in_park = u.slides.holds(job) and job.acts["deck"] == "deck"
    return not needs or in_park or g.in_neutral.holds(job) or job.value("ready") == "on"


def told_of_open(job: Job) -> bool:
    """Section 13: what was opened is closed, or handed over as open, tagged."""
    return not r.tagged_open.holds(job) or job.acts.holds("open_told")


def stored_apart(job: Job) -> bool:
    """Section 13: the storage distance of a damaged electric vehicle."""
    return not r.damaged_electric.holds(job) or job.acts.holds("stored_apart")


def disconnects_seen(job: Job) -> bool:
    """Section 9 and S4: not ready, the disconnects that were opened are looked at first."""
    off = job.value("ready") == "off" and w.no_way_is_left.holds(job) and job.handoff is None
    left = any(e.disconnect_may_be_open[n].holds(job) for n in NUMBERS)
    return not (off and left) or g.is_damaged.holds(job)


def under_asked(job: Job) -> bool:
    """Section 10: where no way into neutral is left, skates or dollies before a hand-off."""
    stuck = tied_down(job) and w.no_way_is_left.holds(job) and job.handoff is None
    return not stuck or job.value("goes_under") is not None


def load_asked(job: Job) -> bool:
    """Section 3: bed load and contents are asked about where they may change the margin's word.

    What has arrived comes off the truck whatever it weighs.
    """
    return not g.load_matters.holds(job) or r.at_the_drop.holds(job)


def pull_planned(job: Job) -> bool:
    """Section 9: "First the pull": by what stands now it fits the winch and the hold."""
    return job.acts["deck"] == "deck" or job.pull_word in {"fits", "unknown"}


def number_asked(job: Job) -> bool:
    """Section 3: the VIN, read or not, where no card tells the vehicle, or no plate does."""
    is_told = job.value("card") != "none" and job.value("plate") != "not read"
    return is_told or job.value("vin") is not None


def change_told(job: Job) -> bool:
    """Section 12: a condition that is not as picked up is said in words."""
    return job.value("condition") != "changed" or job.value("changes") is not None


def keep_off_read(job: Job) -> bool:
    """Section 8: the keep-off places are read out before anything is hooked, at the drop too."""
    return not g.card_has_keep_off.holds(job) or job.acts.holds("keep_off_told")


def point_shown(job: Job) -> bool:
    """Without a card: attached only at a point that the manual or a label shows."""
    return bool(job.value("card") != "none" or job.value("point_shown") == "yes")


def point_seen(job: Job) -> bool:
    """Section 8: what was hit may have bent its holding point; at the drop the same one holds."""
    seen = "attach.sound" in job.done or r.at_the_drop.holds(job)
    return not g.is_damaged.holds(job) or seen


def stowed(job: Job) -> bool:
    """Section 10: what went under it rides along tied down."""
    return not u.gear_rides_along.holds(job) or "secure.stow" in job.done


def cannot_go_on(job: Job) -> bool:
    """Say whether a hand-off has one of the routine's reasons, or was asked for."""
    return job.handoff is not None or any(reason(job) for reason in _REASONS)


def _no_gear(job: Job) -> bool:
    """Section 10: wheels that stopped, and nothing here goes under them, or it is too weak."""
    gear = job.value("goes_under")
    weak = gear == "dollies" and job.lift_by("dollies") == "no-go"
    return not under(job) and (gear in {"none", None} or weak or r.at_the_drop.holds(job))


def _no_end(job: Job) -> bool:
    """Section 8: no end that holds faces the truck, or none is shown."""
    none_shown = job.value("card") == "none" and job.value("point_shown") == "no"
    if job.value("facing") == "boxed":
        return none_shown or _stays_in(job)
    return g.facing_end_does_not_hold.holds(job) or none_shown


def _stays_in(job: Job) -> bool:
    """Section 10: boxed in, and no second truck reaches an end, or out of there nothing holds."""
    card = chosen_card(job)
    bare = card is not None and not {card.holds.first(end) for end in ("nose", "tail")} - {None}
    aboard = job.acts["deck"] != "ground"
    return bare or aboard or _no_turn(job) or job.value("lift_end") == "neither"


def _no_neutral(job: Job) -> bool:
    """Section 9: no way into neutral, and what would go under Park's wheels is not here."""
    skates = job.value("goes_under") == "skates"
    weak = job.lift_by("dollies") == "no-go"
    frees = u.dollies_free_it.holds(job) and not weak
    goes = u.slides.holds(job) if r.at_the_drop.holds(job) else skates or frees
    astray = u.gear_is_in_doubt.holds(job) or u.is_out_of_park.holds(job)
    return w.no_way_is_left.holds(job) and (not goes or astray)


def _no_power(job: Job) -> bool:
    """Sections 5 and 6: it stays shut, or it does not wake."""
    return "no" in {job.value("unlocked"), job.value("wakes"), job.value("woke")}


def _no_cord(job: Job) -> bool:
    """Section 7: the cord does not come out by the ordinary ways, nor by the operator."""
    return job.value("cord") == "stuck" and "no" in {job.value("operator_freed"),
                                                     job.value("release_freed")}  # fmt: skip


def _no_turn(job: Job) -> bool:
    """Section 10: to turn it takes a second truck, and two tyres at each end."""
    return bool(job.value("second_truck") == "none" or job.value("wheels") == "missing")


_REASONS = (_no_gear, _no_end, _no_neutral, _no_power, _no_cord, _no_turn)

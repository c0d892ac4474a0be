"""Every condition that a section or an item uses, by name."""

from flows.acts import ISOLATIONS, UNKNOWN, WHEELS, WINCH_RUNS
from flows.conditions import View, condition
from flows.facts import CARDS_OFFERED

# Danger and what it leaves behind


@condition()
def danger_is_seen(view: View) -> bool:
    """A danger sign was seen and no service has released the vehicle."""
    return view.act("danger") == "seen"


@condition("danger")
def danger_was_looked_for(view: View) -> bool:
    """The first question at the scene has an answer that needs no second look."""
    return view.fact("danger") is not None


@condition("history")
def damaged_or_flooded(view: View) -> bool:
    """Crash, water, a fire nearby, or a danger that was released."""
    return view.fact("history") != "breakdown" or view.act("danger") == "released"


# Where the vehicle is


@condition()
def on_the_ground(view: View) -> bool:
    """It is not, or not surely, on the deck."""
    return view.act("deck") != "deck"


@condition()
def parked_on_deck(view: View) -> bool:
    """It is on the deck with Park set."""
    return view.act("deck") == "deck" and view.act("gear") == "park"


@condition("slope")
def uphill_of_truck(view: View) -> bool:
    """It stands uphill of the truck, where the line alone never holds it."""
    return view.fact("slope") == "uphill"


@condition()
def chocks_were_taken_out(view: View) -> bool:
    """The first chocking is over: the chocks came out, or are in doubt."""
    return view.act("chocks") in {"out", UNKNOWN}


# What holds it


def _line_holds(view: View) -> bool:
    """Line, hook and tension all stand, and it is level with or downhill of the truck."""
    tied = all(view.act(variable) == "on" for variable in ("line", "hook", "tension"))
    return tied and view.fact("slope") in {"level", "downhill"}


def _strapped(view: View) -> bool:
    return all(view.act(f"strap.{wheel}") == "on" for wheel in WHEELS)


def _could_roll(view: View) -> bool:
    """Out of Park, or perhaps out of it, and not carried."""
    return view.act("deck") != "deck" and view.act("gear") in {"neutral", UNKNOWN}


@condition("slope")
def loose(view: View) -> bool:
    """Neither chocks, straps nor a line that holds: chocks out or doubted, or in neutral."""
    if view.act("chocks") == "in":
        return False
    if view.act("deck") == "deck":
        out_of_park = view.act("gear") in {"neutral", UNKNOWN}
        return out_of_park and not _strapped(view) and not _line_holds(view)
    if view.act("chocks") == UNKNOWN:
        return True
    return not _line_holds(view) and (view.act("chocks") == "out" or _could_roll(view))


@condition("window")
def hold_is_over(view: View) -> bool:
    """The neutral hold ran out before the vehicle was on the deck."""
    ended = view.window is not None and view.window.state == "ended"
    return ended and view.act("deck") != "deck" and view.act("chocks") != "in"


@condition("slope", "margin", "window", "handoff")
def winch_must_stop(view: View) -> bool:
    """The winch moves, or may, and something under the pull no longer stands."""
    if view.act("winch") == "still":
        return False
    ended = view.window is not None and view.window.state == "ended"
    stands = (
        view.act("winch") in WINCH_RUNS
        and not ended
        and _line_holds(view)
        and view.act("path") == "empty"
        and view.act("chocks") == "out"
        and view.act("gear") == "neutral"
        and view.act("neutral") == "confirmed"
    )
    barred = view.act("winch") == "moving" and _barred(view)
    return not stands or view.handoff is not None or barred


def _barred(view: View) -> bool:
    return view.verdict != "go" and not view.owner_decided


# The vehicle


@condition("card")
def has_no_card(view: View) -> bool:
    """No card was chosen, or none is known yet."""
    return view.card is None


@condition("card")
def card_is_answered(view: View) -> bool:
    """The question of the card has its answer: a card, or none."""
    return view.fact("card") is not None


@condition("card", "powertrain", "family")
def cards_are_many(view: View) -> bool:
    """No card was chosen yet, and more of them fit what is known than one question offers."""
    return view.fact("card") is None and len(view.fitting) > CARDS_OFFERED


@condition("card", "weight")
def class_is_open(view: View) -> bool:
    """No card gives weight or class, and without a card the class gives the lengths."""
    card = view.card
    if card is None:
        return True
    return card.weights is None and card.weight_class is None and view.fact("weight") is None


@condition("family")
def family_has_sizes(view: View) -> bool:
    """The family is known, so its sizes can be asked."""
    return view.fact("family") not in {None, "any"}


@condition("powertrain")
def may_be_electric(view: View) -> bool:
    """It may have a charge port: not a combustion vehicle."""
    return view.fact("powertrain") != "combustion"


# The margin


@condition("margin")
def margin_is_no_go(view: View) -> bool:
    """The margin that stands is a no-go and no owner decided against it."""
    return view.verdict == "no-go" and not view.owner_decided


@condition("margin")
def margin_is_close(view: View) -> bool:
    """The margin that stands is close and no owner decided."""
    return view.verdict == "close" and not view.owner_decided


@condition("margin")
def margin_allows(view: View) -> bool:
    """The margin that stands is a go, or an owner decided."""
    return view.verdict == "go" or (view.verdict is not None and view.owner_decided)


# The cord


@condition("cord")
def plug_is_in(view: View) -> bool:
    """It is plugged in, free or stuck, and the plug has not come out."""
    return view.fact("cord") in {"free", "stuck"} and view.act("plug") != "out"


@condition("cord")
def cord_is_free(view: View) -> bool:
    """Plugged in and it will come out."""
    return view.fact("cord") == "free" and view.act("plug") != "out"


@condition("cord")
def cord_is_stuck(view: View) -> bool:
    """Plugged in and it will not come out."""
    return view.fact("cord") == "stuck" and view.act("plug") != "out"


@condition("cord_tried")
def ordinary_ways_failed(view: View) -> bool:
    """Unlocking and the charger's stop did not free it."""
    return view.fact("cord_tried") == "no"


@condition("card")
def card_has_release(view: View) -> bool:
    """The card gives a manual release that needs no more isolations than are led through here."""
    release = view.card.cord_release if view.card is not None else None
    return release is not None and len(release.requires) <= len(ISOLATIONS)


@condition("card")
def release_needs_isolation(view: View) -> bool:
    """The card's release requires an isolation opened and pinned."""
    release = view.card.cord_release if view.card is not None else None
    return release is not None and bool(release.requires)


@condition()
def isolation_was_opened(view: View) -> bool:
    """An isolation was opened at some time in this job."""
    return view.act("isolation.1") != "as_found"


@condition()
def isolation_is_pinned(view: View) -> bool:
    """The isolation stands pinned open."""
    return view.act("isolation.1") == "pinned"


@condition()
def isolation_not_closed(view: View) -> bool:
    """It was opened, or is in doubt, and not confirmed closed since."""
    return view.act("isolation.1") in {"open", "pinned", UNKNOWN}


@condition("history")
def stays_open(view: View) -> bool:
    """A disconnect is open and stays so, on a damaged vehicle: it will never get ready."""
    damaged = view.fact("history") != "breakdown" or view.act("danger") == "released"
    return damaged and view.act("isolation.1") in {"open", "pinned", UNKNOWN}


@condition("release_freed")
def release_failed(view: View) -> bool:
    """The card's release was pulled and the plug still does not come out."""
    return view.fact("release_freed") == "no"


@condition("operator_freed")
def operator_did_not_free(view: View) -> bool:
    """The charger's operator could not free it either."""
    return view.fact("operator_freed") == "no"


@condition()
def plug_is_out(view: View) -> bool:
    """The plug has come out."""
    return view.act("plug") == "out"


# Attaching


@condition("wheels")
def wheels_do_not_roll(view: View) -> bool:
    """A wheel is flat, locked or missing."""
    return view.fact("wheels") not in {None, "roll"}


@condition("facing", "card")
def facing_end_does_not_hold(view: View) -> bool:
    """Boxed in, or the card has no holding point at the end that faces the truck."""
    facing = view.fact("facing")
    if facing == "boxed":
        return True
    card = view.card
    return card is not None and facing is not None and card.holds.first(facing) is None


@condition("point_shown")
def no_point_is_shown(view: View) -> bool:
    """Neither manual nor label shows a holding point."""
    return view.fact("point_shown") == "no"


@condition("card")
def card_has_keep_off(view: View) -> bool:
    """The card names places that tear."""
    return view.card is not None and bool(view.card.keep_off)


@condition()
def line_is_on(view: View) -> bool:
    """Line or hook is on the vehicle, or may be."""
    return view.act("line") != "off" or view.act("hook") != "off"


@condition()
def line_is_tight(view: View) -> bool:
    """The line is on and under tension."""
    return view.act("line") == "on" and view.act("tension") == "on"


# Neutral and the pull


@condition("card")
def neutral_needs_ready(view: View) -> bool:
    """The way into neutral needs the ready indication: by the card, or no card says."""
    way = view.card.first_way if view.card is not None else None
    return way is None or way.needs_ready


@condition("ready")
def ready_is_off(view: View) -> bool:
    """The ready indication is off, or not sure."""
    return view.fact("ready") == "off"


@condition()
def disconnect_may_be_open(view: View) -> bool:
    """An isolation was opened in this job and not looked at again since it was closed."""
    return view.act("isolation.1") not in {"as_found", "checked"}


@condition()
def in_neutral(view: View) -> bool:
    """Neutral is selected."""
    return view.act("gear") == "neutral"


@condition()
def neutral_stays(view: View) -> bool:
    """Neutral is selected and confirmed to stay."""
    return view.act("gear") == "neutral" and view.act("neutral") == "confirmed"


@condition()
def chocks_are_out(view: View) -> bool:
    """The chocks came out for the pull."""
    return view.act("chocks") == "out"


@condition()
def winch_moves(view: View) -> bool:
    """The pull is under way."""
    return view.act("winch") == "moving"


@condition()
def all_strapped(view: View) -> bool:
    """A strap at each of the four wheels."""
    return _strapped(view)


# Closing


@condition("skips")
def skips_are_open(view: View) -> bool:
    """A critical step was left out and nobody has settled it."""
    return view.open_skips > 0


@condition("handoff")
def handoff_is_wanted(view: View) -> bool:
    """Driver or dispatcher asked for a hand-off, or a step cannot be done."""
    return view.handoff is not None


# Contracts: what a section may rely on and must leave


@condition("slope")
def held(view: View) -> bool:
    """Chocked both ways, or tied by a line that holds, or carried."""
    return view.act("chocks") == "in" or _line_holds(view) or view.act("deck") == "deck"


@condition()
def disconnect_settled(view: View) -> bool:
    """No isolation is open, unless tagged to be handed over open."""
    return (
        view.act("isolation.1") in {"as_found", "reclosed", "checked"}
        or view.act("tag.1") == "tagged"
    )


@condition()
def winch_is_still(view: View) -> bool:
    """The winch does not move."""
    return view.act("winch") == "still"


@condition()
def line_is_slack(view: View) -> bool:
    """No line pulls on the vehicle."""
    return view.act("tension") == "off"

"""Conditions of danger, vehicle, margin, pull, attaching, neutral and closing."""

from flows.job.acts import UNKNOWN
from flows.job.facts import CARDS_OFFERED, FACTS
from flows.routine.condition import View, condition

# Danger and damage


@condition()
def danger_is_seen(view: View) -> bool:
    """A danger sign was seen and no service has released the vehicle."""
    return view.act("danger") == "seen"


@condition("danger")
def danger_was_looked_for(view: View) -> bool:
    """The question of danger has an answer that needs no second look."""
    return view.fact("danger") is not None


@condition()
def people_are_in_doubt(view: View) -> bool:
    """People were behind the barrier, and nobody knows whether they still are."""
    return view.act("bystanders") == UNKNOWN


@condition("history")
def is_damaged(view: View) -> bool:
    """Crash, water, a fire nearby, or a danger that was released."""
    return view.is_damaged


# The vehicle


@condition("card")
def has_no_card(view: View) -> bool:
    """No card was chosen, or none is known yet."""
    return view.card is None


@condition("plate")
def plate_is_not_read(view: View) -> bool:
    """The plate was asked for, and nobody can read it."""
    return view.fact("plate") == FACTS["plate"].not_sure


@condition("card")
def card_is_answered(view: View) -> bool:
    """The question of the card has its answer: a card, or none."""
    return view.fact("card") is not None


@condition("card", "powertrain", "family")
def cards_are_many(view: View) -> bool:
    """No card was chosen yet, and more of them fit what is known than one question offers."""
    return view.fact("card") is None and len(view.fitting) > CARDS_OFFERED


@condition("card")
def card_tells_variant(view: View) -> bool:
    """The card says how to tell its variant from others."""
    return view.card is not None and view.card.told_by is not None


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
    """The margin is a no-go and no owner decided against it."""
    return view.verdict == "no-go" and not view.owner_decided


@condition("margin")
def margin_is_close(view: View) -> bool:
    """The margin is close and no owner decided."""
    return view.verdict == "close" and not view.owner_decided


@condition("margin")
def margin_allows(view: View) -> bool:
    """The margin is a go, or an owner decided."""
    return view.verdict == "go" or (view.verdict is not None and view.owner_decided)


@condition("margin")
def load_matters(view: View) -> bool:
    """A load that may be in it or on its bed would change the margin's word; nobody said."""
    return view.load_matters


# The pull


@condition("pull")
def pull_is_weak(view: View) -> bool:
    """The pull takes more than the winch gives with this many parts of line."""
    return view.pull == "weak"


@condition("pull")
def pull_wants_distance(view: View) -> bool:
    """The whole rope takes longer than the hold allows, and nobody said how far it is."""
    return view.pull == "far"


@condition("pull")
def pull_is_long(view: View) -> bool:
    """The pull takes longer than the hold allows."""
    return view.pull == "long"


@condition("pull")
def pull_fits(view: View) -> bool:
    """The pull fits winch and hold, as far as the cards tell."""
    return view.pull in {"fits", "unknown"}


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


# Neutral and the pull


@condition("card", "powertrain")
def neutral_needs_ready(view: View) -> bool:
    """The way into neutral needs the ready indication: the card's best, or any but an engine's."""
    if view.card is None:
        return view.fact("powertrain") != "combustion"
    way = view.card.first_way
    return way is None or way.needs_ready


@condition("ready")
def ready_is_off(view: View) -> bool:
    """The ready indication is off, or not sure."""
    return view.fact("ready") == "off"


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


# Closing


@condition("skips")
def skips_are_open(view: View) -> bool:
    """A critical step was left out and nobody has settled it."""
    return view.open_skips > 0


@condition("handoff")
def handoff_is_wanted(view: View) -> bool:
    """Driver or dispatcher asked for a hand-off, or a step cannot be done."""
    return view.handoff is not None

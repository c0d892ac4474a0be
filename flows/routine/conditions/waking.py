"""Conditions of opening and waking a vehicle: doors and key, its 12-volt supply, the clamps."""

from collections.abc import Mapping

from flows.job.acts import CLAMPS, FROM_A_PACK, ISOLATIONS, POSTS
from flows.routine.condition import Condition, View, condition
from flows.routine.neutral_ways import is_left, stays_dark

# Opening


@condition("wakes")
def it_is_shut(view: View) -> bool:
    """It cannot be opened."""
    return view.fact("wakes") == "shut"


@condition("wakes")
def it_stays_dead(view: View) -> bool:
    """It opens and does not wake."""
    return view.fact("wakes") == "no"


@condition("key")
def key_is_elsewhere(view: View) -> bool:
    """The key is a phone or a card, or not here: its owner has to help."""
    return view.fact("key") in {"phone", "away"}


@condition("key")
def key_is_a_phone(view: View) -> bool:
    """A phone or a card is the key."""
    return view.fact("key") == "phone"


@condition("key")
def key_is_away(view: View) -> bool:
    """The key is not here."""
    return view.fact("key") == "away"


@condition("unlocked")
def unlocking_failed(view: View) -> bool:
    """Neither key nor owner opened it."""
    return view.fact("unlocked") == "no"


@condition("card")
def card_has_posts(view: View) -> bool:
    """The card gives posts outside that power a lock."""
    return view.card is not None and bool(view.card.access)


@condition("posts_opened")
def posts_failed(view: View) -> bool:
    """Power at the posts did not open it."""
    return view.fact("posts_opened") == "no"


@condition()
def posts_are_bare(view: View) -> bool:
    """No clamp is on a post outside."""
    return all(view.act(f"clamp.{post}") == "off" for post in POSTS)


@condition()
def first_post_is_clamped(view: View) -> bool:
    """The pack's positive clamp is on its post outside."""
    return view.act("clamp.post_positive") == "on"


@condition()
def posts_are_clamped(view: View) -> bool:
    """Both clamps of the pack are on the posts outside."""
    return all(view.act(f"clamp.{post}") == "on" for post in POSTS)


# Waking


@condition("card")
def waking_is_needed(view: View) -> bool:
    """Every way into neutral needs it awake, or no way is known."""
    return not is_left(view.card, ready_off=True, dead=True)


@condition("card", "ready", "wakes", "history")
def no_way_is_left(view: View) -> bool:
    """No way into neutral works in the present state of ready indication and supply."""
    dark = stays_dark(view.is_damaged, [view.act(name) for name in ISOLATIONS])
    ready_off = dark or view.fact("ready") == "off"
    return not is_left(view.card, ready_off=ready_off, dead=view.fact("wakes") == "no")


@condition("twelve_volt")
def supply_is_low(view: View) -> bool:
    """The 12-volt supply is dead or weak."""
    return view.fact("twelve_volt") in {"dead", "weak"}


@condition("card")
def kind_is_open(view: View) -> bool:
    """The card does not say which kind of 12-volt unit it has."""
    return view.card is None or view.card.twelve_volt is None


@condition("card")
def card_has_boost(view: View) -> bool:
    """The card gives the lugs for a boost."""
    return view.card is not None and view.card.boost is not None


@condition("card", "twelve_volt", "twelve_volt_kind", "manual_boost")
def boost_is_allowed(view: View) -> bool:
    """The supply is low, and the card gives a boost; without one, manual and kind allow it.

    A lithium unit, or a unit of unknown kind, is boosted only as its card says.
    """
    card = view.card
    said = None if card is None else card.twelve_volt
    if view.fact("twelve_volt") not in {"dead", "weak"}:
        return False
    if card is not None and card.boost is not None:
        return said is not None or view.fact("twelve_volt_kind") == "lead-acid"
    kind = said or view.fact("twelve_volt_kind")
    return kind == "lead-acid" and view.fact("manual_boost") == "yes"


@condition("woke")
def waking_failed(view: View) -> bool:
    """Somebody tried to wake it, and it stayed dead."""
    return view.fact("woke") == "no"


@condition("card", "donor")
def donor_is_allowed(view: View) -> bool:
    """The donor is known, and the card does not rule it out."""
    boost = None if view.card is None else view.card.boost
    match view.fact("donor"):
        case "pack":
            return boost is None or "pack" in boost.by
        case "combustion":
            return boost is None or "donor" in boost.by
        case "electric":
            return boost is not None and boost.electric_donor
        case _:
            return False


@condition("donor")
def donor_is_a_pack(view: View) -> bool:
    """A jump pack boosts it, no vehicle."""
    return view.fact("donor") == "pack"


# The clamps


def _order(view: View) -> tuple[str, ...]:
    return FROM_A_PACK if view.fact("donor") == "pack" else CLAMPS


@condition()
def clamps_are_off(view: View) -> bool:
    """No boost clamp is on, and a pack is off."""
    bare = all(view.act(f"clamp.{post}") == "off" for post in CLAMPS)
    return bare and view.act("pack_switch") == "off"


@condition("donor")
def clamps_are_on(view: View) -> bool:
    """Every clamp of the donor is on, and no other."""
    order = _order(view)
    return all((view.act(f"clamp.{post}") == "on") == (post in order) for post in CLAMPS)


def _in_order(post: str) -> Condition:
    @condition("donor")
    def goes_on(view: View) -> bool:
        return post in _order(view)

    return Condition(
        f"{post} goes on".replace("_", " "), goes_on.reads, goes_on.holds,
        f"The donor has a clamp for the {post.replace('_', ' ')}.",
    )  # fmt: skip


def _misplaced(post: str) -> Condition:
    @condition("donor")
    def out_of_order(view: View) -> bool:
        order = _order(view)
        if post not in order:
            return True
        before = order[: order.index(post)]
        # Clamps that the donor does not have come off, those that go on later first.
        earlier = CLAMPS[: CLAMPS.index(post)]
        foreign = (one for one in earlier if one not in order)
        return any(view.act(f"clamp.{one}") != "on" for one in before) or any(
            view.act(f"clamp.{one}") != "off" for one in foreign
        )

    return Condition(
        f"{post} is out of order".replace("_", " "), out_of_order.reads, out_of_order.holds,
        f"The {post.replace('_', ' ')} is no clamp of the donor, or one before it is not on, "
        "or one before it has to come off.",
    )  # fmt: skip


goes_on: Mapping[str, Condition] = {post: _in_order(post) for post in CLAMPS}
out_of_order: Mapping[str, Condition] = {post: _misplaced(post) for post in CLAMPS}
NUMBERED: Mapping[str, Condition] = {
    one.name.replace(" ", "_"): one
    for family in (goes_on, out_of_order)
    for one in family.values()
}
"""The conditions of each clamp."""

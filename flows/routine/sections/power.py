"""Access and power: opening and waking a vehicle that is shut or dead, only if undamaged."""

from flows.job.acts import CLAMPS, POSTS
from flows.routine.conditions import (
    general as g,
    holding as h,
    road as r,
    waking as w,
)
from flows.routine.items import Gate, HandOff, Option, Question, Section, Step, WaitStep

_BEFORE = h.on_the_ground & ~g.in_neutral & ~r.has_left
_SHUT = w.it_is_shut & _BEFORE
_BY_POSTS = _SHUT & w.unlocking_failed & w.card_has_posts & ~w.posts_failed & ~g.is_damaged
_OPENED = ~w.posts_are_bare & ~w.it_is_shut

ACCESS = Section(
    id="access",
    applies=h.on_the_ground | ~w.posts_are_bare,
    enters=h.held,
    leaves=w.posts_are_bare & h.held,
    items=(
        Question(id="access.doors", applies=_SHUT, fact="doors"),
        Question(id="access.key", applies=_SHUT, fact="key"),
        Question(
            id="access.with_key",
            applies=_SHUT & ~w.key_is_elsewhere,
            fact="unlocked",
            usual_s=120,
        ),
        Question(
            id="access.owner",
            applies=_SHUT & w.key_is_elsewhere,
            fact="unlocked",
            usual_s=300,
        ),
        Step(id="access.ajar", applies=_OPENED, acts=("left_ajar",), critical=True),
        # The pack is off whenever one of its clamps moves. Removal comes first, so that a clamp
        # in the wrong order comes off before it goes on again.
        Step(
            id="access.pack_off",
            applies=(_BY_POSTS | ~w.posts_are_bare) & ~(_BY_POSTS & w.posts_are_clamped),
            acts=("pack_off",),
            critical=True,
        ),
        Step(
            id="access.off_post_negative",
            applies=~w.posts_are_bare & (~_BY_POSTS | ~w.first_post_is_clamped),
            acts=("clamp_off_post_negative",),
            critical=True,
        ),
        Step(
            id="access.off_post_positive",
            applies=~w.posts_are_bare & ~_BY_POSTS,
            acts=("clamp_off_post_positive",),
            critical=True,
        ),
        *(
            Step(
                id=f"access.on_{post}",
                applies=_BY_POSTS,
                acts=(f"clamp_on_{post}",),
                critical=True,
                usual_s=60,
            )
            for post in POSTS
        ),
        Step(id="access.pack_on", applies=_BY_POSTS, acts=("pack_on",), critical=True),
        Question(id="access.opens", applies=_BY_POSTS, fact="posts_opened", usual_s=60),
        HandOff(
            id="access.no_way",
            applies=_SHUT & w.unlocking_failed & ~_BY_POSTS,
            usual_s=300,
        ),
        Question(
            id="access.wakes",
            applies=_BEFORE & ~g.is_damaged,
            fact="wakes",
            usual_s=60,
        ),
    ),
)

_WANTED = _BEFORE & w.it_stays_dead & ~g.is_damaged & w.waking_is_needed
_WITH_KEY = _WANTED & ~w.key_is_away
_TRIES = _WITH_KEY & ~w.waking_failed
_BOOSTED = _TRIES & w.boost_is_allowed
_CLAMPED = _BOOSTED & w.donor_is_allowed

POWER = Section(
    id="power",
    applies=_WANTED | ~w.clamps_are_off,
    enters=h.held & w.posts_are_bare,
    leaves=w.clamps_are_off & h.held,
    items=(
        Question(id="power.key", applies=_WANTED, fact="key"),
        Step(id="power.owner", applies=_WANTED & w.key_is_a_phone, usual_s=300),
        Question(id="power.twelve_volt", applies=_WITH_KEY, fact="twelve_volt", usual_s=60),
        Question(
            id="power.kind",
            applies=_WITH_KEY & w.supply_is_low & w.kind_is_open,
            fact="twelve_volt_kind",
        ),
        Question(
            id="power.manual",
            applies=_WITH_KEY & w.supply_is_low & ~w.card_has_boost,
            fact="manual_boost",
            usual_s=120,
        ),
        Question(id="power.donor", applies=_BOOSTED, fact="donor"),
        Gate(
            id="power.wrong_donor",
            applies=_BOOSTED & ~w.donor_is_allowed,
            options=(
                Option("another_donor", clears=("donor",)),
                Option("hand_off", hands_off=True),
            ),
            critical=True,
        ),
        # Removal first, in reverse: a clamp that went on out of order comes off.
        Step(
            id="power.pack_off",
            applies=~w.clamps_are_off & ~(_CLAMPED & w.donor_is_a_pack & w.clamps_are_on),
            acts=("pack_off",),
            critical=True,
        ),
        *(
            Step(
                id=f"power.off_{post}",
                applies=~w.clamps_are_off & (~_CLAMPED | w.out_of_order[post]),
                acts=(f"clamp_off_{post}",),
                critical=True,
            )
            for post in reversed(CLAMPS)
        ),
        *(
            Step(
                id=f"power.on_{post}",
                applies=_CLAMPED & w.goes_on[post],
                acts=(f"clamp_on_{post}",),
                critical=True,
                usual_s=60,
            )
            for post in CLAMPS
        ),
        Step(
            id="power.pack_on",
            applies=_CLAMPED & w.donor_is_a_pack,
            acts=("pack_on",),
            critical=True,
        ),
        WaitStep(
            id="power.wait",
            applies=_CLAMPED,
            acts=("boost_waited",),
            critical=True,
            waits="boost",
            after=("clamp_on_flat_ground", "pack_on"),
        ),
        Step(
            id="power.wake",
            applies=_CLAMPED | (_TRIES & ~w.supply_is_low),
            acts=("woken",),
            critical=True,
            usual_s=60,
        ),
        # With the line tight, skates or dollies come before a hand-off.
        HandOff(id="power.no_way", applies=_WANTED & ~h.line_is_tight, usual_s=300),
    ),
)

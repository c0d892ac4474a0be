"""Facts about a job, each with who gave it, how and in which entry.

A newer fact corrects an older; both entries stay in the record. The vehicle card gives facts
too.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

from flows.job.acts import NUMBERS

Kind = Literal["choice", "mass", "note", "minutes", "yes_no", "feet", "pounds", "inches"]
How = Literal["typed", "tapped", "voice", "card", "photo", "computed", "assumed"]


@dataclass(frozen=True, slots=True)
class Fact:
    """A value with its provenance: how, by whom, in which entry of the job."""

    value: Any
    how: How
    by: str
    seq: int


@dataclass(frozen=True, slots=True)
class FactSpec:
    """The values a fact can have, and its value for "not sure".

    Parameters
    ----------
    values
        The allowed ids of a choice; empty where cards, trucks or classes supply them.
    not_sure
        The cautious value; None where "not sure" settles nothing.
    looks_again
        The first "not sure" asks to look; only the second takes the cautious value.
    doubted_by
        Acts after which the fact has to be asked again.
    private
        Personal: the record has only a commitment to it.
    decides
        A number that decides go or no-go: read back before it counts.
    is_name
        The name of whoever takes a decision or the vehicle: read back before it counts.
    """

    kind: Kind
    values: tuple[str, ...] = ()
    not_sure: str | None = None
    looks_again: bool = False
    doubted_by: frozenset[str] = frozenset()
    private: bool = False
    decides: bool = False
    is_name: bool = False


_ISOLATION_ACTS = frozenset(
    f"isolation_{done}_{n}"
    for done in ("opened", "closed", "checked", "unpinned")
    for n in NUMBERS
)

_READY_ACTS = _ISOLATION_ACTS | {"woken"}
_BOOSTED_ANEW = frozenset({"clamp_on_flat_positive", "pack_on"})

FACTS: Mapping[str, FactSpec] = {
    "history": FactSpec("choice", ("breakdown", "crash", "water", "fire"), not_sure="crash"),
    "place": FactSpec("note", private=True, not_sure="not given"),
    "danger": FactSpec("choice", ("none", "seen"), not_sure="seen", looks_again=True),
    "released_by": FactSpec("note", private=True, is_name=True),
    "slope": FactSpec(
        "choice",
        ("uphill", "level", "downhill"),
        not_sure="uphill",
        looks_again=True,
        doubted_by=frozenset({"departs"}),
    ),
    "card": FactSpec("choice", not_sure="none"),
    "variant": FactSpec("yes_no", ("yes", "no"), not_sure="no"),
    "powertrain": FactSpec("choice", ("electric", "hybrid", "combustion"), not_sure="electric"),
    "family": FactSpec("choice", not_sure="any"),
    "weight_class": FactSpec("choice", not_sure="any"),
    "weight": FactSpec("mass", decides=True),
    "plate": FactSpec("note", private=True, not_sure="not read"),
    "vin": FactSpec("note", private=True, not_sure="not read"),
    "load_lb": FactSpec("pounds", not_sure="most", decides=True),
    "passengers": FactSpec("choice", ("none", "one", "two", "three"), not_sure="three"),
    "weight_how": FactSpec("choice", ("stated", "ticket"), not_sure="stated"),
    "drive": FactSpec("choice", ("front", "rear", "all"), not_sure="all"),
    "truck": FactSpec("choice"),
    "wakes": FactSpec(
        "choice",
        ("yes", "no", "shut"),
        not_sure="shut",
        looks_again=True,
        doubted_by=frozenset({"woken"}),
    ),
    "doors": FactSpec("choice", ("open", "locked", "no_handle"), not_sure="locked"),
    "key": FactSpec("choice", ("here", "dead", "phone", "away"), not_sure="away"),
    "unlocked": FactSpec("yes_no", ("yes", "no"), not_sure="no"),
    "posts_opened": FactSpec("yes_no", ("yes", "no"), not_sure="no"),
    "twelve_volt": FactSpec("choice", ("dead", "weak", "fine"), not_sure="weak"),
    "twelve_volt_kind": FactSpec(
        "choice", ("lead-acid", "lithium", "not_known"), not_sure="not_known"
    ),
    "manual_boost": FactSpec("yes_no", ("yes", "no"), not_sure="no"),
    "donor": FactSpec("choice", ("pack", "combustion", "electric"), not_sure="electric"),
    "woke": FactSpec("yes_no", ("yes", "no"), not_sure="no", doubted_by=_BOOSTED_ANEW),
    "cord": FactSpec("choice", ("none", "free", "stuck"), not_sure="stuck", looks_again=True),
    "cord_tried": FactSpec("yes_no", ("yes", "no"), not_sure="no"),
    "release_freed": FactSpec("yes_no", ("yes", "no"), not_sure="no"),
    "operator_freed": FactSpec("yes_no", ("yes", "no"), not_sure="no"),
    "wheels": FactSpec(
        "choice", ("roll", "flat", "locked", "missing"), not_sure="locked", looks_again=True
    ),
    "goes_under": FactSpec("choice", ("skates", "dollies", "none"), not_sure="none"),
    "second_truck": FactSpec("choice", not_sure="none"),
    "lift_end": FactSpec(
        "choice", ("nose", "tail", "neither"), not_sure="neither", looks_again=True
    ),
    "ceiling_in": FactSpec("inches"),
    "facing": FactSpec("choice", ("nose", "tail", "boxed"), not_sure="boxed", looks_again=True),
    "point_shown": FactSpec("yes_no", ("yes", "no"), not_sure="no"),
    "ground": FactSpec("choice", ("hard", "grass", "gravel", "sand", "mud"), not_sure="mud"),
    "pull_ft": FactSpec("feet", not_sure="rope", decides=True, doubted_by=frozenset({"departs"})),
    "block": FactSpec("yes_no", ("yes", "no"), not_sure="no"),
    "ready": FactSpec(
        "choice", ("on", "off"), not_sure="off", doubted_by=_READY_ACTS | {"departs"}
    ),
    "neutral_when": FactSpec(
        "minutes", not_sure="unknown", doubted_by=frozenset({"neutral_selected", "park_set"})
    ),
    "destination": FactSpec("note", private=True, not_sure="not given"),
    "takes_it": FactSpec("yes_no", ("yes", "no"), not_sure="no"),
    "asked_by": FactSpec("note", private=True, not_sure="not given"),
    "emergency": FactSpec("choice", ("urgent", "planned"), not_sure="planned"),
    "owner_contact": FactSpec("note", private=True, not_sure="not given"),
    "stop_at": FactSpec("choice", ("way", "drop"), not_sure="way"),
    "temperatures": FactSpec("note", private=True, not_sure="not measured"),
    "condition": FactSpec("choice", ("same", "changed"), not_sure="changed"),
    "changes": FactSpec("note", private=True, not_sure="not said"),
    "key_left": FactSpec("choice", ("handed_over", "in_vehicle", "no_key"), not_sure="no_key"),
    "received_by": FactSpec("note", private=True, is_name=True),
    "handed_to": FactSpec("note", private=True, is_name=True),
}

CHOICES = 5
"""The most that one question offers."""

CARDS_OFFERED = CHOICES - 1
"""How many vehicle cards that leaves, next to "no card"."""

FROM_CARD = ("powertrain", "drive", "weight_class")
"""Facts a card may supply; choosing another card, or none, takes them back."""

WEIGHT_RESTS_ON = (
    "card", "powertrain", "drive", "weight", "weight_how", "weight_class", "family", "load_lb",
)  # fmt: skip
"""The facts under a vehicle's weight and its share on an axle, for every figure that uses it."""

REOPENS: Mapping[tuple[str, object], tuple[str, ...]] = {
    # Stuck again: try everything again.
    ("cord", "stuck"): ("cord_tried", "operator_freed", "release_freed"),
    # Boxed in again: the second truck may reach another end.
    ("facing", "boxed"): ("lift_end",),
    # No skate goes under a missing wheel.
    ("wheels", "missing"): ("goes_under",),
    # Whoever takes a plain breakdown may not take this.
    **{("history", what): ("takes_it",) for what in ("crash", "water", "fire")},
}
"""Facts that are asked for again once another fact gets this value."""

LOOKED_AT: Mapping[str, tuple[str, ...]] = {
    "facing": ("attach.sound",),
    "card": ("attach.sound",),
}
"""Steps that looked at the thing a fact names: when the fact changes, they are done again."""

UNTOLD: Mapping[str, Mapping[str, str]] = {
    name: {"keep_off": "untold"} for name in ("facing", "card")
}
"""Act states that hold for one value of a fact: when it changes, what was told is told anew."""

"""The pull planned before neutral: its load against the winch, its time against the hold.

The load comes from weight, ground and slope, up the deck's own tilt, with the supplier sheet's
reserve. It is compared with the winch on the last layer, where it is weakest. The time is
computed on the first layers of the rope, where the line is slowest, for the whole rope unless
somebody said how far it is. The plan uses half of the shortest hold that the card gives.
"""

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from math import ceil
from typing import TYPE_CHECKING, Any, Final

from flows.cards.chosen import chosen_card
from flows.errors import OutOfRangeError
from flows.figures.pull import COMMONWEALTH, SUPPLIER, TRADE, Slope, pull
from flows.figures.winch import ARMY, Winch, army_line
from flows.figures.window import window
from flows.reckoning.margin_inputs import plan_of

if TYPE_CHECKING:
    from flows.job.state import Job

SURFACES: Final = {
    "hard": (TRADE, "hard"),
    "grass": (TRADE, "grass"),
    "gravel": (TRADE, "gravel"),
    "sand": (COMMONWEALTH, "loose sand"),
    "mud": (SUPPLIER, "mud to the hub"),
}
"""The table and surface for each ground: of the published tables, the most demanding."""
TILT_PCT: Final = 30
"""Ours: the grade of a tilted deck where the truck's card does not say, seventeen degrees."""
DOWNHILL_PCT: Final = 15
"""Ours: the road's grade where it is downhill of the truck; a steep road."""


@dataclass(frozen=True, slots=True)
class Asked:
    """The inputs of a planned pull: load, parts of line, distance, times.

    `distance_ft` is None for the whole rope, `is_said` whether anybody was asked.
    """

    load_lb: int
    parts: int
    distance_ft: int | None
    is_said: bool
    speed_ft_min: int | None
    hold_min: int | None


UNPLANNED: Final = {"word": "unknown", "inputs": {}, "source": "truck card"}


def conclude_pull(job: "Job") -> dict[str, Any]:
    """Plan the pull of a job and return its record, in whole units.

    Its word is "fits"; "weak", where the winch is too weak with this many parts of line;
    "far", where the whole rope takes too long and nobody said how far it is; "long", where the
    distance that was said takes too long; "unknown" on a truck whose card has no winch, or a
    winch that the figures do not take.
    """
    truck = job.book.library.trucks[job.value("truck")]
    if truck.winch is None:
        return dict(UNPLANNED)
    grade = truck.deck.tilt_pct if truck.deck is not None else None
    grade_pct = (TILT_PCT if grade is None else grade) + _road_pct(job)
    table, surface = SURFACES[job.value("ground") or "hard"]
    found = pull(plan_of(job).high_lb, surface, table, slope=Slope(grade_pct))
    asked = Asked(
        found.amount("pull_with_reserve"),
        2 if job.value("block") == "yes" else 1,
        _distance_ft(job),
        job.value("pull_ft") is not None,
        truck.winch.speed_ft_min,
        shortest_hold(job),
    )
    inputs = dict(found.inputs) | {"parts": asked.parts}
    source = f"{found.source}; {ARMY}"
    try:
        planned = _planned(truck.winch.rated(), asked)
    except OutOfRangeError:
        return dict(UNPLANNED)
    return {**planned, "inputs": inputs, "source": source}


def _road_pct(job: "Job") -> int:
    return DOWNHILL_PCT if job.value("slope") not in {"level", "uphill"} else 0


def _distance_ft(job: "Job") -> int | None:
    distance = job.value("pull_ft")
    return distance if isinstance(distance, int) else None


def shortest_hold(job: "Job") -> int | None:
    """Return the shortest neutral hold that the card gives [minutes]; None where it gives none."""
    card = chosen_card(job)
    ways = () if card is None else card.neutral
    return min((one.hold_min for one in ways if one.hold_min is not None), default=None)


def longest_ft(one: Winch, parts: int = 1) -> int:
    """Return how far this many parts of its rope reach [ft], without the turns kept on the drum.

    Examples
    --------
    >>> one = Winch((8000,), 202, 576, 24, 75)
    >>> longest_ft(one), longest_ft(one, 2)
    (70, 35)
    """
    most = one.rope_length_ft
    while True:
        try:
            one.layer_at(most)
        except OutOfRangeError:
            most -= 1
        else:
            return most // parts


def _planned(one: Winch, asked: Asked) -> dict[str, Any]:
    """Return the plan's word and numbers; the winch must be stronger than the line's load."""
    layer = one.layer_at(0)
    line_lb, rating_lb = ceil(army_line(Fraction(asked.load_lb), asked.parts)), one.pull_lb(layer)
    whole_ft = longest_ft(one, asked.parts)
    distance_ft = whole_ft if asked.distance_ft is None else asked.distance_ft
    result: dict[str, Any] = {
        "word": "fits" if line_lb < rating_lb else "weak",
        "pull_lb": asked.load_lb,
        "line_lb": line_lb,
        "rating_lb": rating_lb,
        "layer": layer,
        "parts": asked.parts,
        "distance_ft": distance_ft,
        "hold_min": asked.hold_min,
    }
    if result["word"] == "weak" or asked.speed_ft_min is None or asked.hold_min is None:
        return result

    def timed(reach_ft: int) -> tuple[int, int]:
        found = window(one, asked.parts, (whole_ft, reach_ft), asked.speed_ft_min, asked.hold_min)
        return found.amount("minutes"), found.amount("usable")

    return {**result, **_timed(timed, distance_ft, whole_ft, is_said=asked.is_said)}


def _timed(
    timed: Callable[[int], tuple[int, int]], distance_ft: int, whole_ft: int, *, is_said: bool
) -> dict[str, Any]:
    """Return how long the pull takes, the minutes of the hold to plan for, and its reach in them.

    `timed` gives both times [min] for a distance [ft] of at most the whole rope.
    """
    minutes, usable = timed(min(distance_ft, whole_ft))
    if distance_ft <= whole_ft and minutes <= usable:
        return {"minutes": minutes, "usable_min": usable}
    fits = max((ft for ft in range(1, whole_ft + 1) if timed(ft)[0] <= usable), default=0)
    word = "long" if is_said else "far"
    return {"word": word, "minutes": minutes, "usable_min": usable, "fits_ft": fits}

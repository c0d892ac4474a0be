"""Wheel lift and dollies: what hangs, what rolls behind, and what the truck keeps on its front.

How far the front may be lightened is a trade standard, not law: half of the scaled weight.
"""

from collections.abc import Iterator
from dataclasses import dataclass, fields
from fractions import Fraction
from typing import Final

from flows.errors import require_whole
from flows.figures.deck import FRONT_KEPT_PCT, Load
from flows.figures.limits import CARD, GROSS, KEPT_SOURCE, LIFT, REAR, TOW
from flows.figures.result import DEFINITION, Amount, Held, Result, Step, down, step, up
from flows.figures.statics import lift_capacity

STATICS: Final = "statics, moments about the axles"
KEPT: Final = "lift for the front axle share kept"
DOLLIES: Final = "dollies under the other axle"


@dataclass(frozen=True, slots=True)
class Lifter:
    """A truck with a wheel lift, as it was scaled: weights in lb, lengths in inches.

    Attributes
    ----------
    front_lb, rear_lb : int
        Axle weights on the scale ticket, 1,000 to 60,000.
    gawr_rear_lb, gvwr_lb : int
        Ratings, 2,000 to 80,000.
    wheelbase_in, reach_in : int
        Front axle to the middle of the rear group, 60 to 400, and from there to the lifted
        wheels, 20 to 300.
    rating_lb : int
        What the lift may lift at this reach, extended, 500 to 60,000.
    tow_lb : int or None
        What the whole vehicle may weigh, 1,000 to 200,000; None is not known.
    """

    front_lb: int
    rear_lb: int
    gawr_rear_lb: int
    gvwr_lb: int
    wheelbase_in: int
    reach_in: int
    rating_lb: int
    tow_lb: int | None = None

    def __post_init__(self) -> None:
        for name, low, high in (
            ("front_lb", 1_000, 60_000),
            ("rear_lb", 1_000, 60_000),
            ("gawr_rear_lb", 2_000, 80_000),
            ("gvwr_lb", 2_000, 80_000),
            ("wheelbase_in", 60, 400),
            ("reach_in", 20, 300),
            ("rating_lb", 500, 60_000),
            ("tow_lb", 1_000, 200_000),
        ):
            value = getattr(self, name)
            if value is not None:
                require_whole(f"wrecker {name}", value, low, high, name.rsplit("_", 1)[1])

    @property
    def capacity(self) -> Fraction:
        """What may hang so that half of the scaled front weight stays on the front axle [lb]."""
        wheelbase, reach = Fraction(self.wheelbase_in), Fraction(self.reach_in)
        return lift_capacity(Fraction(self.front_lb), wheelbase, reach, FRONT_KEPT_PCT)


def lift(truck: Lifter, load: Load, dolly_lb: int | None = None) -> Result:
    """Return what hangs on the lift and what rolls behind it, each held against its limits.

    The high weight at the worst share for each: ``hung = W x share``, rear axle
    ``empty + hung (WB + reach) / WB``, gross ``empty + hung``.

    Parameters
    ----------
    truck : Lifter
        The truck as scaled.
    load : Load
        The vehicle; `nose_first` lifts its front axle.
    dolly_lb : int or None
        Rating of the dollies under the axle that is not lifted, 0 to 30,000 lb, 0 for a set that
        is overdue; None without dollies: that axle rolls on its own wheels.

    Raises
    ------
    OutOfRangeError
        If a number is out of range.

    Notes
    -----
    Source: moments about the axles; the half kept is a trade standard. Which axle brakes, and
    whether it may roll at all, is not reckoned: the dollies go under the axle that brakes.

    Examples
    --------
    5,000 lb with 52 to 60 percent in front, front lifted: 3,000 lb hang, up to 2,400 roll.

    >>> wrecker = Lifter(8600, 11_700, 22_000, 33_000, 190, 84, 9000, 20_000)
    >>> vehicle = Load(5000, 5000, 520, 550, 600, 114, 36, 38, nose_first=True)
    >>> found = lift(wrecker, vehicle, dolly_lb=4600)
    >>> found.amount("hung"), found.amount("rolling"), found.is_over
    (3000, 2400, False)
    """
    if dolly_lb is not None:
        require_whole("dolly rating", dolly_lb, 0, 30_000, "lb")
    ends = [load.near_pm(pm) for pm in (load.share_low_pm, load.share_high_pm)]
    hung = Fraction(load.high_lb * max(ends), 1000)
    rolling = Fraction(load.high_lb * (1000 - min(ends)), 1000)
    rear = truck.rear_lb + hung * (truck.wheelbase_in + truck.reach_in) / truck.wheelbase_in
    amounts = {"hung": up(hung), "rolling": up(rolling), "capacity": down(truck.capacity)}
    return Result(
        "lift",
        tuple(_inputs(truck, load, dolly_lb)),
        tuple(Amount(name, value, "lb") for name, value in amounts.items()),
        tuple(_held(truck, load, (hung, rolling, rear), dolly_lb)),
        tuple(_steps(truck, load, (hung, rolling, rear), (max(ends), min(ends)))),
        f"{STATICS}, {KEPT_SOURCE}",
    )


def _inputs(truck: Lifter, load: Load, dolly_lb: int | None) -> Iterator[tuple[str, int | str]]:
    """Yield what went in by name; what is not known is left out."""
    yield "high_lb", load.high_lb
    yield "lifted_end", "front" if load.nose_first else "rear"
    yield "share_low_pm", load.share_low_pm
    yield "share_high_pm", load.share_high_pm
    for one in fields(truck):
        if getattr(truck, one.name) is not None:
            yield f"truck_{one.name}", getattr(truck, one.name)
    if dolly_lb is not None:
        yield "dolly_lb", dolly_lb


def _held(
    truck: Lifter, load: Load, on: tuple[Fraction, Fraction, Fraction], dolly_lb: int | None
) -> Iterator[Held]:
    hung, rolling, rear = on
    yield Held(KEPT, up(hung), down(truck.capacity), "lb", KEPT_SOURCE)
    yield Held(LIFT, up(hung), truck.rating_lb, "lb", CARD)
    if truck.tow_lb is not None:
        yield Held(TOW, load.high_lb, truck.tow_lb, "lb", CARD)
    yield Held(REAR, up(rear), truck.gawr_rear_lb, "lb", CARD)
    yield Held(GROSS, up(truck.front_lb + truck.rear_lb + hung), truck.gvwr_lb, "lb", CARD)
    if dolly_lb is not None:
        yield Held(DOLLIES, up(rolling), dolly_lb, "lb", "gear card")


def _steps(
    truck: Lifter,
    load: Load,
    on: tuple[Fraction, Fraction, Fraction],
    shares: tuple[int, int],
) -> Iterator[Step]:
    hung, rolling, rear = on
    most, least = shares
    of = {"weight_lb": load.high_lb}
    at = {"wheelbase_in": truck.wheelbase_in, "reach_in": truck.reach_in}
    yield step("hung", of | {"share_pm": most}, hung, "lb", DEFINITION)
    yield step("rolling", of | {"share_pm": least}, rolling, "lb", DEFINITION)
    kept = {"front_lb": truck.front_lb, "may_go_pct": 100 - FRONT_KEPT_PCT}
    yield step("capacity", kept | at, truck.capacity, "lb", KEPT_SOURCE)
    on_rear: dict[str, int | Fraction] = {"rear_lb": truck.rear_lb, "hung_lb": hung}
    yield step("rear", on_rear | at, rear, "lb", STATICS)
    own = truck.front_lb + truck.rear_lb
    yield step("gross", {"own_lb": own, "hung_lb": hung}, own + hung, "lb", DEFINITION)

"""Wheel lift and dollies: weight on the lift, weight rolling behind, weight left on the front.

How far the front may be lightened is a trade standard, not law: half of the scaled weight. A
vehicle is picked up with the lift extended, so that end decides whether it may go up. Retracted,
the lever is shorter and the rating not lower, so every limit here is farther away; that end counts
only once the lift is retracted.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from fractions import Fraction
from typing import Any, Final

from flows.errors import OutOfRangeError, require_whole
from flows.figures.deck import FRONT_KEPT_PCT, Load
from flows.figures.dollies import Dollies
from flows.figures.limits import CARD, GROSS, KEPT_SOURCE, LIFT, REAR, TOW
from flows.figures.result import DEFINITION, Amount, Check, Result, Step, down, step, up
from flows.figures.statics import lift_capacity

STATICS: Final = "statics, moments about the axles"
KEPT: Final = "lift for the front axle share kept"
EXTENDED: Final = ""
RETRACTED: Final = "retracted"


@dataclass(frozen=True, slots=True)
class Arm:
    """The arm of a wheel lift at one end of its travel.

    Attributes
    ----------
    reach_in : int
        Middle of the rear group to the lifted wheels, 20 to 300.
    rating_lb : int
        Most the lift may lift there, 500 to 60,000.
    """

    reach_in: int
    rating_lb: int

    def __post_init__(self) -> None:
        require_whole("arm reach_in", self.reach_in, 20, 300, "in")
        require_whole("arm rating_lb", self.rating_lb, 500, 60_000, "lb")

    def check_drawn_in(self, extended: "Arm") -> None:
        """Refuse a retracted arm that reaches as far as the extended arm, or is rated lower.

        Raises
        ------
        OutOfRangeError
            Naming the field as on a card.
        """
        if self.reach_in >= extended.reach_in:
            allowed = f"less than {extended.reach_in} inches, the reach extended"
            raise OutOfRangeError("retracted.reach_in", self.reach_in, allowed)
        if self.rating_lb < extended.rating_lb:
            allowed = f"at least {extended.rating_lb} pounds, the rating extended"
            raise OutOfRangeError("retracted.rating_lb", self.rating_lb, allowed)


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
        Most the lift may lift at this reach, extended, 500 to 60,000.
    tow_lb : int or None
        Most the whole vehicle may weigh, 1,000 to 200,000; None if not known.
    retracted : Arm or None
        The lift retracted: a shorter reach, and a rating that is not lower; None if not known.
        Nobody rates a lift between its two ends, so nothing is computed between them.
    """

    front_lb: int
    rear_lb: int
    gawr_rear_lb: int
    gvwr_lb: int
    wheelbase_in: int
    reach_in: int
    rating_lb: int
    tow_lb: int | None = None
    retracted: Arm | None = None

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
        if self.retracted is not None:
            self.retracted.check_drawn_in(Arm(self.reach_in, self.rating_lb))

    @property
    def arms(self) -> Mapping[str, Arm]:
        """The rated ends of the lift's travel, `EXTENDED` first."""
        extended = {EXTENDED: Arm(self.reach_in, self.rating_lb)}
        return extended if self.retracted is None else extended | {RETRACTED: self.retracted}

    @property
    def capacity(self) -> Fraction:
        """Most that may hang extended so that half of the scaled front weight stays [lb]."""
        return self.capacity_at(self.reach_in)

    def capacity_at(self, reach_in: int) -> Fraction:
        """Return the most that may hang at a reach so that half of the scaled front stays [lb].

        Examples
        --------
        4,300 lb may go: x 190 / 84 extended, x 190 / 60 retracted.

        >>> wrecker = Lifter(8600, 11_700, 22_000, 33_000, 190, 84, 9000)
        >>> [int(wrecker.capacity_at(reach)) for reach in (84, 60)]
        [9726, 13616]
        """
        wheelbase, reach = Fraction(self.wheelbase_in), Fraction(reach_in)
        return lift_capacity(Fraction(self.front_lb), wheelbase, reach, FRONT_KEPT_PCT)

    def rear_at(self, reach_in: int, hung: Fraction) -> Fraction:
        """Return the weight on the rear axle with a load hung at a reach [lb].

        ``rear + hung (WB + reach) / WB``.

        Examples
        --------
        11,700 lb and 3,800 hung: x 274 / 190 extended, x 250 / 190 retracted.

        >>> wrecker = Lifter(8600, 11_700, 22_000, 33_000, 190, 84, 9000)
        >>> [int(wrecker.rear_at(reach, Fraction(3800))) for reach in (84, 60)]
        [17180, 16700]
        """
        return self.rear_lb + hung * (self.wheelbase_in + reach_in) / self.wheelbase_in


def lift(truck: Lifter, load: Load, dollies: Dollies | None = None) -> Result:
    """Return the weights on the lift and rolling behind, each checked against its limits.

    The high weight at the worst share for each: ``hung = W x share``, rear axle
    ``empty + hung (WB + reach) / WB``, gross ``empty + hung``. At both ends of the lift's travel
    if both are rated: it goes up extended, so every limit has to hold there; the checks named
    retracted count once it is retracted.

    Parameters
    ----------
    truck : Lifter
        The truck as scaled.
    load : Load
        The vehicle; `nose_first` lifts its front axle.
    dollies : Dollies or None
        Under the axle that is not lifted; None if it rolls on its own wheels.

    Raises
    ------
    OutOfRangeError
        If a number is out of range.

    Notes
    -----
    Source: moments about the axles; the half kept is a trade standard. Which axle brakes,
    and whether it may roll at all, is not part of the figure: the dollies go under the axle that
    brakes. Nor is anything between the two ends: a card gives two points, not a curve.

    Examples
    --------
    5,000 lb with 52 to 60 percent in front, front lifted: 3,000 lb hang, up to 2,400 roll.

    >>> wrecker = Lifter(8600, 11_700, 22_000, 33_000, 190, 84, 9000, 20_000)
    >>> vehicle = Load(5000, 5000, 520, 550, 600, 114, 36, 38, nose_first=True)
    >>> found = lift(wrecker, vehicle, Dollies(4600))
    >>> found.amount("hung"), found.amount("rolling"), found.is_over
    (3000, 2400, False)
    """
    ends = [load.near_pm(pm) for pm in (load.share_low_pm, load.share_high_pm)]
    hung = Fraction(load.high_lb * max(ends), 1000)
    rolling = Fraction(load.high_lb * (1000 - min(ends)), 1000)
    amounts = {"hung": up(hung), "rolling": up(rolling), "capacity": down(truck.capacity)}
    checks = (*_checks(truck, load, hung), *(dollies.checks(rolling) if dollies else ()))
    worked = (*_shares(load, hung, rolling, ends), *_steps(truck, hung))
    return Result(
        "lift",
        tuple(_inputs(truck, load, dollies)),
        tuple(Amount(name, value, "lb") for name, value in amounts.items()),
        checks,
        (*worked, *(dollies.steps() if dollies else ())),
        f"{STATICS}, {KEPT_SOURCE}",
        ("fits_retracted",) if fits_retracted(checks) else (),
    )


def fits_retracted(checks: Iterable[Check]) -> bool:
    """Tell whether every limit exceeded extended holds retracted. It still may not go up.

    Examples
    --------
    16,000 lb, of which 9,600 hang: 600 too much extended, 2,400 to spare retracted. It may not go
    up; and one pound more than its tow rating is too much at every reach.

    >>> from dataclasses import replace
    >>> wrecker = Lifter(8600, 11_700, 26_000, 33_000, 190, 84, 9000, 16_000, Arm(60, 12_000))
    >>> vehicle = Load(16_000, 16_000, 520, 550, 600, 114, 36, 38, nose_first=True)
    >>> found = lift(wrecker, vehicle)
    >>> {one.name: one.left for one in found.checks if one.name.startswith(LIFT)}
    {'wheel lift rating': -600, 'wheel lift rating, retracted': 2400}
    >>> found.is_over, found.notes
    (True, ('fits_retracted',))
    >>> lift(replace(wrecker, tow_lb=15_999), vehicle).notes
    ()
    """
    names = {one.name: one.left < 0 for one in checks}
    over = [name for name, is_over in names.items() if is_over]
    # A limit exceeded at both ends, or the same at both, is no better retracted.
    return bool(over) and all(at_end(name, RETRACTED) in names for name in over)


def at_end(name: str, end: str, join: str = ", ") -> str:
    """Name a limit or a formula at an end of the travel; extended it has its plain name.

    Examples
    --------
    >>> at_end(REAR, EXTENDED), at_end(REAR, RETRACTED)
    ('rear axle', 'rear axle, retracted')
    """
    return join.join(filter(None, (name, end)))


def _inputs(truck: Lifter, load: Load, dollies: Dollies | None) -> Iterator[tuple[str, int | str]]:
    """Yield the inputs by name; unknown inputs are left out."""
    yield "high_lb", load.high_lb
    yield "lifted_end", "front" if load.nose_first else "rear"
    yield "share_low_pm", load.share_low_pm
    yield "share_high_pm", load.share_high_pm
    yield from _numbers("truck", truck)
    yield from _numbers("dolly", dollies)


def _numbers(name: str, value: Any) -> Iterator[tuple[str, int]]:  # noqa: ANN401  of any field
    """Yield the numbers of a dataclass and of its parts, named by their path."""
    if is_dataclass(value):
        for one in fields(value):
            yield from _numbers(f"{name}_{one.name}", getattr(value, one.name))
    elif value is not None:
        yield name, value


def _checks(truck: Lifter, load: Load, hung: Fraction) -> Iterator[Check]:
    for end, arm in truck.arms.items():
        may_hang, rear = truck.capacity_at(arm.reach_in), truck.rear_at(arm.reach_in, hung)
        yield Check(at_end(KEPT, end), up(hung), down(may_hang), "lb", KEPT_SOURCE)
        yield Check(at_end(LIFT, end), up(hung), arm.rating_lb, "lb", CARD)
        yield Check(at_end(REAR, end), up(rear), truck.gawr_rear_lb, "lb", CARD)
    if truck.tow_lb is not None:
        yield Check(TOW, load.high_lb, truck.tow_lb, "lb", CARD)
    yield Check(GROSS, up(truck.front_lb + truck.rear_lb + hung), truck.gvwr_lb, "lb", CARD)


def _shares(load: Load, hung: Fraction, rolling: Fraction, ends: list[int]) -> Iterator[Step]:
    of = {"weight_lb": load.high_lb}
    yield step("hung", of | {"share_pm": max(ends)}, hung, "lb", DEFINITION)
    yield step("rolling", of | {"share_pm": min(ends)}, rolling, "lb", DEFINITION)


def _steps(truck: Lifter, hung: Fraction) -> Iterator[Step]:
    kept = {"front_lb": truck.front_lb, "may_go_pct": 100 - FRONT_KEPT_PCT}
    on_rear: dict[str, int | Fraction] = {"rear_lb": truck.rear_lb, "hung_lb": hung}
    for end, arm in truck.arms.items():
        at = {"wheelbase_in": truck.wheelbase_in, "reach_in": arm.reach_in}
        may_hang, rear = truck.capacity_at(arm.reach_in), truck.rear_at(arm.reach_in, hung)
        yield step(at_end("capacity", end, "_"), kept | at, may_hang, "lb", KEPT_SOURCE)
        yield step(at_end("rear", end, "_"), on_rear | at, rear, "lb", STATICS)
    own = truck.front_lb + truck.rear_lb
    yield step("gross", {"own_lb": own, "hung_lb": hung}, own + hung, "lb", DEFINITION)

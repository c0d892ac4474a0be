"""A second solution of the margin, wheel by wheel, and random trucks to hold it against.

Every weight is put where it touches: each axle of the ticket, each piece, each axle of each
vehicle. Front and rear follow from moments about the other one. Whole numbers throughout: weights
in thousandths of a pound, places in half inches.
"""

import random
from collections.abc import Iterator
from dataclasses import dataclass, fields, replace
from decimal import ROUND_HALF_DOWN, Decimal
from fractions import Fraction
from itertools import product
from typing import Any

import numpy as np

from flows.figures.legal import FEDERAL, Legal
from flows.figures.margin import Load, Margin, Piece, Truck, WheelLift, margin
from flows.figures.units import quantity

Corner = tuple[int, int, int, int]


@dataclass(frozen=True)
class Case:
    """A question: truck, vehicle on the deck, vehicle on the lift, law."""

    truck: Truck
    load: Load
    lifted: Load | None = None
    legal: Legal = FEDERAL

    def answer(self, pct: int = 95) -> Margin:
        return margin(self.truck, self.load, pct, lifted=self.lifted, legal=self.legal)

    @property
    def room(self) -> int:
        """Last place of its nearest end: the far wheels ahead of the strap room at the tail."""
        near = self.load.front_overhang_in if self.load.nose_first else self.load.rear_overhang_in
        last_wheel = near + self.load.wheelbase_in
        return self.truck.deck_length_in - self.truck.wheel_room_in - last_wheel

    @property
    def first(self) -> int:
        """First place: touching the headboard, the near wheels behind the strap room there."""
        near = self.load.front_overhang_in if self.load.nose_first else self.load.rear_overhang_in
        return next(at for at in range(100) if near + at >= self.truck.wheel_room_in)


def axle_pair(load: Load, weight: int, share: int) -> tuple[int, int]:
    """Axle toward the truck and the other one, in thousandths of a pound."""
    front, rear = weight * share, weight * (1000 - share)
    return (front, rear) if load.nose_first else (rear, front)


def touching(case: Case, corner: Corner, halves: Any) -> Iterator[tuple[int, Any]]:
    """Every weight [lb/1000] with its place behind the front axle [in/2], the deck moved."""
    truck, load = case.truck, case.load
    yield 1000 * truck.empty_front_lb, 0
    yield 1000 * truck.empty_rear_lb, 2 * truck.wheelbase_in
    for piece in truck.aboard:
        if not piece.on_ticket:
            yield 1000 * piece.weight_lb, 2 * piece.at_in
    near, far = axle_pair(load, corner[0], corner[1])
    overhang = load.front_overhang_in if load.nose_first else load.rear_overhang_in
    at = 2 * (truck.headboard_in + overhang) + halves
    yield near, at
    yield far, at + 2 * load.wheelbase_in
    if case.lifted is not None:
        assert truck.lift is not None
        yield axle_pair(case.lifted, corner[2], corner[3])[0], 2 * truck.lift.at_in


def axle_loads(case: Case, corner: Corner, halves: Any) -> tuple[Any, Any, Any]:
    """Front and rear in parts, and how many parts make a pound: moments about each axle."""
    base = 2 * case.truck.wheelbase_in
    all_of_it = list(touching(case, corner, halves))
    rear = sum(weight * at for weight, at in all_of_it)
    front = sum(weight * (base - at) for weight, at in all_of_it)
    return front, rear, 1000 * base


def bridge(axles: int, inches: int) -> int:
    """500 (LN/(N-1) + 12N + 36), to the nearest 500, an exact half down, in decimals."""
    if inches <= 96:
        return 34_000
    feet = Decimal(inches // 12)
    raw = feet * axles / (axles - 1) + 12 * axles + 36
    return int(raw.quantize(Decimal(1), ROUND_HALF_DOWN)) * 500


def bounds(case: Case, corner: Corner, halves: Any) -> dict[str, tuple[Any, int, Any]]:
    """Each limit in pounds: load in parts, bound in lb, parts."""
    truck, legal = case.truck, case.legal
    front, rear, parts = axle_loads(case, corner, halves)
    hung = axle_pair(case.lifted, corner[2], corner[3])[0] * parts // 1000 if case.lifted else 0
    rolling = corner[2] * parts - hung
    gross = front + rear
    off = truck.empty_front_lb * parts - front
    kept = (truck.front_scaled_lb or truck.empty_front_lb) * (100 - truck.front_kept_pct) // 100
    found: dict[str, tuple[Any, int | None]] = {
        "front axle": (front, truck.gawr_front_lb),
        "rear axle": (rear, truck.gawr_rear_lb),
        "gross weight": (gross, truck.gvwr_lb),
        "front tyres": (front, truck.front_tyres_lb),
        "rear tyres": (rear, truck.rear_tyres_lb),
        "front axle share kept": (off, kept),
    }
    if case.lifted is not None and truck.lift is not None:
        found["wheel lift rating"] = hung + 0 * gross, truck.lift.rating_lb
        found["wheel lift tow rating"] = corner[2] * parts + 0 * gross, truck.lift.tow_lb
        found["combination weight"] = gross + rolling, truck.gcwr_lb
    disabled = case.load.high_lb + (case.lifted.high_lb if case.lifted else 0)
    own = truck.empty_front_lb + truck.empty_rear_lb
    own += sum(one.weight_lb for one in truck.aboard if not one.on_ticket)
    if not (legal.recovery and own >= disabled):
        found["legal front axle"] = front, legal.single_lb
        found["legal gross"] = gross + rolling, legal.gross_lb
        half = truck.tandem_spacing_in // 2
        if truck.rear_axles == 2:
            found["legal tandem"] = rear, legal.tandem_lb
            found["inner bridge"] = (
                front + rear / 2,
                bridge(2, truck.wheelbase_in - truck.tandem_spacing_in + half),
            )
        else:
            found["legal rear axle"] = rear, legal.single_lb
        found["bridge formula"] = gross, bridge(1 + truck.rear_axles, truck.wheelbase_in + half)
    return {
        name: (load, bound, parts) for name, (load, bound) in found.items() if bound is not None
    }


def is_long_or_high(case: Case, halves: Any) -> Any:
    """Whether truck and vehicle are longer or higher than the law allows; at each position."""
    truck, load, legal = case.truck, case.load, case.legal
    bad = np.zeros(np.shape(halves), dtype=bool)
    known = (legal.height_in, truck.deck_height_in, load.height_in)
    if None not in known:
        tops = (truck.deck_height_in + load.height_in, truck.height_in or 0)  # type: ignore[operator]
        bad |= max(tops) > legal.height_in  # type: ignore[operator]
    if None in (legal.length_in, truck.front_end_in, truck.rear_end_in):
        return bad
    assert truck.front_end_in is not None
    assert truck.rear_end_in is not None
    assert legal.length_in is not None
    room = 2 * (legal.length_in - truck.front_end_in)
    long = load.front_overhang_in + load.wheelbase_in + load.rear_overhang_in
    bad |= (2 * (truck.headboard_in + long) + halves) > room
    bad |= 2 * truck.rear_end_in > room
    if case.lifted is not None and truck.lift is not None:
        other = case.lifted
        last = other.rear_overhang_in if other.nose_first else other.front_overhang_in
        bad |= 2 * (truck.lift.at_in + other.wheelbase_in + last) > room
    return bad


def corners(case: Case) -> list[Corner]:
    """Every end of every range."""
    ends = [(case.load.likely_lb, case.load.high_lb)]
    ends.append((case.load.share_low_pm, case.load.share_high_pm))
    other = case.lifted
    ends.append((other.likely_lb, other.high_lb) if other else (0,))  # type: ignore[arg-type]
    ends.append((other.share_low_pm, other.share_high_pm) if other else (0,))  # type: ignore[arg-type]
    return list(product(*(dict.fromkeys(one) for one in ends)))  # type: ignore[arg-type]


def middle(case: Case) -> list[Corner]:
    other = case.lifted
    towed = (other.likely_lb, other.share_mid_pm) if other else (0, 0)
    return [(case.load.likely_lb, case.load.share_mid_pm, *towed)]


def sweep(case: Case, these: list[Corner], pct: int) -> list[Fraction]:
    """Every half inch at which no corner is over `pct` percent of a limit."""
    halves = np.arange(2 * case.first, 2 * case.room + 1, dtype=np.int64)
    good = ~is_long_or_high(case, halves)
    for corner in these:
        for load, bound, parts in bounds(case, corner, halves).values():
            good &= 100 * load <= pct * bound * parts
    return [Fraction(int(half), 2) for half in halves[good]]


def is_possible(case: Case) -> bool:
    """Whether any position suits the middle of the ranges: exact, lines through two points."""
    if case.room < case.first or sweep_is_long(case):
        return False
    [corner] = middle(case)
    first, last = Fraction(case.first), Fraction(longest_room(case))
    at_0, at_1 = bounds(case, corner, 0), bounds(case, corner, 2)
    for name, (load, bound, parts) in at_0.items():
        here = Fraction(load) / parts
        step = Fraction(at_1[name][0]) / parts - here
        if step == 0 and here > bound:
            return False
        if step > 0:
            last = min(last, (bound - here) / step)
        if step < 0:
            first = max(first, (bound - here) / step)
    return first <= last


def sweep_is_long(case: Case) -> bool:
    """Too long or too high even at the first place."""
    return bool(is_long_or_high(case, np.array([2 * case.first]))[0])


def longest_room(case: Case) -> int:
    inches = np.arange(case.first, case.room + 1, dtype=np.int64)
    return int(inches[~is_long_or_high(case, 2 * inches)][-1])


def second_verdict(case: Case, pct: int = 95) -> str:
    if any(at.denominator == 1 for at in sweep(case, corners(case), pct)):
        return "go"
    return "close" if is_possible(case) else "no-go"


# Random trucks, some of them with everything


def some_truck(rng: random.Random) -> Truck:
    front, rear = rng.randint(4500, 9500), rng.randint(6500, 12000)
    axle_front, axle_rear = front + rng.randint(200, 4000), rear + rng.randint(2000, 9000)
    return Truck(
        empty_front_lb=front,
        empty_rear_lb=rear,
        gvwr_lb=rng.randint(front + rear + 2000, axle_front + axle_rear + 500),
        gawr_front_lb=axle_front,
        gawr_rear_lb=axle_rear,
        wheelbase_in=rng.randint(150, 270),
        headboard_in=rng.randint(10, 100),
        deck_length_in=rng.randint(150, 330),
    )


def some_load(rng: random.Random) -> Load:
    likely = rng.randint(2000, 8500)
    low, mid, high = sorted(rng.randint(380, 650) for _ in range(3))
    return Load(
        likely_lb=likely,
        high_lb=likely * rng.randint(100, 125) // 100,
        share_low_pm=low,
        share_mid_pm=mid,
        share_high_pm=high,
        wheelbase_in=rng.randint(90, 170),
        front_overhang_in=rng.randint(25, 45),
        rear_overhang_in=rng.randint(25, 60),
        nose_first=rng.random() < 0.5,
        height_in=rng.choice((None, rng.randint(50, 90))),
    )


def some_piece(rng: random.Random, number: int) -> Piece:
    weight = rng.choice((-1, 1, 1, 1)) * rng.randint(20, 600)
    return Piece(
        f"piece {number}",
        weight,
        rng.randint(-20, 300),
        on_ticket=weight > 0 and rng.random() < 0.3,
        person=rng.random() < 0.2,
    )


def some_case(rng: random.Random) -> Case:
    """A truck with any of: tandem, pieces aboard, tyres, wheel lift with a vehicle, sizes, law."""
    truck = some_truck(rng)
    if rng.random() < 0.35:
        truck = replace(
            truck,
            rear_axles=2,
            tandem_spacing_in=rng.randint(48, 60),
            gawr_rear_lb=truck.gawr_rear_lb * 3 // 2,
            gvwr_lb=truck.gvwr_lb * 5 // 4,
        )
    lifts = rng.random() < 0.3
    truck = replace(
        truck,
        aboard=tuple(some_piece(rng, number) for number in range(rng.choice((0, 0, 1, 3)))),
        front_tyres_lb=rng.choice((None, truck.gawr_front_lb + rng.randint(-600, 900))),
        rear_tyres_lb=rng.choice((None, truck.gawr_rear_lb + rng.randint(-900, 900))),
        deck_height_in=rng.choice((None, rng.randint(36, 48))),
        height_in=rng.choice((None, rng.randint(90, 125))),
        wheel_room_in=rng.choice((0, 20, 20, 38)),
        front_end_in=rng.choice((None, rng.randint(28, 44))),
        rear_end_in=truck.headboard_in + truck.deck_length_in + rng.randint(0, 12),
        front_kept_pct=rng.choice((50, 50, 0, 65)),
        lift=some_lift(rng, truck) if lifts else None,
        gcwr_lb=rng.choice((None, rng.randint(28_000, 50_000))),
    )
    return Case(truck, some_load(rng), some_lifted(rng) if lifts else None, some_law(rng))


def some_lift(rng: random.Random, truck: Truck) -> WheelLift:
    at = truck.wheelbase_in + rng.randint(60, 130)
    return WheelLift(at, rng.randint(2500, 6000), rng.choice((None, rng.randint(5000, 9000))))


def some_lifted(rng: random.Random) -> Load:
    likely = rng.randint(2000, 4500)
    return replace(some_load(rng), likely_lb=likely, high_lb=likely + rng.randint(0, 500))


def some_law(rng: random.Random) -> Legal:
    return Legal(
        single_lb=rng.choice((20_000, 20_000, 18_000)),
        height_in=rng.choice((None, rng.randint(100, 162))),
        length_in=rng.choice((None, rng.randint(360, 540))),
        recovery=rng.random() < 0.3,
    )


def random_cases(count: int, seed: int = 20_260_301) -> list[Case]:
    rng = random.Random(seed)  # noqa: S311
    plain = (Case(some_truck(rng), some_load(rng)) for _ in range(count // 2))
    return [*plain, *(some_case(rng) for _ in range(count - count // 2))]


# The same in other units

POUNDS: dict[str, Any] = {"lb": ("pound", 1), "in": ("inch", 1), "pm": ("permille", 1)}
METRIC: dict[str, Any] = {
    "lb": ("kilogram", Fraction(45_359_237, 100_000_000)),  # exact by definition
    "in": ("centimeter", Fraction(254, 100)),
    "pm": ("percent", Fraction(1, 10)),
}


def in_units(thing: Any, units: dict[str, Any]) -> dict[str, Any]:
    """The fields of a truck, vehicle, piece or wheel lift as quantities, what is not known left
    out."""
    found: dict[str, Any] = {}
    for f in fields(thing):
        value = getattr(thing, f.name)
        stem, _, kind = f.name.rpartition("_")
        if f.name == "aboard":
            found["aboard"] = tuple(in_units(one, units) for one in value)
        elif isinstance(value, WheelLift):
            found[f.name] = in_units(value, units)
        elif value is not None and kind in units:
            found[stem] = quantity(value * units[kind][1], units[kind][0])
        elif value is not None:
            found[f.name] = value
    return found

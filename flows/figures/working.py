"""The working of a margin: each formula by name, its inputs, its result and its source.

Data only: a table or a page of steps is rendered from it, with words from `flows/texts/`. The
steps are computed again, in exact fractions, from the inputs that the margin keeps.
"""

from collections.abc import Iterator
from fractions import Fraction
from typing import Final

from flows.figures import limits as names
from flows.figures.loads import Corner, worst_corners
from flows.figures.margin import LimitMargin, Margin
from flows.figures.result import DEFINITION, Step, step, used_step
from flows.figures.statics import split
from flows.figures.steps import STATICS, Worked, bound_steps, measured

# The steps that lead to the load of each limit; the last is the load itself.
_AXLE_STEPS: Final = ("gravity", "hung")
_FRONT_STEPS: Final = (*_AXLE_STEPS, "front_own", "front_of_deck", "front_of_lift", "front")
_REAR_STEPS: Final = (*_AXLE_STEPS, "rear_own", "rear_of_deck", "rear_of_lift", "rear")
_LEADING: Final = {
    names.FRONT: _FRONT_STEPS,
    names.FRONT_TYRES: _FRONT_STEPS,
    names.LEGAL_FRONT: _FRONT_STEPS,
    names.REAR: _REAR_STEPS,
    names.REAR_TYRES: _REAR_STEPS,
    names.LEGAL_REAR: _REAR_STEPS,
    names.LEGAL_TANDEM: _REAR_STEPS,
    names.GROSS: ("hung", "gross"),
    names.BRIDGE: ("hung", "gross"),
    names.INNER_BRIDGE: (*_FRONT_STEPS, *_REAR_STEPS, "first_two"),
    names.FRONT_KEPT: (*_FRONT_STEPS, "off_front"),
    names.LIFT: ("hung",),
    names.TOW: ("towed",),
    names.COMBINATION: ("combination",),
    names.LEGAL_GROSS: ("combination",),
}


def working(m: Margin) -> tuple[Worked, ...]:
    """Return the working of every limit of a margin, weights first, then lengths.

    Examples
    --------
    5,000 lb at x = 88 + 0 + 36 + 57 = 181 in; rear 8,900 + 5,000 x 181 / 199 = 13,447.7 lb, 99.6
    percent of 13,500.

    >>> from flows.figures.margin import Load, Truck, margin
    >>> truck = Truck(5500, 8900, 19500, 7500, 13500, 199, 88, 234)
    >>> m = margin(truck, Load(5000, 5000, 500, 500, 500, 114, 36, 38, nose_first=True))
    >>> for step in working(m)[1].steps:
    ...     print(step.formula, round(float(step.result), 1), step.unit)
    gravity 181.0 in
    rear_own 8900.0 lb
    rear_of_deck 4547.7 lb
    rear 13447.7 lb
    used 99.6 pct
    """
    weights = tuple(_worked(m, limit) for limit in m.limits)
    return (*weights, *(measured(m, one) for one in m.lengths))


def _worked(m: Margin, limit: LimitMargin) -> Worked:
    each = [_steps(m, corner) for corner in worst_corners(m.load, m.lifted)]
    last = _LEADING[limit.name][-1]
    worst = max(each, key=lambda steps: steps[last].result)
    leading = dict.fromkeys(_LEADING[limit.name])
    used = used_step(worst[last].result, Fraction(limit.limit_lb), "lb", limit.source)
    steps = (worst[name] for name in leading if name in worst)
    return Worked(limit.name, (*bound_steps(m, limit.name), *steps, used))


def _steps(m: Margin, corner: Corner) -> dict[str, Step]:
    """Return every step of one corner, by the name of its formula."""
    found: dict[str, Step] = {}
    for one in _each_step(m, corner, found):
        found[one.formula] = one
    return found


def _each_step(m: Margin, corner: Corner, found: dict[str, Step]) -> Iterator[Step]:
    yield from _placed(m, corner)
    yield from _own(m)
    yield from _on_axles(m, corner, found)
    yield from _sums(m, corner, found)


def _placed(m: Margin, corner: Corner) -> Iterator[Step]:
    """Yield the position of the vehicle on the deck, and the load on the lift."""
    load = m.load
    put_in = {
        "headboard_in": m.truck.headboard_in,
        "position_in": m.drawn_in,
        "overhang_in": load.near_overhang_in,
        "wheelbase_in": load.wheelbase_in,
        "near_share_pm": load.near_pm(corner.share_pm),
    }
    at = put_in["headboard_in"] + put_in["position_in"] + put_in["overhang_in"]
    behind = Fraction(load.wheelbase_in * (1000 - put_in["near_share_pm"]), 1000)
    yield step("gravity", put_in, at + behind, "in", STATICS)
    if m.lifted is not None:
        towed = corner.lifted_lb
        near = m.lifted.near_pm(corner.lifted_pm)
        on_lift = {"weight_lb": towed, "near_share_pm": near}
        yield step("hung", on_lift, Fraction(towed * near, 1000), "lb", DEFINITION)
        yield step("towed", {"weight_lb": towed}, Fraction(towed), "lb", DEFINITION)


def _own(m: Margin) -> Iterator[Step]:
    """Yield the truck's own weight on each axle: the ticket, and each piece aboard since."""
    truck = m.truck
    pieces: dict[str, int] = {"wheelbase_in": truck.wheelbase_in} if truck.aboard else {}
    for number, one in enumerate((o for o in truck.aboard if not o.on_ticket), 1):
        pieces |= {f"piece_{number}_lb": one.weight_lb, f"piece_{number}_in": one.at_in}
    front, rear = truck.own_axles
    yield step(
        "front_own", {"empty_front_lb": truck.empty_front_lb} | pieces, front, "lb", STATICS
    )
    yield step("rear_own", {"empty_rear_lb": truck.empty_rear_lb} | pieces, rear, "lb", STATICS)


def _on_axles(m: Margin, corner: Corner, found: dict[str, Step]) -> Iterator[Step]:
    """Yield the load of each vehicle on each axle."""
    weights = {"deck": (Fraction(corner.weight_lb), found["gravity"].result)}
    if m.truck.lift is not None and "hung" in found:
        weights["lift"] = found["hung"].result, Fraction(m.truck.lift.at_in)
    for where, (weight, at) in weights.items():
        base = Fraction(m.truck.wheelbase_in)
        put_in = {"weight_lb": weight, "behind_front_in": at, "wheelbase_in": base}
        for axle, on in zip(("front", "rear"), split(weight, at, base), strict=True):
            yield step(f"{axle}_of_{where}", put_in, on, "lb", STATICS)


def _sums(m: Margin, corner: Corner, found: dict[str, Step]) -> Iterator[Step]:
    """Yield the sums, and the weight taken off the front axle."""
    own = {f"{axle}_own_lb": found[f"{axle}_own"].result for axle in ("front", "rear")}
    deck = {"weight_lb": Fraction(corner.weight_lb)}
    hung = {"hung_lb": found["hung"].result} if "hung" in found else {}
    for axle in ("front", "rear"):
        parts = [f"{axle}_own", f"{axle}_of_deck", f"{axle}_of_lift"]
        yield _sum(axle, {f"{one}_lb": found[one].result for one in parts if one in found})
    yield _sum("gross", own | deck | hung)
    second = {"second_lb": Fraction(corner.lifted_lb)} if "hung" in found else {}
    yield _sum("combination", own | deck | second)
    front, rear = found["front"].result, found["rear"].result
    both = {"front_lb": front, "rear_lb": rear}
    yield step("first_two", both, front + rear / 2, "lb", STATICS)
    scaled = Fraction(m.truck.empty_front_lb)
    off = {"empty_front_lb": scaled, "front_lb": front}
    yield step("off_front", off, scaled - front, "lb", DEFINITION)


def _sum(formula: str, put_in: dict[str, Fraction]) -> Step:
    return step(formula, put_in, sum(put_in.values(), Fraction(0)), "lb", DEFINITION)

"""Steps of a working that lead to a bound or to a length."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from flows.figures import limits as names
from flows.figures.deck import Truck
from flows.figures.legal import bridge_limit
from flows.figures.margin import LengthMargin, Margin
from flows.figures.result import Step, step, used_step
from flows.figures.tyres import TyreSet

STATICS: Final = "statics, moments about the axles"


@dataclass(frozen=True, slots=True)
class Worked:
    """One limit, worked at the corner that loads it most.

    Attributes
    ----------
    name : str
        The limit.
    steps : tuple of Step
        In order: the steps to the bound, if it is computed; the steps to the load; the load, and
        the part of the bound it uses. For a length, each candidate for the longest.
    """

    name: str
    steps: tuple[Step, ...]


def bound_steps(m: Margin, name: str) -> Iterator[Step]:
    """Yield how the bound of a limit was computed; nothing if a card or a law prints it."""
    truck = m.truck
    if name == names.FRONT_TYRES and truck.front_tyre_set is not None:
        yield _tyres("front_tyres", truck.front_tyre_set)
    elif name == names.REAR_TYRES and truck.rear_tyre_set is not None:
        yield _tyres("rear_tyres", truck.rear_tyre_set)
    elif name == names.FRONT_KEPT:
        yield _may_come_off(truck)
    elif name == names.BRIDGE:
        yield _bridge("outer_bridge", *names.outer_bridge(truck), m.legal.source_of("bridge"))
    elif name == names.INNER_BRIDGE:
        yield _bridge("inner_bridge", *names.inner_bridge(truck), m.legal.source_of("bridge"))


def _tyres(formula: str, tyres: TyreSet) -> Step:
    put_in = {"tyres_count": tyres.count, "each_kg": tyres.kg, "load_index": tyres.index}
    return step(formula, put_in, Fraction(tyres.carry_lb), "lb", names.TYRE_SOURCE)


def _may_come_off(truck: Truck) -> Step:
    scaled, may_go = names.scaled_front(truck), 100 - truck.front_kept_pct
    put_in = {"scaled_lb": scaled, "may_go_pct": may_go}
    return step("may_come_off", put_in, Fraction(scaled * may_go, 100), "lb", names.KEPT_SOURCE)


def _bridge(formula: str, axles: int, long_in: int, source: str) -> Step:
    """Return the step of the bridge formula, in whole feet; up to 8 feet it is not used."""
    allowed = Fraction(bridge_limit(axles, long_in))
    if long_in <= 96:
        return step("short_bridge", {"axles_count": axles}, allowed, "lb", source)
    put_in = {"long_ft": long_in // 12, "axles_count": axles, "gaps_count": axles - 1}
    return step(formula, put_in, allowed, "lb", source)


def measured(m: Margin, length: LengthMargin) -> Worked:
    """Return the working of a limit of length or height.

    Examples
    --------
    36 + 114 in of vehicle from the headboard, and 20 in for tyre and strap:

    >>> from flows.figures.margin import Load, Truck, margin
    >>> truck = Truck(5500, 8900, 19500, 7500, 13500, 199, 88, 234)
    >>> m = margin(truck, Load(5000, 5000, 500, 500, 500, 114, 36, 38, nose_first=True))
    >>> [int(one.result) for one in measured(m, m.lengths[0]).steps]
    [170, 72]
    """
    each = {names.DECK_LENGTH: _deck_used, names.HEIGHT: _tops, names.LENGTH: _ends}[length.name]
    used, bound = Fraction(length.used_in), Fraction(length.limit_in)
    return Worked(length.name, (*each(m), used_step(used, bound, "in", length.source)))


def _deck_used(m: Margin) -> Iterator[Step]:
    load = m.load
    put_in = {
        "position_in": m.drawn_in,
        "overhang_in": load.near_overhang_in,
        "wheelbase_in": load.wheelbase_in,
        "room_in": m.truck.wheel_room_in,
    }
    yield _inches("deck_used", put_in, names.DECK_SOURCE)


def _tops(m: Margin) -> Iterator[Step]:
    put_in = {"deck_in": m.truck.deck_height_in or 0, "vehicle_in": m.load.height_in or 0}
    yield _inches("load_top", put_in, names.CARDS)
    if m.truck.height_in is not None:
        yield _inches("truck_top", {"truck_in": m.truck.height_in}, names.CARD)


def _ends(m: Margin) -> Iterator[Step]:
    """Yield the length to each rear end that may be the last, from the front bumper."""
    truck, load, lifted = m.truck, m.load, m.lifted
    ahead = {"front_end_in": truck.front_end_in or 0}
    yield _inches("truck_long", ahead | {"rear_end_in": truck.rear_end_in or 0}, names.CARD)
    behind = {
        "headboard_in": truck.headboard_in,
        "position_in": m.drawn_in,
        "vehicle_in": load.near_overhang_in + load.wheelbase_in + load.far_overhang_in,
    }
    yield _inches("load_long", ahead | behind, names.CARDS)
    if lifted is not None and truck.lift is not None:
        second = {
            "lift_in": truck.lift.at_in,
            "wheelbase_in": lifted.wheelbase_in,
            "overhang_in": lifted.far_overhang_in,
        }
        yield _inches("lift_long", ahead | second, names.CARDS)


def _inches(formula: str, put_in: Mapping[str, int], source: str) -> Step:
    return step(formula, put_in, Fraction(sum(put_in.values())), "in", source)

"""Loading: the lightest that the front axle gets while a vehicle is winched up a tilted deck.

This is a model, since no card gives the joints of the deck. The deck slides back until, at its
tilt, its end is on the ground. It rests on the truck at a single line, the hinge, assumed to be
where the deck ends when it is home: no frame reaches further back. While the weight is behind the
hinge, hinge and ground share it as a beam on two supports; ahead of the hinge, and once the deck
is level, the truck carries all of it. The sliding parts weigh on the truck alone, and positions on
the tilted deck count as on a level deck. Truck and ground are level, brakes hold, and the line's
pull is left out.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import isqrt
from typing import Final

from flows.errors import OutOfRangeError, require_whole
from flows.figures.deck import Load, Truck, first_inch
from flows.figures.limits import scaled_front
from flows.figures.result import DEFINITION, Amount, Check, Result, Step, down, step, up

MODEL: Final = "hinge at the deck's end, statics, moments about the rear axle"
ON_GROUND: Final = "front wheels on the ground"


@dataclass(frozen=True, slots=True)
class Ramp:
    """A deck when it is let down.

    Attributes
    ----------
    tilt_pct : int
        Its grade with its end on the ground, 5 to 60 percent.
    slides_lb : int or None
        Weight that slides back with it, 0 to 20,000 lb, weighed or from its maker; None if not
        known, and then it counts as nothing: the front axle is lighter than the figure says.
    """

    tilt_pct: int
    slides_lb: int | None = None

    def __post_init__(self) -> None:
        require_whole("deck tilt", self.tilt_pct, 5, 60, "percent")
        if self.slides_lb is not None:
            require_whole("what slides with the deck", self.slides_lb, 0, 20_000, "lb")


@dataclass(frozen=True, slots=True)
class _Way:
    """Positions and weights on the way up, in inches behind the front axle and in pounds."""

    slide: Fraction
    hinge: Fraction
    gravity: Fraction
    at_rest: Fraction
    slid: Fraction
    off: Fraction
    placed: Fraction

    @property
    def furthest(self) -> Fraction:
        return max(self.hinge, self.gravity)


def loading(truck: Truck, ramp: Ramp, load: Load, at_in: int) -> Result:
    """Return the least weight on the front axle while a vehicle is winched up.

    At its height h and tilt t the deck slides back ``S = h sqrt(1 + t^2) / t``, up to an inch. The
    weight bears furthest back at ``x = max(H, c + S)``: over the hinge H, or at its position c on
    the deck still slid back. The front axle keeps ``F - D S / WB - W max(x - WB, 0) / WB``, with F
    its weight at rest and D the weight that slides. Until all wheels are up it keeps more: this is
    the minimum of the way up.

    Parameters
    ----------
    truck : Truck
        The carrier with everything aboard; its deck's height known.
    ramp : Ramp
        Tilt of the deck, and the weight that slides with it.
    load : Load
        The vehicle, at its high weight and the share that puts it furthest back.
    at_in : int
        Final position of its nearest end behind the headboard, inches.

    Returns
    -------
    Result
        ``"lightest"`` and ``"placed"``, pounds on the front axle on the way and in place, rounded
        down, no less than 0; ``"share"``, the lightest in percent of the scaled weight.

    Raises
    ------
    OutOfRangeError
        If the position is not on the deck, or the height of the deck is not known.

    Notes
    -----
    Source: statics, moments about the rear axle; the model is our own, described at the top of
    this file. A front axle with little weight cannot hold the truck: brakes and chocks do.

    Examples
    --------
    Deck 38 in high at 30 percent: S = 38 x 1.044 / 0.3 = 132.2, 133 in. H = 88 + 234 = 322 in,
    c = 88 + 36 + 57 = 181, c + S = 314: the hinge counts. 5,400 - 5,000 x (322 - 199) / 199 =
    2,309.5 lb.

    >>> wren = Truck(5400, 8900, 19500, 7500, 13500, 199, 88, 234, deck_height_in=38)
    >>> vehicle = Load(5000, 5000, 500, 500, 500, 114, 36, 38, nose_first=True)
    >>> found = loading(wren, Ramp(30), vehicle, 0)
    >>> found.amount("lightest"), found.amount("share"), found.amount("placed")
    (2309, 42, 5852)

    With 1,900 lb that slide back 133 in, 1,269.8 lb less.

    >>> loading(wren, Ramp(30, 1900), vehicle, 0).amount("lightest")
    1039
    """
    if truck.deck_height_in is None:
        raise OutOfRangeError("truck deck_height_in", "not known", "10 to 80 in, on its card")
    first = first_inch(truck, load)
    require_whole("place behind the headboard", at_in, first, truck.deck_length_in, "in")
    return _found(truck, ramp, load, at_in)


def _found(truck: Truck, ramp: Ramp, load: Load, at_in: int) -> Result:
    way = _way(truck, ramp, load, at_in)
    lightest = way.slid - way.off
    share = 100 * max(lightest, Fraction(0)) / scaled_front(truck)
    return Result(
        "loading",
        tuple(_inputs(truck, ramp, load, at_in)),
        (
            Amount("lightest", max(down(lightest), 0), "lb"),
            Amount("share", down(share), "pct"),
            Amount("placed", max(down(way.placed), 0), "lb"),
        ),
        (Check(ON_GROUND, up(way.at_rest - lightest), down(way.at_rest), "lb", MODEL),),
        tuple(_steps(truck, ramp, load, way)),
        MODEL,
    )


def slide_in(height_in: int, tilt_pct: int) -> int:
    """Return how far a deck slides back until its end is on the ground, inches, rounded up.

    ``h sqrt(1 + t^2) / t``, the long side of the triangle of height and grade.

    Parameters
    ----------
    height_in : int
        Of the deck above the ground, 10 to 80 in.
    tilt_pct : int
        Its grade with its end on the ground, 5 to 60 percent.

    Raises
    ------
    OutOfRangeError
        If a number is out of range.

    Notes
    -----
    Source: definition of a grade, and the sides of a right triangle.

    Examples
    --------
    Height 21 in at 21 over 72, 29.2 percent, has the long side 75; at 29 percent 75.4 in.

    >>> slide_in(21, 29), slide_in(38, 30)
    (76, 133)
    """
    require_whole("deck height", height_in, 10, 80, "in")
    require_whole("deck tilt", tilt_pct, 5, 60, "percent")
    # No whole grade in the range gives a whole long side: it is always a part of an inch more.
    return isqrt(height_in**2 * (100**2 + tilt_pct**2) // tilt_pct**2) + 1


def _way(truck: Truck, ramp: Ramp, load: Load, at_in: int) -> _Way:
    base = truck.wheelbase_in
    slide = Fraction(slide_in(truck.deck_height_in or 0, ramp.tilt_pct))
    shares = load.share_low_pm, load.share_high_pm
    back = Fraction(max(load.gravity_thousandths(pm) for pm in shares), 1000)
    place = truck.headboard_in + at_in + back
    hinge = Fraction(truck.headboard_in + truck.deck_length_in)
    # The ticket's front weight is rounded up for its limits; here its lower bound counts.
    at_rest = truck.own_axles[0] - truck.empty_front_lb + scaled_front(truck)
    behind = max(max(hinge, place + slide) - base, Fraction(0))
    return _Way(
        slide=slide,
        hinge=hinge,
        gravity=place + slide,
        at_rest=at_rest,
        slid=at_rest - (ramp.slides_lb or 0) * slide / base,
        off=load.high_lb * behind / base,
        placed=at_rest + load.high_lb * (base - place) / base,
    )


def _inputs(truck: Truck, ramp: Ramp, load: Load, at_in: int) -> Iterator[tuple[str, int | str]]:
    for name in ("wheelbase_in", "headboard_in", "deck_length_in", "deck_height_in"):
        yield f"truck_{name}", getattr(truck, name)
    yield "deck_tilt_pct", ramp.tilt_pct
    yield "slides_lb", "not known, not counted" if ramp.slides_lb is None else ramp.slides_lb
    yield "high_lb", load.high_lb
    yield "place_in", at_in


def _steps(truck: Truck, ramp: Ramp, load: Load, way: _Way) -> Iterator[Step]:
    base = {"wheelbase_in": truck.wheelbase_in}
    deck = {"headboard_in": truck.headboard_in, "deck_length_in": truck.deck_length_in}
    tilt = {"deck_height_in": truck.deck_height_in or 0, "tilt_pct": ramp.tilt_pct}
    yield step("slide", tilt, way.slide, "in", MODEL)
    yield step("hinge", deck, way.hinge, "in", MODEL)
    place = {"placed_in": way.gravity - way.slide, "slide_in": way.slide}
    yield step("gravity", place, way.gravity, "in", DEFINITION)
    slid: dict[str, int | Fraction] = {"at_rest_lb": way.at_rest, "slide_in": way.slide} | base
    slid["slides_lb"] = ramp.slides_lb or 0
    yield step("slid", slid, way.slid, "lb", MODEL)
    off: dict[str, int | Fraction] = {"weight_lb": load.high_lb, "furthest_in": way.furthest}
    yield step("off", off | base, way.off, "lb", MODEL)
    left = {"slid_lb": way.slid, "off_lb": way.off}
    yield step("lightest", left, way.slid - way.off, "lb", MODEL)
    placed: dict[str, int | Fraction] = {"at_rest_lb": way.at_rest, "weight_lb": load.high_lb}
    placed["placed_in"] = way.gravity - way.slide
    yield step("placed", placed | base, way.placed, "lb", DEFINITION)

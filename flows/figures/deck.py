"""The inputs of a margin: the carrier, its deck and its load, in whole pounds and inches.

Positions on the truck are in inches behind its front axle; ahead of it they are negative.
Positions on the deck are measured backward from the rear face of the headboard.
"""

from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from flows.errors import OutOfRangeError, require_whole
from flows.figures.tyres import TyreSet

_AXLE_LB: Final = (1, 80_000)
# Trade standard, not found in any law: half of the scaled front axle weight stays on that axle.
FRONT_KEPT_PCT: Final = 50
# Our own: how far the middle of a wheel stays from either end of the deck. The tallest tyres of
# light trucks are 33 in high, 17 in to the middle; 3 in are for the fitting of the strap next to
# it.
WHEEL_ROOM_IN: Final = 20


def _require(what: str, thing: object, ranges: dict[str, tuple[int, int]]) -> None:
    """Check the fields of `thing` against their ranges; None passes: it is not known."""
    for name, (low, high) in ranges.items():
        value = getattr(thing, name)
        if value is not None:
            require_whole(f"{what} {name}", value, low, high, name.rsplit("_", 1)[1])


@dataclass(frozen=True, slots=True)
class Piece:
    """Something aboard the truck, or taken off it since it was scaled.

    Attributes
    ----------
    name : str
        Its name, for the record.
    weight_lb : int
        -10,000 to 10,000; negative for something that was on the scale and is no longer aboard.
    at_in : int
        Its centre of gravity behind the front axle, -150 to 600.
    on_ticket : bool
        True if it was on the scale and is still aboard: its weight is in the ticket already, and
        it is listed because it can come off.
    person : bool
        True for the driver and passengers, who do not come off to save weight.
    """

    name: str
    weight_lb: int
    at_in: int
    on_ticket: bool = False
    person: bool = False

    def __post_init__(self) -> None:
        _require("piece", self, {"weight_lb": (-10_000, 10_000), "at_in": (-150, 600)})


@dataclass(frozen=True, slots=True)
class WheelLift:
    """The truck's wheel lift extended, which is how a vehicle is picked up.

    Retracted, the front axle keeps more weight, but never as much as without a vehicle on the
    lift; a margin does not count that end.

    Attributes
    ----------
    at_in : int
        Lifting point behind the front axle, 60 to 600.
    rating_lb : int
        Most it may lift at this reach, 1 to 60,000.
    tow_lb : int or None
        Most the whole vehicle on it may weigh, 1 to 200,000; None if the card does not say.
    """

    at_in: int
    rating_lb: int
    tow_lb: int | None = None

    def __post_init__(self) -> None:
        ranges = {"at_in": (60, 600), "rating_lb": (1, 60_000), "tow_lb": (1, 200_000)}
        _require("wheel lift", self, ranges)


@dataclass(frozen=True, slots=True)
class Truck:
    """A carrier without vehicles on it: weights in lb, lengths in inches.

    The rear group is one axle, or a tandem that shares its load equally.

    Attributes
    ----------
    empty_front_lb, empty_rear_lb : int
        Axle weights on the scale ticket, 100 to 60,000; the rear group together.
    gvwr_lb, gawr_front_lb, gawr_rear_lb : int
        Ratings, 1 to 80,000; the rear group together.
    wheelbase_in : int
        Front axle to the middle of the rear group, 60 to 400.
    headboard_in : int
        Rear face of the headboard behind the front axle, 0 to 400.
    deck_length_in : int
        Headboard to deck end, 1 to 480.
    rear_axles : int
        1 or 2.
    tandem_spacing_in : int
        Between the axles of a tandem, 41 to 96; 0 with one rear axle.
    aboard : tuple of Piece
        Differences from the ticket: gear, driver, passengers, things taken off; and gear that was
        on the scale, marked so.
    front_tyres_lb, rear_tyres_lb : int or None
        Most that the tyres of the front axle and of the rear group carry together, 1 to 120,000,
        from `flows.figures.tyres`; None if not known.
    front_tyre_set, rear_tyre_set : TyreSet or None
        The tyres that add up to this, for the working; None if not known.
    gcwr_lb : int or None
        Rating of the truck together with its tow, 1 to 200,000.
    deck_height_in, height_in : int or None
        Ground to deck, 10 to 80; ground to the truck's own highest point, 36 to 200.
    front_end_in : int or None
        Front bumper ahead of the front axle, 0 to 100.
    rear_end_in : int or None
        Rear end of the truck behind the front axle, 60 to 700.
    lift : WheelLift or None
        The wheel lift, if it has one.
    front_kept_pct : int
        Part of the scaled front axle weight that has to stay on the front axle, 0 to 90; 50 by
        trade standard, not law.
    front_scaled_lb : int or None
        The front axle weight from which this part is computed, if it differs from
        `empty_front_lb`: that is rounded up, this down.
    wheel_room_in : int
        How far the middle of a wheel stays from either end of the deck, 0 to 60; our own.
    """

    empty_front_lb: int
    empty_rear_lb: int
    gvwr_lb: int
    gawr_front_lb: int
    gawr_rear_lb: int
    wheelbase_in: int
    headboard_in: int
    deck_length_in: int
    rear_axles: int = 1
    tandem_spacing_in: int = 0
    aboard: tuple[Piece, ...] = ()
    front_tyres_lb: int | None = None
    rear_tyres_lb: int | None = None
    front_tyre_set: TyreSet | None = None
    rear_tyre_set: TyreSet | None = None
    gcwr_lb: int | None = None
    deck_height_in: int | None = None
    height_in: int | None = None
    front_end_in: int | None = None
    rear_end_in: int | None = None
    lift: WheelLift | None = None
    front_kept_pct: int = FRONT_KEPT_PCT
    front_scaled_lb: int | None = None
    wheel_room_in: int = WHEEL_ROOM_IN

    def __post_init__(self) -> None:
        _require("truck", self, _TRUCK)
        for end in ("front", "rear"):
            tyres, carried = getattr(self, f"{end}_tyre_set"), getattr(self, f"{end}_tyres_lb")
            if tyres is not None and tyres.carry_lb != carried:
                allowed = f"{tyres.carry_lb} lb, what they carry together"
                raise OutOfRangeError(f"truck {end}_tyres_lb", carried, allowed)
        require_whole("truck rear_axles", self.rear_axles, 1, 2, "axles")
        spacing = (41, 96) if self.rear_axles == 2 else (0, 0)
        _require("truck", self, {"tandem_spacing_in": spacing})
        if not 0 < self.own_moment < self.own_lb * self.wheelbase_in:
            raise OutOfRangeError(
                "truck aboard",
                ", ".join(f"{one.name} {one.weight_lb} lb" for one in self.aboard),
                "pieces that leave weight on both axles",
            )

    @property
    def own_lb(self) -> int:
        """Weight of the truck with everything aboard, without the vehicles."""
        return self.empty_front_lb + self.empty_rear_lb + sum(o.weight_lb for o in self._since)

    @property
    def own_moment(self) -> int:
        """Moment of that weight about the front axle, in pound-inches."""
        pieces = sum(one.weight_lb * one.at_in for one in self._since)
        return self.empty_rear_lb * self.wheelbase_in + pieces

    @property
    def own_axles(self) -> tuple[Fraction, Fraction]:
        """Weight on the front axle and on the rear group, without the vehicles [lb].

        Examples
        --------
        199 lb, 100 in behind the front axle: 99 lb on the front, 100 lb on the rear.

        >>> gear = Piece("blocks", 199, 100)
        >>> truck = Truck(5500, 8900, 19500, 7500, 13500, 199, 88, 234, aboard=(gear,))
        >>> [int(lb) for lb in truck.own_axles]
        [5599, 9000]
        """
        rear = Fraction(self.own_moment, self.wheelbase_in)
        return self.own_lb - rear, rear

    @property
    def _since(self) -> tuple[Piece, ...]:
        """Pieces that were not on the scale."""
        return tuple(one for one in self.aboard if not one.on_ticket)


_TRUCK: Final = {
    "empty_front_lb": (100, 60_000),
    "empty_rear_lb": (100, 60_000),
    "gvwr_lb": _AXLE_LB,
    "gawr_front_lb": _AXLE_LB,
    "gawr_rear_lb": _AXLE_LB,
    "wheelbase_in": (60, 400),
    "headboard_in": (0, 400),
    "deck_length_in": (1, 480),
    "front_tyres_lb": (1, 120_000),
    "rear_tyres_lb": (1, 120_000),
    "gcwr_lb": (1, 200_000),
    "deck_height_in": (10, 80),
    "height_in": (36, 200),
    "wheel_room_in": (0, 60),
    "front_end_in": (0, 100),
    "rear_end_in": (60, 700),
    "front_kept_pct": (0, 90),
    "front_scaled_lb": (100, 60_000),
}


@dataclass(frozen=True, slots=True)
class Load:
    """A vehicle to be carried: weight range in lb, front share in per mille, lengths in inches.

    Attributes
    ----------
    likely_lb, high_lb : int
        Likely and highest weight, 1 to 40,000, in order.
    share_low_pm, share_mid_pm, share_high_pm : int
        Part of the weight on the vehicle's own front axle, 100 to 900 per mille, in order.
    wheelbase_in : int
        40 to 300.
    front_overhang_in, rear_overhang_in : int
        Ends of the vehicle beyond its axles, 0 to 150.
    nose_first : bool
        True if the nose is toward the truck: on the deck toward the headboard, on the wheel lift
        with the front axle lifted.
    height_in : int or None
        Ground to the highest point, 20 to 200; None if not known.
    """

    likely_lb: int
    high_lb: int
    share_low_pm: int
    share_mid_pm: int
    share_high_pm: int
    wheelbase_in: int
    front_overhang_in: int
    rear_overhang_in: int
    nose_first: bool
    height_in: int | None = None

    def __post_init__(self) -> None:
        ranges = {
            "high_lb": (1, 40_000),
            "likely_lb": (1, self.high_lb),
            "wheelbase_in": (40, 300),
            "front_overhang_in": (0, 150),
            "rear_overhang_in": (0, 150),
            "height_in": (20, 200),
        }
        _require("vehicle", self, ranges)
        mid = self.share_mid_pm
        for name, low, high in (
            ("share_mid_pm", 100, 900),
            ("share_low_pm", 100, mid),
            ("share_high_pm", mid, 900),
        ):
            require_whole(f"vehicle {name}", getattr(self, name), low, high, "per mille")

    @property
    def near_overhang_in(self) -> int:
        """Overhang at the end toward the truck."""
        return self.front_overhang_in if self.nose_first else self.rear_overhang_in

    @property
    def far_overhang_in(self) -> int:
        """Overhang at the other end."""
        return self.rear_overhang_in if self.nose_first else self.front_overhang_in

    def near_pm(self, share_pm: int) -> int:
        """Part of the weight on the axle toward the truck, for a share of the front axle.

        Examples
        --------
        >>> Load(5000, 5000, 600, 600, 600, 114, 36, 38, nose_first=False).near_pm(600)
        400
        """
        return share_pm if self.nose_first else 1000 - share_pm

    def gravity_thousandths(self, share_pm: int) -> int:
        """Centre of gravity behind the end toward the truck, in thousandths of an inch.

        Examples
        --------
        Overhang 36, wheelbase 114, 60 percent on the near axle: 36 + 0.4 x 114 = 81.6 in.

        >>> load = Load(5000, 5000, 600, 600, 600, 114, 36, 38, nose_first=True)
        >>> load.gravity_thousandths(600)
        81600
        """
        return 1000 * self.near_overhang_in + self.wheelbase_in * (1000 - self.near_pm(share_pm))


def first_inch(truck: Truck, load: Load) -> int:
    """Return the first position for the vehicle's nearest end, in inches behind the headboard.

    It touches the headboard, unless its overhang is so short that its wheels would be within
    `wheel_room_in` of it.

    Examples
    --------
    >>> truck = Truck(5500, 8900, 19500, 7500, 13500, 199, 88, 234)
    >>> load = Load(5000, 5000, 600, 600, 600, 114, 14, 38, nose_first=True)
    >>> first_inch(truck, load)
    6
    """
    return max(truck.wheel_room_in - load.near_overhang_in, 0)

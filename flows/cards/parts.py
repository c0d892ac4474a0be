"""The parts of a vehicle card: each is a statement about a vehicle that needs a source."""

from typing import Annotated, Final, Literal, Self

from pydantic import Field, model_validator

from flows.cards import Card, FieldError, Line, Slug, length, whole, words
from flows.texts.plainness import acts_asked

Short = Annotated[str, words(3)]
Device = Annotated[str, words(2, 20)]

BEHIND = "inches behind the front axle"


class Weights(Card):
    """The weight of the vehicle, in pounds, and how it was determined.

    A scale ticket and a measurement give each axle; a label and papers give the total only.
    """

    front_lb: Annotated[int | None, whole("pounds", 400, 8000)] = None
    rear_lb: Annotated[int | None, whole("pounds", 400, 8000)] = None
    total_lb: Annotated[int | None, whole("pounds", 800, 16000)] = None
    how: Annotated[
        Literal["ticket", "measured", "label", "papers"],
        Field(description='"ticket", "measured", "label" or "papers"'),
    ]

    @model_validator(mode="after")
    def _axles_or_total(self) -> Self:
        by_axle = self.how in {"ticket", "measured"}
        for field in ("front_lb", "rear_lb", "total_lb"):
            value: int | None = getattr(self, field)
            wanted = by_axle is (field != "total_lb")
            if wanted and value is None:
                raise FieldError(
                    field, "missing", f'a weight in pounds, since how is "{self.how}"'
                )
            if not wanted and value is not None:
                raise FieldError(field, value, f'nothing, since how is "{self.how}"')
        return self

    @property
    def by_axle(self) -> tuple[int, int] | None:
        """Front and rear axle in pounds; None if only the total is known."""
        if self.front_lb is None or self.rear_lb is None:
            return None
        return self.front_lb, self.rear_lb


class Split(Card):
    """Share of the weight on the front axle, in percent, lowest to highest."""

    front_low_pct: Annotated[int, whole("percent", 20, 80)]
    front_high_pct: Annotated[int, whole("percent", 20, 80)]

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        _require_order(self, "front_low_pct", "front_high_pct")
        return self


class Battery(Card):
    """Where the drive battery is along the vehicle: no hooking or lifting between its ends."""

    from_in: Annotated[int, whole(BEHIND, -60, 260)]
    to_in: Annotated[int, whole(BEHIND, -60, 260)]

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        _require_order(self, "from_in", "to_in")
        return self


TEARS: Final = ("alumin", "magnesium", "plastic", "composite", "fiberglass", "rubber")
"""Beginnings of materials that hold no pull: no magnet sticks to them."""


class HoldingPoint(Card):
    """A point that bears the pull, with the device it takes and its material."""

    point: Short
    device: Device
    material: Annotated[str, words(2)]

    @model_validator(mode="after")
    def _holds_a_magnet(self) -> Self:
        """Refuse what tears: a magnet does not stick to it."""
        if any(word.lower().startswith(TEARS) for word in self.material.split()):
            allowed = (
                "a material that a magnet sticks to, such as steel; list the rest as keep_off"
            )
            raise FieldError("material", self.material, allowed)
        return self


_POINTS = Field(max_length=4, description="a list of tables with point, device and material")


class Holds(Card):
    """Holding points of each end, best first; an end without any is not pulled by the body."""

    nose: Annotated[tuple[HoldingPoint, ...], _POINTS] = ()
    tail: Annotated[tuple[HoldingPoint, ...], _POINTS] = ()

    def first(self, end: str | None) -> HoldingPoint | None:
        """Return the first holding point of an end, "nose" or "tail"; None if it has none.

        Examples
        --------
        >>> Holds().first("nose") is Holds().first("boxed") is None
        True
        """
        points = {"nose": self.nose, "tail": self.tail}.get(end or "", ())
        return points[0] if points else None


class AccessPost(Card):
    """Outside posts that power a lock, their location and what they open; not for boosting."""

    where: Short
    opens: Annotated[str, words(4)]
    positive: Short
    negative: Short


class Boost(Card):
    """The lugs for boosting the 12-volt supply, and the allowed sources."""

    positive: Short
    ground: Short
    by: Annotated[
        tuple[Literal["donor", "pack"], ...],
        Field(min_length=1, max_length=2, description='a list of "donor" and "pack", or of one'),
    ]
    electric_donor: Annotated[bool, Field(description="true or false")] = False
    wait_min: Annotated[int | None, whole("minutes", 1, 60)] = None

    @model_validator(mode="after")
    def _fits_together(self) -> Self:
        if self.electric_donor and "donor" not in self.by:
            raise FieldError("electric_donor", "true", 'false, since by does not name "donor"')
        return self


class Isolation(Card):
    """A disconnect that is opened and kept open before a stuck cord is released.

    ``wait_min`` is how long to wait once it is open; absent means no wait. ``cover`` has to come
    off to reach it; absent means no cover.
    """

    id: Slug
    name: Short
    held_open_with: Device
    cover: Annotated[str | None, words(3)] = None
    wait_min: Annotated[int | None, whole("minutes", 1, 60)] = None


class CordRelease(Card):
    """The manual release of a stuck charging cord. Travel is in 64ths of an inch."""

    name: Short
    requires: Annotated[tuple[Slug, ...], Field(description="a list of ids of isolations")]
    travel_min_64in: Annotated[int, length("travel_min", 1, 128)]
    travel_max_64in: Annotated[int, length("travel_max", 1, 128)]
    travel_words: Annotated[str, words(8, 48)]

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        _require_order(self, "travel_min_64in", "travel_max_64in")
        return self


class NeutralWay(Card):
    """A way into neutral, its needs, and the longest time in minutes that it lasts.

    ``hold_min`` absent means the hold is not known: no window is promised.
    """

    way: Annotated[str, words(12, 64)]
    needs: Annotated[
        tuple[Literal["ready", "key", "12-volt"], ...],
        Field(max_length=3, description='a list of "ready", "key" and "12-volt"; empty for none'),
    ]
    confirmation: Annotated[str, words(6, 48)]
    hold_min: Annotated[int | None, whole("minutes", 1, 240)] = None
    cancelled_by: Annotated[
        tuple[Short, ...], Field(description="a list of what ends neutral early, 3 words each")
    ] = ()

    @model_validator(mode="after")
    def _asks_for_one_act(self) -> Self:
        if len(acts_asked(self.way.capitalize())) != 1:
            allowed = 'one act, such as "hold the selector left" or "press the shift release"'
            raise FieldError("way", self.way, allowed)
        return self

    @property
    def needs_ready(self) -> bool:
        """Whether it works only with the ready indication on."""
        return "ready" in self.needs


class ParkHolds(Card):
    """How Park holds: the device, and the axle. A dolly goes under the braked axle."""

    by: Annotated[
        Literal["parking pawl", "park brake", "motor lock"],
        Field(description='"parking pawl", "park brake" or "motor lock"'),
    ]
    axle: Annotated[Literal["front", "rear", "all"], Field(description='"front", "rear" or "all"')]


class RollLimit(Card):
    """How fast and how far it may roll on its own wheels, according to its maker."""

    mph: Annotated[int | None, whole("miles an hour", 1, 40)] = None
    feet: Annotated[int | None, whole("feet", 1, 20000)] = None

    @model_validator(mode="after")
    def _says_something(self) -> Self:
        if self.mph is None and self.feet is None:
            raise FieldError("mph", "missing", "mph or feet, or both: whole numbers")
        return self


class Source(Card):
    """The authority for a statement; a guide beats a measurement, which beats practice."""

    source: Line
    rank: Annotated[
        Literal["guide", "measured", "practice"],
        Field(description='"guide", "measured" or "practice"'),
    ]


def _require_order(card: Card, low: str, high: str) -> None:
    least, most = getattr(card, low), getattr(card, high)
    if most < least:
        raise FieldError(high, most, f"{least}, which is {low}, or more")

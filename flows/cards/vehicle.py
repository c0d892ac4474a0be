"""Vehicle card: what holds, what tears, what lets the wheels turn, and who says so."""

import datetime as dt
from collections.abc import Mapping
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from flows.cards import Card, FieldError, Line, Slug, parse, whole, words
from flows.figures.classes import class_ids

Phrase = Annotated[str, words(8)]
Short = Annotated[str, words(3)]

SAFETY_FIELDS = (
    "weights",
    "holds",
    "keep_off",
    "isolations",
    "cord_release",
    "neutral",
    "park_holds",
)


class AxleWeights(Card):
    """Weight on each axle of the vehicle, in pounds, and how it was learned."""

    front_lb: Annotated[int, whole("pounds", 400, 8000)]
    rear_lb: Annotated[int, whole("pounds", 400, 8000)]
    how: Annotated[
        Literal["ticket", "label", "measured"],
        Field(description='"ticket", "label" or "measured"'),
    ]


class HoldingPoint(Card):
    """A place that holds the pull, with the device it takes and what it is made of."""

    point: Short
    device: Annotated[str, words(2)]
    material: Annotated[str, words(2)]


class Holds(Card):
    """Holding points of each end; an end without one is not pulled by the body."""

    nose: Annotated[
        HoldingPoint | None, Field(description="a table with point, device and material")
    ] = None
    tail: Annotated[
        HoldingPoint | None, Field(description="a table with point, device and material")
    ] = None


class Isolation(Card):
    """A disconnect that is opened and held open before a stuck cord is released."""

    id: Slug
    name: Short
    held_open_with: Annotated[str, words(2)]


class CordRelease(Card):
    """The manual release of a stuck charging cord. Travel is in 64ths of an inch."""

    name: Short
    requires: Annotated[tuple[Slug, ...], Field(description="a list of ids of isolations")]
    travel_min_64in: Annotated[int, whole("64ths of an inch", 1, 128)]
    travel_max_64in: Annotated[int, whole("64ths of an inch", 1, 128)]
    travel_words: Phrase

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if self.travel_max_64in < self.travel_min_64in:
            allowed = f"{self.travel_min_64in}, which is travel_min_64in, or more"
            raise FieldError("travel_max_64in", self.travel_max_64in, allowed)
        return self


class NeutralWay(Card):
    """The way into neutral, and for how many minutes at most it stays there.

    ``hold_min`` absent means the hold is not known: no window is promised.
    """

    way: Annotated[str, words(12)]
    needs_ready: Annotated[bool, Field(description="true or false")]
    confirmation: Annotated[str, words(6)]
    hold_min: Annotated[int | None, whole("minutes", 1, 240)] = None
    cancelled_by: Annotated[
        tuple[Short, ...], Field(description="a list of what ends neutral early, 3 words each")
    ] = ()


class ParkHolds(Card):
    """What Park holds: by which device, on which axle."""

    by: Annotated[
        Literal["parking pawl", "park brake", "motor lock"],
        Field(description='"parking pawl", "park brake" or "motor lock"'),
    ]
    axle: Annotated[Literal["front", "rear", "all"], Field(description='"front", "rear" or "all"')]


class Source(Card):
    """Who says so; a guide beats what was measured, which beats practice."""

    source: Line
    rank: Annotated[
        Literal["guide", "measured", "practice"],
        Field(description='"guide", "measured" or "practice"'),
    ]


class VehicleCard(Card):
    """What the company knows about one variant of one vehicle.

    Lengths are whole inches, weights whole pounds. What is absent is not known.
    """

    id: Slug
    name: Annotated[str, words(2)]
    variant: Line
    as_of: Annotated[dt.date, Field(description="a date, year-month-day, without quotes")]
    powertrain: Annotated[
        Literal["electric", "hybrid", "combustion"],
        Field(description='"electric", "hybrid" or "combustion"'),
    ]
    drive: Annotated[
        Literal["front", "rear", "all"] | None, Field(description='"front", "rear" or "all"')
    ] = None
    weights: Annotated[
        AxleWeights | None, Field(description="a table with front_lb, rear_lb and how")
    ] = None
    weight_class: Annotated[
        str | None, Field(description="a class of the class table, " + ", ".join(class_ids()))
    ] = None
    wheelbase_in: Annotated[int, whole("inches", 60, 260)]
    front_overhang_in: Annotated[int, whole("inches", 10, 80)]
    rear_overhang_in: Annotated[int, whole("inches", 10, 120)]
    height_in: Annotated[int, whole("inches", 36, 130)]
    holds: Annotated[Holds, Field(description="a table with nose and tail, either may be absent")]
    keep_off: Annotated[
        tuple[Short, ...], Field(description="a list of places, at most 3 words each")
    ]
    isolations: Annotated[
        tuple[Isolation, ...],
        Field(max_length=1, description="at most 1 table with id, name and held_open_with"),
    ] = ()
    cord_release: Annotated[
        CordRelease | None,
        Field(
            description="a table with name, requires, travel_min_64in, travel_max_64in and"
            " travel_words"
        ),
    ] = None
    neutral: Annotated[
        NeutralWay | None, Field(description="a table with way, needs_ready and confirmation")
    ] = None
    park_holds: Annotated[ParkHolds | None, Field(description="a table with by and axle")] = None
    sources: Annotated[
        Mapping[str, Source],
        Field(description="a table with source and rank for each safety field the card gives"),
    ]

    @model_validator(mode="after")
    def _fits_together(self) -> Self:
        self._check_class()
        self._check_release()
        self._check_sources()
        return self

    def _check_class(self) -> None:
        if self.weight_class is not None and self.weight_class not in class_ids():
            raise FieldError("weight_class", self.weight_class, ", ".join(class_ids()))

    def _check_release(self) -> None:
        release = self.cord_release
        if release is None:
            return
        if self.powertrain == "combustion":
            raise FieldError("cord_release", release.name, "nothing on a combustion vehicle")
        known = {isolation.id for isolation in self.isolations}
        for required in release.requires:
            if required not in known:
                allowed = "an id from isolations: " + (", ".join(sorted(known)) or "there is none")
                raise FieldError("cord_release.requires", required, allowed)

    def _check_sources(self) -> None:
        given = [name for name in SAFETY_FIELDS if self._says(name)]
        for name in given:
            if name not in self.sources:
                raise FieldError(f"sources.{name}", "missing", "a table with source and rank")
        for name in self.sources:
            if name not in given:
                allowed = "a source only for what the card gives: " + ", ".join(given)
                raise FieldError(f"sources.{name}", "given", allowed)

    def _says(self, field: str) -> bool:
        """Whether the card makes a statement in `field`; an empty `keep_off` is one too."""
        return field in {"holds", "keep_off"} or getattr(self, field) not in (None, ())


def parse_vehicle(name: str, data: Mapping[str, object]) -> VehicleCard:
    """Read a vehicle card.

    Parameters
    ----------
    name : str
        Name of the file, for the message.
    data : mapping
        What the TOML file holds.

    Raises
    ------
    CardError
        Naming the file, each wrong field, its value and what is allowed.
    """
    return parse(VehicleCard, name, data)

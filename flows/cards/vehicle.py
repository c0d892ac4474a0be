"""Vehicle card: holding points, fragile spots, ways into neutral, each with its source."""

import datetime as dt
from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import Annotated, Final, Literal, Self

from pydantic import Field, model_validator

from flows.cards import Card, FieldError, Line, Slug, whole, words
from flows.cards.parts import (
    AccessPost,
    Battery,
    Boost,
    CordRelease,
    Holds,
    Isolation,
    NeutralWay,
    ParkHolds,
    RollLimit,
    Short,
    Source,
    Split,
    Weights,
)
from flows.figures.classes import class_ids, family_of

STATEMENTS: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "lengths": ("wheelbase_in", "front_overhang_in", "rear_overhang_in", "height_in"),
        **{
            field: (field,)
            for field in (
                "drive", "weights", "split", "battery", "holds", "keep_off", "access", "boost",
                "twelve_volt", "isolations", "cord_release", "neutral", "park_holds",
                "roll_limit", "lifting", "notes",
            )
        },
    }
)  # fmt: skip
"""Statements that need a source, by their name in ``sources``, with the fields of each."""

_ALWAYS: Final = frozenset({"holds", "keep_off"})


class VehicleCard(Card):
    """The company's knowledge of one variant of one vehicle.

    ``told_by`` is how to tell the variant from others, seen from outside: "two motor badges".
    Lengths are whole inches, weights whole pounds. An absent field is not known; but an empty
    ``keep_off`` and an end without a holding point are statements, so both fields are required.
    """

    id: Slug
    name: Annotated[str, words(2)]
    variant: Line
    told_by: Annotated[str | None, words(4, 36)] = None
    as_of: Annotated[dt.date, Field(description="a date, year-month-day, without quotes")]
    powertrain: Annotated[
        Literal["electric", "hybrid", "combustion"],
        Field(description='"electric", "hybrid" or "combustion"'),
    ]
    drive: Annotated[
        Literal["front", "rear", "all"] | None, Field(description='"front", "rear" or "all"')
    ] = None
    weight_class: Annotated[
        str | None, Field(description="a class of the class table, " + ", ".join(class_ids()))
    ] = None
    weights: Annotated[
        Weights | None,
        Field(description="a table with how, and front_lb and rear_lb or total_lb"),
    ] = None
    split: Annotated[
        Split | None, Field(description="a table with front_low_pct and front_high_pct")
    ] = None
    wheelbase_in: Annotated[int, whole("inches", 60, 260)]
    front_overhang_in: Annotated[int, whole("inches", 10, 80)]
    rear_overhang_in: Annotated[int, whole("inches", 10, 120)]
    height_in: Annotated[int, whole("inches", 36, 130)]
    battery: Annotated[Battery | None, Field(description="a table with from_in and to_in")] = None
    holds: Annotated[Holds, Field(description="a table with nose and tail, either may be absent")]
    keep_off: Annotated[
        tuple[Short, ...],
        Field(max_length=8, description="a list of at most 8 places, 3 words each, worst first"),
    ]
    access: Annotated[
        tuple[AccessPost, ...],
        Field(
            max_length=4, description="a list of tables with where, opens, positive and negative"
        ),
    ] = ()
    boost: Annotated[Boost | None, Field(description="a table with positive, ground and by")] = (
        None
    )
    twelve_volt: Annotated[
        Literal["lead-acid", "lithium"] | None, Field(description='"lead-acid" or "lithium"')
    ] = None
    isolations: Annotated[
        tuple[Isolation, ...],
        Field(
            max_length=4, description="a list of at most 4 tables with id, name and held_open_with"
        ),
    ] = ()
    cord_release: Annotated[
        CordRelease | None,
        Field(
            description="a table with name, requires, travel_min_in, travel_max_in and"
            " travel_words"
        ),
    ] = None
    neutral: Annotated[
        tuple[NeutralWay, ...],
        Field(
            max_length=4,
            description="a list of tables with way, needs and confirmation, the best way first",
        ),
    ] = ()
    park_holds: Annotated[ParkHolds | None, Field(description="a table with by and axle")] = None
    roll_limit: Annotated[
        RollLimit | None, Field(description="a table with mph or feet, or both")
    ] = None
    lifting: Annotated[
        tuple[Short, ...],
        Field(max_length=8, description="a list of at most 8 places to lift at, 3 words each"),
    ] = ()
    notes: Annotated[
        tuple[Line, ...],
        Field(max_length=8, description="a list of at most 8 texts, 1 to 200 characters each"),
    ] = ()
    sources: Annotated[
        Mapping[str, Source],
        Field(description="a table with source and rank for each statement the card makes"),
    ]

    @property
    def length_in(self) -> int:
        """Overall length in inches."""
        return self.front_overhang_in + self.wheelbase_in + self.rear_overhang_in

    @property
    def family(self) -> str | None:
        """The family of its weight class; None if the card names no class."""
        return None if self.weight_class is None else family_of(self.weight_class)

    @property
    def first_way(self) -> NeutralWay | None:
        """The preferred way into neutral; None if the card has none."""
        return self.neutral[0] if self.neutral else None

    @property
    def required(self) -> tuple[Isolation, ...]:
        """The isolations that the cord release requires, in the card's order."""
        names = () if self.cord_release is None else self.cord_release.requires
        known = {isolation.id: isolation for isolation in self.isolations}
        return tuple(known[name] for name in names)

    def isolation(self, number: int) -> Isolation | None:
        """Return the isolation of this number: first those required, in order, then the rest."""
        rest = (one for one in self.isolations if one not in self.required)
        return dict(enumerate((*self.required, *rest), 1)).get(number)

    @property
    def isolation_wait_min(self) -> int | None:
        """How long to wait once every required isolation is open; None for no wait."""
        return max((one.wait_min for one in self.required if one.wait_min), default=None)

    @property
    def covers(self) -> tuple[str, ...]:
        """Covers over the isolations that the cord release requires."""
        return tuple(one.cover for one in self.required if one.cover is not None)

    @model_validator(mode="after")
    def _fits_together(self) -> Self:
        self._check_class()
        self._check_weights()
        self._check_powertrain()
        self._check_isolations()
        self._check_places()
        self._check_sources()
        return self

    def _check_class(self) -> None:
        if self.weight_class is not None and self.weight_class not in class_ids():
            raise FieldError("weight_class", self.weight_class, ", ".join(class_ids()))

    def _check_weights(self) -> None:
        by_axle = self.weights is not None and self.weights.by_axle is not None
        if self.split is not None and by_axle:
            raise FieldError("split", "given", "nothing, since weights gives each axle")

    def _check_powertrain(self) -> None:
        if self.powertrain != "combustion":
            return
        for field in ("battery", "cord_release"):
            if getattr(self, field) is not None:
                raise FieldError(field, "given", "nothing on a combustion vehicle")

    def _check_isolations(self) -> None:
        known = [isolation.id for isolation in self.isolations]
        for index, name in enumerate(known):
            if name in known[:index]:
                raise FieldError(f"isolations.{index}.id", name, "an id that no other has")
        for required in () if self.cord_release is None else self.cord_release.requires:
            if required not in known:
                allowed = "an id from isolations: " + (", ".join(sorted(known)) or "there is none")
                raise FieldError("cord_release.requires", required, allowed)

    def _check_places(self) -> None:
        """A place that is hooked or lifted at is none to keep off, nor within the battery."""
        for field, place in self._touched():
            if any(_is_named(place, kept) for kept in self.keep_off):
                raise FieldError(field, place, "a place that keep_off does not name")
        for end, at_in in self._ends_in.items():
            in_battery = self.battery and self.battery.from_in <= at_in <= self.battery.to_in
            if in_battery and self.holds.first(end) is not None:
                allowed = f"a length that ends before the {end}, since that has a holding point"
                raise FieldError("battery", f"over {at_in} in", allowed)

    def _touched(self) -> Iterator[tuple[str, str]]:
        for end in ("nose", "tail"):
            for index, point in enumerate(getattr(self.holds, end)):
                yield f"holds.{end}.{index}.point", point.point
        yield from ((f"lifting.{index}", place) for index, place in enumerate(self.lifting))

    @property
    def _ends_in(self) -> dict[str, int]:
        """Where each end is, behind the front axle [in]."""
        return {"nose": -self.front_overhang_in, "tail": self.wheelbase_in + self.rear_overhang_in}

    def _check_sources(self) -> None:
        given = [name for name, fields in STATEMENTS.items() if any(map(self._says, fields))]
        for name in given:
            if name not in self.sources:
                raise FieldError(f"sources.{name}", "missing", "a table with source and rank")
        for name in self.sources:
            if name not in given:
                allowed = "a source only for what the card gives: " + ", ".join(given)
                raise FieldError(f"sources.{name}", "given", allowed)

    def _says(self, field: str) -> bool:
        """Whether the card makes a statement in `field`; an empty `keep_off` counts."""
        return field in _ALWAYS or getattr(self, field) not in (None, ())


def _is_named(place: str, kept: str) -> bool:
    """Say whether one name has every word of the other."""
    named, off = set(place.lower().split()), set(kept.lower().split())
    return named <= off or off <= named

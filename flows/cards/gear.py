"""Gear card: dollies, straps, blocks, bridles and chains, with the data on their tags."""

import datetime as dt
from collections.abc import Mapping
from typing import Annotated, Final, Literal, Self

from pydantic import Field, model_validator

from flows.cards import Card, FieldError, Line, Slug, length, whole, words
from flows.figures import dollies

Kind = Literal["dolly", "strap", "block", "bridle", "chain"]

RATED_BY: Final[Mapping[str, str]] = {
    "dolly": "axle_rating_lb",
    "strap": "working_load_limit_lb",
    "block": "working_load_limit_lb",
    "bridle": "working_load_limit_lb",
    "chain": "working_load_limit_lb",
}
"""Which rating each kind of gear has: a dolly an axle rating, all rigging a working load limit."""


class Tyres(Card):
    """The tyres of one set of dollies: count, load on the sidewall, weight of the set itself."""

    count: Annotated[int, whole("tyres of a set", 2, 8)]
    each_lb: Annotated[int, whole("pounds on the sidewall", 200, 8000)]
    own_lb: Annotated[int, whole("pounds of the set itself", 20, 3000)]


class GearCard(Card):
    """Gear that is all alike: pieces whose tags differ get separate cards.

    ``working_load_limit_lb`` is for a single piece, from its tag; ``axle_rating_lb`` is the load
    that one set of dollies carries under an axle, up to ``speed_mph`` on its tag. ``on`` names the
    trucks that carry it.
    """

    id: Slug
    name: Annotated[str, words(3)]
    kind: Annotated[Kind, Field(description='"dolly", "strap", "block", "bridle" or "chain"')]
    count: Annotated[int, whole("pieces", 1, 100)]
    axle_rating_lb: Annotated[int | None, whole("pounds", 500, 30000)] = None
    tyres: Annotated[
        Tyres | None, Field(description="a table with count, each_lb and own_lb, dollies only")
    ] = None
    speed_mph: Annotated[int | None, whole("miles an hour", 5, 75)] = None
    working_load_limit_lb: Annotated[int | None, whole("pounds", 500, 100000)] = None
    width_64in: Annotated[int | None, length("width", 64, 640)] = None
    tag: Line
    inspected: Annotated[dt.date, Field(description="a date, year-month-day, without quotes")]
    due: Annotated[dt.date, Field(description="a date, year-month-day, without quotes")]
    on: Annotated[tuple[Slug, ...], Field(description="a list of ids of trucks")]

    @model_validator(mode="after")
    def _fits_together(self) -> Self:
        self._check_rating()
        self._check_dolly_fields()
        if (self.kind == "strap") != (self.width_64in is not None):
            found = self.width_64in or "missing"
            raise FieldError("width_64in", found, "a width on a strap, none on other gear")
        if self.due <= self.inspected:
            raise FieldError("due", self.due, f"a date after inspected, {self.inspected}")
        return self

    def _check_rating(self) -> None:
        for field in ("axle_rating_lb", "working_load_limit_lb"):
            value = getattr(self, field)
            wanted = RATED_BY[self.kind] == field
            if wanted and value is None:
                raise FieldError(field, "missing", f"whole pounds, since kind is {self.kind}")
            if not wanted and value is not None:
                raise FieldError(field, value, f"nothing, since kind is {self.kind}")

    def _check_dolly_fields(self) -> None:
        for field in ("tyres", "speed_mph"):
            if self.kind != "dolly" and getattr(self, field) is not None:
                raise FieldError(field, "given", f"nothing, since kind is {self.kind}")

    def dollies(self) -> dollies.Dollies:
        """Return one set as the figures need it; other gear carries no axle."""
        tyres = self.tyres
        return dollies.Dollies(
            self.axle_rating_lb or 0,
            None
            if tyres is None
            else dollies.DollyTyres(tyres.count, tyres.each_lb, tyres.own_lb),
            self.speed_mph,
        )

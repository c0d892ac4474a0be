"""Truck card: one of the fleet's trucks, its scale ticket, its ratings, its deck."""

import datetime as dt
from collections.abc import Mapping
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from flows.cards import Card, FieldError, Line, Slug, parse, whole, words
from flows.errors import OutOfRangeError
from flows.figures.deck import Truck


class ScaleTicket(Card):
    """Weights of the truck without a vehicle on it, and what was aboard on the scale."""

    front_lb: Annotated[int, whole("pounds", 1000, 30000)]
    rear_lb: Annotated[int, whole("pounds", 1000, 40000)]
    date: Annotated[dt.date, Field(description="a date, year-month-day, without quotes")]
    aboard: Line


class Deck(Card):
    """Where the deck is: rear face of the headboard behind the front axle, and its length."""

    headboard_in: Annotated[int, whole("inches behind the front axle", 0, 200)]
    length_in: Annotated[int, whole("inches", 120, 480)]


class TruckCard(Card):
    """One two-axle truck. Weights and ratings are whole pounds, lengths whole inches."""

    id: Slug
    name: Annotated[str, words(3)]
    kind: Annotated[Literal["carrier", "wrecker"], Field(description='"carrier" or "wrecker"')]
    ticket: Annotated[
        ScaleTicket, Field(description="a table with front_lb, rear_lb, date and aboard")
    ]
    gvwr_lb: Annotated[int, whole("pounds", 6000, 80000)]
    gawr_front_lb: Annotated[int, whole("pounds", 2000, 30000)]
    gawr_rear_lb: Annotated[int, whole("pounds", 2000, 40000)]
    wheelbase_in: Annotated[int, whole("inches", 100, 400)]
    deck: Annotated[
        Deck | None, Field(description="a table with headboard_in and length_in, carriers only")
    ] = None

    @model_validator(mode="after")
    def _fits_together(self) -> Self:
        self._check_deck()
        self._check_ratings()
        return self

    def _check_deck(self) -> None:
        if (self.deck is not None) != (self.kind == "carrier"):
            found = "missing" if self.deck is None else "given"
            raise FieldError("deck", found, "a deck on a carrier, none on a wrecker")
        if self.deck is not None and self.deck.headboard_in >= self.wheelbase_in:
            allowed = f"less than the wheelbase, {self.wheelbase_in} inches"
            raise FieldError("deck.headboard_in", self.deck.headboard_in, allowed)

    def _check_ratings(self) -> None:
        """Hold the ratings to 36 FR 14583: GVWR is not more than the axle ratings together."""
        axles = self.gawr_front_lb + self.gawr_rear_lb
        empty = self.ticket.front_lb + self.ticket.rear_lb
        for field, value, most, what in (
            ("gvwr_lb", self.gvwr_lb, axles, "gawr_front_lb plus gawr_rear_lb"),
            ("ticket.front_lb", self.ticket.front_lb, self.gawr_front_lb, "gawr_front_lb"),
            ("ticket.rear_lb", self.ticket.rear_lb, self.gawr_rear_lb, "gawr_rear_lb"),
            ("ticket", empty, self.gvwr_lb, "gvwr_lb"),
        ):
            if value > most:
                raise FieldError(field, value, f"at most {most} pounds, which is {what}")

    def carrier(self) -> Truck:
        """Return the numbers the margin needs.

        Raises
        ------
        OutOfRangeError
            If the truck has no deck.
        """
        if self.deck is None:
            raise OutOfRangeError("truck", self.name, "a carrier, which has a deck")
        return Truck(
            empty_front_lb=self.ticket.front_lb,
            empty_rear_lb=self.ticket.rear_lb,
            gvwr_lb=self.gvwr_lb,
            gawr_front_lb=self.gawr_front_lb,
            gawr_rear_lb=self.gawr_rear_lb,
            wheelbase_in=self.wheelbase_in,
            headboard_in=self.deck.headboard_in,
            deck_length_in=self.deck.length_in,
        )


def parse_truck(name: str, data: Mapping[str, object]) -> TruckCard:
    """Read a truck card.

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
    return parse(TruckCard, name, data)

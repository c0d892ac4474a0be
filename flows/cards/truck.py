"""Truck card: one truck of the fleet, with its scale ticket, ratings, deck, lift and winch."""

import datetime as dt
from itertools import pairwise
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from flows.cards import Card, FieldError, Slug, length, whole, words
from flows.errors import OutOfRangeError
from flows.figures import deck, winch
from flows.figures.deck import Piece, Truck
from flows.figures.lifting import Arm, Lifter
from flows.figures.tyres import TyreSet, tyre_set

BEHIND = "inches behind the front axle"


class Aboard(Card):
    """Something aboard on the scale; without a position its moment cannot be taken off.

    The driver and passengers are ``person``: they do not come off to save weight.
    """

    name: Annotated[str, words(3)]
    weight_lb: Annotated[int, whole("pounds", 1, 10000)]
    at_in: Annotated[int | None, whole(BEHIND, -60, 500)] = None
    person: Annotated[bool, Field(description="true or false")] = False

    @property
    def has_position(self) -> bool:
        """Whether its position is known, without which no moment can be computed."""
        return self.at_in is not None

    def on_ticket(self) -> Piece:
        """Return it as the margin needs it: already weighed with the truck."""
        return Piece(
            self.name, self.weight_lb, self.at_in or 0, on_ticket=True, person=self.person
        )


class ScaleTicket(Card):
    """Weights of the truck without a vehicle on it, and the things aboard on the scale.

    On a tandem ``rear_lb`` is both rear axles together.
    """

    front_lb: Annotated[int, whole("pounds", 1000, 30000)]
    rear_lb: Annotated[int, whole("pounds", 1000, 60000)]
    date: Annotated[dt.date, Field(description="a date, year-month-day, without quotes")]
    aboard: Annotated[
        tuple[Aboard, ...], Field(description="a list of tables with name, weight_lb and at_in")
    ]


class Fitment(Card):
    """The tyres of each axle of one end: how many, and their load index."""

    per_axle: Annotated[Literal[2, 4], Field(description="2 for single tyres, 4 for dual")]
    load_index_single: Annotated[int, whole("load index", 70, 150)]
    load_index_dual: Annotated[int | None, whole("load index", 70, 150)] = None

    @model_validator(mode="after")
    def _dual_where_dual(self) -> Self:
        if self.per_axle == 4 and self.load_index_dual is None:
            allowed = "whole load index, 70 to 150, since per_axle is 4"
            raise FieldError("load_index_dual", "missing", allowed)
        dual = self.load_index_dual
        if dual is not None and dual > self.load_index_single:
            allowed = f"at most {self.load_index_single}, which is load_index_single"
            raise FieldError("load_index_dual", dual, allowed)
        return self

    def on(self, axles: int) -> TyreSet:
        """Return the tyres of this many axles."""
        return tyre_set(
            self.load_index_single,
            self.load_index_dual,
            is_dual=self.per_axle == 4,
            axles=axles,
        )


class Tyres(Card):
    """The tyres of the front axle and of each rear axle."""

    front: Annotated[Fitment, Field(description="a table with per_axle and load_index_single")]
    rear: Annotated[Fitment, Field(description="a table with per_axle and load_index_single")]


class Deck(Card):
    """The deck: rear face of its headboard behind the front axle, length, height, tilt.

    ``tilt_pct`` is the grade that a vehicle is pulled up when the deck is down, ``slides_lb`` the
    weight that slides back with it.
    """

    headboard_in: Annotated[int, whole(BEHIND, 0, 200)]
    length_in: Annotated[int, whole("inches", 120, 480)]
    height_in: Annotated[int, whole("inches above the road", 20, 80)]
    tilt_pct: Annotated[int | None, whole("percent", 5, 60)] = None
    slides_lb: Annotated[int | None, whole("pounds", 200, 20000)] = None


class Retracted(Card):
    """The wheel lift retracted: how far behind the rear axle it carries the wheels, its rating."""

    reach_in: Annotated[int, whole("inches behind the rear axle", 20, 200)]
    rating_lb: Annotated[int, whole("pounds", 1000, 30000)]

    def arm(self) -> Arm:
        """Return it as the lift figure needs it."""
        return Arm(self.reach_in, self.rating_lb)


class WheelLift(Card):
    """The wheel lift extended: how far behind the rear axle it carries the wheels, its ratings.

    On a tandem the reach counts from half way between the rear axles. ``retracted`` is the other
    end of its travel; a plate gives only these two points, and nothing is read between them.
    """

    reach_in: Annotated[int, whole("inches behind the rear axle", 20, 200)]
    rating_lb: Annotated[int, whole("pounds", 1000, 30000)]
    tow_lb: Annotated[int | None, whole("pounds", 2000, 80000)] = None
    retracted: Annotated[
        Retracted | None, Field(description="a table with reach_in and rating_lb")
    ] = None

    @model_validator(mode="after")
    def _carries_more_drawn_in(self) -> Self:
        if self.retracted is not None:
            try:
                self.retracted.arm().check_drawn_in(Arm(self.reach_in, self.rating_lb))
            except OutOfRangeError as error:
                raise FieldError(error.what, error.value, error.allowed) from error
        return self

    def at(self, wheelbase_in: int) -> deck.WheelLift:
        """Return it as the margin needs it, on a truck of this wheelbase: extended."""
        return deck.WheelLift(wheelbase_in + self.reach_in, self.rating_lb, self.tow_lb)


class Winch(Card):
    """The winch: rating by layer or on the bare drum, drum and rope.

    ``speed_ft_min`` is the line speed under load on the first layer, timed on this truck.
    """

    layers_lb: Annotated[
        tuple[Annotated[int, Field(ge=1000, le=100000)], ...],
        Field(max_length=8, description="a list of whole pounds, 1000 to 100000, first layer on"),
    ] = ()
    bare_drum_lb: Annotated[int | None, whole("pounds", 1000, 100000)] = None
    drum_diameter_64in: Annotated[int, length("drum_diameter", 64, 1600)]
    drum_width_64in: Annotated[int, length("drum_width", 64, 3200)]
    rope_diameter_64in: Annotated[int, length("rope_diameter", 8, 80)]
    rope_length_ft: Annotated[int, whole("feet", 20, 500)]
    rope_strength_lb: Annotated[int, whole("pounds", 2000, 200000)]
    speed_ft_min: Annotated[int | None, whole("feet a minute", 1, 100)] = None

    def rated(self) -> winch.Winch:
        """Return it as the figures need it; the bare drum's rating is the first layer's."""
        return winch.Winch(
            self.layers_lb or (self.bare_drum_lb or 0,),
            self.drum_diameter_64in,
            self.drum_width_64in,
            self.rope_diameter_64in,
            self.rope_length_ft,
        )

    @model_validator(mode="after")
    def _fits_together(self) -> Self:
        if bool(self.layers_lb) == (self.bare_drum_lb is not None):
            found = "given too" if self.layers_lb else "missing"
            raise FieldError("bare_drum_lb", found, "either layers_lb or bare_drum_lb")
        for index, (inner, outer) in enumerate(pairwise(self.layers_lb), 1):
            if outer >= inner:
                allowed = f"less than {inner}, which is the layer under it"
                raise FieldError(f"layers_lb.{index}", outer, allowed)
        return self


class TruckCard(Card):
    """One truck. Weights and ratings are whole pounds, lengths whole inches.

    On a tandem ``wheelbase_in`` ends half way between the two rear axles, and ``gawr_rear_lb``
    is the rating of both together.
    """

    id: Slug
    name: Annotated[str, words(3)]
    kind: Annotated[Literal["carrier", "wrecker"], Field(description='"carrier" or "wrecker"')]
    ticket: Annotated[
        ScaleTicket, Field(description="a table with front_lb, rear_lb, date and aboard")
    ]
    gvwr_lb: Annotated[int, whole("pounds", 6000, 80000)]
    gcwr_lb: Annotated[int | None, whole("pounds", 6000, 200000)] = None
    gawr_front_lb: Annotated[int, whole("pounds", 2000, 30000)]
    gawr_rear_lb: Annotated[int, whole("pounds", 2000, 60000)]
    rear_axles: Annotated[Literal[1, 2], Field(description="1, or 2 for a tandem")] = 1
    tandem_spacing_in: Annotated[int | None, whole("inches", 41, 96)] = None
    tyres: Annotated[Tyres, Field(description="a table with front and rear")]
    wheelbase_in: Annotated[int, whole("inches", 100, 400)]
    front_end_in: Annotated[int, whole("inches ahead of the front axle", 10, 100)]
    rear_end_in: Annotated[int, whole(BEHIND, 100, 700)]
    height_in: Annotated[int, whole("inches", 60, 162)]
    deck: Annotated[
        Deck | None,
        Field(description="a table with headboard_in, length_in and height_in, carriers only"),
    ] = None
    wheel_lift: Annotated[
        WheelLift | None, Field(description="a table with reach_in and rating_lb")
    ] = None
    winch: Annotated[
        Winch | None, Field(description="a table with the winch's rating, drum and rope")
    ] = None

    @model_validator(mode="after")
    def _fits_together(self) -> Self:
        self._check_deck()
        self._check_axles()
        self._check_ratings()
        self._check_aboard()
        return self

    def _check_deck(self) -> None:
        if (self.deck is not None) != (self.kind == "carrier"):
            found = "missing" if self.deck is None else "given"
            raise FieldError("deck", found, "a deck on a carrier, none on a wrecker")
        if self.deck is not None and self.deck.headboard_in >= self.wheelbase_in:
            allowed = f"less than the wheelbase, {self.wheelbase_in} inches"
            raise FieldError("deck.headboard_in", self.deck.headboard_in, allowed)
        deck_end = 0 if self.deck is None else self.deck.headboard_in + self.deck.length_in
        if self.rear_end_in < deck_end:
            allowed = f"{deck_end} inches, where the deck ends, or more"
            raise FieldError("rear_end_in", self.rear_end_in, allowed)

    def _check_axles(self) -> None:
        if self.rear_end_in <= self.wheelbase_in:
            allowed = f"more than the wheelbase, {self.wheelbase_in} inches"
            raise FieldError("rear_end_in", self.rear_end_in, allowed)
        spacing = self.tandem_spacing_in
        if self.rear_axles == 2 and spacing is None:
            allowed = "whole inches, 41 to 96, since rear_axles is 2"
            raise FieldError("tandem_spacing_in", "missing", allowed)
        if self.rear_axles == 1 and spacing is not None:
            raise FieldError("tandem_spacing_in", spacing, "nothing, since rear_axles is 1")
        if self.tyres.front.per_axle != 2:
            raise FieldError("tyres.front.per_axle", self.tyres.front.per_axle, "2, it steers")

    def _check_ratings(self) -> None:
        """Check the ratings by 36 FR 14583: GVWR is at most the sum of the axle ratings."""
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

    def _check_aboard(self) -> None:
        aboard = sum(piece.weight_lb for piece in self.ticket.aboard)
        most = (self.ticket.front_lb + self.ticket.rear_lb) // 2
        if aboard > most:
            allowed = f"pieces of at most {most} pounds together, half of the ticket"
            raise FieldError("ticket.aboard", f"{aboard} pounds", allowed)

    def carrier(self) -> Truck:
        """Return the truck as the margin needs it.

        Raises
        ------
        OutOfRangeError
            If the truck has no deck.
        """
        if self.deck is None:
            raise OutOfRangeError("truck", self.name, "a carrier, which has a deck")
        front, rear = self.tyres.front.on(1), self.tyres.rear.on(self.rear_axles)
        return Truck(
            empty_front_lb=self.ticket.front_lb,
            empty_rear_lb=self.ticket.rear_lb,
            gvwr_lb=self.gvwr_lb,
            gawr_front_lb=self.gawr_front_lb,
            gawr_rear_lb=self.gawr_rear_lb,
            wheelbase_in=self.wheelbase_in,
            headboard_in=self.deck.headboard_in,
            deck_length_in=self.deck.length_in,
            rear_axles=self.rear_axles,
            tandem_spacing_in=self.tandem_spacing_in or 0,
            aboard=tuple(piece.on_ticket() for piece in self.ticket.aboard if piece.has_position),
            front_tyres_lb=front.carry_lb,
            rear_tyres_lb=rear.carry_lb,
            front_tyre_set=front,
            rear_tyre_set=rear,
            gcwr_lb=self.gcwr_lb,
            deck_height_in=self.deck.height_in,
            height_in=self.height_in,
            front_end_in=self.front_end_in,
            rear_end_in=self.rear_end_in,
            lift=None if self.wheel_lift is None else self.wheel_lift.at(self.wheelbase_in),
        )


def lifter(card: TruckCard) -> Lifter | None:
    """Return the truck as the lift figure needs it; None if it has no wheel lift."""
    wheel_lift = card.wheel_lift
    if wheel_lift is None:
        return None
    return Lifter(
        front_lb=card.ticket.front_lb,
        rear_lb=card.ticket.rear_lb,
        gawr_rear_lb=card.gawr_rear_lb,
        gvwr_lb=card.gvwr_lb,
        wheelbase_in=card.wheelbase_in,
        reach_in=wheel_lift.reach_in,
        rating_lb=wheel_lift.rating_lb,
        tow_lb=wheel_lift.tow_lb,
        retracted=None if wheel_lift.retracted is None else wheel_lift.retracted.arm(),
    )

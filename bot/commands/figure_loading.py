"""The figure of loading from the command line: a deck that slides back, and the front axle."""

from dataclasses import dataclass, replace
from pathlib import Path

from bot.commands.figure import Vehicle, loads_of, truck_of, vehicle_of, write_drawing
from bot.commands.typed import inches, weight
from flows.cards.truck import TruckCard
from flows.errors import FlowError
from flows.figures.deck import Load
from flows.figures.drawings.loading_drawing import draw_loading
from flows.figures.loading import Ramp, loading
from flows.figures.margin import margin
from flows.figures.result import Result
from flows.figures.result_pages import result_page
from flows.routine.book import Book
from flows.texts import figure_texts, rigging_texts


@dataclass(frozen=True, slots=True)
class LoadingAsked:
    """What was typed: truck and vehicle, its place, and what slides with the deck.

    Attributes
    ----------
    truck, vehicle
        By their cards.
    at
        Where its nearest end is to stand behind the headboard; None for the margin's best place.
    slides
        Weight of what slides back with the deck; None for what the truck's card says.
    """

    truck: str
    vehicle: Vehicle
    at: str | None = None
    slides: str | None = None


def loading_lines(book: Book, asked: LoadingAsked, drawing: Path | None = None) -> list[str]:
    """Return the lightest that a truck's front axle gets while it loads; the worse way round.

    Parameters
    ----------
    book, asked
        The cards, and what was typed.
    drawing
        Where its drawing is written, if anywhere.

    Raises
    ------
    FlowError
        For a truck without a deck or without its tilt, a vehicle that no card has, a quantity
        that is none, and a place that is not on the deck.
    """
    card = truck_of(asked.truck, book)
    ramp = _ramp(card, asked.slides)
    found = [
        _loaded(card, ramp, load, asked.at) for load in loads_of(asked.vehicle, book, "--weight")
    ]
    worst = min(found, key=lambda one: one.checks[0].left)
    if drawing is None:
        return result_page(worst)
    said = rigging_texts()
    title = said["loading"]["title"].format(
        truck=card.name, vehicle=vehicle_of(asked.vehicle, book).name
    )
    write_drawing(drawing, draw_loading(worst, card.carrier(), title))
    return [*result_page(worst), "", said["page"]["written"].format(file=drawing)]


def _ramp(card: TruckCard, slides: str | None) -> Ramp:
    if card.deck is None or card.deck.tilt_pct is None:
        raise FlowError(figure_texts()["given"]["no_tilt"].format(name=card.name))
    ramp = Ramp(card.deck.tilt_pct, card.deck.slides_lb)
    return ramp if slides is None else replace(ramp, slides_lb=weight("--slides", slides).high)


def _loaded(card: TruckCard, ramp: Ramp, load: Load, at: str | None) -> Result:
    truck = card.carrier()
    place = margin(truck, load).drawn_in if at is None else inches("--at", at)
    return loading(truck, ramp, load, place)

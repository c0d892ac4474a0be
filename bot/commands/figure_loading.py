"""The loading figure on the command line: a deck that slides back, and the front axle."""

from dataclasses import dataclass, replace
from pathlib import Path

from bot.commands.figure import Vehicle, loads_of, truck_of, vehicle_of, write_drawing
from bot.commands.typed import inches, weight
from flows.cards.truck import TruckCard
from flows.errors import FlowError
from flows.figures.deck import Load, Truck
from flows.figures.drawings.loading_drawing import draw_loading
from flows.figures.limits import Asked
from flows.figures.loading import Ramp, loading
from flows.figures.margin import decide_any
from flows.figures.result_pages import result_page
from flows.reckoning.margin_inputs import legal_of
from flows.routine.book import Book
from flows.texts import figure_texts, rigging_texts


@dataclass(frozen=True, slots=True)
class LoadingAsked:
    """The options: truck and vehicle, its position, and the weight that slides with the deck.

    Attributes
    ----------
    truck, vehicle
        Names or ids of their cards.
    at
        The final distance from the headboard to its nearest end; None for the margin's best.
    slides
        The weight that slides back with the deck; None for the truck card's weight.
    """

    truck: str
    vehicle: Vehicle
    at: str | None = None
    slides: str | None = None


def loading_lines(book: Book, asked: LoadingAsked, drawing: Path | None = None) -> list[str]:
    """Return the lightest load on a truck's front axle during loading, the worse way round.

    Parameters
    ----------
    book, asked
        The cards, and the options.
    drawing
        The file for its drawing, if any.

    Raises
    ------
    FlowError
        If the truck has no deck or its card no tilt, no card has the vehicle, a quantity is
        invalid, or the position is not on the deck.
    """
    card = truck_of(asked.truck, book)
    ramp = _ramp(card, asked.slides)
    truck, loads = card.carrier(), tuple(loads_of(asked.vehicle, book, "--weight"))
    at_in = _best(book, truck, loads) if asked.at is None else inches("--at", asked.at)
    found = [loading(truck, ramp, load, at_in) for load in loads]
    worst = min(found, key=lambda result: result.checks[0].left)
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


def _best(book: Book, truck: Truck, loads: tuple[Load, ...]) -> int:
    """Return the margin's best position, which holds whichever end is at the headboard [in]."""
    company = book.library.company
    cases = tuple(Asked(truck, load, None, legal_of(company)) for load in loads)
    return decide_any(cases, company.close_at_pct).drawn_in

"""Figures on the command line: from cards and options to lines of text."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product
from pathlib import Path

from bot.commands.typed import inches, weight
from bot.machine.png import png_of
from flows.cards.truck import TruckCard
from flows.cards.vehicle import VehicleCard
from flows.errors import FlowError
from flows.figures.deck import Load, Piece, Truck
from flows.figures.drawings.margin_drawing import draw
from flows.figures.limits import Asked as Limits
from flows.figures.margin import Margin, decide_any
from flows.figures.pages import margin_page, vin_page
from flows.figures.remedies import without
from flows.figures.vin import LENGTH, LOOKS_LIKE, SOUNDS_LIKE, examine
from flows.job.facts import Fact
from flows.job.state import Job
from flows.measures.spelled import spelled
from flows.reckoning.margin_inputs import legal_of, plan_of
from flows.routine.book import Book
from flows.texts import figure_texts

HOW = ("label", "ticket")
WAYS = {"toward": (True,), "away": (False,), None: (True, False)}
# Our own, on the cautious side: a rating counts 150 lb for each seat (36 FR 14583).
PASSENGER_LB = 200
CAB_IN = 60  # a passenger's position if the card gives no person's


@dataclass(frozen=True, slots=True)
class Vehicle:
    """A vehicle as typed.

    Attributes
    ----------
    name
        Name or id of its card.
    weight
        A weight or a range in our own grammar; None for the card's weight.
    how
        The source of that weight: a label (it may weigh more), or a scale ticket.
    nose
        Toward the truck or away from it; None if not known: the worse way counts.
    contents, bed
        The weight of things inside it, and on its bed.
    is_sure
        Whether an unusual weight is right.
    """

    name: str
    weight: str | None = None
    how: str = "label"
    nose: str | None = None
    contents: str | None = None
    bed: str | None = None
    is_sure: bool = False


@dataclass(frozen=True, slots=True)
class Asked:
    """The options of a margin.

    Attributes
    ----------
    truck
        Name or id of its card.
    vehicle, second
        The vehicle on the deck, and the one on the wheel lift.
    aboard, left
        Pieces aboard since the ticket, ``"blocks, 120 lb, 150 in"``, and names of pieces on the
        card that were left behind.
    passengers
        People in the cab that the ticket does not include.
    at
        The distance from the headboard to the nearest end; None for the best position.
    is_recovery
        Whether the vehicle goes to the nearest appropriate repair facility (23 USC 127(m)).
    """

    truck: str
    vehicle: Vehicle
    second: Vehicle | None = None
    aboard: tuple[str, ...] = ()
    left: tuple[str, ...] = ()
    passengers: int = 0
    at: str | None = None
    is_recovery: bool = False


def margin_lines(asked: Asked, book: Book, drawing: Path | None = None) -> list[str]:
    """Return the page of a margin, and write its drawing if a file is named.

    Raises
    ------
    FlowError
        If no card has a name, a weight is not one weight or range, or the drawing cannot be
        written.
    """
    said = figure_texts()["page"]
    truck = truck_of(asked.truck, book)
    vehicle = vehicle_of(asked.vehicle, book)
    m = _computed(asked, book, truck)
    lines = margin_page(m, truck.name, vehicle.name)
    if asked.vehicle.nose is None:
        lines.insert(4, said["worse_way"])
    if drawing is not None:
        write_drawing(drawing, draw(m, truck.name, vehicle.name))
        lines += ["", said["written"].format(file=drawing)]
    return lines


def write_drawing(file: Path, svg: str) -> None:
    """Write a drawing: as PNG if the file's name ends so, otherwise as SVG.

    Raises
    ------
    FlowError
        If the file cannot be written.
    """
    data = svg.encode()
    try:
        file.write_bytes(png_of(data) if file.suffix.lower() == ".png" else data)
    except OSError as error:
        said = figure_texts()["given"]["drawing_unwritten"]
        raise FlowError(said.format(file=file, reason=error.strerror)) from error


def _computed(asked: Asked, book: Book, card: TruckCard) -> Margin:
    """Compute as a job with the same knowledge does: the worst case of all that is open."""
    company = book.library.company
    legal = replace(legal_of(company), recovery=asked.is_recovery)
    truck = _loaded(card.carrier(), asked)
    seconds: Iterable[Load | None] = (None,)
    if asked.second is not None:
        seconds = tuple(loads_of(asked.second, book, "--second-weight"))
    at = None if asked.at is None else inches("--at", asked.at)
    cases = product(loads_of(asked.vehicle, book, "--weight"), seconds)
    return decide_any(
        tuple(Limits(truck, load, second, legal, at) for load, second in cases),
        company.close_at_pct,
    )


def loads_of(vehicle: Vehicle, book: Book, option: str) -> Iterator[Load]:
    """Yield the vehicle, each way round that is possible, with its weights as in a job.

    Raises
    ------
    FlowError
        If no card has the name, or the weight is not one weight or range.
    """
    card = vehicle_of(vehicle, book)
    known: dict[str, object] = {
        "card": card.id,
        "powertrain": card.powertrain,
        "drive": card.drive,
    }
    span = None
    if vehicle.weight is not None:
        span = weight(option, vehicle.weight, is_sure=vehicle.is_sure)
        known |= {"weight": span.high, "weight_how": "ticket" if vehicle.how == "ticket" else None}
    facts = {name: Fact(value, "typed", "", 0) for name, value in known.items() if value}
    plan = plan_of(Job(1, book, facts=facts))
    if span is not None:
        plan = replace(plan, likely_lb=min(span.middle, plan.high_lb))
    plan = plan.adding(_more("--contents", vehicle.contents), _more("--bed", vehicle.bed))
    for way in WAYS[vehicle.nose]:
        yield plan.load(nose_first=way, height_in=card.height_in)


def _more(option: str, said: str | None) -> int:
    return 0 if said is None else weight(option, said).high


def _loaded(truck: Truck, asked: Asked) -> Truck:
    """Return the truck with the pieces that came aboard, without those left behind."""
    for name in asked.left:
        truck = without(truck, _aboard(truck, name))
    seats = [piece.at_in for piece in truck.aboard if piece.person] or [CAB_IN]
    riding = [Piece("passenger", PASSENGER_LB, seats[0], person=True)] * asked.passengers
    return replace(truck, aboard=(*truck.aboard, *map(_piece, asked.aboard), *riding))


def _aboard(truck: Truck, name: str) -> Piece:
    gear = {piece.name.lower(): piece for piece in truck.aboard if not piece.person}
    found = gear.get(name.strip().lower())
    if found is None:
        said = figure_texts()["given"]["not_aboard"]
        raise FlowError(said.format(name=name, names=", ".join(sorted(gear))))
    return found


def _piece(said: str) -> Piece:
    parts = [part.strip() for part in said.rsplit(",", 2)]
    if len(parts) != 3 or not all(parts):
        raise FlowError(figure_texts()["given"]["piece_unread"].format(said=said))
    return Piece(parts[0], weight("--aboard", parts[1]).high, inches("--aboard", parts[2]))


def truck_of(name: str, book: Book) -> TruckCard:
    """Return the card of a truck with a deck, by its name or id.

    Raises
    ------
    FlowError
        If no card has that name, or the truck has no deck.
    """
    trucks = book.library.trucks
    card = trucks[_card("no_such_truck", name, trucks.values())]
    if card.deck is None:
        names = ", ".join(sorted(truck.id for truck in trucks.values() if truck.deck is not None))
        raise FlowError(figure_texts()["given"]["no_deck"].format(name=card.name, names=names))
    return card


def vehicle_of(vehicle: Vehicle, book: Book) -> VehicleCard:
    """Return the card of a vehicle, by its name or id.

    Raises
    ------
    FlowError
        If no card has that name.
    """
    cards = book.library.vehicles
    return cards[_card("no_such_vehicle", vehicle.name, cards.values())]


def _card(key: str, said: str, cards: Iterable[TruckCard | VehicleCard]) -> str:
    """Return the id of a card, by its id or name, upper or lower case alike."""
    called = {name.lower(): card.id for card in cards for name in (card.name, card.id)}
    found = called.get(said.strip().lower())
    if found is None:
        names = ", ".join(sorted(set(called.values())))
        raise FlowError(figure_texts()["given"][key].format(name=said, names=names))
    return found


def vin_lines(words: Sequence[str], *, is_light: bool) -> list[str]:
    """Return the meaning of a vehicle number, typed or spelled out in words."""
    said = figure_texts()["vin"]
    typed = " ".join(words)
    found = spelled(typed, LENGTH)
    if not found.readings:
        return [said["nothing"]]
    alike = LOOKS_LIKE if len(typed.split()) <= LENGTH // 2 else SOUNDS_LIKE
    lines = [] if len(found.readings) == 1 else [said["several"].format(count=len(found.readings))]
    for reading in found.readings:
        lines += vin_page(examine(reading, is_light=is_light, alike=alike))
    if found.unread:
        lines.append(said["unread"].format(words=", ".join(found.unread)))
    return lines

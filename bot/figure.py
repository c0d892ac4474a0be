"""Figures from the command line: the cards and what was typed in, lines of text out."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from flows.book import Book
from flows.cards.truck import TruckCard
from flows.cards.vehicle import VehicleCard
from flows.conclude import margins_of, worst_of
from flows.errors import FlowError
from flows.facts import Fact
from flows.figures.drawing import draw
from flows.figures.margin import Margin, margin
from flows.figures.pages import margin_page, vin_page
from flows.figures.vin import LENGTH, LOOKS_LIKE, SOUNDS_LIKE, examine
from flows.job import Job
from flows.measures import find_mass
from flows.measures.spelled import spelled
from flows.texts import figure_texts

NOSE = {"toward": "nose", "away": "tail"}
HOW = ("label", "ticket")


@dataclass(frozen=True, slots=True)
class Asked:
    """What was typed for a margin.

    Attributes
    ----------
    truck, vehicle
        Names or ids of cards.
    weight
        The vehicle's weight in our own grammar; None for what its card says.
    how
        Where that weight stands: on a label (it may weigh more), or on a scale ticket.
    nose
        Toward the headboard or away from it; None is not known, the worse counts.
    """

    truck: str
    vehicle: str
    weight: str | None = None
    how: str = "label"
    nose: str | None = None


def margin_lines(asked: Asked, book: Book, drawing: Path | None = None) -> list[str]:
    """Return the page of a margin, and write its drawing if a file is named.

    Raises
    ------
    FlowError
        For a name that no card has, and a weight that is not one weight.
    """
    said = figure_texts()["page"]
    m, truck, vehicle = _reckoned(asked, book)
    lines = margin_page(m, truck, vehicle)
    if asked.nose is None:
        lines.insert(4, said["worse_way"])
    if drawing is not None:
        drawing.write_text(draw(m, truck, vehicle), "utf-8")
        lines += ["", said["written"].format(file=drawing)]
    return lines


def _reckoned(asked: Asked, book: Book) -> tuple[Margin, str, str]:
    """Reckon as a job does that knows as much, and return the names on the cards too."""
    truck = _card("no_such_truck", asked.truck, book.library.trucks.values())
    vehicle = _card("no_such_vehicle", asked.vehicle, book.library.vehicles.values())
    card = book.library.vehicles[vehicle]
    weight = None if asked.weight is None else _pounds(asked.weight)
    known = {
        "truck": truck,
        "card": vehicle,
        "powertrain": card.powertrain,
        "drive": card.drive,
        "facing": None if asked.nose is None else NOSE[asked.nose],
        "weight": weight,
    }
    facts = {
        name: Fact(value, "typed", "", 0) for name, value in known.items() if value is not None
    }
    answers = margins_of(Job(1, book, facts=facts))
    if weight is not None and asked.how == "ticket":
        answers = tuple(_weighing(m, weight) for m in answers)
    return worst_of(answers), book.library.trucks[truck].name, card.name


def _weighing(m: Margin, pounds: int) -> Margin:
    """Return the margin for a weight from the scale, which is no more than it says."""
    load = replace(m.load, likely_lb=pounds, high_lb=pounds)
    return margin(m.truck, load, m.close_at_pct, lifted=m.lifted, legal=m.legal)


def _card(key: str, said: str, cards: Iterable[TruckCard | VehicleCard]) -> str:
    """Return the id of the card that is called so, by id or name, in any case."""
    called = {name.lower(): card.id for card in cards for name in (card.name, card.id)}
    found = called.get(said.strip().lower())
    if found is None:
        names = ", ".join(sorted(set(called.values())))
        raise FlowError(figure_texts()["given"][key].format(name=said, names=names))
    return found


def _pounds(said: str) -> int:
    found = find_mass(said)
    texts = figure_texts()["given"]
    if found is None:
        raise FlowError(texts["weight_unread"].format(said=said))
    one = found.readings[0]
    if found.ambiguous or one.low != one.high:
        ends = sorted({end for r in found.readings for end in (r.low, r.high)})
        readings = ", ".join(f"{end:,} lb" for end in ends)
        raise FlowError(texts["weight_unsure"].format(said=said, readings=readings))
    return one.high


def vin_lines(words: Sequence[str], *, is_light: bool) -> list[str]:
    """Return what a vehicle number says that was typed or spelled out in words."""
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

"""Figures of pull and rigging on the command line: from options to lines of text."""

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Final, TypeVar

from bot.commands.figure import Vehicle, loads_of, vehicle_of, write_drawing
from bot.commands.typed import feet, millivolts, size_64in, weight
from flows.cards.gear import GearCard
from flows.cards.truck import TruckCard, lifter
from flows.errors import FlowError
from flows.figures import pull as pulling, winch as winching
from flows.figures.dollies import Dollies
from flows.figures.drawings.lift_drawing import draw_lift
from flows.figures.drawings.rigging_drawing import draw_rigging, draw_tiedowns, draw_window
from flows.figures.lifting import lift
from flows.figures.result import Result
from flows.figures.result_pages import result_page
from flows.figures.rigging import leg_factor, rigging
from flows.figures.tiedowns import Geometry, Tiedown, default_limit, tiedowns
from flows.figures.volts import charge
from flows.figures.warning import devices, storage, taper
from flows.figures.window import window
from flows.routine.book import Book
from flows.texts import figure_texts, rigging_texts

T = TypeVar("T", TruckCard, GearCard)

MODELS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "army": winching.ARMY,
        "plain": winching.PLAIN,
        "roller": winching.ROLLER,
        "handbook": winching.HANDBOOK,
    }
)
TABLES: Final[Mapping[str, str]] = MappingProxyType(
    {
        "supplier": pulling.SUPPLIER,
        "commonwealth": pulling.COMMONWEALTH,
        "trade": pulling.TRADE,
        "army": pulling.ARMY,
    }
)
_SCENE: Final[Mapping[str, Callable[..., Result]]] = MappingProxyType(
    {"devices": devices, "taper": taper, "storage": storage}
)
BRIDLE_TAG_DEG: Final = 60
"""A bridle's card gives one limit for both legs, at up to this angle between them [degrees]."""


@dataclass(frozen=True, slots=True)
class PullAsked:
    """The options of a winch pull: truck, quantities in our own grammar, model."""

    truck: str
    pull: str
    reach: str
    distance: str
    model: str = "army"


def winch_lines(book: Book, asked: PullAsked) -> list[str]:
    """Return the number of parts of line that a truck's winch needs for a pull.

    Raises
    ------
    FlowError
        If the truck has no winch, a quantity is invalid, or the pull is too much.
    """
    trucks = book.library.trucks
    winches = {one.id: one for one in trucks.values() if one.winch is not None}
    card = _named(winches, asked.truck, "no_winch")
    found = winching.winch(
        _winch(card),
        weight("--pull", asked.pull).high,
        feet("--reach", asked.reach),
        feet("--distance", asked.distance),
        MODELS[asked.model],
    )
    return result_page(found)


def _winch(card: TruckCard) -> winching.Winch:
    if card.winch is None:
        raise FlowError(figure_texts()["given"]["no_winch"].format(name=card.name, names=""))
    return card.winch.rated()


@dataclass(frozen=True, slots=True)
class GroundAsked:
    """The options of the ground: a surface of a table, or a part of the weight; and the slope."""

    surface: str | None
    table: str
    part_pct: int | None = None
    grade_pct: int = 0
    angle_deg: int = 0
    locked: str = "none"

    @property
    def ground(self) -> tuple[str, str]:
        """The surface and its table, for the figure."""
        if (self.surface is None) == (self.part_pct is None):
            raise FlowError(figure_texts()["given"]["ground_once"])
        if self.part_pct is not None:
            return f"{self.part_pct} percent", pulling.GIVEN
        return self.surface or "", TABLES[self.table]


def pull_lines(heavy: str, ground: GroundAsked) -> list[str]:
    """Return the force needed to pull a vehicle.

    Raises
    ------
    FlowError
        If the weight is invalid, the table has no such surface, or no ground is given.
    """
    slope = pulling.Slope(ground.grade_pct, ground.angle_deg)
    pounds = weight("--weight", heavy).high
    return result_page(pulling.pull(pounds, *ground.ground, slope=slope, locked=ground.locked))


def rigging_lines(
    book: Book, line: str, degrees: tuple[int, int], gear: list[str], drawing: Path | None = None
) -> list[str]:
    """Return the loads on block and bridle, compared with the limits on the gear's cards.

    Raises
    ------
    FlowError
        If the pull is invalid, or no card has the gear.
    """
    cards = {one.id: one for one in book.library.gear.values() if one.kind in ("block", "bridle")}
    ratings = [_rating(_named(cards, name, "no_such_gear")) for name in gear]
    found = rigging(weight("--line", line).high, *degrees, ratings)
    return _page(found, drawing, lambda: draw_rigging(found))


def _page(found: Result, drawing: Path | None, drawn: Callable[[], str]) -> list[str]:
    """Return a figure as lines, and write its drawing if a file is named."""
    if drawing is None:
        return result_page(found)
    write_drawing(drawing, drawn())
    return [*result_page(found), "", rigging_texts()["page"]["written"].format(file=drawing)]


def window_lines(
    book: Book, asked: PullAsked, pull: tuple[int, int, int], drawing: Path | None = None
) -> list[str]:
    """Return the minutes that a pull takes, compared with the neutral hold.

    Parameters
    ----------
    book, asked
        The cards; truck, reach and distance.
    pull
        Parts of line, feet per minute on the first layer, minutes that neutral holds.
    drawing
        The file for its drawing, if any.

    Raises
    ------
    FlowError
        If the truck has no winch, or a length is invalid.
    """
    winches = {one.id: one for one in book.library.trucks.values() if one.winch is not None}
    rated = _winch(_named(winches, asked.truck, "no_winch"))
    path = feet("--reach", asked.reach), feet("--distance", asked.distance)
    parts, speed_ft_min, hold_min = pull
    found = window(rated, parts, path, speed_ft_min, hold_min)
    return _page(found, drawing, lambda: draw_window(found))


@dataclass(frozen=True, slots=True)
class StrapsAsked:
    """The options of straps: weight, angles, today; the strap's card, or an unmarked width."""

    weight: str
    gear: str | None
    angles: tuple[int, int]
    today: dt.date
    webbing: str | None = None


def tiedowns_lines(book: Book, asked: StrapsAsked, drawing: Path | None = None) -> list[str]:
    """Return the demands on a strap at each wheel, compared with the strap's card.

    Raises
    ------
    FlowError
        If the weight is invalid, or no card has the strap.
    """
    pounds = weight("--weight", asked.weight).high
    found = tiedowns(pounds, [_strap(book, asked)] * 4, Geometry(*asked.angles), asked.today)
    return _page(found, drawing, lambda: draw_tiedowns(found))


def _strap(book: Book, asked: StrapsAsked) -> Tiedown:
    """Return a strap with the limit on its card, or without a mark by the width of its webbing."""
    if asked.webbing is not None:
        pounds = default_limit("webbing", size_64in("--webbing", asked.webbing))
        return Tiedown("webbing", (pounds,))
    cards = {one.id: one for one in book.library.gear.values() if one.kind == "strap"}
    card = _named(cards, asked.gear or "", "no_such_gear")
    return Tiedown(card.name, (card.working_load_limit_lb or 0,), due=card.due)


@dataclass(frozen=True, slots=True)
class LiftAsked:
    """The options of a wheel lift: truck and vehicle, dollies and today if given."""

    truck: str
    vehicle: Vehicle
    dollies: str | None = None
    today: dt.date | None = None


def lift_lines(book: Book, asked: LiftAsked, drawing: Path | None = None) -> list[str]:
    """Return the loads of a vehicle on wheel lift and dollies, compared with the cards.

    Raises
    ------
    FlowError
        If the truck has no wheel lift, or no card has the vehicle or the gear.
    """
    trucks = {one.id: one for one in book.library.trucks.values() if one.wheel_lift is not None}
    card = _named(trucks, asked.truck, "no_lift")
    rated = lifter(card)
    if rated is None:
        raise FlowError(figure_texts()["given"]["no_lift"].format(name=card.name, names=""))
    [load] = loads_of(asked.vehicle, book, "--weight")
    found = lift(rated, load, _dollies(book, asked.dollies, asked.today))
    title = rigging_texts()["lift"]["title"].format(
        truck=card.name, vehicle=vehicle_of(asked.vehicle, book).name
    )
    return _page(found, drawing, lambda: draw_lift(found, rated, load, title))


def _dollies(book: Book, name: str | None, today: dt.date | None) -> Dollies | None:
    """Return a set of dollies; it carries nothing if its inspection is overdue."""
    if name is None:
        return None
    cards = {one.id: one for one in book.library.gear.values() if one.kind == "dolly"}
    card = _named(cards, name, "no_such_gear")
    return Dollies(0) if today is not None and card.due < today else card.dollies()


def charge_lines(volts: str, temperature_f: int, kind: str) -> list[str]:
    """Return the state of charge of a twelve volt battery at rest.

    Raises
    ------
    FlowError
        If the voltage is invalid, or the table does not cover the battery.
    """
    return result_page(charge(millivolts("--volts", volts), temperature_f, kind))


def scene_lines(what: str, given: Mapping[str, str | int]) -> list[str]:
    """Return the distances of warning devices, of a taper or of storage."""
    return result_page(_SCENE[what](**given))


def _rating(card: GearCard) -> tuple[str, str, int]:
    """Return the limit of a piece of gear; for a bridle, the limit of one leg."""
    limit = card.working_load_limit_lb or 0
    if card.kind == "block":
        return "block", card.name, limit
    return "leg", card.name, int(limit * leg_factor(BRIDLE_TAG_DEG))


def _named(cards: Mapping[str, T], said: str, key: str) -> T:
    called = {name.lower(): one for one in cards.values() for name in (one.name, one.id)}
    found = called.get(said.strip().lower())
    if found is None:
        names = ", ".join(sorted(cards))
        raise FlowError(figure_texts()["given"][key].format(name=said, names=names))
    return found

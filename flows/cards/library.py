"""All cards of a company together, with a digest of each."""

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import PurePosixPath
from types import MappingProxyType
from typing import TypeVar

from flows.cards import digest
from flows.cards.company import CompanyCard, parse_company
from flows.cards.truck import TruckCard, parse_truck
from flows.cards.vehicle import VehicleCard, parse_vehicle
from flows.errors import CardError, CardProblem

COMPANY_FILE = "company.toml"


@dataclass(frozen=True, slots=True)
class Library:
    """A company's cards.

    Attributes
    ----------
    vehicles, trucks : mapping
        Cards by their id.
    company : CompanyCard
        The company itself.
    digests : mapping
        File name to SHA-256 hex of the card's canonical JSON; a job keeps those it used.
    """

    vehicles: Mapping[str, VehicleCard]
    trucks: Mapping[str, TruckCard]
    company: CompanyCard
    digests: Mapping[str, str]


C = TypeVar("C", VehicleCard, TruckCard)


def library_from(files: Mapping[str, str]) -> Library:
    """Read all cards from the text of their files; the caller reads the disk.

    Parameters
    ----------
    files : mapping
        File name to TOML text: ``company.toml``, ``vehicles/<id>.toml``, ``trucks/<id>.toml``.

    Returns
    -------
    Library
        The checked cards.

    Raises
    ------
    CardError
        At the first file that is no TOML, has no place in the library, or holds a wrong card.
    """
    data = {name: _toml(name, text) for name, text in sorted(files.items())}
    if COMPANY_FILE not in data:
        raise CardError(COMPANY_FILE, (CardProblem("", "missing", "one file for the company"),))
    company = parse_company(COMPANY_FILE, data.pop(COMPANY_FILE))
    vehicles = _shelf("vehicles", data, parse_vehicle)
    trucks = _shelf("trucks", data, parse_truck)
    cards = {COMPANY_FILE: company, **vehicles, **trucks}
    _nothing_else(data, cards)
    return Library(
        vehicles=MappingProxyType({card.id: card for card in vehicles.values()}),
        trucks=MappingProxyType({card.id: card for card in trucks.values()}),
        company=company,
        digests=MappingProxyType({name: digest(card) for name, card in cards.items()}),
    )


def _toml(name: str, text: str) -> dict[str, object]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise CardError(name, (CardProblem("", f"no TOML ({error})", "TOML text"),)) from None


def _shelf(
    folder: str,
    data: Mapping[str, dict[str, object]],
    read: Callable[[str, Mapping[str, object]], C],
) -> dict[str, C]:
    """Read the cards of one folder, by file name."""
    found = {}
    for name, content in data.items():
        path = PurePosixPath(name)
        if path.parts[:-1] == (folder,) and path.suffix == ".toml":
            card = read(name, content)
            if card.id != path.stem:
                problem = CardProblem("id", card.id, f"{path.stem}, the name of the file")
                raise CardError(name, (problem,))
            found[name] = card
    return found


def _nothing_else(data: Mapping[str, object], known: Mapping[str, object]) -> None:
    for name in data:
        if name not in known:
            allowed = "company.toml, vehicles/<id>.toml and trucks/<id>.toml"
            raise CardError(name, (CardProblem("", "not a card's file", allowed),))

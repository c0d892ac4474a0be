"""All cards of a company together, with a digest of each."""

import tomllib
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import PurePosixPath
from types import MappingProxyType
from typing import Final, TypeAlias, TypeVar

from flows.cards import Card, digest
from flows.cards.company import CompanyCard, parse_company
from flows.cards.gear import GearCard, parse_gear
from flows.cards.names import clash
from flows.cards.truck import TruckCard, parse_truck
from flows.cards.vehicle import VehicleCard, parse_vehicle
from flows.errors import CardError, CardProblem

COMPANY_FILE: Final = "company.toml"
PLACES: Final = "company.toml, vehicles/<id>.toml, trucks/<id>.toml and gear/<id>.toml"

Shelved: TypeAlias = VehicleCard | TruckCard | GearCard
Named: TypeAlias = VehicleCard | TruckCard
S = TypeVar("S", VehicleCard, TruckCard, GearCard)

KINDS: Final[Mapping[str, type[Card]]] = MappingProxyType(
    {"vehicle": VehicleCard, "truck": TruckCard, "gear": GearCard, "company": CompanyCard}
)
"""The kinds of card there are, with their form."""

_SHELVES: Final[Mapping[str, Callable[[str, Mapping[str, object]], Shelved]]] = MappingProxyType(
    {"vehicles": parse_vehicle, "trucks": parse_truck, "gear": parse_gear}
)


@dataclass(frozen=True, slots=True, eq=False)
class Library:
    """A company's cards. Each is one of its own: what is read anew is another library.

    Attributes
    ----------
    vehicles, trucks, gear : mapping
        Cards by their id.
    company : CompanyCard
        The company itself.
    digests : mapping
        File name to SHA-256 hex of the card's canonical JSON; a job keeps those it used.
    """

    vehicles: Mapping[str, VehicleCard]
    trucks: Mapping[str, TruckCard]
    gear: Mapping[str, GearCard]
    company: CompanyCard
    digests: Mapping[str, str]

    def fitting(self, powertrain: str | None, family: str | None) -> tuple[VehicleCard, ...]:
        """Return the vehicle cards that fit what is known of a vehicle.

        Parameters
        ----------
        powertrain, family : str or None
            None where it is not known. A card that names no weight class fits every family.
        """
        return tuple(
            card
            for card in self.vehicles.values()
            if powertrain in (None, card.powertrain)
            and (family is None or card.family in (None, family))
        )

    @property
    def carriers(self) -> tuple[TruckCard, ...]:
        """The trucks with a deck, which are those that a carry can choose from."""
        return tuple(card for card in self.trucks.values() if card.deck is not None)

    @property
    def wreckers(self) -> tuple[TruckCard, ...]:
        """The trucks that lift one end and carry nothing on a deck."""
        lift = (card for card in self.trucks.values() if card.wheel_lift is not None)
        return tuple(card for card in lift if card.kind == "wrecker")


@dataclass(frozen=True, slots=True)
class Checked:
    """What the files of a folder hold: the cards that are whole, and what is wrong with the rest.

    Attributes
    ----------
    cards : mapping
        File name to card.
    errors : mapping
        File name to all that is wrong in it; one that is missing is named too.
    """

    cards: Mapping[str, Card]
    errors: Mapping[str, CardError]


def check(files: Mapping[str, str | None]) -> Checked:
    """Read every file, whatever is wrong with another.

    Parameters
    ----------
    files : mapping
        File name to TOML text, None where it is no text; the caller reads the disk.

    Examples
    --------
    >>> sorted(check({"trucks/jay.toml": "id = 7"}).errors)
    ['company.toml', 'trucks/jay.toml']
    """
    cards: dict[str, Card] = {}
    errors: dict[str, CardError] = {}
    for name in sorted({COMPANY_FILE, *files}):
        try:
            cards[name] = _read(name, files)
        except CardError as error:
            errors[name] = error
    # A truck counts by its file, so that what is wrong with its card is told once.
    trucks = sorted(PurePosixPath(name).stem for name in files if name.startswith("trucks/"))
    for name, card in cards.items():
        problems = (*_misnamed(card, cards.values()), *_misplaced(card, trucks))
        if problems:
            errors[name] = CardError(name, problems)
    return Checked(
        {name: card for name, card in cards.items() if name not in errors},
        dict(sorted(errors.items())),
    )


def library_from(files: Mapping[str, str | None]) -> Library:
    """Read all cards from the text of their files; the caller reads the disk.

    Parameters
    ----------
    files : mapping
        File name to TOML text: ``company.toml``, ``vehicles/<id>.toml``, ``trucks/<id>.toml``,
        ``gear/<id>.toml``.

    Returns
    -------
    Library
        The checked cards.

    Raises
    ------
    CardError
        At the first file, by name, that is no TOML, has no place in the library, holds a wrong
        card or one that is at odds with another.
    """
    checked = check(files)
    for error in checked.errors.values():
        raise error
    company = checked.cards[COMPANY_FILE]
    if not isinstance(company, CompanyCard):
        raise TypeError(f"{COMPANY_FILE} is read as a {type(company).__name__}; mend `_read`")
    return Library(
        vehicles=_shelf(checked, VehicleCard),
        trucks=_shelf(checked, TruckCard),
        gear=_shelf(checked, GearCard),
        company=company,
        digests=MappingProxyType({name: digest(card) for name, card in checked.cards.items()}),
    )


def _shelf(checked: Checked, kind: type[S]) -> Mapping[str, S]:
    found = (card for card in checked.cards.values() if isinstance(card, kind))
    return MappingProxyType({card.id: card for card in found})


def _read(name: str, files: Mapping[str, str | None]) -> Card:
    """Read one file by its place.

    Raises
    ------
    CardError
        For whatever is wrong with it alone.
    """
    if name == COMPANY_FILE:
        if name not in files:
            raise _wrong(name, "missing", "one file for the company")
        return parse_company(name, _toml(name, files[name]))
    path = PurePosixPath(name)
    parse = _SHELVES.get("/".join(path.parts[:-1]))
    if parse is None or path.suffix != ".toml":
        raise _wrong(name, "not a card's file", PLACES)
    card = parse(name, _toml(name, files[name]))
    if card.id != path.stem:
        raise CardError(name, (CardProblem("id", card.id, f"{path.stem}, the name of the file"),))
    return card


def _toml(name: str, text: str | None) -> dict[str, object]:
    if text is None:
        raise _wrong(name, "no UTF-8 text", "TOML text in UTF-8")
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise _wrong(name, f"no TOML ({error})", "TOML text") from None


def _wrong(name: str, value: str, allowed: str) -> CardError:
    return CardError(name, (CardProblem("", value, allowed),))


def _misnamed(card: Card, cards: Iterable[Card]) -> Iterator[CardProblem]:
    """Yield what does not fit the other names, or the words that the bot listens for."""
    if not isinstance(card, Named):
        return
    others = (one for one in cards if isinstance(one, Named) and one is not card)
    if card.name.lower() in {one.name.lower() for one in others}:
        yield CardProblem("name", card.name, "a name that no other vehicle or truck has")
    phrase = clash(card.name)
    if phrase:
        yield CardProblem("name", card.name, f'a name without "{phrase}", which means more')


def _misplaced(card: Card, trucks: Sequence[str]) -> Iterator[CardProblem]:
    """Yield the trucks that gear is said to be on and that are not there."""
    for place, truck in enumerate(card.on if isinstance(card, GearCard) else ()):
        if truck not in trucks:
            allowed = "an id of a truck: " + (", ".join(trucks) or "there is none")
            yield CardProblem(f"on.{place}", truck, allowed)

"""All cards of a company together, with a digest of each."""

import tomllib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import PurePosixPath
from types import MappingProxyType
from typing import Final, TypeAlias, TypeVar

from flows.cards import Card, digest, parse
from flows.cards.company import CompanyCard
from flows.cards.gear import GearCard
from flows.cards.names import clash
from flows.cards.truck import TruckCard
from flows.cards.vehicle import VehicleCard
from flows.errors import CardError, CardProblem

COMPANY_FILE: Final = "company.toml"
FILE_NAMES: Final = "company.toml, vehicles/<id>.toml, trucks/<id>.toml and gear/<id>.toml"

Shelved: TypeAlias = VehicleCard | TruckCard | GearCard
Named: TypeAlias = VehicleCard | TruckCard
S = TypeVar("S", VehicleCard, TruckCard, GearCard)

KINDS: Final[Mapping[str, type[Card]]] = MappingProxyType(
    {"vehicle": VehicleCard, "truck": TruckCard, "gear": GearCard, "company": CompanyCard}
)
"""Every kind of card, with its model."""

_SHELVES: Final[Mapping[str, type[Shelved]]] = MappingProxyType(
    {"vehicles": VehicleCard, "trucks": TruckCard, "gear": GearCard}
)


@dataclass(frozen=True, slots=True, eq=False)
class Library:
    """A company's cards. Libraries compare by identity: reading the files again makes another.

    Attributes
    ----------
    vehicles, trucks, gear : mapping
        Cards by their id.
    company : CompanyCard
        The company itself.
    digests : mapping
        File name to SHA-256 hex of the card's canonical JSON; a job keeps the digests it used.
    """

    vehicles: Mapping[str, VehicleCard]
    trucks: Mapping[str, TruckCard]
    gear: Mapping[str, GearCard]
    company: CompanyCard
    digests: Mapping[str, str]

    def fitting(self, powertrain: str | None, family: str | None) -> tuple[VehicleCard, ...]:
        """Return the vehicle cards that fit the known facts of a vehicle.

        Parameters
        ----------
        powertrain, family : str or None
            None if not known. A card without a weight class fits every family.
        """
        return tuple(
            card
            for card in self.vehicles.values()
            if powertrain in (None, card.powertrain)
            and (family is None or card.family in (None, family))
        )

    @property
    def carriers(self) -> tuple[TruckCard, ...]:
        """The trucks with a deck, which a carry can choose from."""
        return tuple(card for card in self.trucks.values() if card.deck is not None)

    @property
    def wreckers(self) -> tuple[TruckCard, ...]:
        """The trucks that lift one end and carry nothing on a deck."""
        lift = (card for card in self.trucks.values() if card.wheel_lift is not None)
        return tuple(card for card in lift if card.kind == "wrecker")


@dataclass(frozen=True, slots=True)
class Checked:
    """The files of a folder as read: the valid cards, and the problems in the rest.

    Attributes
    ----------
    cards : mapping
        File name to card.
    errors : mapping
        File name to all its problems; a missing file is listed too.
    """

    cards: Mapping[str, Card]
    errors: Mapping[str, CardError]


def check(files: Mapping[str, str | None]) -> Checked:
    """Read every file, even if another has problems.

    Parameters
    ----------
    files : mapping
        File name to TOML text, None if it is not text; the caller reads the disk.

    Examples
    --------
    >>> sorted(check({"trucks/jay.toml": "id = 7"}).errors)
    ['company.toml', 'trucks/jay.toml']
    """
    cards, errors = _read_each(files)
    # A truck counts by its file, so that a problem in its card is reported once.
    trucks = sorted(PurePosixPath(name).stem for name in files if name.startswith("trucks/"))
    for name, card in cards.items():
        problems = (*_misnamed(card, cards.values()), *_misplaced(card, trucks))
        if problems:
            errors[name] = CardError(name, problems)
    return Checked(
        {name: card for name, card in cards.items() if name not in errors},
        dict(sorted(errors.items())),
    )


def _read_each(
    files: Mapping[str, str | None],
) -> tuple[dict[str, Card], dict[str, CardError]]:
    """Read each file by itself: the cards, and the errors of files that have no valid card."""
    cards: dict[str, Card] = {}
    errors: dict[str, CardError] = {}
    for name in sorted({COMPANY_FILE, *files}):
        try:
            cards[name] = _read(name, files)
        except CardError as error:
            errors[name] = error
    return cards, errors


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
        For the first file, by name, that is not TOML, does not belong in the library, or contains
        an invalid card or a card that contradicts another.
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
    """Read one file; its folder says which kind of card it is.

    Raises
    ------
    CardError
        For any problem in this file alone.
    """
    if name == COMPANY_FILE:
        if name not in files:
            raise _wrong(name, "missing", "one file for the company")
        return parse(CompanyCard, name, _toml(name, files[name]))
    path = PurePosixPath(name)
    model = _SHELVES.get("/".join(path.parts[:-1]))
    if model is None or path.suffix != ".toml":
        raise _wrong(name, "not a card's file", FILE_NAMES)
    card = parse(model, name, _toml(name, files[name]))
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
    """Yield a clash with another name, or with a phrase that the bot listens for."""
    if not isinstance(card, Named):
        return
    others = (other for other in cards if isinstance(other, Named) and other is not card)
    if card.name.lower() in {other.name.lower() for other in others}:
        yield CardProblem("name", card.name, "a name that no other vehicle or truck has")
    phrase = clash(card.name)
    if phrase:
        yield CardProblem("name", card.name, f'a name without "{phrase}", which means more')


def _misplaced(card: Card, trucks: Sequence[str]) -> Iterator[CardProblem]:
    """Yield the trucks named on a gear card that do not exist."""
    for index, truck in enumerate(card.on if isinstance(card, GearCard) else ()):
        if truck not in trucks:
            allowed = "an id of a truck: " + (", ".join(trucks) or "there is none")
            yield CardProblem(f"on.{index}", truck, allowed)

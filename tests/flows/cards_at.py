"""Cards as data, for the tests: the path of every value, and the same with one thing changed."""

import tomllib
from collections.abc import Callable, Iterator
from copy import deepcopy
from fractions import Fraction
from functools import partial
from typing import Any

import pytest

import demo_data
from flows.cards import Card, parse
from flows.cards.company import CompanyCard
from flows.cards.gear import GearCard
from flows.cards.truck import TruckCard
from flows.cards.vehicle import VehicleCard
from flows.errors import CardError

FILES = demo_data.card_files()
Path = tuple[str | int, ...]
Data = dict[str, Any]


def data(file: str) -> Data:
    """A card as data, its lengths with fractions in 64ths as its model has them."""
    found: Data = _in_64ths(tomllib.loads(FILES[file]))
    return found


def _in_64ths(value: Any) -> Any:
    if isinstance(value, list):
        return [_in_64ths(one) for one in value]
    if not isinstance(value, dict):
        return value
    found = {}
    for key, one in value.items():
        if key.endswith("_in") and isinstance(one, str):
            inches = sum((Fraction(part) for part in one.split()), Fraction(0))
            found[f"{key.removesuffix('_in')}_64in"] = int(64 * inches)
        else:
            found[key] = _in_64ths(one)
    return found


def parser(file: str) -> Callable[[str, Data], object]:
    models: dict[str, type[Card]] = {
        "vehicles": VehicleCard,
        "trucks": TruckCard,
        "gear": GearCard,
    }
    return partial(parse, models.get(file.partition("/")[0], CompanyCard))


def paths(value: Any, path: Path = ()) -> Iterator[Path]:
    """The path of every value of a card: tables, lists, and their contents."""
    if path:
        yield path
    if isinstance(value, dict):
        for key, item in value.items():
            yield from paths(item, (*path, key))
    elif isinstance(value, list):
        for number, item in enumerate(value):
            yield from paths(item, (*path, number))


def dotted(path: Path) -> str:
    return ".".join(map(str, path))


def at(card: Any, path: Path) -> Any:
    for step in path:
        card = card[step]
    return card


def without(card: Any, path: Path) -> Any:
    changed = deepcopy(card)
    del at(changed, path[:-1])[path[-1]]
    return changed


def having(card: Any, path: Path, value: object) -> Any:
    changed = deepcopy(card)
    at(changed, path[:-1])[path[-1]] = value
    return changed


def refusal(file: str, card: Data) -> str:
    with pytest.raises(CardError) as caught:
        parser(file)(file, card)
    return str(caught.value)

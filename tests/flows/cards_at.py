"""Cards as data, for the tests: where their values stand, and the same with one thing changed."""

import tomllib
from collections.abc import Callable, Iterator
from copy import deepcopy
from typing import Any

import pytest

import demo_data
from flows.cards.company import parse_company
from flows.cards.gear import parse_gear
from flows.cards.truck import parse_truck
from flows.cards.vehicle import parse_vehicle
from flows.errors import CardError

FILES = demo_data.card_files()
Path = tuple[str | int, ...]
Data = dict[str, Any]


def data(file: str) -> Data:
    return tomllib.loads(FILES[file])


def parser(file: str) -> Callable[[str, Data], object]:
    readers: dict[str, Callable[[str, Data], object]] = {
        "vehicles": parse_vehicle,
        "trucks": parse_truck,
        "gear": parse_gear,
    }
    return readers.get(file.partition("/")[0], parse_company)


def places(value: Any, path: Path = ()) -> Iterator[Path]:
    """Every place of a card where something stands: tables, lists, and what is in them."""
    if path:
        yield path
    if isinstance(value, dict):
        for key, item in value.items():
            yield from places(item, (*path, key))
    elif isinstance(value, list):
        for number, item in enumerate(value):
            yield from places(item, (*path, number))


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

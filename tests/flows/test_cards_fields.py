"""Every field of every card: missing, of a wrong type, out of range: the words of the error.

`data/card_fields.csv` is written by hand from the fields that a card is to have (issue 3, item 2)
and gives the values allowed in each. The cards' models are only asked which fields there are.
"""

import csv
import re
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path as File
from typing import Any, NamedTuple, get_args, get_origin

import pytest

from flows.cards import Card
from flows.cards.company import CompanyCard
from flows.cards.gear import GearCard
from flows.cards.truck import TruckCard
from flows.cards.vehicle import VehicleCard
from tests.flows.cards_at import (
    FILES,
    Path,
    at,
    data,
    dotted,
    having,
    parser,
    paths,
    refusal,
    without,
)

MODELS: dict[str, type[Card]] = {
    "vehicles": VehicleCard, "trucks": TruckCard, "gear": GearCard, "company": CompanyCard
}  # fmt: skip
NEXT = "Correct the file and load it again."


class Row(NamedTuple):
    card: str
    field: str
    required: bool
    allowed: str

    def __str__(self) -> str:
        return f"{self.card}.{self.field}"


def rows() -> list[Row]:
    text = (File(__file__).parent / "data" / "card_fields.csv").read_text("utf-8")
    return [
        Row(line["card"], line["field"], line["required"] == "yes", line["allowed"])
        for line in csv.DictReader(text.splitlines())
    ]


ROWS = rows()


# The table names every field there is


def part(annotation: object) -> type[Card] | None:
    if isinstance(annotation, type) and issubclass(annotation, Card):
        return annotation
    return next((found for arg in get_args(annotation) if (found := part(arg))), None)


def is_many(annotation: object) -> bool:
    many = get_origin(annotation) in {tuple, Mapping}
    return many or any(map(is_many, get_args(annotation)))


def fields(model: type[Card], under: str = "") -> Iterator[tuple[str, bool]]:
    for name, field in model.model_fields.items():
        yield under + name, field.is_required()
        inner = part(field.annotation)
        if inner is not None:
            yield from fields(inner, f"{under}{name}{'.*.' if is_many(field.annotation) else '.'}")


@pytest.mark.parametrize("card", MODELS)
def test_the_table_has_every_field(card: str) -> None:
    found = dict(fields(MODELS[card]))
    assert found == {row.field: row.required for row in ROWS if row.card == card}


# A card in which the field stands


def cards(shelf: str) -> list[str]:
    return [file for file in FILES if file.partition("/")[0].removesuffix(".toml") == shelf]


EXTRA: dict[str, dict[str, Any]] = {
    "vehicles/fieldfare.toml": {"access": data("vehicles/whimbrel.toml")["access"]},
    "trucks/godwit.toml": {"gcwr_lb": 60_000},
    "company.toml": {"untaken_min": 15, "silent_min": 30},
}
"""What no demonstration card has, or only one that lacks something else."""


@cache
def found(row: Row) -> tuple[str, Path]:
    """Return a file in which a field stands, and where."""
    wanted = re.compile(re.escape(row.field).replace(r"\*", r"\w+"))
    for file in cards(row.card):
        for path in paths(base(file)):
            if wanted.fullmatch(dotted(path)):
                return file, path
    raise AssertionError(f"no card has {row}: add it to EXTRA")


def base(file: str) -> dict[str, Any]:
    card = data(file) | EXTRA.get(file, {})
    if file == "vehicles/fieldfare.toml":
        card["sources"]["access"] = card["sources"]["boost"]
        card["boost"]["electric_donor"] = False
    if file == "trucks/godwit.toml":
        card["tyres"]["front"]["load_index_dual"] = 146
    return card


def wrong(value: object) -> object:
    """Return something of another type, and of none that any field takes."""
    return {"a": 1} if isinstance(value, str | int) else 7


def said(file: str, field: str, value: object, allowed: str) -> str:
    return f"{file}: {field} is {value}; allowed: {allowed}."


@pytest.mark.parametrize("file", EXTRA)
def test_the_cards_that_are_broken_below_are_whole(file: str) -> None:
    parser(file)(file, base(file))


@pytest.mark.parametrize("row", ROWS, ids=str)
def test_a_value_of_the_wrong_type_is_told(row: Row) -> None:
    file, path = found(row)
    value = wrong(at(base(file), path))
    text = refusal(file, having(base(file), path, value))
    assert text == f"{said(file, dotted(path), value, row.allowed)}\n{NEXT}"


@pytest.mark.parametrize("row", [row for row in ROWS if row.required], ids=str)
def test_a_required_field_that_is_missing_is_told(row: Row) -> None:
    file, path = found(row)
    text = refusal(file, without(base(file), path))
    assert text == f"{said(file, dotted(path), 'missing', row.allowed)}\n{NEXT}"


NUMBERS = [row for row in ROWS if re.search(r"^whole .*, -?\d+ to \d+$", row.allowed)]


@pytest.mark.parametrize("row", NUMBERS, ids=str)
@pytest.mark.parametrize("end", ["low", "high"])
def test_a_number_just_out_of_range_is_told(row: Row, end: str) -> None:
    file, path = found(row)
    low, high = map(int, row.allowed.rpartition(", ")[2].split(" to "))
    value = low - 1 if end == "low" else high + 1
    text = refusal(file, having(base(file), path, value))
    assert text == f"{said(file, dotted(path), value, row.allowed)}\n{NEXT}"


@pytest.mark.parametrize("row", NUMBERS, ids=str)
@pytest.mark.parametrize("value", [True, 120.0, "120", 120.5], ids=repr)
def test_a_number_is_a_whole_number(row: Row, value: object) -> None:
    file, path = found(row)
    text = refusal(file, having(base(file), path, value))
    assert text == f"{said(file, dotted(path), repr(value), row.allowed)}\n{NEXT}"


SPOKEN = [row for row in ROWS if "words of letters" in row.allowed]


UNSPEAKABLE = ("7 loops", "loop/2", "loop, left", "", " loop", "-".join("abcdefghijklm"), "a" * 80)


@pytest.mark.parametrize("row", SPOKEN, ids=str)
@pytest.mark.parametrize("value", UNSPEAKABLE)
def test_spoken_fields_are_a_few_words_of_letters(row: Row, value: str) -> None:
    """A hyphen parts two words, as it does where spoken words are counted."""
    file, path = found(row)
    text = refusal(file, having(base(file), path, value))
    shown = repr(value) if len(repr(value)) <= 60 else repr(value)[:57] + "..."
    assert text == f"{said(file, dotted(path), shown, row.allowed)}\n{NEXT}"


@pytest.mark.parametrize("card", MODELS)
def test_a_field_that_is_not_on_a_card_is_told(card: str) -> None:
    file = cards(card)[0]
    text = refusal(file, having(data(file), ("colour",), "red"))
    names = ", ".join(
        row.field.replace("_64in", "_in")
        for row in ROWS
        if row.card == card and "." not in row.field
    )
    assert text == f"{said(file, 'colour', repr('red'), f'one of the fields {names}')}\n{NEXT}"

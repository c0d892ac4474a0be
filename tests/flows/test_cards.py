"""Cards: the demonstration loads; a wrong card says file, field, value and what is allowed."""

import datetime as dt
import tomllib
from collections.abc import Callable, Iterator
from copy import deepcopy
from dataclasses import replace
from typing import Any

import pytest

import demo_data
from flows.cards.company import parse_company
from flows.cards.library import library_from
from flows.cards.truck import TruckCard, parse_truck
from flows.cards.vehicle import VehicleCard, parse_vehicle
from flows.errors import CardError, OutOfRangeError
from flows.figures.margin import Load, margin
from flows.figures.weight import from_ticket, planning

FILES = demo_data.card_files()
LIBRARY = library_from(FILES)
Path = tuple[str | int, ...]


def data(file: str) -> dict[str, Any]:
    return tomllib.loads(FILES[file])


def parser(file: str) -> Callable[[str, dict[str, Any]], object]:
    readers: dict[str, Callable[[str, dict[str, Any]], object]] = {
        "vehicles": parse_vehicle,
        "trucks": parse_truck,
    }
    return readers.get(file.partition("/")[0], parse_company)


def leaves(value: Any, path: Path = ()) -> Iterator[Path]:
    """Every place of a card where a value stands."""
    if isinstance(value, dict):
        for key, item in value.items():
            yield from leaves(item, (*path, key))
    elif isinstance(value, list) and value and isinstance(value[0], dict):
        for number, item in enumerate(value):
            yield from leaves(item, (*path, number))
    else:
        yield path


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


def refusal(file: str, card: dict[str, Any]) -> str:
    with pytest.raises(CardError) as caught:
        parser(file)(file, card)
    return str(caught.value)


# ---- the demonstration --------------------------------------------------------------------


def test_demonstration_loads_and_differs() -> None:
    assert len(LIBRARY.vehicles) == 3
    assert len(LIBRARY.trucks) == 2
    assert LIBRARY.company.name == "Brindlemere Recovery"
    holds = {v.id: v.neutral.hold_min for v in LIBRARY.vehicles.values() if v.neutral}
    assert holds == {"harrow": 30, "corncrake": 20, "dunlin": None}
    corncrake = LIBRARY.vehicles["corncrake"]
    assert (corncrake.weights, corncrake.weight_class, corncrake.drive) == (None, None, None)


def load_of(vehicle: VehicleCard) -> Load:
    plan = planning(vehicle.weight_class or "pickup_full_size", vehicle.powertrain, vehicle.drive)
    if vehicle.weights is not None:
        plan = plan.weighing(from_ticket(vehicle.weights.front_lb, vehicle.weights.rear_lb))
    return replace(
        plan.load(nose_first=True),
        wheelbase_in=vehicle.wheelbase_in,
        front_overhang_in=vehicle.front_overhang_in,
        rear_overhang_in=vehicle.rear_overhang_in,
    )


@pytest.mark.parametrize(
    ("vehicle", "light"), [("harrow", "close"), ("corncrake", "no-go"), ("dunlin", "go")]
)
def test_what_is_too_much_for_the_light_carrier_goes_on_the_medium_one(
    vehicle: str, light: str
) -> None:
    load = load_of(LIBRARY.vehicles[vehicle])
    assert margin(LIBRARY.trucks["wren"].carrier(), load).verdict == light
    assert margin(LIBRARY.trucks["heron"].carrier(), load).verdict == "go"


@pytest.mark.parametrize("truck", LIBRARY.trucks.values(), ids=lambda truck: truck.id)
def test_demonstration_trucks_are_plausible(truck: TruckCard) -> None:
    """Federal weight classes by GVWR (truck-equipment association, read): class 5 to 19,500, 6 to
    26,000, 7 to 33,000 lb. 23 USC 127: 20,000 lb on a single axle does not bind a rating.
    """
    assert 16_000 < truck.gvwr_lb <= 33_000
    assert truck.gvwr_lb <= truck.gawr_front_lb + truck.gawr_rear_lb  # 36 FR 14583, read


# ---- refusals -----------------------------------------------------------------------------

BROKEN: dict[type, tuple[object, str]] = {
    int: ("12", "whole "),
    bool: ("yes", "true or false"),
    str: (7, ""),
    list: ("one thing", "a list of "),
    dt.date: ("2026-03-02", "a date"),
}
LEAVES = [(file, path) for file in FILES for path in leaves(data(file))]


@pytest.mark.parametrize(("file", "path"), LEAVES, ids=str)
def test_a_value_of_the_wrong_type_is_named(file: str, path: Path) -> None:
    card = data(file)
    value, allowed = BROKEN[type(at(card, path))]
    text = refusal(file, having(card, path, value))
    field = ".".join(map(str, path))
    assert text.startswith(f"{file}: {field} is {value!r}; allowed: {allowed}")
    assert not text.startswith(f"{file}: {field} is {value!r}; allowed: .")
    assert text.endswith("Correct the file and load it again.")


# What a card cannot do without; written down here, not read from the models.
REQUIRED = {
    "vehicles/harrow.toml": """
        id name variant as_of powertrain wheelbase_in front_overhang_in rear_overhang_in height_in
        holds keep_off sources weights.front_lb weights.rear_lb weights.how
        holds.nose.point holds.nose.device holds.nose.material
        isolations.0.id isolations.0.name isolations.0.held_open_with
        cord_release.name cord_release.requires cord_release.travel_min_64in
        cord_release.travel_max_64in cord_release.travel_words
        neutral.way neutral.needs_ready neutral.confirmation park_holds.by park_holds.axle
        sources.weights sources.holds sources.keep_off sources.isolations sources.cord_release
        sources.neutral sources.park_holds sources.neutral.source sources.neutral.rank
    """,
    "trucks/wren.toml": """
        id name kind gvwr_lb gawr_front_lb gawr_rear_lb wheelbase_in deck ticket
        ticket.front_lb ticket.rear_lb ticket.date ticket.aboard deck.headboard_in deck.length_in
    """,
    "company.toml": "name zone dispatch_phone",
}


@pytest.mark.parametrize(
    ("file", "field"),
    [(file, field) for file, fields in REQUIRED.items() for field in fields.split()],
)
def test_a_missing_field_is_named(file: str, field: str) -> None:
    path = tuple(int(step) if step.isdigit() else step for step in field.split("."))
    text = refusal(file, without(data(file), path))
    start = f"{file}: {field} is missing; allowed: "
    assert start in text
    assert len(text.split(start)[1].splitlines()[0]) > 5


@pytest.mark.parametrize(
    ("file", "path", "value", "words"),
    [
        (
            "vehicles/harrow.toml",
            ("colour",),
            "red",
            "colour is 'red'; allowed: one of the fields",
        ),
        ("vehicles/harrow.toml", ("name",), "a b c", "at most 2 words"),
        ("vehicles/harrow.toml", ("name",), "Harrow/2", "at most 2 words"),
        ("vehicles/harrow.toml", ("id",), "Harrow", "lower-case letters"),
        ("vehicles/harrow.toml", ("powertrain",), "gas", '"electric", "hybrid" or "combustion"'),
        ("vehicles/harrow.toml", ("wheelbase_in",), 59, "whole inches, 60 to 260"),
        ("vehicles/harrow.toml", ("wheelbase_in",), 114.0, "whole inches, 60 to 260"),
        ("vehicles/harrow.toml", ("weight_class",), "lorry", "car_subcompact"),
        ("vehicles/harrow.toml", ("weight_class",), "ANY", "car_subcompact"),
        ("vehicles/harrow.toml", ("keep_off",), ["a b c d"], "keep_off.0 is 'a b c d'"),
        ("vehicles/harrow.toml", ("cord_release", "requires"), ["b"], "is b; allowed: an id from"),
        ("vehicles/harrow.toml", ("isolations",), [], "is low_loop; allowed: an id from isol"),
        (
            "vehicles/harrow.toml",
            ("cord_release", "travel_max_64in"),
            15,
            "cord_release.travel_max_64in is 15; allowed: 16, which is travel_min_64in, or more",
        ),
        ("vehicles/harrow.toml", ("neutral", "hold_min"), 0, "whole minutes, 1 to 240"),
        ("vehicles/harrow.toml", ("powertrain",), "combustion", "nothing on a combustion"),
        ("vehicles/harrow.toml", ("sources", "weights", "rank"), "rumour", '"guide", "measured"'),
        (
            "vehicles/harrow.toml",
            ("sources", "paint"),
            {"source": "x", "rank": "guide"},
            "sources.paint is given; allowed: a source only for what the card gives",
        ),
        ("trucks/wren.toml", ("kind",), "wrecker", "deck is given; allowed: a deck on a carrier"),
        ("trucks/wren.toml", ("gvwr_lb",), 21_001, "at most 21000 pounds, which is gawr_front_lb"),
        ("trucks/wren.toml", ("gvwr_lb",), 14_299, "ticket is 14300; allowed: at most 14299"),
        ("trucks/wren.toml", ("ticket", "rear_lb"), 13_501, "which is gawr_rear_lb"),
        ("trucks/wren.toml", ("ticket", "front_lb"), 7501, "which is gawr_front_lb"),
        ("trucks/wren.toml", ("deck", "headboard_in"), 199, "less than the wheelbase, 199"),
        ("company.toml", ("zone",), "mountain time", "a time zone by its place"),
        ("company.toml", ("dispatch_phone",), "555 0142", "the number in words"),
        ("company.toml", ("close_at_pct",), 101, "whole percent, 50 to 100"),
    ],
)
def test_a_value_that_is_not_allowed_is_named(
    file: str, path: Path, value: object, words: str
) -> None:
    text = refusal(file, having(data(file), path, value))
    assert text.startswith(f"{file}: ")
    assert words in text


def test_a_second_isolation_is_refused_for_now() -> None:
    card = data("vehicles/harrow.toml")
    card["isolations"].append({"id": "second", "name": "second loop", "held_open_with": "pin"})
    assert "isolations is " in refusal("vehicles/harrow.toml", card)
    assert "allowed: at most 1 table" in refusal("vehicles/harrow.toml", card)


def test_everything_wrong_is_told_at_once() -> None:
    card = having(without(data("company.toml"), ("zone",)), ("close_at_pct",), 40)
    with pytest.raises(CardError) as caught:
        parse_company("company.toml", card)
    assert [problem.field for problem in caught.value.problems] == ["zone", "close_at_pct"]


def test_a_wrecker_has_no_deck_to_carry_on() -> None:
    card = having(without(data("trucks/wren.toml"), ("deck",)), ("kind",), "wrecker")
    with pytest.raises(OutOfRangeError, match="a carrier, which has a deck"):
        parse_truck("trucks/wren.toml", card).carrier()


# ---- the library --------------------------------------------------------------------------


def test_digest_follows_the_content_not_the_layout() -> None:
    lines = FILES["company.toml"].splitlines()
    turned = FILES | {"company.toml": "\n".join(["# other layout", *reversed(lines)])}
    changed = FILES | {"company.toml": FILES["company.toml"].replace("= 95", "= 94")}
    assert library_from(turned).digests == LIBRARY.digests
    digest = library_from(changed).digests["company.toml"]
    assert digest != LIBRARY.digests["company.toml"]
    assert len(digest) == 64
    assert set(LIBRARY.digests) == set(FILES)


# SHA-256 over the canonical JSON, worked out with coreutils:
# printf '%s' '{"close_at_pct":95,"dispatch_phone":"five five five, zero one four two",
# "name":"Brindlemere Recovery","zone":"America/Denver"}' | sha256sum   (on one line)
COMPANY_DIGEST = "db8bbca4cb7dfee99ef9ed087a54491f6e346f1d8203db7b7522a44b64012e2c"


def test_digest_is_that_of_the_canonical_text() -> None:
    assert LIBRARY.digests["company.toml"] == COMPANY_DIGEST


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"company.toml": "name = "}, "company.toml: the file is no TOML ("),
        (
            {"notes.txt": ""},
            "notes.txt: the file is not a card's file; allowed: company.toml, veh",
        ),
        ({"vehicles/old/harrow.toml": ""}, "vehicles/old/harrow.toml: the file is not a card's"),
        (
            {"vehicles/other.toml": FILES["vehicles/harrow.toml"]},
            "vehicles/other.toml: id is harrow; allowed: other, the name of the file",
        ),
    ],
)
def test_a_file_that_does_not_belong_is_named(change: dict[str, str], words: str) -> None:
    with pytest.raises(CardError) as caught:
        library_from(FILES | change)
    assert str(caught.value).startswith(words)


def test_a_library_needs_its_company() -> None:
    with pytest.raises(CardError, match=r"company\.toml: the file is missing; allowed: one file"):
        library_from({name: text for name, text in FILES.items() if name != "company.toml"})


def test_cards_cannot_be_changed() -> None:
    with pytest.raises(ValueError, match="frozen"):
        LIBRARY.company.close_at_pct = 100  # type: ignore[misc]
    with pytest.raises(TypeError):
        LIBRARY.vehicles["harrow"] = LIBRARY.vehicles["dunlin"]  # type: ignore[index]

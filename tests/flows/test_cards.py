"""Cards: the demonstration loads; cards at odds with themselves or each other are told."""

import json
from collections import Counter
from dataclasses import replace
from itertools import chain
from typing import Any

import pytest

from flows.cards import digest, parse
from flows.cards.library import check, library_from
from flows.cards.names import clash
from flows.cards.truck import TruckCard
from flows.cards.vehicle import VehicleCard
from flows.errors import CardError, OutOfRangeError
from flows.figures.margin import Load, margin
from flows.figures.weight import from_stated, from_ticket, planning
from flows.hearing.answers import answer_for
from flows.job.facts import Fact
from flows.job.state import Job
from flows.routine.book import Book
from flows.routine.carry import CARRY
from flows.texts import phrases
from tests.flows.cards_at import FILES, Path, data, having, refusal, without
from tests.flows.talker import PLACE, Talker

LIBRARY = library_from(FILES)


# ---- the demonstration --------------------------------------------------------------------


def test_demonstration_loads_and_differs() -> None:
    kinds = Counter(truck.kind for truck in LIBRARY.trucks.values())
    assert kinds["carrier"] >= 2
    assert kinds["wrecker"] == 1
    assert sum(truck.rear_axles == 2 for truck in LIBRARY.carriers) == 1
    assert len(LIBRARY.vehicles) >= 7
    assert {gear.kind for gear in LIBRARY.gear.values()} == {
        "dolly", "strap", "block", "bridle", "chain"
    }  # fmt: skip
    assert LIBRARY.company.name == "Brindlemere Recovery"


TRAITS = {
    "two isolations": lambda v: len(v.isolations) == 2,
    "a release without isolation": lambda v: v.cord_release and not v.cord_release.requires,
    "boosted by a pack only": lambda v: v.boost and v.boost.by == ("pack",),
    "boosted by an electric vehicle": lambda v: v.boost and v.boost.electric_donor,
    "nothing holds at the nose": lambda v: not v.holds.nose and v.holds.tail,
    "nothing holds at the tail": lambda v: v.holds.nose and not v.holds.tail,
    "neutral only when ready": lambda v: v.neutral and all(w.needs_ready for w in v.neutral),
    "neutral without ready": lambda v: v.neutral and not any(w.needs_ready for w in v.neutral),
    "no way into neutral": lambda v: not v.neutral,
    "two ways into neutral": lambda v: len(v.neutral) == 2,
    "hold not known": lambda v: v.neutral and v.first_way.hold_min is None,
    "weight not known": lambda v: v.weights is None,
    "a total weight": lambda v: v.weights and v.weights.by_axle is None and v.split,
    "a heavy combustion pickup": lambda v: (
        v.powertrain == "combustion" and v.weights and (v.weights.total_lb or 0) > 6500
    ),
    "flush handles": lambda v: any("flush" in note for note in v.notes),
    "lifting points": lambda v: v.lifting,
    "lithium": lambda v: v.twelve_volt == "lithium",
    "nothing to keep off": lambda v: not v.keep_off,
    "a roll limit": lambda v: v.roll_limit,
}
"""Differences between the vehicles, each found in some but not in all."""


@pytest.mark.parametrize("trait", TRAITS)
def test_a_trait_is_in_some_vehicles_and_not_in_all(trait: str) -> None:
    having_it = [v for v in LIBRARY.vehicles.values() if TRAITS[trait](v)]
    assert 0 < len(having_it) < len(LIBRARY.vehicles)


def load_of(vehicle: VehicleCard) -> Load:
    plan = planning(vehicle.weight_class or "pickup_full_size", vehicle.powertrain, vehicle.drive)
    if vehicle.weights is not None:
        axles, total = vehicle.weights.by_axle, vehicle.weights.total_lb
        known = from_ticket(*axles) if axles else from_stated(total or 0, vehicle.powertrain)
        plan = plan.weighing(known)
    return replace(
        plan.load(nose_first=True),
        wheelbase_in=vehicle.wheelbase_in,
        front_overhang_in=vehicle.front_overhang_in,
        rear_overhang_in=vehicle.rear_overhang_in,
    )


@pytest.mark.parametrize(
    ("vehicle", "light"),
    [("harrow", "close"), ("corncrake", "no-go"), ("dunlin", "go"), ("fieldfare", "no-go")],
)
def test_too_much_for_the_light_carrier_goes_on_the_others(vehicle: str, light: str) -> None:
    load = load_of(LIBRARY.vehicles[vehicle])
    assert margin(LIBRARY.trucks["wren"].carrier(), load).verdict == light
    assert margin(LIBRARY.trucks["heron"].carrier(), load).verdict == "go"
    assert margin(LIBRARY.trucks["godwit"].carrier(), load).verdict == "go"


@pytest.mark.parametrize("truck", LIBRARY.trucks.values(), ids=lambda truck: truck.id)
def test_demonstration_trucks_are_plausible(truck: TruckCard) -> None:
    """Federal weight classes by GVWR (truck-equipment association, read): class 5 to 19,500, 6 to
    26,000, 7 to 33,000 lb, a tandem over that. 23 USC 127(a)(2), read: 34,000 lb on a tandem.
    """
    most = 50_000 if truck.rear_axles == 2 else 33_000
    assert 16_000 < truck.gvwr_lb <= most
    assert truck.gvwr_lb <= truck.gawr_front_lb + truck.gawr_rear_lb  # 36 FR 14583, read
    aboard = sum(piece.weight_lb for piece in truck.ticket.aboard)
    assert 1_000 < aboard < 2_500


# Load index to pounds: standard tables of load indices, from memory, each checked by
# kilograms times 2.2046.
INDEX_LB = {124: 3527, 126: 3748, 127: 3858, 143: 6008, 146: 6614, 149: 7165}


@pytest.mark.parametrize("truck", LIBRARY.trucks.values(), ids=lambda truck: truck.id)
def test_demonstration_tyres_carry_their_axles(truck: TruckCard) -> None:
    front, rear = truck.tyres.front, truck.tyres.rear
    assert 2 * INDEX_LB[front.load_index_single] >= truck.gawr_front_lb
    per_tyre = INDEX_LB[rear.load_index_dual or rear.load_index_single]
    assert truck.rear_axles * rear.per_axle * per_tyre >= truck.gawr_rear_lb


# ---- how the routine uses a card ----------------------------------------------------------


def test_a_release_that_needs_more_isolations_than_are_led_through_is_not_pulled() -> None:
    """With three it ends in the hand-off: nobody pulls."""
    card = data("vehicles/fieldfare.toml")
    card["isolations"].append({"id": "third", "name": "tail link", "held_open_with": "pin"})
    card["cord_release"]["requires"].append("third")
    more = {"fieldfare": parse(VehicleCard, "vehicles/fieldfare.toml", card)}
    talker = Talker(replace(LIBRARY, vehicles={**LIBRARY.vehicles, **more}))
    talker.say("new job breakdown", PLACE, "none", "behind", "secured", "warned", "chocked",
               "too dark", "level", "nose", "fieldfare", "heron", "yes", "stuck", "ended", "done",
               "no")  # fmt: skip
    assert talker.job.next_item is not None
    assert talker.job.next_item.id == "cord.operator"
    talker.say("no")
    assert talker.job.next_item.id == "cord.hand_off"
    asked = {act for reply in talker.replies for act in _acts(reply.item)}
    assert not asked & {"isolation_opened_1", "release_cleared", "release_pulled"}


def _acts(item: str) -> tuple[str, ...]:
    return CARRY.items[item].acts if item in CARRY.items else ()


def test_the_isolation_that_the_release_requires_is_the_one_named() -> None:
    card = data("vehicles/fieldfare.toml")
    card["cord_release"]["requires"] = ["seat_link"]
    vehicle = parse(VehicleCard, "vehicles/fieldfare.toml", card)
    assert [one.name for one in vehicle.required] == ["rear seat link"]
    first, second = vehicle.isolation(1), vehicle.isolation(2)
    assert first is not None
    assert second is not None
    assert (first.name, second.name) == ("rear seat link", "nose loop")
    assert vehicle.isolation(3) is None
    assert vehicle.isolation_wait_min == 10
    assert vehicle.covers == ("rear seat cushion",)


def test_the_first_of_several_is_the_one_used() -> None:
    fieldfare = LIBRARY.vehicles["fieldfare"]
    assert fieldfare.first_way is not None
    assert fieldfare.first_way.hold_min == 15
    point = fieldfare.holds.first("nose")
    assert point is not None
    assert point.point == "left tow socket"
    assert LIBRARY.vehicles["whimbrel"].holds.first("nose") is None
    assert fieldfare.length_in == 37 + 121 + 44


def test_a_wrecker_is_no_truck_for_a_carry() -> None:
    talker = Talker(LIBRARY)
    talker.say("new job breakdown", PLACE, "none", "behind", "secured", "warned", "chocked",
               "too dark", "level", "nose", "harrow", "mallet")  # fmt: skip
    assert talker.job.value("truck") is None
    assert dict(talker.replies[-1].answer.choices).keys() == {"wren", "heron", "godwit"}


def test_a_total_on_the_card_counts_as_stated_and_the_split_with_it() -> None:
    """Stated weight of a combustion vehicle: 6 % over at most (issue 3, item 3)."""
    talker = Talker(LIBRARY)
    talker.say("new job breakdown", PLACE, "none", "behind", "secured", "warned", "chocked",
               "too dark", "level", "nose", "bittern", "heron")  # fmt: skip
    assert talker.job.margin is not None
    inputs = talker.job.margin.result["inputs"]
    assert inputs["vehicle_likely_lb"] == 7150
    assert inputs["vehicle_high_lb"] == 7579  # 7,150 times 1.06
    assert [inputs[f"vehicle_share_{end}_pm"] for end in ("low", "high")] == [550, 610]


# ---- which cards are offered ----------------------------------------------------------------


def choices(**known: str) -> list[str]:
    job = Job(1, Book(CARRY, LIBRARY), facts={
        name: Fact(value, "typed", "p1", 1) for name, value in known.items()
    })  # fmt: skip
    return [one for one, _ in answer_for(job, CARRY.items["vehicle.card"]).choices]


def test_the_cards_that_fit_what_is_known_are_offered() -> None:
    assert choices(powertrain="electric") == [
        "corncrake", "fieldfare", "harrow", "whimbrel", "none"
    ]  # fmt: skip
    assert choices(powertrain="combustion") == ["bittern", "dunlin", "none"]
    # Corncrake names no class, so no family rules it out.
    assert choices(powertrain="electric", family="car") == ["corncrake", "whimbrel", "none"]
    assert len(choices()) == 5


ARRIVED = ("new job breakdown", PLACE, "none", "behind", "secured", "warned", "chocked",
           "too dark", "level", "nose")  # fmt: skip


def test_many_cards_are_narrowed_by_questions_that_are_asked_anyway() -> None:
    talker = Talker(LIBRARY)
    talker.say(*ARRIVED)
    asked = []
    for said in ("hybrid", "trowel"):
        assert talker.job.next_item is not None
        asked.append(talker.job.next_item.id)
        talker.say(said)
    assert asked == ["vehicle.powertrain", "vehicle.card"]
    assert talker.job.value("card") == "trowel"


def test_not_sure_rules_no_card_out() -> None:
    """The cautious value is for the margin; the family is asked then, and any card is heard."""
    talker = Talker(LIBRARY)
    talker.say(*ARRIVED, "not sure")
    assert talker.job.next_item is not None
    assert talker.job.next_item.id == "vehicle.family"
    talker.say("pickup")
    assert talker.job.next_item.id == "vehicle.card"
    assert [one for one, _ in talker.replies[-1].answer.choices] == [
        "bittern", "corncrake", "mattock", "none"
    ]  # fmt: skip
    talker.say("dunlin")
    assert talker.job.value("card") == "dunlin"
    assert talker.job.sure("powertrain") == "combustion"


def test_of_a_large_fleet_every_truck_is_heard() -> None:
    wren = LIBRARY.trucks["wren"]
    fleet = {
        f"wren_{n}": wren.model_copy(update={"id": f"wren_{n}", "name": f"Wren {word}"})
        for n, word in enumerate(["one", "two", "three", "four", "five", "six", "seven"])
    }
    talker = Talker(replace(LIBRARY, trucks=fleet))
    talker.say(*ARRIVED, "harrow")
    assert len(talker.replies[-1].answer.choices) == 5
    talker.say("wren seven")
    assert talker.job.value("truck") == "wren_6"


def test_a_spoken_fact_takes_precedence_over_the_card() -> None:
    talker = Talker(LIBRARY)
    talker.say(*ARRIVED, "electric", "dunlin")
    assert talker.job.value("powertrain") == "electric"


def test_a_card_is_named_at_any_question_and_few_cards_come_first() -> None:
    talker = Talker(LIBRARY)
    talker.say(*ARRIVED, "whimbrel")
    assert talker.job.value("card") == "whimbrel"
    assert talker.job.value("powertrain") == "electric"
    kept = {name: LIBRARY.vehicles[name] for name in ("harrow", "dunlin", "corncrake", "bittern")}
    few = Talker(replace(LIBRARY, vehicles=kept))
    few.say(*ARRIVED)
    assert few.job.next_item is not None
    assert few.job.next_item.id == "vehicle.card"


def test_with_more_than_fit_into_one_question_the_rest_is_still_heard() -> None:
    many = {
        f"harrow_{n}": LIBRARY.vehicles["harrow"].model_copy(
            update={"id": f"harrow_{n}", "name": f"Harrow {word}"}
        )
        for n, word in enumerate(["one", "two", "three", "four", "five", "six"])
    }
    talker = Talker(replace(LIBRARY, vehicles=many))
    talker.say(*ARRIVED, "electric", "suv")
    assert len(talker.replies[-1].answer.choices) == 5
    talker.say("harrow six")
    assert talker.job.value("card") == "harrow_5"


# ---- cards at odds with themselves ----------------------------------------------------------


@pytest.mark.parametrize(
    ("file", "path", "value", "words"),
    [
        ("vehicles/harrow.toml", ("id",), "Harrow", "lower-case letters"),
        ("vehicles/harrow.toml", ("weight_class",), "lorry", "car_subcompact"),
        ("vehicles/harrow.toml", ("weight_class",), "ANY", "car_subcompact"),
        ("vehicles/harrow.toml", ("keep_off",), ["a b c d"], "keep_off.0 is 'a b c d'"),
        ("vehicles/harrow.toml", ("keep_off",), ["a"] * 9, "a list of at most 8 places"),
        ("vehicles/harrow.toml", ("cord_release", "requires"), ["b"], "is b; allowed: an id from"),
        ("vehicles/harrow.toml", ("isolations",), [], "is low_loop; allowed: an id from isol"),
        (
            "vehicles/fieldfare.toml",
            ("isolations", 1, "id"),
            "nose_loop",
            "isolations.1.id is nose_loop; allowed: an id that no other has",
        ),
        (
            "vehicles/harrow.toml",
            ("cord_release", "travel_max_64in"),
            15,
            "cord_release.travel_max_64in is 15; allowed: 16, which is travel_min_64in, or more",
        ),
        *(
            (
                "vehicles/harrow.toml",
                ("holds", "nose", 0, "material"),
                material,
                "a material that a magnet sticks to, such as steel",
            )
            for material in ("aluminum", "Aluminium", "cast aluminium", "plastic")
        ),
        *(
            (
                "vehicles/harrow.toml",
                ("cord_release", "travel_max_in"),
                length,
                f"travel_max_in is {length}; allowed: inches with a fraction down to 64ths",
            )
            for length in ("1/3", "a quarter", "3/0", "5/4", "1.5")
        ),
        (
            "vehicles/harrow.toml",
            ("cord_release", "travel_max_in"),
            "3/8",
            "travel_max_in is given; allowed: nothing, since travel_max_64in is",
        ),
        ("vehicles/harrow.toml", ("battery", "to_in"), 21, "is 21; allowed: 22, which is from_in"),
        (
            "vehicles/harrow.toml",
            ("battery", "from_in"),
            -36,
            "battery is over -36 in; allowed: a length that ends before the nose, since that has",
        ),
        (
            "vehicles/harrow.toml",
            ("holds", "nose", 0, "point"),
            "left suspension arms",
            "holds.nose.0.point is left suspension arms; allowed: a place that keep_off does not",
        ),
        (
            "vehicles/bittern.toml",
            ("lifting", 1),
            "step rails",
            "lifting.1 is step rails; allowed: a place that keep_off does not name",
        ),
        ("vehicles/harrow.toml", ("powertrain",), "combustion", "nothing on a combustion"),
        ("vehicles/harrow.toml", ("sources", "weights", "rank"), "rumour", '"guide", "measured"'),
        (
            "vehicles/harrow.toml",
            ("sources", "paint"),
            {"source": "x", "rank": "guide"},
            "sources.paint is given; allowed: a source only for what the card gives",
        ),
        (
            "vehicles/harrow.toml",
            ("weights", "how"),
            "label",
            'weights.front_lb is 2410; allowed: nothing, since how is "label"',
        ),
        (
            "vehicles/whimbrel.toml",
            ("weights", "how"),
            "ticket",
            'weights.front_lb is missing; allowed: a weight in pounds, since how is "ticket"',
        ),
        (
            "vehicles/whimbrel.toml",
            ("split", "front_high_pct"),
            44,
            "split.front_high_pct is 44; allowed: 45, which is front_low_pct, or more",
        ),
        (
            "vehicles/harrow.toml",
            ("split",),
            {"front_low_pct": 48, "front_high_pct": 50},
            "split is given; allowed: nothing, since weights gives each axle",
        ),
        (
            "vehicles/whimbrel.toml",
            ("boost", "electric_donor"),
            True,
            'boost.electric_donor is true; allowed: false, since by does not name "donor"',
        ),
        ("vehicles/whimbrel.toml", ("boost", "by"), [], 'a list of "donor" and "pack"'),
        ("vehicles/whimbrel.toml", ("roll_limit",), {}, "allowed: mph or feet, or both"),
        (
            "vehicles/dunlin.toml",
            ("neutral", 0, "way"),
            "turn the key and move the lever",
            "neutral.0.way is turn the key and move the lever; allowed: one act",
        ),
        ("vehicles/dunlin.toml", ("neutral", 0, "way"), "the selector left", "allowed: one act"),
        ("trucks/wren.toml", ("kind",), "wrecker", "deck is given; allowed: a deck on a carrier"),
        ("trucks/wren.toml", ("gvwr_lb",), 21_001, "at most 21000 pounds, which is gawr_front_lb"),
        ("trucks/wren.toml", ("gvwr_lb",), 14_299, "ticket is 14300; allowed: at most 14299"),
        ("trucks/wren.toml", ("ticket", "rear_lb"), 13_501, "which is gawr_rear_lb"),
        ("trucks/wren.toml", ("ticket", "front_lb"), 7501, "which is gawr_front_lb"),
        ("trucks/wren.toml", ("deck", "headboard_in"), 199, "less than the wheelbase, 199"),
        ("trucks/wren.toml", ("rear_end_in",), 321, "is 321; allowed: 322 inches, where the deck"),
        ("trucks/mallet.toml", ("rear_end_in",), 190, "more than the wheelbase, 190 inches"),
        ("trucks/wren.toml", ("rear_axles",), 2, "tandem_spacing_in is missing; allowed: whole"),
        ("trucks/wren.toml", ("tandem_spacing_in",), 52, "nothing, since rear_axles is 1"),
        ("trucks/wren.toml", ("ticket", "aboard", 2, "weight_lb"), 7000, "half of the ticket"),
        ("trucks/wren.toml", ("tyres", "front", "per_axle"), 4, "load_index_dual is missing"),
        (
            "trucks/wren.toml",
            ("tyres", "rear", "load_index_dual"),
            127,
            "is 127; allowed: at",
        ),
        (
            "trucks/wren.toml",
            ("winch", "layers_lb"),
            [8000, 8000],
            "winch.layers_lb.1 is 8000; allowed: less than 8000, which is the layer under it",
        ),
        ("trucks/wren.toml", ("winch", "layers_lb"), [], "either layers_lb or bare_drum_lb"),
        ("trucks/wren.toml", ("winch", "bare_drum_lb"), 8000, "bare_drum_lb is given too"),
        ("gear/axle_dollies.toml", ("kind",), "chain", "axle_rating_lb is 4600; allowed: nothing"),
        (
            "gear/wheel_straps.toml",
            ("tyres",),
            {"count": 4, "each_lb": 745, "own_lb": 340},
            "tyres is given; allowed: nothing, since kind is strap",
        ),
        ("gear/wheel_straps.toml", ("speed_mph",), 50, "speed_mph is given; allowed: nothing"),
        (
            "trucks/mallet.toml",
            ("wheel_lift", "retracted", "reach_in"),
            84,
            "retracted.reach_in is 84; allowed: less than 84 inches, the reach extended.",
        ),
        (
            "trucks/mallet.toml",
            ("wheel_lift", "retracted", "rating_lb"),
            8999,
            "rating_lb is 8999; allowed: at least 9000 pounds, the rating extended.",
        ),
        ("gear/safety_chains.toml", ("kind",), "dolly", "axle_rating_lb is missing"),
        ("gear/safety_chains.toml", ("width_64in",), 64, "a width on a strap, none on other gear"),
        ("gear/wheel_straps.toml", ("kind",), "chain", "width_64in is 128"),
        ("company.toml", ("zone",), "mountain time", "a time zone by its place"),
        ("company.toml", ("dispatch_phone",), "555 0142", "the number in words"),
        ("company.toml", ("may_override",), ["dispatcher"], 'a list of "owner", who alone may'),
        ("company.toml", ("limits",), [{"state": "x", "source": "y"}], "a state with one of sing"),
    ],
)
def test_a_value_that_is_not_allowed_is_named(
    file: str, path: Path, value: object, words: str
) -> None:
    text = refusal(file, having(data(file), path, value))
    assert text.startswith(f"{file}: ")
    assert words in text


def test_a_piece_of_gear_is_due_after_it_was_inspected() -> None:
    card = data("gear/axle_dollies.toml")
    text = refusal("gear/axle_dollies.toml", having(card, ("due",), card["inspected"]))
    assert "due is 2026-02-02; allowed: a date after inspected, 2026-02-02." in text


@pytest.mark.parametrize("file", [file for file in FILES if file.startswith("vehicles/")])
def test_every_statement_needs_its_source(file: str) -> None:
    card = data(file)
    for name in card["sources"]:
        text = refusal(file, without(card, ("sources", name)))
        assert text.startswith(
            f"{file}: sources.{name} is missing; allowed: a table with source and rank."
        )


def test_everything_wrong_is_told_at_once() -> None:
    card = having(without(data("company.toml"), ("zone",)), ("close_at_pct",), 40)
    checked = check(FILES)
    assert not checked.errors
    text = refusal("company.toml", card)
    assert [line.split(" is ")[0] for line in text.splitlines()[:-1]] == [
        "company.toml: zone", "company.toml: close_at_pct"
    ]  # fmt: skip


def test_a_wrecker_has_no_deck_to_carry_on() -> None:
    card = having(without(data("trucks/wren.toml"), ("deck",)), ("kind",), "wrecker")
    with pytest.raises(OutOfRangeError, match="a carrier, which has a deck"):
        parse(TruckCard, "trucks/wren.toml", card).carrier()


# ---- the library --------------------------------------------------------------------------


def test_digest_follows_the_content_not_the_layout() -> None:
    head, *tables = FILES["company.toml"].split("\n\n")
    lines = ["# other layout", *reversed(head.splitlines())]
    turned = FILES | {"company.toml": "\n\n".join(["\n".join(lines), *tables])}
    changed = FILES | {"company.toml": FILES["company.toml"].replace("= 95", "= 94")}
    assert library_from(turned).digests == LIBRARY.digests
    digest = library_from(changed).digests["company.toml"]
    assert digest != LIBRARY.digests["company.toml"]
    assert len(digest) == 64
    assert set(LIBRARY.digests) == set(FILES)


CANONICAL = (
    '{"close_at_pct":95,"contacts":[],"dispatch_phone":"five five five, zero one four two",'
    '"limits":[],"may_override":["owner"],"name":"Brindlemere Recovery","zone":"America/Denver"}'
)
# Worked out with coreutils: printf '%s' followed by the text above, piped into sha256sum.
COMPANY_DIGEST = "e63e5225b70e2af8fe95b943f94cbc2abaef97e209bece173a6f253f1237b67c"


def test_digest_is_that_of_the_canonical_text() -> None:
    bare = 'name = "Brindlemere Recovery"\nzone = "America/Denver"\n'
    phone = 'dispatch_phone = "five five five, zero one four two"\n'
    library = library_from({"company.toml": bare + phone})
    assert library.digests["company.toml"] == COMPANY_DIGEST
    assert library.company.model_dump(mode="json") == json.loads(CANONICAL)


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
        ({"vehicle/jay.toml": ""}, "vehicle/jay.toml: the file is not a card's file"),
        ({"gear/jay.toml": None}, "gear/jay.toml: the file is no UTF-8 text; allowed: TOML text"),
        (
            {"trucks/godwit.toml": FILES["trucks/godwit.toml"].replace('"Godwit"', '"harrow"')},
            "trucks/godwit.toml: name is harrow; allowed: a name that no other vehicle or truck",
        ),
        (
            {"trucks/wren.toml": FILES["trucks/wren.toml"].replace('"Wren"', '"Smoke Wren"')},
            'trucks/wren.toml: name is Smoke Wren; allowed: a name without "smoke"',
        ),
        (
            {"gear/soft_bridle.toml": FILES["gear/soft_bridle.toml"].replace('"heron"', '"jay"')},
            "gear/soft_bridle.toml: on.1 is jay; allowed: an id of a truck: godwit, heron",
        ),
    ],
)
def test_a_file_that_does_not_belong_is_named(change: dict[str, Any], words: str) -> None:
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


def test_every_file_is_checked_whatever_is_wrong_with_another() -> None:
    broken = FILES | {
        "vehicles/harrow.toml": "id = 3",
        "trucks/wren.toml": FILES["trucks/wren.toml"].replace('"Wren"', '"Stop"'),
    }
    checked = check(broken)
    assert list(checked.errors) == ["trucks/wren.toml", "vehicles/harrow.toml"]
    assert set(checked.cards) | set(checked.errors) == set(FILES)


@pytest.mark.parametrize(
    ("name", "phrase"),
    [
        ("Neutral", "neutral"), ("no card", "no card"), ("Stop Wagon", "stop"),
        ("half ton", "half ton"), ("Minivan", "minivan"), ("chocks in", "chocks in"),
        ("Go", "go"), ("Heron", ""), ("Neutral Heron", ""),
    ],
)  # fmt: skip
def test_a_name_is_no_phrase(name: str, phrase: str) -> None:
    assert clash(name) == phrase


def test_no_phrase_of_ours_may_be_a_name() -> None:
    steps = phrases()["steps"].values()
    values = [
        v["said"] for fact in phrases()["facts"].values() for v in fact.get("values", {}).values()
    ]
    for phrase in chain.from_iterable((*steps, *values)):
        assert clash(phrase)


# ---- lengths as they are written ------------------------------------------------------------


@pytest.mark.parametrize(
    ("written", "in64"),
    [("3/8", 24), ("1/4 in", 16), ("1 1/2", 96), ("1-1/2 in", 96), ('1 1/8"', 72), ("2", 128)],
)
def test_a_card_takes_inches_with_a_fraction(written: str, in64: int) -> None:
    card = data("vehicles/harrow.toml")
    release = card["cord_release"]
    del release["travel_max_64in"]
    release["travel_max_in"] = written
    read = parse(VehicleCard, "harrow.toml", card)
    assert read.cord_release is not None
    assert read.cord_release.travel_max_64in == in64
    release.pop("travel_max_in")
    release["travel_max_64in"] = in64
    assert digest(read) == digest(parse(VehicleCard, "harrow.toml", card)), "the same card"


def test_no_demo_card_is_written_in_64ths() -> None:
    assert not [file for file, text in FILES.items() if "64in" in text]

"""A lift at both ends of its travel, and dollies by their tyres, worked by hand.

Ranges: a state asks 3,500 lb of a light unit's lift retracted and 7,500 lb of tow rating (Wyoming
administrative code 045-0004, ch. 1, sec. 1-6). Lifts of light carriers carry 3,000 to 4,000 lb
extended and 4,000 to 6,000 retracted, tyres of small dollies 745 lb (load range C) to 1,075 lb (D)
each: common practice, from memory, no source.
"""

from dataclasses import replace

import pytest

from flows.cards import parse
from flows.cards.gear import GearCard
from flows.cards.truck import TruckCard, lifter
from flows.figures.dollies import Dollies, DollyTyres
from flows.figures.lifting import Arm, Lifter, lift
from flows.figures.result_pages import result_page
from tests.flows.cards_at import data, having, without
from tests.flows.test_results_exact import (
    CAR,
    CARD,
    KEPT,
    MEANS,
    STATICS,
    amounts,
    assert_steps,
    checks,
)

SIDEWALL = "sidewall on the gear card, 49 CFR 393.75(g)"


def test_lift_at_both_ends_and_dollies_by_their_tyres() -> None:
    """9,600 lb hang and 7,680 roll: 600 over the lift's rating extended, 2,400 within it drawn in.

    4,300 x 190 / 60 = 13,616.7; 11,700 + 9,600 x 274 / 190 = 25,544.2 and x 250 / 190 = 24,331.6;
    four tyres of 2,400 lb carry 9,600 lb, 1,900 of them the set itself: 7,700.
    """
    truck = Lifter(8600, 11_700, 26_000, 33_000, 190, 84, 9000, None, Arm(60, 12_000))
    car = replace(CAR, likely_lb=16_000, high_lb=16_000)
    found = lift(truck, car, Dollies(8000, DollyTyres(4, 2400, 1900), 50))
    assert found.inputs[9:] == (
        ("truck_reach_in", 84), ("truck_rating_lb", 9000), ("truck_retracted_reach_in", 60),
        ("truck_retracted_rating_lb", 12_000), ("dolly_rating_lb", 8000),
        ("dolly_tyres_count", 4), ("dolly_tyres_each_lb", 2400), ("dolly_tyres_own_lb", 1900),
        ("dolly_speed_mph", 50),
    )  # fmt: skip
    assert amounts(found) == [
        ("hung", 9600, "lb"), ("rolling", 7680, "lb"), ("capacity", 9726, "lb"),
    ]  # fmt: skip
    assert checks(found) == [
        ("lift for the front axle share kept", 9600, 9726, "lb", KEPT),
        ("wheel lift rating", 9600, 9000, "lb", CARD),
        ("rear axle", 25_545, 26_000, "lb", CARD),
        ("lift for the front axle share kept, retracted", 9600, 13_616, "lb", KEPT),
        ("wheel lift rating, retracted", 9600, 12_000, "lb", CARD),
        ("rear axle, retracted", 24_332, 26_000, "lb", CARD),
        ("gross weight", 29_900, 33_000, "lb", CARD),
        ("dollies under the other axle", 7680, 8000, "lb", "gear card"),
        ("tyres of the dollies", 7680, 7700, "lb", SIDEWALL),
    ]
    assert found.notes == ("fits_retracted",)
    assert found.governing is not None
    assert (found.governing.name, found.governing.left) == ("wheel lift rating", -600)
    out, drawn = ({"wheelbase_in": 190, "reach_in": reach} for reach in (84, 60))
    kept, rear = {"front_lb": 8600, "may_go_pct": 50}, {"rear_lb": 11_700, "hung_lb": 9600}
    assert_steps(found, [
        ("hung", {"weight_lb": 16_000, "share_pm": 600}, 9600, "lb", MEANS),
        ("rolling", {"weight_lb": 16_000, "share_pm": 520}, 7680, "lb", MEANS),
        ("capacity", kept | out, 4300 * 190 / 84, "lb", KEPT),
        ("rear", rear | out, 11_700 + 9600 * 274 / 190, "lb", STATICS),
        ("capacity_retracted", kept | drawn, 4300 * 190 / 60, "lb", KEPT),
        ("rear_retracted", rear | drawn, 11_700 + 9600 * 250 / 190, "lb", STATICS),
        ("gross", {"own_lb": 20_300, "hung_lb": 9600}, 29_900, "lb", MEANS),
        ("dolly_tyres", {"tyres_count": 4, "each_lb": 2400, "own_lb": 1900}, 7700, "lb",
         SIDEWALL),
    ])  # fmt: skip


@pytest.mark.parametrize(
    ("rating", "drawn", "weight", "notes"),
    [
        (9599, 9600, 16_000, ("fits_retracted",)),
        (9600, 9600, 16_000, ()),  # holds extended: nothing to tell
        (9598, 9599, 16_000, ()),  # over at both ends
        (9599, 9600, 16_010, ()),
    ],
)
def test_fitting_only_retracted_is_told(
    rating: int, drawn: int, weight: int, notes: tuple[str, ...]
) -> None:
    """60 percent of 16,000 lb are 9,600, of 16,010 they are 9,606."""
    truck = Lifter(8600, 11_700, 26_000, 33_000, 190, 84, rating, None, Arm(60, drawn))
    assert lift(truck, replace(CAR, likely_lb=1, high_lb=weight)).notes == notes


def test_over_at_every_reach_is_not_told_to_fit_retracted() -> None:
    """9,600 lb hang: over the lift's rating extended, and besides over what is no end's own."""
    truck = Lifter(8600, 11_700, 26_000, 33_000, 190, 84, 9000, 16_000, Arm(60, 12_000))
    car = replace(CAR, likely_lb=16_000, high_lb=16_000)
    assert lift(truck, car, Dollies(7680)).notes == ("fits_retracted",)
    for worse, under in (
        (replace(truck, tow_lb=15_999), 7680), (replace(truck, gvwr_lb=29_899), 7680),
        (truck, 7679),
    ):  # fmt: skip
        found = lift(worse, car, Dollies(under))
        assert (found.is_over, found.notes) == (True, ())


@pytest.mark.parametrize(
    ("tyres", "governs", "left"),
    [
        (None, "dollies under the other axle", 2200),
        (DollyTyres(4, 1250, 340), "dollies under the other axle", 2200),
        (DollyTyres(4, 1235, 340), "dollies under the other axle", 2200),  # both carry 4,600
        (DollyTyres(4, 1234, 340), "tyres of the dollies", 2196),
        (DollyTyres(4, 745, 340), "tyres of the dollies", 240),
        (DollyTyres(4, 600, 340), "tyres of the dollies", -340),
        (DollyTyres(2, 200, 401), "tyres of the dollies", -2400),  # they do not carry the set
    ],
)
def test_the_lower_of_rating_and_tyres_governs(
    tyres: DollyTyres | None, governs: str, left: int
) -> None:
    """2,400 lb roll. Four tyres of 745 lb, load range C from memory: 2,980 - 340 = 2,640 lb."""
    truck = Lifter(8600, 11_700, 80_000, 80_000, 190, 84, 9000)
    found = lift(truck, CAR, Dollies(4600, tyres))
    assert found.governing is not None
    assert (found.governing.name, found.governing.left) == (governs, left)
    assert Dollies(4600, tyres).carry_lb == 2400 + left


# ---- from the cards -----------------------------------------------------------------------

ENDS = ("wheel_lift", "retracted")


@pytest.mark.parametrize(
    ("out", "drawn"),
    [((62, 3000), (40, 4000)), ((74, 4000), (48, 6000)), ((62, 3500), (61, 3500))],
)
def test_a_card_takes_both_ends_of_a_light_lift(
    out: tuple[int, int], drawn: tuple[int, int]
) -> None:
    card = having(data("trucks/mallet.toml"), ("wheel_lift", "tow_lb"), 7500)
    for name, value in zip(("reach_in", "rating_lb"), zip(out, drawn, strict=True), strict=True):
        card = having(card, ("wheel_lift", name), value[0])
        card = having(card, (*ENDS, name), value[1])
    found = lifter(parse(TruckCard, "trucks/mallet.toml", card))
    assert found is not None
    assert (found.reach_in, found.rating_lb, found.tow_lb) == (*out, 7500)
    assert found.retracted == Arm(*drawn)
    assert list(found.arms.values()) == [Arm(*out), Arm(*drawn)]


def test_a_card_of_one_end_is_reckoned_there_alone() -> None:
    card = without(data("trucks/mallet.toml"), ENDS)
    found = lifter(parse(TruckCard, "trucks/mallet.toml", card))
    assert found is not None
    assert (found.retracted, list(found.arms)) == (None, [""])
    names = {one.name for one in lift(found, CAR).checks}
    assert not any("retracted" in name for name in names)


@pytest.mark.parametrize("each", [745, 1075])
def test_small_tyres_of_a_set_are_what_it_carries(each: int) -> None:
    """Four of 745 lb: 2,980, of 1,075: 4,300; 340 lb of either is the set itself."""
    card = having(data("gear/axle_dollies.toml"), ("tyres", "each_lb"), each)
    found = parse(GearCard, "gear/axle_dollies.toml", card).dollies()
    assert found == Dollies(4600, DollyTyres(4, each, 340), 50)
    assert found.carry_lb == 4 * each - 340


def test_of_a_set_without_its_tyres_the_rating_counts() -> None:
    card = data("gear/axle_dollies.toml")
    for field in ("tyres", "speed_mph"):
        card = without(card, (field,))
    assert parse(GearCard, "gear/axle_dollies.toml", card).dollies() == Dollies(4600)
    straps = parse(GearCard, "gear/wheel_straps.toml", data("gear/wheel_straps.toml"))
    assert straps.dollies().carry_lb == 0


def test_the_page_tells_both_ends_and_what_the_tyres_carry() -> None:
    truck = Lifter(8600, 11_700, 26_000, 33_000, 190, 84, 9000, None, Arm(60, 12_000))
    car = replace(CAR, likely_lb=16_000, high_lb=16_000)
    lines = result_page(lift(truck, car, Dollies(8000, DollyTyres(4, 2400, 1900), 50)))
    assert lines[2:4] == [
        "Wheel lift rating is over by 600 lb. Change it first.",
        "Retracted, every limit holds. But it goes up extended, so it's a no-go.",
    ]
    shown = "\n".join(lines)
    assert "Retracted, the lift may carry 13,616.7 lb: 8,600 x 50/100 x 190/60." in shown
    assert "Retracted, rear axle 24,331.6 lb: 11,700 + 9,600 x (190 + 60)/190." in shown
    assert "The tires of the dollies carry 7,700 lb: 4 x 2,400 - 1,900 of the set itself." in shown
    assert "dolly speed (mph): 50." in shown

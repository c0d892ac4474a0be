"""A second vehicle on the wheel lift, worked by hand, and what would make a go of it.

The truck: 9,000 and 12,000 lb empty, wheelbase 200 in, lift 100 in behind the rear axle. On the
deck 4,000 lb half and half at x = 80 + 36 + 57 = 173 in: 540 lb on the front axle, 3,460 on the
rear. On the lift 4,000 lb with 60 percent on its front axle.
"""

from dataclasses import replace
from typing import Any

import pytest

from flows.figures.margin import Legal, Load, Margin, Piece, Truck, WheelLift, margin
from flows.figures.remedies import known, without

LIFT = WheelLift(300, 4000, 7500)
TRUCK = Truck(9000, 12_000, 33_000, 13_000, 24_000, 200, 80, 170, lift=LIFT, gcwr_lb=40_000)
LAW = Legal(single_lb=24_000)
DECK = Load(4000, 4000, 500, 500, 500, 114, 36, 38, nose_first=True)
BEHIND = Load(4000, 4000, 600, 600, 600, 110, 36, 38, nose_first=True)


def loads(m: Margin) -> dict[str, int]:
    return {one.name: one.load_lb for one in m.limits}


def at_headboard(lifted: Load | None, truck: Truck = TRUCK) -> Margin:
    """On a deck of 170 in the vehicle has one place: 36 + 114 in, and 20 for tyre and strap."""
    return margin(truck, DECK, lifted=lifted, legal=LAW)


@pytest.mark.parametrize(
    ("nose_first", "hung", "front", "rear"),
    [
        # 2,400 lb hang 100 in behind the rear axle: 1,200 off the front, 3,600 on the rear.
        (True, 2400, 9540 - 1200, 15_460 + 3600),
        # Tail toward the truck: 1,600 lb hang; 800 off the front, 2,400 on the rear.
        (False, 1600, 9540 - 800, 15_460 + 2400),
    ],
)
def test_the_lifted_part_loads_the_truck(
    nose_first: bool,  # noqa: FBT001  a row of the table
    hung: int,
    front: int,
    rear: int,
) -> None:
    on = loads(at_headboard(replace(BEHIND, nose_first=nose_first)))
    assert on["wheel lift rating"] == hung
    assert on["wheel lift tow rating"] == 4000
    assert (on["front axle"], on["rear axle"]) == (front, rear)
    assert on["gross weight"] == 25_000 + hung
    # The rest rolls on its own wheels; the combination and the law count it.
    assert on["combination weight"] == on["legal gross"] == 29_000
    assert on["front axle share kept"] == 9000 - front


def test_each_rating_of_the_lift_is_checked() -> None:
    assert at_headboard(BEHIND).verdict == "go"
    for weaker, name in (
        (replace(TRUCK, lift=replace(LIFT, rating_lb=2399)), "wheel lift rating"),
        (replace(TRUCK, lift=replace(LIFT, tow_lb=3999)), "wheel lift tow rating"),
        (replace(TRUCK, gcwr_lb=28_999), "combination weight"),
    ):
        m = at_headboard(BEHIND, weaker)
        assert (m.verdict, m.governing, m.governing_margin_lb) == ("no-go", name, -1)
        assert "second_off" in m.remedies
        assert "second_off" not in at_headboard(None, weaker).remedies


def test_both_ends_of_the_lifted_range_count() -> None:
    vague = replace(BEHIND, high_lb=4400, share_low_pm=500, share_high_pm=700)
    m = at_headboard(vague)
    [hung] = [one for one in m.limits if one.name == "wheel lift rating"]
    assert (hung.least_lb, hung.load_lb) == (2000, 3080)
    assert m.inputs["second_high_lb"] == 4400


def test_what_the_lift_takes_off_the_front_axle_counts() -> None:
    """4,000 lb empty in front, 2,000 may come off. With nothing much on the deck 4,500 lb on the
    lift take 2,250 off, though every rating holds. At 40 percent kept 2,400 may come off."""
    truck = replace(TRUCK, empty_front_lb=4000, lift=WheelLift(300, 9000))
    share = {"share_low_pm": 900, "share_mid_pm": 900, "share_high_pm": 900}
    heavy = replace(BEHIND, likely_lb=5000, high_lb=5000, **share)
    light = replace(DECK, likely_lb=10, high_lb=10)
    m = margin(truck, light, lifted=heavy, legal=LAW)
    assert (m.verdict, m.governing) == ("no-go", "front axle share kept")
    assert "not law" in {one.name: one.source for one in m.limits}[m.governing]
    less_kept = replace(truck, front_kept_pct=40)
    assert margin(less_kept, light, lifted=heavy, legal=LAW).verdict == "go"


def test_what_is_not_known_of_the_combination_is_said() -> None:
    m = at_headboard(BEHIND, replace(TRUCK, gcwr_lb=None, lift=replace(LIFT, tow_lb=None)))
    assert m.unchecked == (
        "front tyres",
        "rear tyres",
        "overall height",
        "overall length",
        "wheel lift tow rating",
        "combination weight",
        "combination bridge",
    )


def test_overall_length_reaches_to_the_end_of_the_vehicle_behind() -> None:
    """30 in ahead, lift at 300, wheelbase 110 and rear overhang 38: 478 in."""
    truck = replace(TRUCK, front_end_in=30, rear_end_in=240)
    law = replace(LAW, length_in=478)
    assert margin(truck, DECK, lifted=BEHIND, legal=law).verdict == "go"
    m = margin(truck, DECK, lifted=BEHIND, legal=replace(law, length_in=477))
    assert (m.governing, m.governing_margin_in, m.less) == ("overall length", -1, None)
    assert "second_off" in m.remedies


# Less aboard. By hand on the light carrier: 5,000 lb at 181 of 199 in; gross 19,400 lb where 95
# percent are 18,525: 875 lb too much; rear 13,447.7 lb where 12,825 are 95 percent: 622.7.

LIGHT = Truck(5500, 8900, 19500, 7500, 13500, 199, 88, 234)
CAR = replace(DECK, likely_lb=5000, high_lb=5000)


def gear(name: str, lb: int, at: int, **how: bool) -> Piece:
    return Piece(name, lb, at, **how)


def test_how_much_has_to_come_off() -> None:
    """No more is named than all gear aboard takes off the axle: a driver is no gear."""
    for lb, less_lb, named in ((875, 875, ("blocks",)), (874, None, ())):
        blocks = gear("blocks", lb, 199, on_ticket=True)
        driver = gear("driver", 200, 199, on_ticket=True, person=True)
        m = margin(replace(LIGHT, aboard=(blocks, driver)), CAR)
        assert m.less is not None
        assert (m.less.less_lb, m.less.axle, m.less.gear) == (less_lb, "rear axle", named)
        assert ("less_aboard" in m.remedies) == bool(named)
    for off, verdict in ((875, "go"), (874, "close")):
        less = replace(LIGHT, aboard=(gear("less", -off, 199),))
        assert margin(less, CAR).verdict == verdict


def test_gear_that_was_on_the_scale_can_come_off() -> None:
    """Dollies 500 lb over the rear axle, skates 450 lb there too, blocks in the cab, a driver."""
    truck = replace(
        LIGHT,
        aboard=(
            gear("blocks", 300, 20, on_ticket=True),
            gear("skates", 450, 199, on_ticket=True),
            gear("driver", 900, 199, on_ticket=True, person=True),
            gear("dollies", 500, 199, on_ticket=True),
        ),
    )
    m = margin(truck, CAR)
    assert m.limits == margin(LIGHT, CAR).limits  # they are in the ticket already
    assert m.less is not None
    assert (m.less.gear, m.less.gear_lb) == (("dollies", "skates"), 950)
    assert "less_aboard" in m.remedies
    left = replace(truck, aboard=(gear("left at the yard", -950, 199),))
    assert margin(left, CAR).verdict == "go"


def test_gear_that_is_not_enough_is_no_remedy() -> None:
    truck = replace(LIGHT, aboard=(gear("dollies", 400, 199, on_ticket=True),))
    m = margin(truck, CAR)
    assert m.less is not None
    assert m.less.gear == ()
    assert "less_aboard" not in m.remedies


def test_pieces_since_the_ticket_load_both_axles() -> None:
    """A passenger of 200 lb, 50 in behind the front axle of 200: 150 lb in front, 50 behind."""
    with_one = replace(TRUCK, aboard=(gear("passenger", 200, 50, person=True),))
    before, after = loads(at_headboard(None)), loads(at_headboard(None, with_one))
    assert after["front axle"] - before["front axle"] == 150
    assert after["rear axle"] - before["rear axle"] == 50
    assert after["gross weight"] - before["gross weight"] == 200
    assert after["front axle share kept"] - before["front axle share kept"] == -150


def test_front_axle_governs_and_says_so() -> None:
    """A headboard far forward: 6,000 lb at x = 10 + 36 + 57 = 103 of 200 in put 2,910 lb on the
    front axle: 8,410 lb, where 95 percent of 8,500 are 8,075: 335 lb over, if it cannot move."""
    tools = gear("tools", 400, 0, on_ticket=True)
    truck = Truck(5500, 8000, 30_000, 8500, 18_000, 200, 10, 170, aboard=(tools,))
    m: Any = margin(truck, replace(DECK, likely_lb=6000, high_lb=6000))
    assert (m.governing, m.verdict) == ("front axle", "close")
    assert (m.less.axle, m.less.less_lb) == ("front axle", 335)


def test_of_the_gear_the_one_over_the_governing_axle_goes_first() -> None:
    """By hand as above: 335 lb have to come off the front axle, 200 in ahead of the rear one.
    Tools in front take all of their 400 lb off it, a heavier jack near the rear axle 45 of 900."""
    tools, jack = gear("tools", 400, 0, on_ticket=True), gear("jack", 900, 190, on_ticket=True)
    truck = Truck(5500, 8000, 30_000, 8500, 18_000, 200, 10, 170, aboard=(jack, tools))
    m: Any = margin(truck, replace(DECK, likely_lb=6000, high_lb=6000))
    assert (m.less.axle, m.less.less_lb, m.less.gear) == ("front axle", 335, ("tools",))


def test_the_second_vehicle_can_be_weighed_too() -> None:
    """By hand: 60 percent of 4,000 to 6,800 lb hang on a lift of 4,000: 2,400 to 4,080 lb, which
    is close. Weighed at 4,000 lb it is a go; the one on the deck is known already."""
    m = at_headboard(replace(BEHIND, high_lb=6800))
    assert (m.verdict, m.governing) == ("close", "wheel lift rating")
    assert "weigh_it" in m.remedies
    assert "weigh_it" not in at_headboard(replace(BEHIND, likely_lb=6800, high_lb=6800)).remedies


def test_what_is_weighed_has_one_weight_and_one_share() -> None:
    vague = replace(BEHIND, high_lb=4400, share_low_pm=500, share_high_pm=700)
    assert known(vague) == BEHIND


def test_what_was_left_behind_is_not_on_the_ticket() -> None:
    """Taken off, it is a piece of less than nothing: 500 lb off the axle, counted once."""
    dollies = gear("dollies", 500, 199, on_ticket=True)
    [off] = without(replace(LIGHT, aboard=(dollies,)), dollies).aboard
    assert off == gear("dollies", -500, 199, on_ticket=False)

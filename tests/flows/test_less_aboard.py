"""What may come off the truck, to the pound: as much as is there, and never a whole axle."""

from dataclasses import replace

import pytest

from flows.errors import OutOfRangeError
from flows.figures.deck import Load, Piece, Truck, WheelLift
from flows.figures.legal import FEDERAL
from flows.figures.limits import Asked
from flows.figures.margin import margin
from flows.figures.remedies import less_aboard
from flows.figures.tyres import TyreSet, tyre_set

# 6,000 lb half and half at the headboard, at x = 80 + 36 + 57 = 173 of 200 in: 810 lb on the
# front axle, 5,190 on the rear. Judged at this place and with the whole of each limit.
CAR = Load(6000, 6000, 500, 500, 500, 114, 36, 38, nose_first=True)
TRUCK = Truck(9000, 3000, 60_000, 30_000, 30_000, 200, 80, 300, front_kept_pct=0)
# Whoever typed these tickets made an error: the gear weighs more than the axle under it. The
# figure answers all the same, and no gear is said to be enough.
BEHIND = replace(TRUCK, aboard=(Piece("crane", 3500, 200, on_ticket=True),))
AHEAD = replace(TRUCK, aboard=(Piece("engine", 9500, 0, on_ticket=True),))
DOUBLE = replace(
    TRUCK,
    empty_rear_lb=15_000,
    aboard=(Piece("crane", 6000, 200, on_ticket=True), Piece("boom", 6000, 200, on_ticket=True)),
)
PIN = replace(TRUCK, aboard=(Piece("pin", 1, 200, on_ticket=True),))


@pytest.mark.parametrize(
    ("truck", "rating_lb", "less_lb"),
    [
        # 3,000 + 5,190 lb are on the rear axle: a pound stays of what the truck had there.
        (BEHIND, 8189, 1),
        (BEHIND, 8188, 2),
        (BEHIND, 5191, 2999),
        (BEHIND, 5190, None),
        # 15,000 + 5,190 lb: a piece weighs 10,000 lb at most.
        (DOUBLE, 10_190, 10_000),
        (DOUBLE, 10_189, None),
        (PIN, 8189, 1),
        (PIN, 8188, None),
        (TRUCK, 8189, None),
    ],
)
def test_as_much_comes_off_the_rear_as_is_there(
    truck: Truck, rating_lb: int, less_lb: int | None
) -> None:
    asked = Asked(replace(truck, gawr_rear_lb=rating_lb), CAR, None, FEDERAL, 0)
    less = less_aboard(asked, 100, "rear axle")
    assert (less.less_lb, less.axle) == (less_lb, "rear axle")
    if truck is BEHIND:
        assert (less.gear, less.gear_lb) == ((), 0)


@pytest.mark.parametrize(("rating_lb", "less_lb"), [(9809, 1), (811, 8999), (810, None)])
def test_as_much_comes_off_the_front_as_is_there(rating_lb: int, less_lb: int | None) -> None:
    """9,000 + 810 lb are on the front axle."""
    asked = Asked(replace(AHEAD, gawr_front_lb=rating_lb), CAR, None, FEDERAL, 0)
    less = less_aboard(asked, 100, "front axle")
    assert (less.less_lb, less.axle) == (less_lb, "front axle")


def test_what_does_not_help_is_no_remedy() -> None:
    """The deck's vehicle alone is over the gross rating: taking the second off changes nothing."""
    truck = replace(TRUCK, gvwr_lb=17_000, lift=WheelLift(260, 9000))
    m = margin(truck, CAR, lifted=CAR)
    assert (m.verdict, margin(truck, CAR).verdict) == ("no-go", "no-go")
    assert "second_off" not in m.remedies
    # 17,000 lb hold without it, 18,000 with 3,000 lb of it hung on the lift.
    light = replace(truck, gvwr_lb=20_000)
    assert margin(light, CAR).verdict == "go"
    assert "second_off" in margin(light, CAR, lifted=CAR).remedies


@pytest.mark.parametrize("nose_first", [True, False])
def test_turning_it_round_helps_whichever_way_it_stands(*, nose_first: bool) -> None:
    """7 in 10 parts of it on the front wheels: 80 + 36 + 34.2 = 150.2 in behind the front axle,
    nose first, 80 + 38 + 79.8 = 197.8 tail first; 4,506 and 5,934 lb on the rear axle, 1,494 and
    66 on the front one."""
    car = replace(CAR, share_low_pm=700, share_mid_pm=700, share_high_pm=700)
    weak = {"gawr_front_lb": 9700} if nose_first else {"gawr_rear_lb": 7800}
    truck = replace(TRUCK, **weak, deck_length_in=172)  # type: ignore[arg-type]
    stands = margin(truck, replace(car, nose_first=nose_first), 100)
    assert stands.verdict == "no-go"
    assert margin(truck, replace(car, nose_first=not nose_first), 100).verdict == "go"
    assert "nose_other_way" in stands.remedies


def test_overhangs_are_named_from_the_truck() -> None:
    tail = replace(CAR, nose_first=False)
    assert (CAR.near_overhang_in, CAR.far_overhang_in) == (36, 38)
    assert (tail.near_overhang_in, tail.far_overhang_in) == (38, 36)


def test_some_weight_stays_on_both_axles() -> None:
    """100 lb at 60 in are 6,000 lb-in about the front axle."""
    small = Truck(9000, 100, 60_000, 30_000, 30_000, 60, 80, 300)
    replace(small, aboard=(Piece("off", -5999, 1),))
    for off in (Piece("off", -60, 100), Piece("off", -9000, 0)):
        with pytest.raises(OutOfRangeError, match="pieces that leave weight on both axles"):
            replace(small, aboard=(off,))
    both = (Piece("engine", -9000, 0), Piece("jack", -1, 0))
    with pytest.raises(OutOfRangeError, match="truck aboard is engine -9000 lb, jack -1 lb;"):
        replace(small, aboard=both)


def test_tyres_carry_what_their_index_says() -> None:
    """Two of index 100, 800 kg each, carry 3,527 lb: the table's page."""
    tyres = TyreSet(100, 2)
    replace(TRUCK, front_tyres_lb=3527, front_tyre_set=tyres)
    words = "^truck rear_tyres_lb is 3528; allowed: 3527 lb, what they carry together"
    with pytest.raises(OutOfRangeError, match=words):
        replace(TRUCK, rear_tyres_lb=3528, rear_tyre_set=tyres)
    with pytest.raises(OutOfRangeError, match=r"^dual load index is 121; allowed: .* at most 120"):
        tyre_set(120, 121, is_dual=True)

"""Both ends of each range of a figure, taken and refused, with the words of the refusal."""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import pytest

from flows.errors import OutOfRangeError
from flows.figures.known_weights import (
    from_card,
    from_label,
    from_measured,
    from_stated,
    from_ticket,
)
from flows.figures.margin import Legal, Load, Truck, WheelLift, margin
from flows.figures.statics import reactions
from flows.figures.units import quantity

AXLES = "whole lb, 100 to 20000"
TOTAL = "whole lb, 400 to 20000"
RANGES: list[tuple[Callable[[int], object], str, int, int, str]] = [
    (lambda lb: from_ticket(lb, 2000), "front axle weight", 100, 20_000, AXLES),
    (lambda lb: from_ticket(2000, lb), "rear axle weight", 100, 20_000, AXLES),
    (lambda lb: from_label(lb, 2000, None), "front axle weight", 100, 20_000, AXLES),
    (lambda lb: from_label(2000, lb, None), "rear axle weight", 100, 20_000, AXLES),
    (from_measured, "measured weight", 400, 20_000, TOTAL),
    (lambda lb: from_stated(lb, "electric"), "stated weight", 400, 20_000, TOTAL),
    (lambda lb: Legal(gross_lb=lb), "legal gross_lb", 10_000, 200_000, "whole lb, 10000 to"),
    (lambda at: Legal(height_in=at), "legal height_in", 60, 240, "whole in, 60 to 240"),
    (lambda at: Legal(length_in=at), "legal length_in", 200, 1500, "whole in, 200 to 1500"),
]


@pytest.mark.parametrize(("make", "what", "low", "high", "allowed"), RANGES)
def test_a_range_holds_at_both_ends(
    make: Callable[[int], object], what: str, low: int, high: int, allowed: str
) -> None:
    make(low), make(high)
    for outside in (low - 1, high + 1):
        with pytest.raises(OutOfRangeError) as caught:
            make(outside)
        assert str(caught.value).startswith(f"{what} is {outside}; allowed: {allowed}")


@pytest.mark.parametrize(
    ("load", "at", "base", "says"),
    [
        ((5, "foot"), (1, "foot"), (9, "foot"), "load is 5 foot; allowed: a mass or a force."),
        ((-1, "pound"), (1, "foot"), (9, "foot"), "load is -1 pound; allowed: 0 or more."),
        ((1, "pound"), (1, "inch"), (11, "inch"), "wheelbase is 11 inch; allowed: 1 to 50 feet."),
        ((1, "pound"), (1, "inch"), (601, "inch"), "wheelbase is 601 inch; allowed: 1 to 50"),
        (
            (1, "pound"), (-101, "inch"), (100, "inch"),
            "distance behind the front axle is -101 inch; allowed: one wheelbase ahead of the"
            " front axle to two behind it.",
        ),
        ((1, "pound"), (201, "inch"), (100, "inch"), "distance behind the front axle is 201"),
    ],
)  # fmt: skip
def test_statics_refuses(
    load: tuple[int, str], at: tuple[int, str], base: tuple[int, str], says: str
) -> None:
    with pytest.raises(OutOfRangeError) as caught:
        reactions(quantity(*load), quantity(*at), quantity(*base))
    assert str(caught.value).startswith(says)


@pytest.mark.parametrize(
    ("lb", "at", "base", "rear"),
    [
        # Moments: rear = W x / WB, at each end of what is taken.
        (0, 50, 100, 0),
        (100, -100, 100, -100),
        (100, 200, 100, 200),
        (12, 1, 12, 1),
        (600, 1, 600, 1),
    ],
)
def test_statics_takes_both_ends(lb: int, at: int, base: int, rear: int) -> None:
    found = reactions(quantity(lb, "pound"), quantity(at, "inch"), quantity(base, "inch"))
    assert found.rear == quantity(Fraction(rear), "pound")
    assert found.front == quantity(Fraction(lb - rear), "pound")


def test_a_label_is_wider_by_two_points_and_a_scale_is_not() -> None:
    # 2,300 of 4,600 lb is half; 4,600 x 1.06 = 4,876.
    label = from_card("label", "combustion", axles=(2300, 2300))
    assert (label.likely_lb, label.high_lb, label.share_pm) == (4600, 4876, (480, 500, 520))
    scale = from_card("ticket", "combustion", axles=(2300, 2300))
    assert (scale.likely_lb, scale.high_lb, scale.share_pm) == (4600, 4600, (500, 500, 500))
    # A stated weight takes another powertrain's allowance, 4,600 x 1.15 = 5,290; a scaled none.
    assert label.stated_for("electric").high_lb == 5290
    assert label.stated_for("electric").share_pm == label.share_pm
    assert scale.stated_for("electric").high_lb == 4600


def test_a_stated_total_has_the_allowance_of_its_powertrain_and_says_so() -> None:
    total = from_card("label", "combustion", total_lb=4600)
    assert (total.high_lb, total.share_pm) == (4876, None)
    assert total.source == "stated weight, with the allowance for its powertrain"
    # 1,000 of 2,002 lb are 499.5005 per mille: down, to the nearest, up.
    assert from_ticket(1000, 1002).share_pm == (499, 500, 500)


# The deck just takes DECK and the room behind its rear wheels, 36 + 114 + 20 in: one place.
TRUCK = Truck(9000, 12_000, 33_000, 13_000, 24_000, 200, 80, 170, front_end_in=40, rear_end_in=260)
DECK = Load(4000, 4400, 500, 500, 500, 114, 36, 38, nose_first=True)


def test_a_limit_tells_its_least_and_its_worst_load() -> None:
    """4,000 to 4,400 lb at x = 80 + 36 + 57 = 173 in of 200: 3,460 to 3,806 lb on the rear."""
    rear = next(one for one in margin(TRUCK, DECK).limits if one.name == "rear axle")
    assert (rear.least_lb, rear.load_lb) == (12_000 + 3460, 12_000 + 3806)


def test_a_vehicle_on_the_lift_makes_it_longer() -> None:
    """Lift 300 in behind the front axle, wheelbase 110, tail 38: 448; with 40 ahead, 488 in."""
    truck = replace(TRUCK, lift=WheelLift(300, 9000))
    behind = Load(4000, 4000, 600, 600, 600, 110, 36, 38, nose_first=True)
    for allowed, left in ((488, 0), (487, -1), (500, 12)):
        found = margin(truck, DECK, lifted=behind, legal=Legal(length_in=allowed))
        length = next(one for one in found.lengths if one.name == "overall length")
        assert length.margin_in == left
    # Without it the vehicle on the deck ends last, 80 + 36 + 114 + 38 = 268 in, and 40 ahead.
    alone = margin(truck, DECK, legal=Legal(length_in=488))
    assert next(o for o in alone.lengths if o.name == "overall length").margin_in == 180

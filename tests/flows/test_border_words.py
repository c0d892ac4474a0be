"""A margin from quantities: missing names, and the same closeness unless another is given."""

from dataclasses import replace

import pytest

from flows.errors import OutOfRangeError
from flows.figures.border import margin_quantities, whole
from flows.figures.crossing import compute, quantities
from flows.figures.deck import Load, Piece, Truck, WheelLift
from flows.figures.legal import Legal
from flows.figures.lifting import Lifter, lift
from flows.figures.margin import margin
from flows.figures.pull import TRADE, pull
from flows.figures.units import quantity
from tests.flows.balance import POUNDS, in_units

# 5,000 lb at 181 in: 8,900 + 5,000 x 181 / 199 = 13,447.7 lb on the rear axle.
TRUCK = Truck(5500, 8900, 21_000, 7500, 14_080, 199, 88, 234)
CAR = Load(5000, 5000, 500, 500, 500, 114, 36, 38, nose_first=True)


def test_from_95_percent_on_it_is_close_unless_told() -> None:
    """13,447.7 of 14,080 lb are 95.5 percent."""
    assert (margin(TRUCK, CAR).verdict, margin(TRUCK, CAR, 96).verdict) == ("close", "go")
    truck, car = in_units(TRUCK, POUNDS), in_units(CAR, POUNDS)
    assert margin_quantities(truck, car).verdict == "close"
    assert margin_quantities(truck, car, close_at_pct=96).verdict == "go"


def test_the_second_vehicle_and_the_law_are_handed_on() -> None:
    truck, second = replace(TRUCK, lift=WheelLift(260, 9000)), replace(CAR, high_lb=5500)
    law = Legal(gross_lb=30_000)
    given = [in_units(one, POUNDS) for one in (truck, CAR, second)]
    found = margin_quantities(given[0], given[1], lifted=given[2], legal=law)
    known = replace(truck, front_scaled_lb=5500)
    assert found == margin(known, CAR, lifted=second, legal=law)
    assert found.lifted == second


@pytest.mark.parametrize(
    "given", [{}, {"name": "jack"}, {"name": "jack", "weight": quantity(9, "pound"), "colour": 1}]
)
def test_fields_of_a_piece_are_listed(given: dict[str, object]) -> None:
    with pytest.raises(OutOfRangeError) as refused:
        whole(Piece, given)
    allowed = "name, weight, at, on_ticket, person"
    assert str(refused.value).startswith(f"piece is {', '.join(given)}; allowed: {allowed}. ")


def test_inputs_of_a_figure_are_listed() -> None:
    with pytest.raises(OutOfRangeError) as refused:
        compute("taper", {"speed": 1, "colour": 2})
    assert str(refused.value).startswith("taper is speed, colour; allowed: speed, width. ")


def test_a_line_pulls_a_force_and_a_vehicle_weighs_a_mass() -> None:
    assert quantities(pull(400, "hard", TRADE))["pull"] == quantity(40, "pound_force")
    hung = quantities(lift(Lifter(8600, 11_700, 22_000, 33_000, 190, 84, 9000), CAR))["hung"]
    assert hung == quantity(2500, "pound")

"""Figures from quantities: whole numbers to the cautious side, and no wrong kind of quantity.

Factors are those of `data/units.csv` (exact definitions): 1 lb is 0.45359237 kg, 1 in 25.4 mm,
1 lbf 4.4482216152605 N.
"""

import datetime as dt
from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings, strategies as st

from flows.errors import OutOfRangeError
from flows.figures.crossing import FIGURES, compute, quantities
from flows.figures.deck import Load, Truck
from flows.figures.dollies import Dollies, DollyTyres
from flows.figures.legal import bridge
from flows.figures.lifting import Arm, Lifter, lift
from flows.figures.loading import Ramp, loading
from flows.figures.pull import TRADE, Slope, pull
from flows.figures.result import Result
from flows.figures.rigging import rigging
from flows.figures.securing import limit, securing
from flows.figures.tiedowns import Geometry, Tiedown, tiedowns
from flows.figures.units import exact, quantity
from flows.figures.volts import charge
from flows.figures.warning import devices, storage, taper
from flows.figures.winch import ARMY, Winch, winch
from flows.figures.window import window

TODAY = dt.date(2026, 3, 1)


def metric(value: Fraction | float, unit: str) -> Any:
    """The same amount in a metric unit, to the last digit."""
    other = {"pound": "kilogram", "pound_force": "newton", "inch": "millimeter", "foot": "meter",
             "foot / minute": "meter / second", "mile_per_hour": "kilometer / hour",
             "minute": "second", "degree": "radian", "percent": "dimensionless",
             "permille": "dimensionless", "millivolt": "volt", "inch64": "millimeter",
             "degree_Fahrenheit": "degree_Celsius"}[unit]  # fmt: skip
    if unit == "degree":
        return quantity(value, unit)  # pi has no last digit
    return quantity(value, unit).to(other)


LOAD = {"likely": metric(5000, "pound"), "high": metric(5000, "pound"),
        "share_low": metric(520, "permille"), "share_mid": metric(550, "permille"),
        "share_high": metric(600, "permille"), "wheelbase": metric(114, "inch"),
        "front_overhang": metric(36, "inch"), "rear_overhang": metric(38, "inch"),
        "nose_first": True}  # fmt: skip
VEHICLE = Load(5000, 5000, 520, 550, 600, 114, 36, 38, nose_first=True)
WINCH = {"layers": (metric(8000, "pound_force"), metric(6777, "pound_force")),
         "drum": metric(202, "inch64"), "width": metric(576, "inch64"),
         "rope": metric(24, "inch64"), "rope_length": metric(75, "foot")}  # fmt: skip
TRUCK = {"empty_front": metric(5400, "pound"), "empty_rear": metric(8900, "pound"),
         "gvwr": metric(19_500, "pound"), "gawr_front": metric(7500, "pound"),
         "gawr_rear": metric(13_500, "pound"), "wheelbase": metric(199, "inch"),
         "headboard": metric(88, "inch"), "deck_length": metric(234, "inch"),
         "deck_height": metric(38, "inch")}  # fmt: skip
LIFTER = {"front": metric(8600, "pound"), "rear": metric(11_700, "pound"),
          "gawr_rear": metric(22_000, "pound"), "gvwr": metric(33_000, "pound"),
          "wheelbase": metric(190, "inch"), "reach": metric(84, "inch"),
          "rating": metric(9000, "pound"), "tow": metric(20_000, "pound"),
          "retracted": {"reach": metric(60, "inch"),
                        "rating": metric(12_000, "pound")}}  # fmt: skip
SET = {"rating": metric(4600, "pound"), "speed": metric(50, "mile_per_hour"),
       "tyres": {"count": 4, "each": metric(1250, "pound"),
                 "own": metric(340, "pound")}}  # fmt: skip
STRAP = {"name": "wheel strap", "parts": (metric(3333, "pound"),)}
DRUM = Winch((8000, 6777), 202, 576, 24, 75)
WREN = Truck(5400, 8900, 19500, 7500, 13500, 199, 88, 234, deck_height_in=38)

GIVEN: dict[str, tuple[Mapping[str, Any], Result]] = {
    "pull": (
        {"weight": metric(4000, "pound"), "surface": "grass", "table": TRADE,
         "slope": {"grade": metric(20, "percent")}, "locked": "half"},
        pull(4000, "grass", TRADE, slope=Slope(20), locked="half"),
    ),
    "winch": (
        {"winch": WINCH, "pull": metric(9000, "pound_force"), "reach": metric(20, "foot"),
         "distance": metric(15, "foot"), "model": ARMY},
        winch(DRUM, 9000, 20, 15, ARMY),
    ),
    "rigging": (
        {"line": metric(5000, "pound_force"), "block_angle": metric(60, "degree"),
         "bridle_angle": metric(90, "degree"),
         "ratings": (("block", "snatch block", metric(8000, "pound")),)},
        rigging(5000, 60, 90, [("block", "snatch block", 8000)]),
    ),
    "window": (
        {"winch": WINCH, "parts": 2, "path": (metric(20, "foot"), metric(15, "foot")),
         "speed": metric(10, "foot / minute"), "hold": metric(30, "minute")},
        window(DRUM, 2, (20, 15), 10, 30),
    ),
    "tiedowns": (
        {"weight": metric(5000, "pound"), "straps": (STRAP,) * 4, "today": TODAY,
         "geometry": {"up": metric(40, "degree"), "aside": metric(20, "degree")}},
        tiedowns(5000, [Tiedown("wheel strap", (3333,))] * 4, Geometry(40, 20), TODAY),
    ),
    "limit": (
        {"kind": "chain", "size": metric(0.375, "inch"), "grade": 70}, limit("chain", 24, 70),
    ),
    "securing": (
        {"weight": metric(5000, "pound"), "length": metric(121, "inch"), "straps": (STRAP,) * 2,
         "blocked": True, "part": metric(60, "percent")},
        securing(5000, 121, [Tiedown("wheel strap", (3333,))] * 2, is_blocked=True, part_pct=60),
    ),
    "bridge": ({"axles": 3, "length": metric(240, "inch")}, bridge(3, 240)),
    "lift": (
        {"truck": LIFTER, "load": LOAD, "dollies": SET},
        lift(
            Lifter(8600, 11_700, 22_000, 33_000, 190, 84, 9000, 20_000, Arm(60, 12_000)), VEHICLE,
            Dollies(4600, DollyTyres(4, 1250, 340), 50),
        ),
    ),
    "loading": (
        {"truck": TRUCK, "load": LOAD, "at": metric(5, "inch"),
         "ramp": {"tilt": metric(30, "percent"), "slides": metric(1900, "pound")}},
        loading(replace(WREN, front_scaled_lb=5400), Ramp(30, 1900), VEHICLE, 5),
    ),
    "charge": (
        {"voltage": metric(12_240, "millivolt"), "temperature": metric(50, "degree_Fahrenheit"),
         "kind": "lead-acid"},
        charge(12_240, 50, "lead-acid"),
    ),
    "devices": ({"road": "divided"}, devices("divided")),
    "taper": (
        {"speed": metric(45, "mile_per_hour"), "width": metric(12, "foot")}, taper(45, 12),
    ),
    "storage": ({"nearest": metric(40, "foot")}, storage(40)),
}  # fmt: skip


@pytest.mark.parametrize("name", FIGURES)
def test_a_figure_from_metric_quantities_is_the_figure_of_whole_numbers(name: str) -> None:
    asked, wanted = GIVEN[name]
    assert compute(name, asked) == wanted


def broken(value: Any, wrong: Any) -> list[tuple[str, Any]]:
    """Every way to put a wrong quantity in the place of one, with where it is."""
    if isinstance(value, type(quantity(1, "pound"))):
        return [("", wrong)]
    if isinstance(value, Mapping):
        return [
            (f"{key} {where}", {**value, key: one})
            for key in value
            for where, one in broken(value[key], wrong)
        ]
    if isinstance(value, tuple):
        return [
            (where, (*value[:at], one, *value[at + 1 :]))
            for at in range(len(value))
            for where, one in broken(value[at], wrong)
        ]
    return []


WRONG = [
    (name, where.strip(), one)
    for name, (asked, _) in GIVEN.items()
    for wrong in (quantity(40, "ampere"), 40)
    for where, one in broken(asked, wrong)
]


def test_every_quantity_of_every_figure_is_tried_wrong() -> None:
    kinds = {name: {where for which, where, _ in WRONG if which == name} for name in FIGURES}
    assert kinds["devices"] == set(), "a road is a word"
    assert {name: len(found) for name, found in kinds.items() if name != "devices"} == {
        "pull": 2, "winch": 8, "rigging": 4, "window": 8, "tiedowns": 4, "lift": 22,
        "limit": 1, "securing": 4, "bridge": 1,
        "loading": 20, "charge": 2, "taper": 2, "storage": 1,
    }  # fmt: skip


@pytest.mark.parametrize(("name", "where", "asked"), WRONG)
def test_a_quantity_of_another_kind_is_refused_by_its_name(
    name: str, where: str, asked: Mapping[str, Any]
) -> None:
    with pytest.raises(OutOfRangeError) as refused:
        compute(name, asked)
    said = str(refused.value)
    last = where.rsplit(maxsplit=1)[-1].partition("_")[0]
    assert last in said.partition(" is ")[0], said
    assert "is 40" in said
    assert "a quantity that converts to" in said


@pytest.mark.parametrize(
    ("name", "key", "wrong"),
    [
        ("pull", "weight", quantity(4000, "pound_force")),
        ("winch", "pull", quantity(9000, "pound")),
        ("rigging", "line", quantity(5000, "pound")),
        ("rigging", "ratings", (("block", "snatch block", quantity(8000, "pound_force")),)),
    ],
)
def test_a_pound_of_mass_is_not_a_pound_of_force(name: str, key: str, wrong: Any) -> None:
    with pytest.raises(OutOfRangeError, match=f"{key}.*a quantity that converts to pound"):
        compute(name, {**GIVEN[name][0], key: wrong})


@pytest.mark.parametrize(
    ("name", "asked", "says"),
    [
        ("pull_up", {}, "figure is pull_up; allowed: pull, winch, rigging"),
        ("pull", {"surface": "hard", "table": TRADE}, "pull is surface, table; allowed: weight"),
        ("storage", {"nearest": quantity(1, "foot"), "mass": 1}, "storage is nearest, mass"),
        ("storage", {"nearest": quantity(-1, "foot")}, "nearest structure or vehicle is -1"),
        ("winch", {**GIVEN["winch"][0], "reach": metric(Fraction(39, 2), "foot")},
         "reach is .* meter; allowed: a whole number of foot"),
        ("lift", {**GIVEN["lift"][0], "truck": {**LIFTER, "retracted": {
            "reach": metric(Fraction(121, 2), "inch"), "rating": metric(12_000, "pound")}}},
         "arm reach is .*meter; allowed: a whole number of inch"),
        ("tiedowns", {**GIVEN["tiedowns"][0],
                      "geometry": {"up": quantity(1, "radian"), "aside": quantity(1, "degree")}},
         "geometry up is 1 radian; allowed: a whole number of degree"),
    ],
)  # fmt: skip
def test_missing_unknown_and_between_are_refused(
    name: str, asked: Mapping[str, Any], says: str
) -> None:
    with pytest.raises(OutOfRangeError, match=says):
        compute(name, asked)


PART = st.fractions(min_value=Fraction(1, 1000), max_value=Fraction(999, 1000))


@given(PART)
@settings(max_examples=50, deadline=None)
def test_no_part_of_a_unit_rounds_towards_a_go(part: Fraction) -> None:
    """What loads counts as the next unit up, what bears as the one below."""

    def of(name: str, key: str, value: Any) -> Result:
        return compute(name, {**GIVEN[name][0], key: value})

    def most(unit: str, whole: int) -> Any:
        return metric(whole + part, unit)

    assert of("pull", "weight", most("pound", 4000)) == of(
        "pull", "weight", quantity(4001, "pound")
    )
    assert of("winch", "pull", most("pound_force", 9000)).amount("line") == 4951  # 9,001 x 1.1 / 2
    assert of("rigging", "block_angle", metric(60 + part, "degree")).amount("block") == 8661
    limit = (("block", "snatch block", most("pound", 8000)),)
    assert of("rigging", "ratings", limit).checks[0].bound == 8000
    assert of("window", "hold", most("minute", 31)).amount("usable") == 15
    assert of("lift", "dollies", {"rating": most("pound", 4600)}).checks[-1].bound == 4600
    tyres = {"count": 4, "each": most("pound", 1250), "own": most("pound", 339)}
    assert of("lift", "dollies", {**SET, "tyres": tyres}).checks[-1].bound == 4660
    drawn = {"reach": metric(60, "inch"), "rating": most("pound", 12_000)}
    fast = of("lift", "dollies", {**SET, "speed": most("mile_per_hour", 50)})
    assert dict(fast.inputs)["dolly_speed_mph"] == 50
    held = {one.name: one for one in of("lift", "truck", {**LIFTER, "retracted": drawn}).checks}
    assert held["wheel lift rating, retracted"].bound == 12_000
    assert of("charge", "voltage", most("millivolt", 12_240)) == of(
        "charge", "voltage", quantity(12_240, "millivolt")
    )
    assert of("storage", "nearest", most("foot", 40)).amount("missing") == 10
    assert of("taper", "width", most("foot", 12)).amount("lane") == 45 * 13


@pytest.mark.parametrize("name", FIGURES)
def test_an_answer_is_quantities_of_the_right_kind(name: str) -> None:
    """Force where a line pulls, mass where a scale would say it, and the same number back."""
    result = GIVEN[name][1]
    found = quantities(result)
    kinds = {"lb": "pound", "ft": "foot", "in": "inch", "min": "minute", "pct": "percent",
             "count": "dimensionless"}  # fmt: skip
    if name in ("pull", "winch", "rigging"):
        kinds["lb"] = "pound_force"
    assert {one.name for one in result.amounts} == found.keys()
    for one in result.amounts:
        assert exact(found[one.name], kinds[one.unit]) == one.value


def test_a_pull_in_newtons_by_the_definition() -> None:
    """2,000 lb over grass, printed as 33 percent: 660 lbf; 1 lbf is 4.4482216152605 N, exactly."""
    found = quantities(pull(2000, "grass", TRADE))["pull"]
    assert exact(found, "newton") == 660 * Fraction("4.4482216152605")

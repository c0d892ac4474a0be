"""Which fact would narrow a margin, and the part of the class table a truck is too light for."""

from dataclasses import replace
from fractions import Fraction
from itertools import product

import pytest

import demo_data
from flows.cards.library import library_from
from flows.errors import OutOfRangeError
from flows.figures.class_over import class_over, table_over
from flows.figures.classes import class_row
from flows.figures.margin import Legal, Margin, Truck, margin
from flows.figures.narrowing import FACTS, Known, narrowing
from flows.figures.weight import (
    PlanningWeight,
    class_ids,
    from_label,
    from_measured,
    from_stated,
    from_ticket,
    planning,
)

LIBRARY = library_from(demo_data.card_files())
WREN = LIBRARY.trucks["wren"].carrier()
HERON = LIBRARY.trucks["heron"].carrier()


def on_wren(plan: PlanningWeight) -> Margin:
    return margin(WREN, plan.load(nose_first=True))


def facts(known: Known) -> list[str]:
    return [one.fact for one in narrowing(known, on_wren)]


UNSURE = Known(("suv_compact", "suv_midsize"), None, None)


def test_everything_is_open_when_nothing_is_known() -> None:
    found = narrowing(UNSURE, on_wren)
    assert sorted(one.fact for one in found) == sorted(FACTS)
    assert found[0].fact == "scale ticket"
    assert [one.left_lb for one in found] == sorted(one.left_lb for one in found)
    # Both axles on a scale leave nothing open but the rounding to whole pounds.
    assert found[0].left_lb <= 1


@pytest.mark.parametrize(
    ("known", "open_facts"),
    [
        (replace(UNSURE, weight=from_ticket(2400, 2500)), set()),
        (replace(UNSURE, weight=from_measured(4900)), {"drive", "powertrain", "share"}),
        (replace(UNSURE, weight=from_stated(4900, None)), {"drive", "powertrain", "share"}),
        (replace(UNSURE, weight=from_label(2400, 2500, None)), {"powertrain"}),
        (Known(("suv_compact",), "electric", "all"), {"papers weight", "share"}),
    ],
)
def test_what_is_known_is_not_asked_for(known: Known, open_facts: set[str]) -> None:
    scale = set() if known.weight == from_ticket(2400, 2500) else {"scale ticket"}
    assert set(facts(known)) == open_facts | scale


def test_a_fact_that_is_known_leaves_what_was_promised() -> None:
    """For each thing a fact may turn out to be, the range is at most what was said, on the same
    limit."""
    known = Known(("suv_midsize",), None, None)
    now = on_wren(known.plan())
    promised = {one.fact: one for one in narrowing(known, on_wren)}
    drives = [replace(known, drive=one) for one in ("front", "rear", "all")]
    left = []
    for one in drives:
        m = on_wren(one.plan())
        [limit] = [limit for limit in m.limits if limit.name == now.governing]
        left.append(limit.load_lb - limit.least_lb)
        assert m.verdict in promised["drive"].verdicts
    assert promised["drive"].left_lb == max(left)


def test_a_fact_that_settles_it_says_so() -> None:
    """On the medium carrier a compact car is a go whatever else is known."""
    known = Known(("car_compact",), None, None)
    found = narrowing(known, lambda plan: margin(HERON, plan.load(nose_first=True)))
    assert {one.verdicts for one in found} == {("go",)}


def test_a_deck_that_is_too_short_is_narrowed_by_nothing() -> None:
    short = replace(WREN, deck_length_in=100)
    assert narrowing(UNSURE, lambda plan: margin(short, plan.load(nose_first=True))) == ()


def test_papers_narrow_less_than_a_scale() -> None:
    for class_id, powertrain in product(class_ids(), ("electric", "combustion")):
        found = {
            one.fact: one.left_lb
            for one in narrowing(Known((class_id,), powertrain, "all"), on_wren)  # type: ignore[arg-type]
        }
        if found:
            assert found["scale ticket"] <= min(found["papers weight"], found["share"])


# The class table. By hand on a truck whose gross rating alone binds.

# 20,000 lb empty and 33,000 gross: what weighs over 13,000 lb is over.
ROOMY = Truck(8000, 12_000, 33_000, 40_000, 40_000, 250, 20, 400)
LOOSE = Legal(single_lb=100_000, bridge=False)


@pytest.mark.parametrize("percentile", [0, 1, 2, 3, 4])
def test_part_of_a_class_by_hand(percentile: int) -> None:
    """At the 5th, 25th, 50th, 75th and 95th percentile of a row so much of it is over."""
    row = class_row("suv_midsize", "any", "any")
    assert row is not None
    weight = row.spread_lb[percentile]
    truck = replace(ROOMY, gvwr_lb=20_000 + weight)
    over = class_over(truck, "suv_midsize", legal=LOOSE)
    assert over.row == "suv_midsize/any/any"
    assert over.most_lb == weight
    assert over.over_pm == (950, 750, 500, 250, 50)[percentile]


def test_between_two_percentiles_weights_are_even() -> None:
    row = class_row("suv_midsize", "any", "any")
    assert row is not None
    half = (row.spread_lb[1] + row.spread_lb[2]) // 2
    over = class_over(replace(ROOMY, gvwr_lb=20_000 + half), "suv_midsize", legal=LOOSE)
    assert over.over_pm in (625, 626)


def test_the_ends_of_a_class() -> None:
    row = class_row("suv_midsize", "any", "any")
    assert row is not None
    lightest, heaviest = row.spread_lb[0], row.spread_lb[-1]
    below = replace(ROOMY, gvwr_lb=20_000 + lightest - 1)
    assert class_over(below, "suv_midsize", legal=LOOSE).over_pm == 1000
    assert class_over(replace(ROOMY, gvwr_lb=20_000 + heaviest), "suv_midsize").over_pm == 0


def test_the_heaviest_that_fits_is_no_no_go_and_a_pound_more_is() -> None:
    for class_id in class_ids():
        over = class_over(WREN, class_id)
        plan = planning(class_id, None, None)
        verdicts = {
            margin(
                WREN,
                replace(
                    plan.load(nose_first=way),
                    likely_lb=weight,
                    high_lb=weight,
                    share_low_pm=plan.share_mid_pm,
                    share_high_pm=plan.share_mid_pm,
                ),
            ).verdict
            == "no-go"
            for way in (True, False)
            for weight in (over.most_lb + 1,)
        }
        assert verdicts == {True}


def test_the_better_way_round_counts() -> None:
    """By hand: a deck over the front axle, which has 1,000 lb left. A front-drive car is heavier
    in front: with its tail toward the truck more of it stands back, and more fits."""
    plan = planning("car_compact", "combustion", "front")
    deck = max(plan.front_overhang_in, plan.rear_overhang_in) + plan.wheelbase_in + 20
    truck = Truck(6000, 9000, 60_000, 7000, 60_000, 250, 0, deck)
    over = class_over(truck, "car_compact", "combustion", "front", legal=LOOSE)
    assert over.row == "car_compact/combustion/front"
    weights = {}
    for way in (True, False):
        near = plan.front_overhang_in if way else plan.rear_overhang_in
        share = plan.share_mid_pm if way else 1000 - plan.share_mid_pm
        room = deck - 20 - near - plan.wheelbase_in  # 20 in for tyre and strap
        at = room + near + Fraction(plan.wheelbase_in * (1000 - share), 1000)
        weights[way] = int(1000 / (1 - at / 250))  # 1,000 lb are left on the front axle
    assert weights[False] > weights[True]
    assert over.most_lb == weights[False]


def test_the_whole_table_lies_between_its_classes() -> None:
    each = [class_over(WREN, one).over_pm for one in class_ids()]
    assert min(each) <= table_over(WREN) <= max(each)
    assert table_over(HERON) <= table_over(WREN)
    # Common practice, no source: a light carrier carries most cars and not the heavy pickups.
    assert class_over(WREN, "car_compact").over_pm == 0
    assert class_over(WREN, "pickup_heavy_duty").over_pm > 900


def test_a_class_that_is_none_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match="weight class is lorry"):
        class_over(WREN, "lorry")

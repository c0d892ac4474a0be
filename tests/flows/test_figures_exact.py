"""Results of figures, value by value: each fact tried, each name in the record."""

import csv
from collections.abc import Callable
from dataclasses import astuple, replace
from importlib.resources import files
from itertools import combinations, product
from typing import Any

import pytest

from flows.errors import OutOfRangeError
from flows.figures.class_over import _lighter_pm, class_over, table_over
from flows.figures.classes import ClassRow, family_of, length_rows, mass_rows, share_rows
from flows.figures.deck import Piece
from flows.figures.known_weights import POWERTRAINS, from_stated
from flows.figures.margin import Legal, Margin, Truck, margin, to_record
from flows.figures.narrowing import Known, narrowing
from flows.figures.result import Check, Result
from flows.figures.vin import (
    LOOKS_LIKE,
    SOUNDS_LIKE,
    VinError,
    candidates,
    check_digit,
    clean,
    examine,
    weighted_sum,
)
from flows.figures.weight import DRIVES, KnownWeight, PlanningWeight, class_ids, heaviest, planning

TRUCK = Truck(5500, 8900, 19500, 7500, 13500, 199, 88, 234)
TWO = ("suv_compact", "suv_midsize")


def tried(known: Known) -> dict[str, list[PlanningWeight]]:
    """Return the plans that each open fact is tried with, as the margin was asked for them."""
    asked: list[PlanningWeight] = []

    def answer(plan: PlanningWeight) -> Margin:
        asked.append(plan)
        return margin(TRUCK, plan.load(nose_first=True))

    facts = {one.fact for one in narrowing(known, answer)}
    found: dict[str, list[PlanningWeight]] = {}
    rest = asked[1:]
    for fact, count in (
        ("class", len(known.class_ids)), ("drive", 3), ("powertrain", 3), ("papers weight", 2),
        ("share", 3), ("scale ticket", 6),
    ):  # fmt: skip
        if fact in facts:
            found[fact], rest = rest[:count], rest[count:]
    assert rest == []
    return found


def test_each_class_that_is_left_is_tried_alone() -> None:
    plans = tried(Known(TWO, "electric", "all"))["class"]
    assert plans == [planning(one, "electric", "all") for one in TWO]
    assert plans[0] != plans[1]


def test_each_drive_and_each_powertrain_is_tried() -> None:
    found = tried(Known(TWO, None, None))
    heavy = heaviest(TWO, None, None)
    assert found["drive"] == [planning(heavy, None, one) for one in DRIVES]
    powertrains = ("electric", "hybrid", "combustion")
    assert {one.rows for one in found["powertrain"]} == {
        planning(heaviest(TWO, one, None), one, None).rows for one in powertrains
    }


def test_a_stated_weight_is_taken_as_each_powertrain_states_it() -> None:
    known = Known(("suv_compact",), None, "all", from_stated(4600, None))
    plans = tried(known)["powertrain"]
    # 15 percent over for an electric vehicle, 6 for another: the table's page.
    assert {one.high_lb for one in plans} == {5290, 4876}


def test_papers_are_tried_at_both_ends_of_what_they_may_say() -> None:
    plan = planning("suv_compact", "electric", "all")
    low, high = tried(Known(("suv_compact",), "electric", "all"))["papers weight"]
    assert (low.likely_lb, low.high_lb) == (plan.likely_lb, -(-plan.likely_lb * 115 // 100))
    # The most that papers may say reaches the weight to reckon with, and not beyond it.
    assert high.likely_lb == plan.high_lb * 100 // 115
    assert plan.high_lb - 2 <= high.high_lb <= plan.high_lb


def test_a_share_is_tried_at_each_end_with_the_weight_as_it_is() -> None:
    plan = planning("suv_compact", "electric", "all")
    ends = (plan.share_low_pm, plan.share_mid_pm, plan.share_high_pm)
    plans = tried(Known(("suv_compact",), "electric", "all"))["share"]
    assert [(one.share_low_pm, one.share_mid_pm, one.share_high_pm) for one in plans] == [
        (one, one, one) for one in ends
    ]
    assert {(one.likely_lb, one.high_lb) for one in plans} == {(plan.likely_lb, plan.high_lb)}
    assert {one.source for one in plans} == {f"{plan.source}; {plan.source}"}


def test_a_ticket_is_tried_at_both_weights_and_every_share() -> None:
    plan = planning("suv_compact", "electric", "all")
    plans = tried(Known(("suv_compact",), "electric", "all"))["scale ticket"]
    assert [(one.likely_lb, one.high_lb, one.share_mid_pm) for one in plans] == [
        (weight, weight, share)
        for weight in (plan.likely_lb, plan.high_lb)
        for share in (plan.share_low_pm, plan.share_mid_pm, plan.share_high_pm)
    ]
    assert {one.source for one in plans} == {f"{plan.source}; {plan.source}"}


def test_the_heaviest_class_hangs_on_powertrain_and_drive() -> None:
    for powertrain in ("electric", "hybrid", "combustion", None):
        for drive in (*DRIVES, None):
            classes = ("car_midsize", "suv_compact", "suv_midsize", "pickup_full_size")
            high = {one: planning(one, powertrain, drive).high_lb for one in classes}
            assert high[heaviest(classes, powertrain, drive)] == max(high.values())
            plan = Known(classes, powertrain, drive).plan()
            assert plan == planning(heaviest(classes, powertrain, drive), powertrain, drive)


def test_of_any_two_classes_the_heavier_counts_for_what_is_known() -> None:
    differ = 0
    for pair in combinations(class_ids(), 2):
        for powertrain, drive in product((*POWERTRAINS, None), (*DRIVES, None)):
            high = {one: planning(one, powertrain, drive).high_lb for one in pair}
            assert high[heaviest(pair, powertrain, drive)] == max(high.values())
            differ += heaviest(pair, powertrain, drive) != heaviest(pair, None, None)
            assert Known(pair, powertrain, drive).plan().high_lb == max(high.values())
    assert differ > 0  # which one it is hangs on what is known


def test_papers_are_tried_with_the_allowance_of_the_powertrain() -> None:
    low, high = tried(Known(("suv_compact",), "combustion", "all"))["papers weight"]
    for one in (low, high):
        assert one.high_lb == -(-one.likely_lb * 106 // 100)


def test_nothing_narrows_a_vehicle_that_is_too_long() -> None:
    truck = replace(TRUCK, front_end_in=30, rear_end_in=330)

    def answer(plan: PlanningWeight) -> Margin:
        return margin(truck, plan.load(nose_first=True), legal=Legal(length_in=340))

    known = Known(TWO, None, None)
    assert answer(known.plan()).governing == "overall length"
    assert narrowing(known, answer) == ()


# A margin in the record.


def test_every_name_of_the_record_holds_what_it_says() -> None:
    gear = (Piece("dollies", 340, 200),)
    truck = Truck(5500, 8900, 19500, 7500, 13500, 199, 88, 234, aboard=gear)
    load = planning("suv_midsize", "electric", "all").load(nose_first=True)
    m = margin(truck, load)
    record: dict[str, Any] = to_record(m)
    assert m.verdict != "go"
    assert m.less is not None
    assert set(record) == {
        "verdict", "governing", "governing_margin_lb", "governing_margin_in", "position_lo_in",
        "position_hi_in", "best_in", "deck_short_in", "limits", "lengths", "remedies", "less",
        "aboard", "unchecked", "exempt", "inputs", "source", "may_decide",
    }  # fmt: skip
    assert record["aboard"] == ["dollies"]
    assert record["remedies"] == list(m.remedies) != []
    assert record["unchecked"] == list(m.unchecked)
    assert (record["exempt"], record["source"]) == (m.exempt, m.source)
    assert record["may_decide"] == m.may_decide
    assert record["less"]["gear"] == list(m.less.gear)
    light = to_record(margin(TRUCK, KNOWN.load(nose_first=True)))
    assert light["less"] is None


KNOWN = planning("suv_compact", "electric", "all").weighing(
    KnownWeight(3000, 3000, (500, 500, 500), "scale ticket")
)


def test_a_weight_that_was_read_names_its_source_before_the_tables() -> None:
    table = planning("suv_compact", "electric", "all").source
    assert KNOWN.source == f"scale ticket; {table}"
    assert astuple(KNOWN)[:5] == (3000, 3000, 500, 500, 500)
    load = KNOWN.load(nose_first=False, height_in=70)
    assert (load.nose_first, load.height_in) == (False, 70)
    assert KNOWN.load(nose_first=True).height_in is None


# Contents: 1,000 lb in a vehicle of 4,000 to 5,000 lb, 520 per mille of it in front, likely.
# By hand: low  (4,000 x 0.500 + 0) / 5,000 = 0.400; middle (4,000 x 0.520 + 520) / 5,000 = 0.520;
# high (4,000 x 0.540 + 1,000) / 5,000 = 0.632, and (5,000 x 0.540 + 1,000) / 6,000 = 0.6167.


def test_contents_lie_anywhere_between_the_axles() -> None:
    plan = planning("suv_compact", "electric", "all").weighing(
        KnownWeight(4000, 5000, (500, 520, 540), "papers")
    )
    more = plan.adding(contents_lb=1000)
    assert (more.likely_lb, more.high_lb) == (5000, 6000)
    assert (more.share_low_pm, more.share_mid_pm, more.share_high_pm) == (400, 520, 632)


# Middle, by hand: (4,001 x 0.500 + 1,000 x 0.500 + 0 x bed 300) / 5,301 = 471.70 per mille: 472.


def test_a_middle_share_is_rounded_to_the_nearest() -> None:
    plan = planning("suv_compact", "electric", "all").weighing(
        KnownWeight(4001, 9001, (500, 500, 500), "papers")
    )
    assert plan.adding(contents_lb=1000, bed_lb=300).share_mid_pm == 472
    # (4,001 x 0.500 + 999 x 0.500) / 5,300 = 471.698: 472, and (4,001 x 0.5 + 2 x 0.5) / 4,103.
    assert plan.adding(contents_lb=2, bed_lb=100).share_mid_pm == 488


def test_contents_lie_as_the_vehicle_does_and_a_half_goes_up() -> None:
    front_heavy = KNOWN.weighing(KnownWeight(4000, 4000, (900, 900, 900), "papers"))
    assert front_heavy.adding(contents_lb=10_000).share_mid_pm == 900
    # 2,000 x 0.500 / 2,002 = 499.5005 per mille.
    even = KNOWN.weighing(KnownWeight(2000, 2000, (500, 500, 500), "papers"))
    assert even.adding(bed_lb=2).share_mid_pm == 500


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"contents_lb": 10_001}, "contents is 10001; allowed: whole lb, 0 to 10000"),
        ({"contents_lb": -1}, "contents is -1; allowed: whole lb, 0 to 10000"),
        ({"bed_lb": 10_001}, "bed load is 10001; allowed: whole lb, 0 to 10000"),
    ],
)
def test_too_much_is_refused(given: dict[str, int], words: str) -> None:
    with pytest.raises(OutOfRangeError) as refused:
        KNOWN.adding(**given)
    assert str(refused.value).startswith(words)


# A vehicle's number: the worked example of 49 CFR 565.15(c) and its table of years.


def test_a_number_is_examined_for_its_years_and_what_it_may_be() -> None:
    # All ones is the number that the standard itself gives as one whose check digit is right.
    assert examine("11111111111111111", is_light=True).years
    assert examine("1111111111111111", is_light=True).years == ()
    light = examine("11111111111111111", is_light=True).years
    heavy = examine("11111111111111111", is_light=False).years
    assert set(light) < set(heavy)


def test_every_letter_at_once_is_a_number_of_another_length() -> None:
    letters = "0123456789ABCDEFGHJKLMNPRSTUVWXYZ"
    with pytest.raises(VinError) as refused:
        weighted_sum(letters)
    assert refused.value.text == letters
    with pytest.raises(VinError, match="empty"):
        weighted_sum("")


def test_an_empty_number_is_said_to_be_empty() -> None:
    with pytest.raises(VinError) as refused:
        weighted_sum("")
    assert str(refused.value).startswith("vehicle number is empty; allowed: 17 digits")


def test_gaps_hyphens_and_dots_are_left_out() -> None:
    assert clean("0.rllprf8-3k 0000.017.") == "0RLLPRF83K0000017"


def test_a_right_number_has_no_candidates_by_eye_or_ear() -> None:
    """C, T and 3 sound alike and all count 3: one for another leaves the sum as it was."""
    numbers = [f"0RLLPRF8{check_digit(f'0RLLPRF80K00000{one}7')}K00000{one}7" for one in "CT3"]
    assert len({one[8] for one in numbers}) == 1
    for one in numbers:
        assert candidates(one, LOOKS_LIKE) == candidates(one, SOUNDS_LIKE) == ()
    # In a number that is wrong, who hears it is offered what sounds alike.
    wrong = numbers[0][:8] + "0" + numbers[0][9:]
    for alike in (LOOKS_LIKE, SOUNDS_LIKE):
        assert examine(wrong, is_light=True, alike=alike).candidates == candidates(wrong, alike)
    assert candidates(wrong, LOOKS_LIKE) != candidates(wrong, SOUNDS_LIKE)


def test_all_letters_and_digits_are_characters() -> None:
    every = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    assert examine(every, is_light=True).problems == ("length", "letter")


# Which part of a class a truck is over for.


@pytest.mark.parametrize(
    ("weight", "lighter"),
    # 5, 25, 50, 75, 95 and 100 percent are lighter; half way between two, half of the step more.
    [(1999, 0), (2000, 50), (2500, 150), (3000, 250), (5500, 850), (6500, 975), (7000, 1000),
     (9000, 1000)],
)  # fmt: skip
def test_weights_lie_evenly_between_what_the_table_gives(weight: int, lighter: int) -> None:
    assert _lighter_pm((2000, 3000, 4000, 5000, 6000, 7000), weight) == lighter


def test_a_strong_truck_takes_the_heaviest_that_is_reckoned() -> None:
    strong = Truck(20_000, 20_000, 80_000, 80_000, 80_000, 254, 86, 300, front_kept_pct=0)
    free = Legal(single_lb=200_000, gross_lb=200_000, bridge=False)
    assert class_over(strong, "car_compact", legal=free).most_lb == 40_000
    # The truck alone is heavier than this law allows: every class is over, whatever it weighs.
    assert (table_over(strong, free), table_over(strong, Legal(gross_lb=10_000))) == (0, 1000)


def test_a_class_that_is_none_is_refused_with_those_that_are() -> None:
    with pytest.raises(OutOfRangeError) as refused:
        family_of("lorry")
    assert str(refused.value).startswith(
        f"weight class is lorry; allowed: {', '.join(class_ids())}. "
    )


def test_governing_check_is_used_most_even_of_a_pound() -> None:
    held = tuple(
        Check(f"{used} of {bound}", used, bound, "lb", "") for used, bound in ((3, 2), (2, 1))
    )
    assert Result("x", (), (), held, (), "").governing == held[1]


ENOUGH = (("n_mass", mass_rows), ("n_front_share", share_rows), ("n_src_cvs", length_rows))


@pytest.mark.parametrize(("count", "rows_of"), ENOUGH, ids=[count for count, _ in ENOUGH])
def test_ten_vehicles_are_enough_and_nine_are_not(
    count: str, rows_of: Callable[[str, str, str], list[ClassRow]]
) -> None:
    """The table's page: rows that rest on fewer than ten are left out."""
    text = files("flows.figures.tables").joinpath("class_table.csv").read_text("utf-8")
    seen = set()
    for line in csv.DictReader(text.splitlines()):
        key = line["class"], line["powertrain"], line["drive"]
        is_enough = int(line[count]) >= 10
        assert (key in [row.key for row in rows_of(*key)]) is is_enough
        seen.add(min(max(int(line[count]), 9), 11))
    assert seen == {9, 10, 11}


def test_a_character_that_looks_like_no_other_is_not_replaced() -> None:
    """Nothing is taken for an A; X in its place would make the number right."""
    right = f"0RLLPRF8{check_digit('0RLLPRF80K000001X')}K000001X"
    assert "A" not in LOOKS_LIKE
    assert right not in candidates(f"{right[:-1]}A")

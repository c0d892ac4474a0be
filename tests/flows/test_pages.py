"""Pages of figures: every word is there for whatever a margin may hold, and none is left over."""

import re
from dataclasses import fields
from fractions import Fraction

from flows.figures.margin import LengthMargin, LimitMargin
from flows.figures.pages import margin_lines, margin_page, shown
from flows.figures.remedies import Less
from flows.figures.working import working
from flows.texts import figure_texts
from tests.flows.balance import random_cases

MARGINS = [case.answer() for case in random_cases(400, seed=11)]
# A page says for which part of the class table its truck is over, which is reckoned for long.
TELLING = [m for m in MARGINS if m.less is not None and m.less.less_lb is not None][:10]
PAGES = [(m, margin_page(m, "Wren", "Harrow")) for m in MARGINS[:30] + MARGINS[-30:] + TELLING]
SAID = figure_texts()["page"]


def test_every_margin_has_a_page() -> None:
    for m, page in PAGES:
        assert not any(re.search(r"[{}]", line) for line in page)
        assert not any("None" in line for line in page)
        for one in m.limits:
            assert any(one.source in line and f"{one.limit_lb:,} lb" in line for line in page)


_LIMIT = re.compile(r"([\d,]+) (?:lb|in) (left|over), ([\d,]+) of ([\d,]+) (?:lb|in)\. ")


def test_a_limit_on_a_phone_agrees_with_itself_and_needs_no_columns() -> None:
    for m in MARGINS[:40]:
        lines = margin_lines(m, "Wren", "Harrow")
        assert not any("  " in line for line in lines)
        found = [match for line in lines if (match := _LIMIT.search(line))]
        assert len(found) == len(m.limits) + len(m.lengths)
        for match in found:
            rest, load, limit = (int(match[n].replace(",", "")) for n in (1, 3, 4))
            assert load + (rest if match[2] == "left" else -rest) == limit, match[0]


def test_every_formula_has_its_words_and_no_words_are_left_over() -> None:
    made = {step.formula for m in MARGINS for one in working(m) for step in one.steps}
    helpers = {"used_lb", "used_in", "piece_front", "piece_rear", "source"}
    helpers |= {"front_tyres", "rear_tyres", "short_bridge"}  # test_working has these by hand
    assert made - {"used"} == set(SAID["steps"]) - helpers


def test_every_remedy_has_its_words() -> None:
    named = {one for m in MARGINS for one in m.remedies}
    assert named <= set(SAID["remedies_named"])
    assert named >= {"weigh_it", "another_truck", "less_aboard"}


def test_effect_of_less_aboard_is_told() -> None:
    seen = 0
    for m, page in PAGES:
        if m.less is not None and m.less.less_lb is not None:
            assert isinstance(m.less, Less)
            assert any(f"{m.less.less_lb:,} lb less aboard" in one for one in page)
            seen += 1
    assert seen


def test_the_shown_forms_know_all_fields() -> None:
    """A field added to a limit has to be shown, or be left out on purpose."""
    names = {f.name for f in fields(LimitMargin)} | {f.name for f in fields(LengthMargin)}
    assert names == {"name", "source", "limit_lb", "load_lb", "margin_lb", "least_lb",
                     "limit_in", "used_in", "margin_in"}  # fmt: skip


def test_numbers_are_shown_to_a_tenth() -> None:
    assert [shown(Fraction(one)) for one in ("0", "-0.04", "999.96", "1234567.25")] == [
        "0", "0", "1,000", "1,234,567.2",
    ]  # fmt: skip

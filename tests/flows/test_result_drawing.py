"""The drawings of lift, rigging, straps and window, read back from their own bytes.

Where things have to lie is reckoned here from what went in: angles in degrees, inches times the
scale that the drawing declares.
"""

import datetime as dt
import xml.etree.ElementTree as ET
from dataclasses import replace
from math import atan2, degrees, hypot
from typing import Any

import pytest
from hypothesis import example, given, settings, strategies as st

from flows.figures.deck import Load, Truck
from flows.figures.dollies import Dollies, DollyTyres
from flows.figures.drawings.lift_drawing import draw_lift
from flows.figures.drawings.loading_drawing import draw_loading
from flows.figures.drawings.rigging_drawing import draw_rigging, draw_tiedowns, draw_window
from flows.figures.lifting import Arm, Lifter, lift
from flows.figures.loading import Ramp, loading
from flows.figures.result import Result
from flows.figures.rigging import rigging
from flows.figures.tiedowns import Geometry, Tiedown, tiedowns
from flows.figures.winch import Winch
from flows.figures.window import window
from tests.flows.drawn import (
    WIDE,
    assert_nothing_collides,
    local,
    number,
    of,
    outlines,
    parsed,
    rects,
    texts,
)

TODAY = dt.date(2026, 3, 1)
WRECKER = Lifter(8600, 11_700, 22_000, 33_000, 190, 84, 9000, 20_000)
BOTH_ENDS = replace(WRECKER, gawr_rear_lb=26_000, retracted=Arm(60, 12_000))
SET = Dollies(4600, DollyTyres(4, 1250, 340))
VEHICLE = Load(5000, 5000, 520, 550, 600, 114, 36, 38, nose_first=True, height_in=65)
STRAPS = [Tiedown("wheel strap", (3333,))] * 4
WINCH = Winch((8000,), 202, 3200, 24, 100)
GEAR = [("block", "snatch block", 8000), ("leg", "soft bridle", 3117), ("line", "rope", 9000)]


def lifted(truck: Lifter, load: Load, dollies: Dollies | None) -> tuple[Result, str]:
    found = lift(truck, load, dollies)
    return found, draw_lift(found, truck, load, "Mallet lifts Harrow")


def rigged(block: int, bridle: int, line: int = 5000) -> tuple[Result, str]:
    found = rigging(line, block, bridle, GEAR)
    return found, draw_rigging(found)


def strapped(up: int, aside: int, weight: int = 5000, good: int = 4) -> tuple[Result, str]:
    out = replace(STRAPS[0], is_damaged=True)
    found = tiedowns(weight, STRAPS[:good] + [out] * (4 - good), Geometry(up, aside), TODAY)
    return found, draw_tiedowns(found)


def pulled(parts: int, speed: int, hold: int) -> tuple[Result, str]:
    found = window(WINCH, parts, (30, 29), speed, hold)
    return found, draw_window(found)


def whole(low: int, high: int) -> Any:
    return st.one_of(st.sampled_from((low, high)), st.integers(low, high))


def loaded(truck: Truck, load: Load, tilt: int, slides: int | None) -> tuple[Result, str]:
    found = loading(truck, Ramp(tilt, slides), load, 0)
    return found, draw_loading(found, truck, "Wren loads Harrow")


WREN = Truck(5400, 8900, 19500, 7500, 13500, 199, 88, 234, deck_height_in=38)

CASES = {
    "loading": loaded(WREN, VEHICLE, 30, 1900),
    "loading, over": loaded(WREN, replace(VEHICLE, high_lb=14_000), 30, None),
    "lift on dollies": lifted(WRECKER, VEHICLE, SET),
    "lift, retracted": lifted(BOTH_ENDS, VEHICLE, SET),
    "lift, fits retracted": lifted(BOTH_ENDS, replace(VEHICLE, high_lb=16_000), None),
    "lift, tail first": lifted(WRECKER, replace(VEHICLE, nose_first=False), None),
    "lift, over": lifted(WRECKER, replace(VEHICLE, high_lb=20_000), Dollies(0)),
    "rigging": rigged(60, 60),
    "rigging, straight": rigged(180, 150, 100_000),
    "straps": strapped(40, 20),
    "straps, flat": strapped(0, 0, 10_000),
    "straps, three": strapped(40, 20, 10_000, 3),
    "window": pulled(1, 5, 30),
    "window, over": pulled(2, 1, 10),
}
every = pytest.mark.parametrize(("found", "svg"), CASES.values(), ids=CASES)


@every
def test_needs_nothing_from_outside(found: Result, svg: str) -> None:
    assert found.figure
    assert svg.count("http") == 1
    for part in ("<image", "<script", "<foreignObject", "href", "@import", "<style"):
        assert part not in svg


def test_same_figure_same_bytes() -> None:
    assert lifted(BOTH_ENDS, VEHICLE, SET)[1] == lifted(BOTH_ENDS, VEHICLE, SET)[1]
    assert rigged(60, 60)[1] == rigged(60, 60)[1]


@every
def test_a_screen_reader_hears_every_number(found: Result, svg: str) -> None:
    root = parsed(svg)
    named = {node.get("id"): node.text or "" for node in root if local(node) in ("title", "desc")}
    for one in found.checks:
        assert f"{one.used:,} of {one.bound:,} {one.unit}" in named["d"]
    for one in found.amounts:
        if one.unit == "lb":
            assert f"{one.value:,} lb" in named["d"]


@every
def test_black_and_white_alone_tells_it(found: Result, svg: str) -> None:
    allowed = {None, "#000", "#fff", "none", "url(#striped)", "url(#dotted)"}
    root = parsed(svg)
    assert {node.get(name) for node in root.iter() for name in ("fill", "stroke")} <= allowed
    assert bool(of(root, "over")) == any(one.left < 0 for one in found.checks)


@every
def test_text_is_large_enough_for_a_phone(found: Result, svg: str) -> None:
    """A phone shows 360 points across: half of the drawing's units. 12 points are legible."""
    sizes = {number(node, "font-size") for node in parsed(svg).iter() if local(node) == "text"}
    assert min(sizes) * 360 / WIDE >= 12, found.figure


@every
def test_bars_are_as_long_as_what_is_used(found: Result, svg: str) -> None:
    bars = of(parsed(svg), "bar")
    wanted = [(one.used, one.bound) for one in found.checks]
    if found.figure == "window":
        wanted.append((found.amount("minutes"), int(dict(found.inputs)["hold_min"])))
    assert len(bars) == len(wanted)
    for group, (used, bound) in zip(bars, wanted, strict=True):
        room = rects(group, "room")[0]
        end = max((box.x2 for box in rects(group, "sure", "over")), default=room.x1)
        part = (end - room.x1) / (room.x2 - room.x1)
        assert part == pytest.approx(min(used / max(bound, 1), 1.14), abs=0.001)


@every
def test_letters_of_the_picture_are_at_bars_or_captions(found: Result, svg: str) -> None:
    root = parsed(svg)
    letters = {node.text for node in of(root, "mark")}
    said = [box.what for box in texts(root)]
    starts = {one.split()[0].rstrip(":") for one in said if " " in one}
    assert letters <= starts, found.figure


# ---- where things lie ---------------------------------------------------------------------


def slope(node: ET.Element) -> float:
    """Angle of a line against the road, degrees, 0 to 180; down the sheet is positive."""
    dx = number(node, "x2") - number(node, "x1")
    dy = number(node, "y2") - number(node, "y1")
    return degrees(atan2(dy, dx))


@pytest.mark.parametrize("dollies", [SET, None])
@pytest.mark.parametrize("nose", [True, False])
def test_the_lift_is_to_scale_along_the_road(dollies: Dollies | None, nose: bool) -> None:  # noqa: FBT001  a row of the table
    root = parsed(lifted(WRECKER, replace(VEHICLE, nose_first=nose), dollies)[1])
    side = of(root, "side")[0]
    scale, zero = number(side, "data-scale"), number(side, "data-axle")
    axles = [(number(one, "cx") - zero) / scale for one in of(root, "axle")]
    assert axles == pytest.approx([0, 190], abs=0.1)
    near, far = of(root, "vehicle-wheel")
    assert (number(near, "cx") - zero) / scale == pytest.approx(190 + 84, abs=0.1)
    apart = number(far, "cx") - number(near, "cx"), number(far, "cy") - number(near, "cy")
    assert hypot(*apart) / scale == pytest.approx(114, abs=0.1)
    assert apart[1] > 0, "the end at the truck is up"
    assert len(of(root, "dolly")) == (2 if dollies else 0)
    marks = {str(one.text): (number(one, "x") - zero) / scale for one in of(root, "mark")}
    assert marks["F"] == pytest.approx(0, abs=0.1)
    assert marks["R"] == pytest.approx(190, abs=0.1)
    assert marks["L"] == pytest.approx(274, abs=0.1)
    assert ("D" in marks) == bool(dollies)


def test_where_the_wheels_are_once_the_lift_is_drawn_in() -> None:
    """A dashed wheel as large as the lifted one and as high, 60 in behind the rear axle at 190."""
    found, svg = lifted(BOTH_ENDS, VEHICLE, None)
    root = parsed(svg)
    side = of(root, "side")[0]
    scale, zero = number(side, "data-scale"), number(side, "data-axle")
    [drawn] = of(root, "retracted")
    near = of(root, "vehicle-wheel")[0]
    assert (number(drawn, "cx") - zero) / scale == pytest.approx(250, abs=0.1)
    for name in ("cy", "r"):
        assert number(drawn, name) == pytest.approx(number(near, name))
    assert (drawn.get("fill"), drawn.get("stroke-dasharray")) == ("none", "6 5")
    [mark] = [one for one in of(root, "mark") if one.text == "LR"]
    assert (number(mark, "x") - zero) / scale == pytest.approx(250, abs=0.1)
    assert "LR Wheel lift rating, retracted" in {box.what for box in texts(root)}
    assert not of(parsed(lifted(WRECKER, VEHICLE, None)[1]), "retracted")
    assert found.notes == ()


def test_the_drawing_tells_what_holds_only_retracted() -> None:
    said = " ".join(box.what for box in texts(parsed(CASES["lift, fits retracted"][1])))
    assert "Retracted, every limit holds. But it goes up extended" in said


def test_the_way_up_is_to_scale() -> None:
    """Hinge, deck and its end on the ground by the sides of a right triangle, by hand.

    38 in high at 30 percent: the end of the deck is 38 / 0.3 = 126.7 in behind the hinge, which is
    88 + 234 = 322 in behind the front axle. The deck is 234 in long, so its front end is
    234 / 1.044 = 224.1 in ahead of that end, and 67.2 in high.
    """
    side = of(parsed(loaded(WREN, VEHICLE, 30, 1900)[1]), "side")[0]
    scale, zero = number(side, "data-scale"), number(side, "data-axle")
    [deck] = of(side, "slid-deck")
    [ground] = of(side, "ground")
    x = [(number(deck, name) - zero) / scale for name in ("x1", "x2")]
    y = [(number(ground, "y1") - number(deck, name)) / scale for name in ("y1", "y2")]
    assert x == pytest.approx([322 + 126.7 - 224.1, 322 + 126.7], abs=1.2)
    assert y == pytest.approx([67.2, 0], abs=0.8)
    [weight] = of(side, "weight")
    assert (number(weight, "x2") - zero) / scale == pytest.approx(322, abs=0.2)
    axles = [(number(one, "cx") - zero) / scale for one in of(side, "axle")]
    assert axles == pytest.approx([0, 199], abs=0.1)


@given(whole(5, 60), whole(10, 80), whole(120, 400), whole(1, 14_000), whole(0, 3000))
@settings(max_examples=60, deadline=None)
def test_no_way_up_collides(tilt: int, high: int, deck: int, weight: int, slides: int) -> None:
    truck = replace(WREN, deck_height_in=high, deck_length_in=deck)
    assert_clear(loaded(truck, replace(VEHICLE, likely_lb=1, high_lb=weight), tilt, slides)[1])


@given(st.integers(0, 180), st.integers(0, 150))
@settings(max_examples=60, deadline=None)
def test_lines_and_legs_are_at_their_angles(block: int, bridle: int) -> None:
    root = parsed(rigged(block, bridle)[1])
    up, down, _ = (slope(one) for one in of(root, "line"))
    assert down - up == pytest.approx(block, abs=0.2)
    one, other = (slope(one) for one in of(root, "leg"))
    assert other - one == pytest.approx(bridle, abs=0.2)


@given(st.integers(0, 80), st.integers(0, 80))
@settings(max_examples=60, deadline=None)
def test_straps_run_at_their_angles(up: int, aside: int) -> None:
    ends = of(parsed(strapped(up, aside)[1]), "strap")
    assert len(ends) == 2 + 8
    for one in ends[:2]:
        rise = number(one, "y2") - number(one, "y1")
        run = abs(number(one, "x2") - number(one, "x1"))
        assert degrees(atan2(rise, run)) == pytest.approx(up, abs=0.2)
    for one in ends[2:]:
        across = abs(number(one, "y2") - number(one, "y1"))
        along = abs(number(one, "x2") - number(one, "x1"))
        assert degrees(atan2(across, along)) == pytest.approx(aside, abs=0.4)


# ---- nothing meets ------------------------------------------------------------------------


def assert_clear(svg: str) -> None:
    root = parsed(svg)
    assert_nothing_collides(root)
    for box in texts(root):
        for other in outlines(root, "cab") + outlines(root, "head") + rects(root, "anchor"):
            assert not box.meets(other), (box, other)
    for other in rects(root, "anchor") + outlines(root, "head"):
        assert other.x1 >= 0
        assert other.x2 <= WIDE


@every
def test_nothing_collides_or_leaves_the_frame(found: Result, svg: str) -> None:
    assert found.steps
    assert_clear(svg)


LIFTERS = st.builds(
    Lifter, whole(1000, 60_000), whole(1000, 60_000), whole(2000, 80_000), whole(2000, 80_000),
    whole(60, 400), whole(21, 300), whole(500, 60_000), st.none() | whole(1000, 200_000),
)  # fmt: skip
SETS = st.builds(
    Dollies, whole(0, 30_000),
    st.none() | st.builds(DollyTyres, whole(2, 8), whole(200, 8000), whole(20, 3000)),
)  # fmt: skip


@st.composite
def lifters(draw: Any) -> Lifter:
    """A lift rated at one end or at both, the second anywhere between."""
    truck: Lifter = draw(LIFTERS)
    arm = st.builds(Arm, whole(20, truck.reach_in - 1), whole(truck.rating_lb, 60_000))
    return replace(truck, retracted=draw(st.none() | arm))


@st.composite
def vehicles(draw: Any) -> Load:
    shares = sorted(draw(st.lists(whole(100, 900), min_size=3, max_size=3)))
    return Load(
        1, draw(whole(1, 40_000)), *shares, draw(whole(40, 300)), draw(whole(0, 150)),
        draw(whole(0, 150)), nose_first=draw(st.booleans()),
        height_in=draw(st.none() | whole(20, 200)),
    )  # fmt: skip


# Two letters in lines that touch, where the edges differ by the rounding of a sum.
@example(
    Lifter(1000, 1000, 2000, 2000, 60, 21, 500, None, Arm(20, 500)),
    Load(1, 1, 100, 100, 100, 164, 0, 0, nose_first=False, height_in=79),
    None,
)
@given(lifters(), vehicles(), st.none() | SETS)
@settings(max_examples=150, deadline=None)
def test_no_lift_collides(truck: Lifter, load: Load, dollies: Dollies | None) -> None:
    assert_clear(lifted(truck, load, dollies)[1])


@given(whole(0, 180), whole(0, 150), whole(1, 100_000))
@settings(max_examples=80, deadline=None)
def test_no_rigging_collides(block: int, bridle: int, line: int) -> None:
    assert_clear(rigged(block, bridle, line)[1])


@given(whole(0, 80), whole(0, 80), whole(400, 10_000), st.integers(0, 4))
@settings(max_examples=80, deadline=None)
def test_no_straps_collide(up: int, aside: int, weight: int, good: int) -> None:
    assert_clear(strapped(up, aside, weight, good)[1])


@given(whole(1, 3), whole(1, 100), whole(1, 240))
@settings(max_examples=40, deadline=None)
def test_no_window_collides(parts: int, speed: int, hold: int) -> None:
    assert_clear(pulled(parts, speed, hold)[1])


@pytest.mark.parametrize("name", ['a<b>&"c"', "\x00\x01", "M" * 80, "\ud800"])
def test_a_name_cannot_break_it(name: str) -> None:
    found = rigging(5000, 60, 60, [("block", f"block {name}", 8000)])
    assert_clear(draw_rigging(found))
    root = parsed(draw_lift(lift(WRECKER, VEHICLE), WRECKER, VEHICLE, f"{name} lifts Harrow"))
    assert "Harrow" in (root[0].text or "")

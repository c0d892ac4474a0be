"""The drawing of a margin, read back from its own bytes as XML: proportions, room, words.

Where things have to lie is reckoned here from the margin's inputs: inches times the one scale.
"""

import xml.etree.ElementTree as ET
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings, strategies as st

from flows.figures.deck import Load, Truck, WheelLift
from flows.figures.drawings.margin_drawing import draw
from flows.figures.margin import Margin, margin
from flows.texts import figure_texts
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

CARRIER = Truck(5400, 8900, 19500, 7500, 13500, 199, 88, 234, deck_height_in=38, front_end_in=42)
TANDEM = Truck(
    11_000, 15_000, 58_000, 16_000, 42_000, 262, 100, 336, rear_axles=2, tandem_spacing_in=54,
    front_tyres_lb=16_000, rear_tyres_lb=44_000, gcwr_lb=80_000, deck_height_in=40,
    front_end_in=45, rear_end_in=470, lift=WheelLift(480, 4000, 7500),
)  # fmt: skip
VEHICLE = Load(4960, 4960, 485, 486, 486, 114, 36, 38, nose_first=True, height_in=65)
LIGHT = replace(VEHICLE, likely_lb=2900, high_lb=3300, share_low_pm=480, share_high_pm=530)

CASES = {
    "go": margin(CARRIER, LIGHT),
    "go, tail first": margin(CARRIER, replace(LIGHT, nose_first=False)),
    "close": margin(CARRIER, VEHICLE),
    "no-go": margin(CARRIER, replace(VEHICLE, likely_lb=9000, high_lb=12_000)),
    "tandem with a second": margin(TANDEM, VEHICLE, lifted=LIGHT),
    "does not fit": margin(replace(CARRIER, deck_length_in=130), VEHICLE),
}
every = pytest.mark.parametrize("m", CASES.values(), ids=CASES)


def drawn(m: Margin, truck: str = "Wren", vehicle: str = "Harrow") -> ET.Element:
    return parsed(draw(m, truck, vehicle))


def inches(root: ET.Element, x: float) -> float:
    """Where an x of the side view lies behind the front axle, by the scale it declares."""
    side = of(root, "side")[0]
    return (x - number(side, "data-axle")) / number(side, "data-scale")


@every
def test_same_margin_same_bytes(m: Margin) -> None:
    first = draw(m, "Wren", "Harrow").encode()
    assert first == draw(replace(m), "Wren", "Harrow").encode()
    assert first.isascii()
    assert first.endswith(b"</svg>\n")


@every
def test_needs_nothing_from_outside(m: Margin) -> None:
    svg = draw(m, "Wren", "Harrow")
    assert svg.count("http") == 1
    assert "http://www.w3.org/2000/svg" in svg
    for part in ("<image", "<script", "<foreignObject", "href", "@import", "<style"):
        assert part not in svg


@every
def test_a_screen_reader_hears_every_number(m: Margin) -> None:
    root = drawn(m)
    named = {node.get("id"): node.text or "" for node in root if local(node) in ("title", "desc")}
    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == " ".join(named)
    assert named["t"].lower().startswith(f"{m.verdict}. ")
    for limit in m.limits:
        assert f"{max(limit.load_lb, 0):,} of {limit.limit_lb:,} lb" in named["d"]
    for length in m.lengths:
        assert f"{length.used_in:,} of {length.limit_in:,} in" in named["d"]


@every
def test_the_side_view_is_to_scale(m: Margin) -> None:
    root = drawn(m)
    scale = number(of(root, "side")[0], "data-scale")
    near = 0.02 / scale + 0.02
    half = m.truck.tandem_spacing_in / 2
    places = [0.0, m.truck.wheelbase_in - half, m.truck.wheelbase_in + half]
    wanted = [0.0, m.truck.wheelbase_in] if m.truck.rear_axles == 1 else places
    axles = [inches(root, number(node, "cx")) for node in of(root, "axle")]
    assert axles == pytest.approx(wanted, abs=near)
    deck = rects(root, "deck")[0]
    assert inches(root, deck.x1) == pytest.approx(m.truck.headboard_in, abs=near)
    long = (deck.x2 - deck.x1) / scale
    assert long == pytest.approx(m.truck.deck_length_in, abs=2 * near)
    ground = number(of(root, "ground")[0], "y1")
    assert (ground - deck.y1) / scale == pytest.approx(m.truck.deck_height_in, abs=near)
    vehicle = outlines(root, "vehicle")[-1]  # over the one on the wheel lift
    near_end = m.truck.headboard_in + (m.best_in or 0)
    assert inches(root, vehicle.x1) == pytest.approx(near_end, abs=near)
    length = m.load.front_overhang_in + m.load.wheelbase_in + m.load.rear_overhang_in
    assert (vehicle.x2 - vehicle.x1) / scale == pytest.approx(length, abs=2 * near)
    assert (deck.y1 - vehicle.y1) / scale == pytest.approx(m.load.height_in, abs=near)
    wheels = [inches(root, number(node, "cx")) for node in of(root, "vehicle-wheel")][-2:]
    overhang = m.load.front_overhang_in if m.load.nose_first else m.load.rear_overhang_in
    first = near_end + overhang
    assert wheels == pytest.approx([first, first + m.load.wheelbase_in], abs=near)


@every
def test_the_allowed_positions_are_marked_on_deck_and_ruler(m: Margin) -> None:
    root = drawn(m)
    scale = number(of(root, "side")[0], "data-scale")
    bands = rects(root, "allowed", "interval")
    if m.position_lo_in is None or m.position_hi_in is None:
        assert bands == []
    else:
        assert len(bands) == 2
        for band in bands:
            from_headboard = [inches(root, x) - m.truck.headboard_in for x in (band.x1, band.x2)]
            hi = max(m.position_hi_in, m.position_lo_in + 3 / scale)
            assert from_headboard == pytest.approx([m.position_lo_in, hi], abs=0.05)
        said = " ".join(box.what for box in texts(root))
        assert f"{m.position_lo_in} to {m.position_hi_in} in from the headboard" in said
    best = [(box.x1 + box.x2) / 2 for box in outlines(root, "best")]
    wanted = [] if m.best_in is None else [m.truck.headboard_in + m.best_in]
    assert [inches(root, x) for x in best] == pytest.approx(wanted, abs=0.05)
    for tick in of(root, "tick"):
        at = inches(root, number(tick, "x")) - m.truck.headboard_in
        assert at == pytest.approx(int(tick.text or "-1"), abs=0.05)


@every
def test_bars_are_as_long_as_the_load_is_of_the_limit(m: Margin) -> None:
    root = drawn(m)
    bars = of(root, "bar")
    wanted = [(one.load_lb, one.limit_lb) for one in m.limits]
    wanted += [(one.used_in, one.limit_in) for one in m.lengths]
    assert len(bars) == len(wanted)
    for group, (load, limit) in zip(bars, wanted, strict=True):
        room = rects(group, "room")[0]
        mark = number(of(group, "limit")[0], "x1")
        assert mark == pytest.approx(room.x2, abs=0.02)
        filled = rects(group, "sure", "may-be", "over")
        end = max((box.x2 for box in filled), default=room.x1)
        part = (end - room.x1) / (room.x2 - room.x1)
        assert part == pytest.approx(min(max(load, 0) / limit, 1.14), abs=0.001)
        assert bool(rects(group, "over")) == (load > limit)
        weights = m.close_at_pct if (load, limit) in wanted[: len(m.limits)] else 100
        close = (number(of(group, "close")[0], "x1") - room.x1) / (room.x2 - room.x1)
        assert close == pytest.approx(weights / 100, abs=0.001)


@every
def test_black_and_white_alone_tells_them_apart(m: Margin) -> None:
    root = drawn(m)
    for node in root.iter():
        for name in ("fill", "stroke"):
            allowed = {None, "#000", "#fff", "none", "url(#striped)", "url(#dotted)"}
            assert node.get(name) in allowed
    looks = {
        kind: {node.get("fill") for node in of(root, kind)} for kind in ("sure", "may-be", "over")
    }
    shown = [look for look in looks.values() if look]
    assert all(len(look) == 1 for look in shown)
    assert len(set().union(*shown)) == len(shown)


@every
def test_text_is_large_enough_for_a_phone(m: Margin) -> None:
    """A phone shows 360 points across: half of the drawing's units. 12 points are legible."""
    sizes = {number(node, "font-size") for node in drawn(m).iter() if local(node) == "text"}
    assert min(sizes) * 360 / WIDE >= 12


@every
def test_nothing_collides_or_leaves_the_frame(m: Margin) -> None:
    assert_nothing_collides(drawn(m))


def whole(low: int, high: int) -> Any:
    return st.one_of(st.sampled_from((low, high)), st.integers(low, high))


@st.composite
def trucks(draw_: Any) -> Truck:
    axles = draw_(st.sampled_from((1, 2)))
    lift = st.builds(WheelLift, at_in=whole(60, 600), rating_lb=whole(1, 60_000),
                     tow_lb=whole(1, 200_000))  # fmt: skip
    given_: dict[str, Any] = {
        "empty_front_lb": whole(100, 60_000), "empty_rear_lb": whole(100, 60_000),
        "gvwr_lb": whole(1, 80_000), "gawr_front_lb": whole(1, 80_000),
        "gawr_rear_lb": whole(1, 80_000), "wheelbase_in": whole(120, 400),
        "headboard_in": whole(0, 400), "deck_length_in": whole(1, 480),
        "front_tyres_lb": st.none() | whole(1, 120_000), "gcwr_lb": st.none() | whole(1, 200_000),
        "deck_height_in": st.none() | whole(10, 80), "front_end_in": st.none() | whole(0, 100),
        "rear_end_in": st.none() | whole(60, 700), "lift": st.none() | lift,
    }  # fmt: skip
    values = {name: draw_(one) for name, one in given_.items()}
    spacing = draw_(whole(41, 96)) if axles == 2 else 0
    return Truck(**values, rear_axles=axles, tandem_spacing_in=spacing)


@st.composite
def vehicles(draw_: Any) -> Load:
    high = draw_(whole(1, 40_000))
    shares = sorted(draw_(st.lists(whole(100, 900), min_size=3, max_size=3)))
    return Load(
        draw_(st.integers(1, high)), high, *shares, draw_(whole(40, 300)), draw_(whole(0, 150)),
        draw_(whole(0, 150)), nose_first=draw_(st.booleans()),
        height_in=draw_(st.none() | whole(20, 200)),
    )  # fmt: skip


NAMES = st.sampled_from(
    ["W", "Wren", "Wide Wagon Mower " * 3, "M" * 60, 'a<b>&"c"', "\u00e9\x00\u2028x"]
)


@given(trucks(), vehicles(), st.none() | vehicles(), NAMES, NAMES)
@settings(max_examples=150, deadline=None)
def test_no_worst_case_collides_or_leaves_the_frame(
    truck: Truck, load: Load, second: Load | None, one: str, other: str
) -> None:
    m = margin(truck, load, lifted=second if truck.lift else None)
    root = drawn(m, one, other)
    assert_nothing_collides(root)


@pytest.mark.parametrize("name", ['a<b>&"c"', "\x00\x01", "\u2028", "]]>", "\ud800"])
def test_a_name_cannot_break_it(name: str) -> None:
    root = parsed(draw(CASES["go"], name, "Harrow"))
    assert "Harrow" in (root[0].text or "")


def test_unchecked_limits_are_named() -> None:
    for m in CASES.values():
        said = " ".join(box.what for box in texts(drawn(m)))
        assert ("Not checked" in said) == bool(m.unchecked)
    assert figure_texts()["drawing"]["caution"].split()[0] in " ".join(
        box.what for box in texts(drawn(CASES["go"]))
    )

"""A wheel lift drawn: the truck from the side, one end of the vehicle up, dollies under the other.

To scale along the road by the cards' lengths; heights, dollies and the truck's ends are assumed.
"""

from math import inf
from typing import Final

from flows.figures.deck import Load
from flows.figures.dollies import DOLLIES, DOLLY_TYRES
from flows.figures.drawings.page import EDGE, INNER, SMALL, WIDE, Sheet
from flows.figures.drawings.result_drawing import draw_result
from flows.figures.drawings.shapes import (
    ROOF_IN,
    SCHEMATIC_IN,
    Stance,
    View,
    draw_truck,
    draw_vehicle,
    draw_wheel,
    height_of,
)
from flows.figures.drawings.svg import element, number, text
from flows.figures.lifting import KEPT, RETRACTED, Lifter, at_end
from flows.figures.limits import LIFT, REAR
from flows.figures.result import Result
from flows.texts import rigging_texts

_UP_IN: Final = 12
"""How high the near wheels are drawn above the far wheels; common practice, not on a card."""
_DOLLY_IN: Final = 4
_MARKED: Final = {
    KEPT: "front",
    REAR: "rear",
    LIFT: "lift",
    at_end(KEPT, RETRACTED): "front",
    at_end(REAR, RETRACTED): "rear",
    at_end(LIFT, RETRACTED): "retracted",
    DOLLIES: "dollies",
    DOLLY_TYRES: "dollies",
}


def draw_lift(found: Result, truck: Lifter, load: Load, title: str) -> str:
    """Return a wheel lift as a drawing, an SVG document.

    Parameters
    ----------
    found : Result
        From `flows.figures.lifting.lift`, for this truck and vehicle.
    truck, load
        Its inputs.
    title : str
        The heading.

    Examples
    --------
    >>> from flows.figures.dollies import Dollies
    >>> from flows.figures.lifting import Arm, lift
    >>> wrecker = Lifter(8600, 11_700, 22_000, 33_000, 190, 84, 9000, 20_000, Arm(60, 12_000))
    >>> vehicle = Load(5000, 5000, 520, 550, 600, 114, 36, 38, nose_first=True)
    >>> drawn = draw_lift(lift(wrecker, vehicle, Dollies(4600)), wrecker, vehicle, "Mallet")
    >>> [drawn.count(f'class="{one}"') for one in ("dolly", "vehicle-wheel", "retracted")]
    [2, 2, 1]
    """
    letters = rigging_texts()["drawing"]["marks"]
    marks = {name: letters[key] for name, key in _MARKED.items()}
    on_dollies = any(one.name == DOLLIES for one in found.checks)
    return draw_result(
        found, title, lambda sheet: _side(sheet, truck, load, on_dollies), marks=marks
    )


def _side(sheet: Sheet, truck: Lifter, load: Load, on_dollies: bool) -> None:  # noqa: FBT001  of the picture alone
    at = truck.wheelbase_in + truck.reach_in
    stance = Stance(load, at, _DOLLY_IN if on_dollies else 0, _raised(load))
    view = _view(sheet, stance)
    sheet.parts.append(
        f'<g class="side" data-scale="{view.scale:.6f}" data-axle="{number(view.x(0))}">'
    )
    _truck(sheet, truck, view)
    _arm(sheet, truck, view, stance)
    draw_vehicle(sheet, view, stance)
    _retracted(sheet, truck, view, stance)
    if on_dollies:
        _dollies(sheet, view, stance)
    sheet.parts.append(
        element("line", x1=EDGE, x2=WIDE - EDGE, y1=view.ground, y2=view.ground, stroke="#000",
                stroke_width=3, class_="ground")
    )  # fmt: skip
    _letters(sheet, truck, view, stance, on_dollies)
    sheet.parts.append("</g>")
    sheet.y = view.ground + (2.6 if truck.retracted is None else 3.6) * SMALL


def _raised(load: Load) -> float:
    """How high the near wheels are drawn, so that the far end stays off the ground."""
    clear = 0.12 * height_of(load) * load.wheelbase_in / max(load.far_overhang_in, 1)
    return min(float(_UP_IN), clear)


def _view(sheet: Sheet, stance: Stance) -> View:
    """Fit everything between the edges, from the front bumper to the vehicle's far end."""
    load = stance.load
    first, last, top = -float(SCHEMATIC_IN["front_end"]), -inf, float(ROOF_IN)
    far = load.wheelbase_in + load.far_overhang_in
    for behind in (-load.near_overhang_in, far):
        for above in (0.0, float(height_of(load))):
            x, y = stance.put(behind, above)
            first, last, top = min(first, x), max(last, x), max(top, y)
    last = max(last, stance.put(load.wheelbase_in, 0)[0] + 2 * SCHEMATIC_IN["vehicle_wheel"])
    scale = INNER / (last - first)
    return View(scale, first, sheet.y + top * scale + SMALL / 2)


def _rear_end(truck: Lifter) -> float:
    """Return where the truck's frame is drawn to end: a wrecker's figure has no such length."""
    return truck.wheelbase_in + min(truck.reach_in * 0.6, 40.0)


def _truck(sheet: Sheet, truck: Lifter, view: View) -> None:
    rear, back = _rear_end(truck), min(0.42 * truck.wheelbase_in, 96.0)
    sheet.box((view.x(back + 6), view.x(rear - 10)), (view.y(58), view.y(34)), "body")
    draw_truck(sheet, view, truck.wheelbase_in, back, rear)


def _arm(sheet: Sheet, truck: Lifter, view: View, stance: Stance) -> None:
    """Draw the lift from the frame to the wheels that it carries."""
    radius = SCHEMATIC_IN["vehicle_wheel"]
    under = stance.put(0, radius)[1] - radius
    at = truck.wheelbase_in + truck.reach_in
    ends = (truck.wheelbase_in, under + 2), (at + radius, under + 2)
    (x1, y1), (x2, y2) = ((view.x(x), view.y(y)) for x, y in ends)
    sheet.parts.append(
        element("line", x1=x1, y1=y1, x2=x2, y2=y2, stroke="#000", stroke_width=7, class_="arm")
    )


def _retracted(sheet: Sheet, truck: Lifter, view: View, stance: Stance) -> None:
    """Draw the lifted wheels dashed where they are with the lift retracted, if that is rated."""
    if truck.retracted is None:
        return
    radius = SCHEMATIC_IN["vehicle_wheel"]
    at, high = truck.wheelbase_in + truck.retracted.reach_in, stance.put(0, radius)[1]
    sheet.parts.append(
        element("circle", cx=view.x(at), cy=view.y(high), r=radius * view.scale, fill="none",
                stroke="#000", stroke_width=3, stroke_dasharray="6 5", class_="retracted")
    )  # fmt: skip


def _dollies(sheet: Sheet, view: View, stance: Stance) -> None:
    """Draw two small wheels around the far axle, and the bar under it."""
    radius = SCHEMATIC_IN["vehicle_wheel"]
    at, _ = stance.put(stance.load.wheelbase_in, radius)
    span = radius * 1.5
    sheet.parts.append(
        element("line", x1=view.x(at - span), x2=view.x(at + span), y1=view.y(_DOLLY_IN),
                y2=view.y(_DOLLY_IN), stroke="#000", stroke_width=5, class_="dolly-bar")
    )  # fmt: skip
    for side in (-span, span):
        draw_wheel(sheet, view, (at + side, _DOLLY_IN), _DOLLY_IN, "dolly")


def _letters(
    sheet: Sheet, truck: Lifter, view: View, stance: Stance, on_dollies: bool  # noqa: FBT001  of the picture alone
) -> None:  # fmt: skip
    """Put the letters of the bars under the axles."""
    marks = rigging_texts()["drawing"]["marks"]
    far = stance.put(stance.load.wheelbase_in, SCHEMATIC_IN["vehicle_wheel"])[0]
    letters: list[tuple[float, str, float]] = [
        (0, marks["front"], 1.0),
        (truck.wheelbase_in, marks["rear"], 1.0),
        (truck.wheelbase_in + truck.reach_in, marks["lift"], 2.0),
    ]
    if truck.retracted is not None:
        at_in = truck.wheelbase_in + truck.retracted.reach_in
        letters.append((at_in, marks["retracted"], 3.0))
    if on_dollies:
        letters.append((far, marks["dollies"], 2.0))
    for at, letter, line in letters:
        y = view.ground + SMALL * line
        sheet.parts.append(
            text(view.x(at), y, SMALL, letter, text_anchor="middle", font_weight="bold",
                 class_="mark")
        )  # fmt: skip

"""Loading drawn: the deck slid back to the ground, and the weight at its furthest position.

To scale along the road and upward by the card's lengths; cab and wheels are assumed.
"""

from math import ceil, sqrt
from typing import Final

from flows.figures.deck import Truck
from flows.figures.drawings.page import EDGE, INNER, SMALL, WIDE, Sheet
from flows.figures.drawings.result_drawing import draw_result
from flows.figures.drawings.shapes import (
    ROOF_IN,
    SCHEMATIC_IN,
    View,
    draw_arrow,
    draw_letter,
    draw_line,
    draw_truck,
)
from flows.figures.drawings.svg import element, number
from flows.figures.loading import ON_GROUND
from flows.figures.result import Result
from flows.texts import rigging_texts

_ARROW_IN: Final = 40


def draw_loading(found: Result, truck: Truck, title: str) -> str:
    """Return a vehicle's way up onto a deck as a drawing, an SVG document.

    Parameters
    ----------
    found : Result
        From `flows.figures.loading.loading`, for this truck.
    truck : Truck
        Its input, with the height of the deck known.
    title : str
        The heading.

    Examples
    --------
    >>> from flows.figures.deck import Load
    >>> from flows.figures.loading import Ramp, loading
    >>> wren = Truck(5400, 8900, 19500, 7500, 13500, 199, 88, 234, deck_height_in=38)
    >>> vehicle = Load(5000, 5000, 500, 500, 500, 114, 36, 38, nose_first=True)
    >>> drawn = draw_loading(loading(wren, Ramp(30), vehicle, 0), wren, "Wren loads")
    >>> [drawn.count(f'class="{kind}"') for kind in ("axle", "slid-deck", "weight")]
    [2, 1, 1]
    """
    marks = {ON_GROUND: rigging_texts()["drawing"]["marks"]["front"]}
    return draw_result(found, title, lambda sheet: _side(sheet, found, truck), marks=marks)


def _side(sheet: Sheet, found: Result, truck: Truck) -> None:
    steps = {one.formula: one for one in found.steps}
    high = float(truck.deck_height_in or SCHEMATIC_IN["deck_height"])
    slide, hinge = float(steps["slide"].result), float(steps["hinge"].result)
    bears = float(dict(steps["off"].put_in)["furthest_in"])
    # The part of the deck behind the hinge is as long as the slide; its end is on the ground.
    end = hinge + sqrt(max(slide**2 - high**2, 0.0))
    part = (slide - truck.deck_length_in) / slide
    front = (end + (hinge - end) * (1 - part), high * (1 - part))
    view = _view(sheet, end, max(front[1], high) + _ARROW_IN)
    sheet.parts.append(
        f'<g class="side" data-scale="{view.scale:.6f}" data-axle="{number(view.x(0))}">'
    )
    back = min(truck.headboard_in, 0.42 * truck.wheelbase_in)
    draw_truck(sheet, view, truck.wheelbase_in, back, hinge)
    (x1, y1), (x2, y2) = ((view.x(x), view.y(y)) for x, y in (front, (end, 0.0)))
    sheet.parts.append(draw_line((x1, y1), (x2, y2), "slid-deck", 8))
    ground = element("line", x1=EDGE, x2=WIDE - EDGE, y1=view.ground, y2=view.ground,
                     stroke="#000", stroke_width=3, class_="ground")  # fmt: skip
    at = high * max(end - bears, 0.0) / (end - hinge)
    down = (view.x(bears), view.y(at + _ARROW_IN)), (view.x(bears), view.y(at))
    sheet.parts += [ground, *draw_arrow(*down, "weight")]
    said = rigging_texts()["drawing"]
    # The weight's letter is a line lower, since the weight may be close to the rear axle.
    for at_in, letter, row in (
        (0, "front", 1), (truck.wheelbase_in, "rear", 1), (bears, "weight", 2)
    ):  # fmt: skip
        under = view.ground + SMALL * row
        sheet.parts.append(draw_letter((view.x(at_in), under), said["marks"][letter]))
    sheet.parts.append("</g>")
    sheet.y = view.ground + 2.6 * SMALL
    sheet.lines(said["loading"]["rear"], SMALL)
    sheet.lines(said["loading"]["weight"].format(inches=ceil(bears)), SMALL)


def _view(sheet: Sheet, end: float, top: float) -> View:
    """Fit everything between the edges, from the front bumper to the deck's end on the ground."""
    first = -float(SCHEMATIC_IN["front_end"])
    scale = INNER / (end - first)
    return View(scale, first, sheet.y + max(top, ROOF_IN) * scale + SMALL / 2)

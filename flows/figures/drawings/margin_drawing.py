"""The margin drawn: the truck from the side with the vehicle on it, and a bar for every limit.

Black on white, with patterns instead of colours; the side view is to scale in both directions,
except for sizes that are not on a card (`SCHEMATIC_IN`). For a screen at least 360 points wide: no
text is under 12 points.
"""

from collections.abc import Iterator
from typing import Final

from flows.figures.deck import Load
from flows.figures.drawings.bars import bar, bar_rows, shown_name
from flows.figures.drawings.page import EDGE, INNER, LINE, SMALL, TITLE, WIDE, Sheet
from flows.figures.drawings.shapes import (
    HATCHES,
    OUTLINE,
    SCHEMATIC_IN,
    Stance,
    View,
    draw_vehicle,
    draw_wheel,
    height_of,
    length_of,
)
from flows.figures.drawings.svg import document, element, number, polygon, text, width
from flows.figures.margin import Margin
from flows.texts import figure_texts

_TICKS_IN: Final = (12, 24, 60, 120, 240)
_TICK_ROOM: Final = 90.0


def draw(m: Margin, truck: str, vehicle: str) -> str:
    """Return a margin as a drawing.

    Parameters
    ----------
    m : Margin
        The answer; its vehicle is drawn at the best position, or at the headboard if its wheels
        do not fit the deck.
    truck, vehicle : str
        Their names.

    Returns
    -------
    str
        An SVG document; the same margin gives the same bytes.

    Examples
    --------
    >>> from flows.figures.deck import Truck
    >>> from flows.figures.margin import margin
    >>> carrier = Truck(5500, 8900, 19500, 7500, 13500, 199, 88, 234)
    >>> m = margin(carrier, Load(3500, 3500, 600, 600, 600, 111, 37, 43, nose_first=True))
    >>> drawn = draw(m, "Wren", "Harrow")
    >>> drawn.splitlines()[1]
    '<title id="t">Go. Wren with Harrow.</title>'
    """
    sheet = Sheet()
    sheet.lines(title(m, truck, vehicle), TITLE, bold=True)
    sheet.lines(summary(m), LINE)
    _side(sheet, m)
    sheet.lines(position_words(m), SMALL)
    rows = bar_rows(m)
    for one in rows:
        bar(sheet, one)
    notes = _notes(m)
    for note in notes:
        sheet.lines(note, SMALL)
    told = [summary(m), position_words(m), *(f"{one.name}: {one.said}." for one in rows), *notes]
    size = WIDE, sheet.y + EDGE
    return document(size, title(m, truck, vehicle), " ".join(told), (HATCHES, *sheet.parts))


def title(m: Margin, truck: str, vehicle: str) -> str:
    """Return the verdict, with the names of truck and vehicle."""
    said = figure_texts()["drawing"]
    verdict = said["verdicts"][m.verdict]
    return str(said["title"].format(truck=truck, vehicle=vehicle, verdict=verdict))


def summary(m: Margin) -> str:
    """Return the governing limit and its margin."""
    one = next(row for row in bar_rows(m) if row.key == m.governing)
    text = figure_texts()["drawing"]["over" if one.margin < 0 else "left"]
    return str(text.format(name=one.name, margin=abs(one.margin), unit=one.unit))


def position_words(m: Margin) -> str:
    """Return the range of positions, or the position drawn, in words."""
    said = figure_texts()["drawing"]
    if m.best_in is None:
        return str(said["place_none"].format(short=m.deck_short_in))
    if m.position_lo_in is None:
        return str(said["place_best"].format(best=m.best_in))
    return str(said["place"].format(lo=m.position_lo_in, hi=m.position_hi_in, best=m.best_in))


def _notes(m: Margin) -> list[str]:
    said = figure_texts()["drawing"]
    names = ", ".join(shown_name(one).lower() for one in m.unchecked)
    unchecked = [said["unchecked"].format(names=names)] if names else []
    return [said["key"], *unchecked, said["caution"]]


# The side view


def _side(sheet: Sheet, m: Margin) -> None:
    """Draw the truck with the vehicles on it, and the ruler of the deck under it."""
    view = _view(m, sheet.y)
    sheet.parts.append(
        f'<g class="side" data-scale="{view.scale:.6f}" data-axle="{number(view.x(0))}">'
    )
    _truck(sheet, m, view)
    standing = list(_standing(m))
    for load, near, floor in reversed(standing):  # the vehicle on the deck over any behind it
        draw_vehicle(sheet, view, Stance(load, near + load.near_overhang_in, floor))
    _weight(sheet, view, *standing[0])
    ends = EDGE, WIDE - EDGE
    sheet.parts.append(
        element("line", x1=ends[0], x2=ends[1], y1=view.ground, y2=view.ground, stroke="#000",
                stroke_width=3, class_="ground")
    )  # fmt: skip
    _wheel_marks(sheet, m, view)
    sheet.y = view.ground + SMALL * 1.6
    _ruler(sheet, m, view)
    sheet.parts.append("</g>")


def _deck_height(m: Margin) -> int:
    return m.truck.deck_height_in or SCHEMATIC_IN["deck_height"]


def _view(m: Margin, top: float) -> View:
    """Fit everything between the edges, from the front bumper to the last rear end."""
    truck = m.truck
    firsts = [-(truck.front_end_in or SCHEMATIC_IN["front_end"]), -SCHEMATIC_IN["wheel"]]
    lasts = [
        truck.headboard_in + truck.deck_length_in,
        truck.wheelbase_in + truck.tandem_spacing_in / 2 + SCHEMATIC_IN["wheel"],
        truck.rear_end_in or 0,
    ]
    tops = [_deck_height(m) + SCHEMATIC_IN["headboard"]]
    for load, near, floor in _standing(m):
        firsts.append(near)
        lasts.append(near + length_of(load))
        tops.append(floor + height_of(load))
    scale = INNER / (max(lasts) - min(firsts))
    return View(scale, min(firsts), top + max(tops) * scale + SMALL)


def _standing(m: Margin) -> Iterator[tuple[Load, int, int]]:
    """Yield each vehicle, its near end behind the front axle and the height of its floor [in]."""
    yield m.load, m.truck.headboard_in + m.drawn_in, _deck_height(m)
    if m.lifted is not None and m.truck.lift is not None:
        yield m.lifted, m.truck.lift.at_in - m.lifted.near_overhang_in, 0


def _truck(sheet: Sheet, m: Margin, view: View) -> None:
    truck, deck = m.truck, _deck_height(m)
    head, end = truck.headboard_in, truck.headboard_in + truck.deck_length_in
    roof = deck + SCHEMATIC_IN["headboard"]
    cab = ((0, 14), (0, 0.62 * roof), (0.3, 0.66 * roof), (0.45, roof), (1, roof), (1, 14))
    bumper = -(truck.front_end_in or SCHEMATIC_IN["front_end"])
    outline = [(view.x(bumper + part * (head - 4 - bumper)), view.y(high)) for part, high in cab]
    sheet.parts.append(polygon(outline, **OUTLINE, class_="cab"))
    rear = max(truck.rear_end_in or 0, truck.wheelbase_in)
    sheet.box(
        (view.x(head - 4), view.x(rear)), (view.y(deck - 6), view.y(max(deck - 14, 2))), "frame"
    )
    sheet.box((view.x(head), view.x(end)), (view.y(deck), view.y(deck - 6)), "deck")
    if m.position_lo_in is not None and m.position_hi_in is not None:
        lo, hi = head + m.position_lo_in, head + m.position_hi_in
        sheet.box((view.x(lo), max(view.x(hi), view.x(lo) + 3)), (view.y(deck), view.y(deck - 6)),
                  "allowed", fill="url(#striped)")  # fmt: skip
    sheet.box((view.x(head - 4), view.x(head)), (view.y(roof), view.y(deck - 6)), "headboard",
              fill="#000")  # fmt: skip
    for at in _axles(m):
        draw_wheel(sheet, view, (at, SCHEMATIC_IN["wheel"]), SCHEMATIC_IN["wheel"], "axle")


def _axles(m: Margin) -> Iterator[float]:
    yield 0
    half = m.truck.tandem_spacing_in / 2
    yield from (m.truck.wheelbase_in - half, m.truck.wheelbase_in + half)[: m.truck.rear_axles]


def _weight(sheet: Sheet, view: View, load: Load, near: float, floor: float) -> None:
    """Put the weight on the vehicle's cabin if there is room; it is in the numbers too."""
    key = "weight" if load.likely_lb == load.high_lb else "weight_range"
    said = figure_texts()["drawing"][key].format(likely=load.likely_lb, high=load.high_lb)
    long, high = length_of(load), height_of(load)
    if width(said, SMALL) < 0.6 * long * view.scale and 0.3 * high * view.scale > SMALL:
        at = near + (0.56 if load.nose_first else 0.44) * long
        y = view.y(floor + 0.44 * high)
        sheet.parts.append(text(view.x(at), y, SMALL, said, text_anchor="middle"))


def _wheel_marks(sheet: Sheet, m: Margin, view: View) -> None:
    """Put the letters of the bars under the axles."""
    marks = figure_texts()["drawing"]["marks"]
    for at, mark in ((0, marks["front"]), (m.truck.wheelbase_in, marks["rear"])):
        sheet.parts.append(
            text(view.x(at), view.ground + SMALL, SMALL, mark, text_anchor="middle",
                 font_weight="bold", class_="mark")
        )  # fmt: skip


def _ruler(sheet: Sheet, m: Margin, view: View) -> None:
    """Draw inches from the headboard, with the positions allowed for the vehicle's nearest end."""
    head, y = m.truck.headboard_in, sheet.y + 16
    start, stop = view.x(head), view.x(head + m.truck.deck_length_in)
    sheet.box((start, stop), (y, y + 14), "ruler")
    if m.position_lo_in is not None and m.position_hi_in is not None:
        lo, hi = view.x(head + m.position_lo_in), view.x(head + m.position_hi_in)
        sheet.box((lo, max(hi, lo + 3)), (y, y + 14), "interval", fill="url(#striped)")
    if m.best_in is not None:
        best = view.x(head + m.best_in)
        points = [(best, y), (best - 9, y - 15), (best + 9, y - 15)]
        sheet.parts.append(polygon(points, fill="#000", class_="best"))
    _ticks(sheet, m, view, y + 14)
    sheet.y = y + 26 + SMALL
    sheet.lines(figure_texts()["drawing"]["ruler"], SMALL)


def _ticks(sheet: Sheet, m: Margin, view: View, y: float) -> None:
    """Draw ticks far enough apart that their numbers do not touch."""
    step = next((one for one in _TICKS_IN if one * view.scale >= _TICK_ROOM), _TICKS_IN[-1])
    for inches in range(0, m.truck.deck_length_in + 1, step):
        x = view.x(m.truck.headboard_in + inches)
        sheet.parts.append(
            element("line", x1=x, x2=x, y1=y, y2=y + 9, stroke="#000", stroke_width=3)
        )
        sheet.parts.append(
            text(x, y + 12 + SMALL * 0.9, SMALL, str(inches), text_anchor="middle", class_="tick")
        )

"""Block and bridle, and straps at the wheels, drawn at true angles but not to scale.

Each load is in words under the picture, by a letter in it, so that words never collide, at any
angle.
"""

from collections.abc import Iterator
from math import cos, radians, sin, sqrt, tan
from typing import Final

from flows.figures.drawings.bars import Bar
from flows.figures.drawings.page import EDGE, INNER, SMALL, Sheet
from flows.figures.drawings.result_drawing import draw_result
from flows.figures.drawings.shapes import Point, draw_arrow, draw_letter, draw_line
from flows.figures.drawings.svg import element, polygon, text, wrapped
from flows.figures.result import Result
from flows.texts import rigging_texts

_HALF: Final = INNER / 2
_LEFT: Final = EDGE + _HALF / 2
_RIGHT: Final = EDGE + 1.5 * _HALF
_LONG: Final = 112.0
_SHEAVE: Final = 16.0
_WHEEL: Final = 56.0
_STRAP: Final = 40.0


def draw_rigging(found: Result) -> str:
    """Return block and bridle as a drawing, an SVG document.

    Examples
    --------
    >>> from flows.figures.rigging import rigging
    >>> drawn = draw_rigging(rigging(5000, 60, 60, [("block", "snatch block", 8000)]))
    >>> "B: block, 8,661 lb" in drawn, drawn.count('class="leg"')
    (True, 2)
    """
    return draw_result(
        found, rigging_texts()["rigging"]["title"], lambda sheet: _pulls(sheet, found)
    )


def draw_tiedowns(found: Result) -> str:
    """Return the straps at four wheels as a drawing, an SVG document.

    Examples
    --------
    >>> import datetime as dt
    >>> from flows.figures.tiedowns import Geometry, Tiedown, tiedowns
    >>> four = [Tiedown("wheel strap", (3333,))] * 4
    >>> drawn = draw_tiedowns(tiedowns(5000, four, Geometry(40, 20), dt.date(2026, 3, 1)))
    >>> drawn.count('class="strap"'), drawn.count('class="anchor"')
    (10, 10)
    """
    return draw_result(
        found, rigging_texts()["tiedowns"]["title"], lambda sheet: _straps(sheet, found)
    )


def draw_window(found: Result) -> str:
    """Return a pull against the neutral hold as bars, an SVG document.

    Examples
    --------
    >>> from flows.figures.window import window
    >>> from flows.figures.winch import Winch
    >>> found = window(Winch((8000,), 202, 3200, 24, 100), 1, (40, 22), 5, 30)
    >>> drawn = draw_window(found)
    >>> "5 of 15 min" in drawn, "5 of 30 min" in drawn
    (True, True)
    """
    said = rigging_texts()
    minutes, hold = found.amount("minutes"), int(dict(found.inputs)["hold_min"])
    half = 100 * found.amount("usable") // hold
    name = said["drawing"]["hold"]
    whole = Bar(name, name, "min", "", minutes, minutes, hold, hold - minutes, half)
    return draw_result(found, said["window"]["title"], more=[whole])


# Block and bridle


def _pulls(sheet: Sheet, found: Result) -> None:
    """Draw the block to the left and the bridle to the right, with their loads under them."""
    given, said = dict(found.inputs), rigging_texts()["rigging"]["drawing"]
    block, bridle = int(given["block_deg"]), int(given["bridle_deg"])
    tall = _LONG * sin(radians(max(block, bridle) / 2)) + 2.2 * SMALL
    middle = sheet.y + tall
    sheet.parts += _block((_LEFT - 30, middle), block / 2)
    sheet.parts += _bridle((_RIGHT - 40, middle), bridle / 2)
    bears = {
        "line": given["line_lb"],
        "block": found.amount("block"),
        "leg": found.amount("leg"),
    }
    sheet.y = middle + tall
    _captions(
        sheet,
        [one.format(**bears, between=block) for one in said["block"]],
        [one.format(**bears, between=bridle) for one in said["bridle"]],
    )


def _block(at: Point, half_deg: float) -> Iterator[str]:
    """Yield a block, the strap that anchors it, and the two lines that pull it the other way."""
    x, y = at
    yield draw_line(at, (x - 70, y), "held", 6)
    yield draw_letter((x - 84, y + SMALL / 3), "B")
    for side in (-1, 1):
        way = cos(radians(half_deg)), side * sin(radians(half_deg))
        start = x - _SHEAVE * abs(way[1]), y + side * _SHEAVE * way[0]
        end = start[0] + _LONG * way[0], start[1] + _LONG * way[1]
        yield from draw_arrow(start, end, "line")
        if side < 0:
            yield draw_letter((end[0] + 22 * way[0], end[1] + 22 * way[1] + SMALL / 3), "A")
    for part, fill in ((1.0, "#000"), (0.4, "#fff")):
        yield element("circle", cx=x, cy=y, r=part * _SHEAVE, fill=fill, class_="sheave")


def _bridle(at: Point, half_deg: float) -> Iterator[str]:
    """Yield the line, the ring that it pulls, and two legs to the vehicle."""
    x, y = at
    yield from draw_arrow(at, (x - 80, y), "line")
    yield draw_letter((x - 100, y + SMALL / 3), "A")
    way = cos(radians(half_deg)), sin(radians(half_deg))
    tall = _LONG * way[1] + 14
    end = x + _LONG * way[0]
    yield element("rect", x=end, y=y - tall, width=12, height=2 * tall, fill="#fff", stroke="#000",
                  stroke_width=2, class_="held")  # fmt: skip
    for side in (-1, 1):
        yield draw_line(at, (end, y + side * _LONG * way[1]), "leg", 4)
    yield draw_letter((end + 30, y - _LONG * way[1] + SMALL / 3), "C")
    yield element("circle", cx=x, cy=y, r=8, fill="#000", class_="ring")


# Straps


def _straps(sheet: Sheet, found: Result) -> None:
    """Draw one wheel from the side, all four from above, and the angles under them."""
    given, said = dict(found.inputs), rigging_texts()["tiedowns"]["drawing"]
    up, aside = int(given["up_deg"]), int(given["aside_deg"])
    middle = sheet.y + 100
    sheet.parts += _wheel_and_ends((_LEFT, middle + _WHEEL), up)
    sheet.parts += _from_above((_RIGHT, middle), aside)
    sheet.y = middle + 100
    _captions(sheet, [said["side"].format(degrees=up)], [said["above"].format(degrees=aside)])


def _wheel_and_ends(ground: Point, up_deg: int) -> Iterator[str]:
    """Yield a wheel on the deck and both ends of its strap, tangent if there is room."""
    x, y = ground
    yield element("rect", x=x - _HALF / 2 + 6, y=y, width=_HALF - 12, height=10, fill="#fff",
                  stroke="#000", stroke_width=2, class_="deck")  # fmt: skip
    for part, fill in ((1.0, "#000"), (0.86, "#fff")):
        yield element("circle", cx=x, cy=y - _WHEEL, r=part * _WHEEL, fill=fill, class_="tyre")
    for side in (-1, 1):
        out, touch = _strap_end(up_deg)
        yield draw_line((x + side * touch[0], y - touch[1]), (x + side * out, y), "strap", 5)
        yield _anchor((x + side * out, y))


def _strap_end(up_deg: int) -> tuple[float, Point]:
    """Return where a strap's end is anchored and where it meets the wheel, by its angle."""
    up = radians(up_deg)
    touch = _WHEEL * sin(up), _WHEEL * (1 + cos(up))
    far = _HALF / 2 - 20
    if up_deg and touch[0] + touch[1] / tan(up) <= far:
        return touch[0] + touch[1] / tan(up), touch
    # No room for the tangent: from the farthest anchor to the near side of the wheel.
    along = _until_wheel(far, up)
    return far, (far - along * cos(up), along * sin(up))


def _until_wheel(far: float, up: float) -> float:
    """Return the length of a ray from an anchor at `far`, at an angle, to the wheel."""
    towards = far * cos(up) + _WHEEL * sin(up)
    return towards - sqrt(towards**2 - far**2)


def _from_above(middle: Point, aside_deg: int) -> Iterator[str]:
    """Yield a vehicle from above, front to the left, with both ends of the strap at each wheel."""
    x, y = middle
    yield element("rect", x=x - 112, y=y - 46, width=224, height=92, rx=14, fill="#fff",
                  stroke="#000", stroke_width=2, class_="from-above")  # fmt: skip
    yield polygon([(x - 102, y), (x - 76, y - 12), (x - 76, y + 12)], fill="#000", class_="front")
    for along in (-1, 1):
        for across in (-1, 1):
            at = x + along * 72, y + across * 46
            yield element("rect", x=at[0] - 22, y=at[1] - 8, width=44, height=16, fill="#000",
                          class_="wheel")  # fmt: skip
            yield from _both_ends(at, across, radians(aside_deg))


def _both_ends(wheel: Point, across: int, aside: float) -> Iterator[str]:
    for way in (-1, 1):
        start = wheel[0] + way * 22, wheel[1]
        end = start[0] + way * _STRAP * cos(aside), start[1] + across * _STRAP * sin(aside)
        yield draw_line(start, end, "strap", 4)
        yield _anchor(end)


# Pieces


def _captions(sheet: Sheet, left: list[str], right: list[str]) -> None:
    """Put lines of text under both halves, and continue under the longer of them."""
    ends = []
    for x, said in ((_LEFT, left), (_RIGHT, right)):
        y = sheet.y
        for line in (part for one in said for part in wrapped(one, SMALL, _HALF - 12)):
            y += SMALL * 1.25
            sheet.parts.append(text(x, y - SMALL * 0.25, SMALL, line, text_anchor="middle"))
        ends.append(y)
    sheet.y = max(ends) + SMALL * 0.6


def _anchor(at: Point) -> str:
    return element("rect", x=at[0] - 6, y=at[1] - 6, width=12, height=12, fill="#fff",
                   stroke="#000", stroke_width=3, class_="anchor")  # fmt: skip

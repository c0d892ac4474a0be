"""Shapes shared by drawings from the side: inches on a sheet, a wheel, a vehicle, patterns.

Black on white, with patterns instead of colours; to scale in both directions, except for sizes
that are not on a card (`SCHEMATIC_IN`).
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import asin, cos, hypot, sin
from typing import Final

from flows.figures.deck import Load
from flows.figures.drawings.page import EDGE, SMALL, Sheet
from flows.figures.drawings.svg import element, polygon, text

Point = tuple[float, float]

SCHEMATIC_IN: Final = {
    "front_end": 40, "deck_height": 40, "vehicle_height": 62, "wheel": 18, "vehicle_wheel": 13,
    "headboard": 44,
}  # fmt: skip
"""Sizes drawn if a card does not give them, and sizes of no consequence."""
HATCHES: Final = (
    '<defs><pattern id="striped" width="8" height="8" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)"><rect width="8" height="8" fill="#fff"/>'
    '<rect width="3.5" height="8" fill="#000"/></pattern>'
    '<pattern id="dotted" width="8" height="8" patternUnits="userSpaceOnUse">'
    '<rect width="8" height="8" fill="#fff"/><circle cx="4" cy="4" r="1.6" fill="#000"/>'
    "</pattern></defs>"
)
OUTLINE: Final[dict[str, str | float]] = {"fill": "#fff", "stroke": "#000", "stroke_width": 3}


@dataclass(frozen=True, slots=True)
class View:
    """Conversion of inches to the sheet: `x` behind the front axle, `y` above the ground.

    Attributes
    ----------
    scale : float
        Units of the drawing per inch, the same in both directions.
    first_in : float
        The left edge, in inches behind the front axle.
    ground : float
        The ground's y.
    """

    scale: float
    first_in: float
    ground: float

    def x(self, inches: float) -> float:
        """Return the x of a position behind the front axle."""
        return EDGE + (inches - self.first_in) * self.scale

    def y(self, inches: float) -> float:
        """Return the y of a height above the ground."""
        return self.ground - inches * self.scale


def height_of(load: Load) -> int:
    """Return how high a vehicle is, or is drawn [in]."""
    return load.height_in or SCHEMATIC_IN["vehicle_height"]


def length_of(load: Load) -> int:
    """Return how long a vehicle is [in]."""
    return load.front_overhang_in + load.wheelbase_in + load.rear_overhang_in


def draw_wheel(
    sheet: Sheet, view: View, centre: tuple[float, float], radius: float, kind: str
) -> None:
    """Draw a wheel: its middle behind the front axle and above the ground, its radius [in]."""
    at, above = centre
    for part, fill in ((1.0, "#000"), (0.5, "#fff")):
        sheet.parts.append(
            element("circle", cx=view.x(at), cy=view.y(above), r=part * radius * view.scale,
                    fill=fill, class_=kind if part == 1 else "hub")
        )  # fmt: skip


ROOF_IN: Final = 84
"""How high a truck's cab is drawn; it is not on a card."""
_FRAME_IN: Final = (22, 34)
_CAB: Final = ((0, 14), (0, 52), (0.3, 56), (0.45, ROOF_IN), (1, ROOF_IN), (1, 14))


def draw_truck(sheet: Sheet, view: View, wheelbase: float, back: float, rear: float) -> None:
    """Draw a truck by its rear axle, the back of its cab and the end of its frame, in inches."""
    bumper = -SCHEMATIC_IN["front_end"]
    outline = [(view.x(bumper + part * (back - bumper)), view.y(high)) for part, high in _CAB]
    low, high = _FRAME_IN
    sheet.box((view.x(back), view.x(rear)), (view.y(high), view.y(low)), "frame")
    sheet.parts.append(polygon(outline, **OUTLINE, class_="cab"))
    for at in (0, wheelbase):
        draw_wheel(sheet, view, (at, SCHEMATIC_IN["wheel"]), SCHEMATIC_IN["wheel"], "axle")


@dataclass(frozen=True, slots=True)
class Stance:
    """How a vehicle stands: level on a floor, or with its near wheels raised.

    Attributes
    ----------
    load : Load
        The vehicle.
    near_axle : float
        Its axle toward the truck, in inches behind the truck's front axle.
    floor, raised : float
        Height of the floor under its far wheels, and how much higher its near wheels are [in].
    """

    load: Load
    near_axle: float
    floor: float
    raised: float = 0.0

    def put(self, behind: float, above: float) -> tuple[float, float]:
        """Return where a point behind the near axle and above the floor of a level vehicle is.

        Examples
        --------
        114 in of wheelbase, near wheels 12 in up: their middle is at the position asked for.

        >>> load = Load(5000, 5000, 600, 600, 600, 114, 36, 38, nose_first=True)
        >>> x, y = Stance(load, 274, 4, 12).put(0, 13)
        >>> round(x, 6), round(y, 2)
        (274.0, 28.93)
        """
        base, radius = self.load.wheelbase_in, SCHEMATIC_IN["vehicle_wheel"]
        tilt = asin(min(self.raised / base, 0.5))
        far = self.near_axle + base * cos(tilt) - radius * sin(tilt)
        back = behind - base
        return (
            far + back * cos(tilt) + above * sin(tilt),
            self.floor - back * sin(tilt) + above * cos(tilt),
        )


def draw_vehicle(sheet: Sheet, view: View, stance: Stance) -> None:
    """Draw a vehicle in its stance, and its wheels."""
    load = stance.load
    long, high = length_of(load), height_of(load)
    profile = (
        (0, 0.15), (0, 0.52), (0.24, 0.6), (0.38, 1), (0.84, 1), (1, 0.6), (1, 0.15)
    )  # fmt: skip
    toward = [(part if load.nose_first else 1 - part, up) for part, up in profile]
    points = [stance.put(part * long - load.near_overhang_in, up * high) for part, up in toward]
    outline = [(view.x(at), view.y(above)) for at, above in points]
    sheet.parts.append(polygon(outline, **OUTLINE, class_="vehicle"))
    radius = SCHEMATIC_IN["vehicle_wheel"]
    for behind in (0, load.wheelbase_in):
        draw_wheel(sheet, view, stance.put(behind, radius), radius, "vehicle-wheel")


def draw_line(start: Point, end: Point, kind: str, thick: float) -> str:
    """Return a line between two points of the sheet, `thick` units wide."""
    return element("line", x1=start[0], y1=start[1], x2=end[0], y2=end[1], stroke="#000",
                   stroke_width=thick, class_=kind)  # fmt: skip


def draw_arrow(start: Point, end: Point, kind: str) -> Iterator[str]:
    """Yield an arrow between two different points of the sheet."""
    yield draw_line(start, end, kind, 4)
    long = hypot(end[0] - start[0], end[1] - start[1])
    ahead = (end[0] - start[0]) / long, (end[1] - start[1]) / long
    base = end[0] - 16 * ahead[0], end[1] - 16 * ahead[1]
    aside = -8 * ahead[1], 8 * ahead[0]
    points = [end, (base[0] + aside[0], base[1] + aside[1]),
              (base[0] - aside[0], base[1] - aside[1])]  # fmt: skip
    yield polygon(points, fill="#000", class_="head")


def draw_letter(at: Point, letter: str) -> str:
    """Return the letter of a bar, centred at a point."""
    return text(*at, SMALL, letter, text_anchor="middle", font_weight="bold", class_="mark")

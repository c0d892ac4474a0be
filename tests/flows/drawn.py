"""A drawing read back from its own bytes as XML: boxes of its contents, and which may not meet.

Text boxes are reckoned from the advance widths of a real font, DejaVu Sans and its bold, the
widest of the usual sans-serifs: `data/font_widths.csv`, read from the font files (version 2.37).
"""

import csv
import xml.etree.ElementTree as ET
from dataclasses import dataclass
from functools import cache
from itertools import combinations
from pathlib import Path

WIDE = 720.0
TABLE = Path(__file__).parent / "data" / "font_widths.csv"
with TABLE.open(encoding="ascii", newline="") as table:
    ROWS = list(csv.DictReader(table))
FONT = {
    column: {int(row["code"]): int(row[f"{column}_milli_em"]) for row in ROWS}
    for column in ("regular", "bold")
}


@dataclass(frozen=True)
class Box:
    what: str
    x1: float
    y1: float
    x2: float
    y2: float

    def meets(self, other: "Box") -> bool:
        """Whether they share more than an edge; coordinates are in hundredths."""
        wide = min(self.x2, other.x2) - max(self.x1, other.x1)
        high = min(self.y2, other.y2) - max(self.y1, other.y1)
        return min(wide, high) > 0.005


@cache
def parsed(svg: str) -> ET.Element:
    return ET.fromstring(svg)  # noqa: S314


def local(node: ET.Element) -> str:
    return node.tag.rpartition("}")[2]


def of(root: ET.Element, kind: str) -> list[ET.Element]:
    return [node for node in root.iter() if node.get("class") == kind]


def number(node: ET.Element, name: str) -> float:
    return float(node.get(name, "nan"))


def texts(root: ET.Element) -> list[Box]:
    boxes = []
    for node in root.iter():
        if local(node) != "text":
            continue
        said, size = node.text or "", number(node, "font-size")
        column = "bold" if node.get("font-weight") == "bold" else "regular"
        across = size * sum(FONT[column].get(ord(one), 1000) for one in said) / 1000
        shift = {"middle": 0.5, "end": 1.0}.get(node.get("text-anchor", "start"), 0.0)
        left, base = number(node, "x") - shift * across, number(node, "y")
        boxes.append(Box(said, left, base - 0.8 * size, left + across, base + 0.2 * size))
    return boxes


def rects(root: ET.Element, *kinds: str) -> list[Box]:
    found = []
    for kind in kinds:
        for node in of(root, kind):
            x, y = number(node, "x"), number(node, "y")
            found.append(Box(kind, x, y, x + number(node, "width"), y + number(node, "height")))
    return found


def outlines(root: ET.Element, kind: str) -> list[Box]:
    found = []
    for node in of(root, kind):
        points = [tuple(map(float, one.split(","))) for one in node.get("points", "").split()]
        xs, ys = [x for x, _ in points], [y for _, y in points]
        found.append(Box(kind, min(xs), min(ys), max(xs), max(ys)))
    return found


def assert_nothing_collides(root: ET.Element) -> None:
    high = number(root, "height")
    said = texts(root)
    for box in said:
        assert box.x1 >= 0, box
        assert box.x2 <= WIDE, box
        assert box.y1 >= 0, box
        assert box.y2 <= high, box
    solid = rects(root, "room", "sure", "may-be", "over", "ruler", "deck", "frame", "headboard")
    solid += outlines(root, "cab") + outlines(root, "best")
    for one, other in combinations(said, 2):
        assert not one.meets(other), (one, other)
    for one in said:
        for other in solid:
            assert not one.meets(other), (one, other)
    for box in solid + outlines(root, "vehicle"):
        assert box.x1 >= -0.01, box
        assert box.x2 <= WIDE + 0.01, box
        assert 0 <= box.y1 <= box.y2 <= high, box

"""A sheet filled from the top: its size, its type sizes, and where the next line goes."""

from typing import Final

from flows.figures.drawings.svg import element, text, wrapped

WIDE: Final = 720.0
EDGE: Final = 24.0
INNER: Final = WIDE - 2 * EDGE
TITLE: Final = 34.0
LINE: Final = 28.0
SMALL: Final = 24.0


class Sheet:
    """The pieces drawn so far, and how far down the sheet is used."""

    def __init__(self) -> None:
        self.parts: list[str] = [
            element("rect", width="100%", height="100%", fill="#fff", class_="paper")
        ]
        self.y = EDGE

    def lines(self, said: str, size: float, *, bold: bool = False) -> None:
        """Add a sentence over the whole width, in as many lines as it takes."""
        weight = "bold" if bold else "normal"
        for line in wrapped(said, size, INNER, bold=bold):
            self.y += size * 1.25
            y = self.y - size * 0.25
            self.parts.append(text(EDGE, y, size, line, font_weight=weight))
        self.y += size * 0.35

    def box(
        self, x: tuple[float, float], y: tuple[float, float], kind: str, fill: str = "#fff"
    ) -> None:
        """Add an outlined box from left to right and from top to bottom."""
        self.parts.append(
            element("rect", x=x[0], y=y[0], width=x[1] - x[0], height=y[1] - y[0], fill=fill,
                    stroke="#000", stroke_width=2, class_=kind)
        )  # fmt: skip

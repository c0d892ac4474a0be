"""One bar for each limit: sure, possible and excess load, and the limit as a mark."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from flows.figures.drawings.page import EDGE, LINE, SMALL, WIDE, Sheet
from flows.figures.drawings.svg import element, text, width
from flows.figures.margin import LengthMargin, LimitMargin, Margin
from flows.texts import figure_texts, word

AT_LIMIT: Final = 400.0
"""Length of a bar at its limit; each bar has its own scale."""
LONGEST: Final = 456.0
"""Greatest length of a bar: a load of 1.14 limits or more."""
HIGH: Final = 26.0
_MARKS: Final = {"front axle": "front", "rear axle": "rear"}


@dataclass(frozen=True, slots=True)
class Bar:
    """A limit as it is drawn: whole pounds or inches.

    Attributes
    ----------
    key, name, unit, mark : str
        Its name in the margin and as shown; the mark is the letter under the axle, empty for other
        limits.
    least, load, limit, margin : int
        Lowest and worst load, 0 or more, the bound, and the rest of it.
    close_pct : int
        Part of the limit from which a load is close, in percent; 100 for a length.
    """

    key: str
    name: str
    unit: str
    mark: str
    least: int
    load: int
    limit: int
    margin: int
    close_pct: int

    @property
    def said(self) -> str:
        """The load and its limit in words."""
        key = "load" if self.least == self.load else "load_range"
        return str(
            figure_texts()["drawing"][key].format(
                least=self.least, load=self.load, limit=self.limit, unit=self.unit
            )
        )

    @property
    def margin_said(self) -> str:
        """The weight left or over, in words."""
        key = "margin_over" if self.margin < 0 else "margin_left"
        return str(figure_texts()["drawing"][key].format(margin=abs(self.margin)))


def bar_rows(m: Margin) -> tuple[Bar, ...]:
    """Return every limit of a margin, weights first."""
    weights = (_weight(one, m.close_at_pct) for one in m.limits)
    return (*weights, *map(_length, m.lengths))


def shown_name(name: str) -> str:
    """Return a limit's name as shown.

    Examples
    --------
    >>> shown_name("rear axle"), shown_name("front axle share kept")
    ('Rear axle', 'Weight off the front axle')
    """
    return word(name.replace(" ", "_"))


def _weight(one: LimitMargin, close_pct: int) -> Bar:
    mark = figure_texts()["drawing"]["marks"].get(_MARKS.get(one.name, ""), "")
    # The lowest load is rounded down and the worst up: a pound apart, they are the same.
    least = one.load_lb if one.load_lb - one.least_lb <= 1 else one.least_lb
    loads = max(least, 0), max(one.load_lb, 0)
    name = shown_name(one.name)
    # A front axle that is loaded more is lightened by nothing: all of that limit is left.
    margin = one.limit_lb if one.load_lb < 0 else one.margin_lb
    return Bar(one.name, name, "lb", mark, *loads, one.limit_lb, margin, close_pct)


def _length(one: LengthMargin) -> Bar:
    used = one.used_in
    name = shown_name(one.name)
    return Bar(one.name, name, "in", "", used, used, one.limit_in, one.margin_in, 100)


def bar(sheet: Sheet, one: Bar) -> None:
    """Draw a limit: its name and numbers, with the bar and the rest under them."""
    named = f"{one.mark} {one.name}".strip()
    together = width(named, SMALL, bold=True) + width(one.said, SMALL) + SMALL <= WIDE - 2 * EDGE
    sheet.lines(named, SMALL, bold=True)
    if together:
        sheet.parts.append(
            text(WIDE - EDGE, sheet.y - SMALL * 0.6, SMALL, one.said, text_anchor="end")
        )
    else:
        sheet.lines(one.said, SMALL)
    top = sheet.y
    sheet.parts.append(f'<g class="bar" data-limit="{one.limit}" data-load="{one.load}">')
    sheet.parts += _fills(one, top)
    for pct, thick, kind in ((one.close_pct, 2.0, "close"), (100, 6.0, "limit")):
        x = EDGE + AT_LIMIT * pct / 100
        sheet.parts.append(
            element("line", x1=x, x2=x, y1=top - 5, y2=top + HIGH + 5, stroke="#000",
                    stroke_width=thick, class_=kind)
        )  # fmt: skip
    sheet.parts.append("</g>")
    weight = "bold" if one.margin < 0 else "normal"
    sheet.parts.append(
        text(WIDE - EDGE, top + HIGH - 4, SMALL, one.margin_said, text_anchor="end",
             font_weight=weight)
    )  # fmt: skip
    sheet.y = top + HIGH + LINE * 0.5


def _fills(one: Bar, top: float) -> Iterator[str]:
    """Yield the bar's parts from left to right: sure, possible, over; and its frame."""
    sure, worst = _long(one, one.least), _long(one, one.load)
    within = min(worst, AT_LIMIT)
    parts = (
        ("sure", 0.0, min(sure, AT_LIMIT), "url(#striped)"),
        ("may-be", min(sure, AT_LIMIT), within, "url(#dotted)"),
        ("over", AT_LIMIT, worst, "#000"),
    )
    for kind, start, stop, fill in parts:
        if stop > start:
            yield element("rect", x=EDGE + start, y=top, width=stop - start, height=HIGH,
                          fill=fill, class_=kind)  # fmt: skip
    yield element("rect", x=EDGE, y=top, width=AT_LIMIT, height=HIGH, fill="none", stroke="#000",
                  stroke_width=2, class_="room")  # fmt: skip


def _long(one: Bar, load: int) -> float:
    """Return the length of the bar for a load: from nothing to a little over the limit."""
    return min(max(load, 0) * AT_LIMIT / max(one.limit, 1), LONGEST)

"""A figure of pull, rigging or tie-downs drawn: its answer, a picture, a bar for each limit.

Like the margin's drawing: black on white with patterns, no text under 12 points on a screen 360
points wide. Angles are true, lengths only where the drawing says so.
"""

from collections.abc import Callable, Iterable, Mapping
from types import MappingProxyType
from typing import Final

from flows.figures.drawings.bars import Bar, bar
from flows.figures.drawings.page import EDGE, LINE, SMALL, TITLE, WIDE, Sheet
from flows.figures.drawings.shapes import HATCHES
from flows.figures.drawings.svg import document
from flows.figures.result import Check, Result
from flows.figures.result_pages import governs, noted, shown_answer
from flows.texts import rigging_texts

_NO_MARKS: Final[Mapping[str, str]] = MappingProxyType({})


def draw_result(
    found: Result,
    title: str,
    picture: Callable[[Sheet], None] | None = None,
    *,
    marks: Mapping[str, str] = _NO_MARKS,
    more: Iterable[Bar] = (),
) -> str:
    """Return a figure as a drawing, an SVG document; the same figure gives the same bytes.

    Parameters
    ----------
    found : Result
        The figure.
    title : str
        The heading.
    picture : callable or None
        Draws its geometry on a sheet; None if the figure has no geometry.
    marks : mapping
        Letters of bars that are also in the picture, by the name of the check.
    more : iterable of Bar
        Bars after those of `found.checks`.

    Examples
    --------
    >>> from flows.figures.winch import ARMY, Winch, winch
    >>> found = winch(Winch((8000, 7999), 202, 3200, 24, 200), 13_000, 40, 30, ARMY)
    >>> draw_result(found, "Winch").splitlines()[1]
    '<title id="t">Winch</title>'
    """
    said = rigging_texts()["drawing"]
    rows = [*(bar_of(one, marks.get(one.name, "")) for one in found.checks), *more]
    told = [shown_answer(found), *governs(found), *noted(found)]
    notes = [said["key"], *([said["key_thin"]] if more else []), said["caution"]]
    sheet = Sheet()
    sheet.lines(title, TITLE, bold=True)
    for line in told:
        sheet.lines(line, LINE)
    if picture is not None:
        picture(sheet)
    for row in rows:
        bar(sheet, row)
    for note in notes:
        sheet.lines(note, SMALL)
    heard = " ".join([*told, *(f"{row.name}: {row.said}." for row in rows), *notes])
    return document((WIDE, sheet.y + EDGE), title, heard, (HATCHES, *sheet.parts))


def bar_of(one: Check, mark: str = "") -> Bar:
    """Return a check as a bar.

    Examples
    --------
    >>> bar_of(Check("snatch block", 8661, 8000, "lb", "tag")).margin_said
    '661 over'
    """
    name = one.name[0].upper() + one.name[1:]
    used = max(one.used, 0)
    return Bar(one.name, name, one.unit, mark, used, used, one.bound, one.left, close_pct=100)

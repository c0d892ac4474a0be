"""Pieces of a drawing as SVG text: the same input gives the same bytes; no library is needed.

Lengths are in the drawing's units, x to the right and y down.
"""

from collections.abc import Iterable
from typing import Final, Literal

from flows.texts.visible import visible

Anchor = Literal["start", "middle", "end"]

FONT: Final = "Helvetica, Arial, DejaVu Sans, sans-serif"
# In em of the widest usual font, bold: at most this wide; regular type is at most 0.92 of it.
_NARROW: Final = frozenset("ijlI.,:;'|!()[]- ")
_SLIM: Final = frozenset("frt")
_WIDE: Final = frozenset("MWmw@%&#+<=>^~")
_REGULAR: Final = 0.92
_SAFE: Final = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;"})


def escaped(text: str) -> str:
    """Return text that is safe in an SVG: marks escaped, hidden characters named, others spaces.

    Examples
    --------
    >>> escaped('a < b & "c"')
    'a &lt; b &amp; &quot;c&quot;'
    """
    return "".join(one if one.isprintable() else " " for one in visible(text)).translate(_SAFE)


def width(said: str, size: float, *, bold: bool = False) -> float:
    """Return how wide a line of text is at most, in the usual sans-serif fonts.

    Parameters
    ----------
    said : str
        One line.
    size : float
        Font size.
    bold : bool
        Whether it is set in bold type.

    Examples
    --------
    >>> round(width("lb", 10, bold=True), 1), round(width("lb", 10), 1)
    (11.8, 10.9)
    """
    return size * (1.0 if bold else _REGULAR) * sum(map(_em, visible(said)))


def _em(one: str) -> float:
    if one in _WIDE or ord(one) > 0x24F:
        return 1.11
    if one in _NARROW:
        return 0.46
    if one in _SLIM:
        return 0.5
    return 0.86 if one.isupper() else 0.72


def wrapped(said: str, size: float, most: float, *, bold: bool = False) -> list[str]:
    """Return text in lines of at most a width; a word wider than that is broken.

    Examples
    --------
    >>> wrapped("front axle front axle", 10, 70)
    ['front axle', 'front axle']
    >>> wrapped("aaaaaaaaaa", 10, 34)
    ['aaaaa', 'aaaaa']
    """
    lines: list[str] = []
    for word in visible(said).split():
        joined = f"{lines[-1]} {word}" if lines else word
        if width(joined, size, bold=bold) <= most:
            lines[-1:] = [joined]
        else:
            lines += _broken(word, size, most, bold=bold)
    return lines


def _broken(word: str, size: float, most: float, *, bold: bool) -> list[str]:
    parts = [""]
    for one in word:
        if parts[-1] and width(parts[-1] + one, size, bold=bold) > most:
            parts.append("")
        parts[-1] += one
    return parts


def number(value: float) -> str:
    """Return a coordinate: hundredths at most, no trailing zeros.

    Examples
    --------
    >>> number(12.0), number(1 / 3), number(-0.001)
    ('12', '0.33', '0')
    """
    return f"{round(value, 2) + 0.0:.2f}".rstrip("0").rstrip(".")


def _attributes(given: dict[str, str | float]) -> str:
    pairs = (
        (name.rstrip("_").replace("_", "-"), one if isinstance(one, str) else number(one))
        for name, one in given.items()
    )
    return "".join(f' {name}="{escaped(one)}"' for name, one in pairs)


def element(name: str, **attributes: str | float) -> str:
    """Return an empty element; "_" in a name becomes "-", and is dropped at its end.

    Examples
    --------
    >>> element("rect", x=1.5, stroke_width=2, class_="deck")
    '<rect x="1.5" stroke-width="2" class="deck"/>'
    """
    return f"<{name}{_attributes(attributes)}/>"


def text(x: float, y: float, size: float, said: str, **attributes: str | float) -> str:
    """Return one line of text on its base line.

    Examples
    --------
    >>> text(0, 20, 12, "4,600 lb", text_anchor="end")
    '<text x="0" y="20" font-size="12" text-anchor="end">4,600 lb</text>'
    """
    given: dict[str, str | float] = {"x": x, "y": y, "font_size": size, **attributes}
    return f"<text{_attributes(given)}>{escaped(said)}</text>"


def polygon(points: Iterable[tuple[float, float]], **attributes: str | float) -> str:
    """Return a closed outline.

    Examples
    --------
    >>> polygon([(0, 0), (1, 0), (0, 1)], fill="none")
    '<polygon points="0,0 1,0 0,1" fill="none"/>'
    """
    joined = " ".join(f"{number(x)},{number(y)}" for x, y in points)
    return element("polygon", points=joined, **attributes)


def document(size: tuple[float, float], title: str, description: str, parts: Iterable[str]) -> str:
    """Return a whole drawing, with a title and a description for screen readers.

    Parameters
    ----------
    size : tuple of float
        Width and height.
    title, description : str
        Its title, and a description of its contents.
    parts : iterable of str
        Its pieces, from bottom to top.
    """
    wide, high = map(number, size)
    return "\n".join(
        (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide} {high}" width="{wide}"'
            f' height="{high}" role="img" aria-labelledby="t d" font-family="{FONT}">',
            f'<title id="t">{escaped(title)}</title>',
            f'<desc id="d">{escaped(description)}</desc>',
            *parts,
            "</svg>\n",
        )
    )

"""Turns a drawing into a PNG, for a channel that cannot show SVG."""

import tempfile
from pathlib import Path

WIDE_PT = 480
"""A picture's width [point]; at `DOTS` that is 960 pixels, enough for a phone."""
DOTS = 144.0
_PAGE = '#set page(width: auto, height: auto, margin: 12pt)\n#image("drawing.svg", width: {}pt)\n'


def png_of(svg: bytes) -> bytes:
    """Draw an SVG as a PNG, on white with a narrow margin.

    Parameters
    ----------
    svg
        The drawing, such as the margin's in the record.

    Returns
    -------
    bytes
        The picture, some 1,000 pixels wide.

    Raises
    ------
    RuntimeError
        If it is not an SVG.
    """
    import typst  # noqa: PLC0415  only where a picture is drawn

    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "drawing.svg").write_bytes(svg)
        (folder / "main.typ").write_text(_PAGE.format(WIDE_PT), "utf-8")
        made = typst.compile(
            str(folder / "main.typ"),
            root=str(folder),
            format="png",
            ppi=DOTS,
            font_paths=typst.Fonts(include_system_fonts=True, include_embedded_fonts=True),
        )
    if not isinstance(made, bytes):
        raise TypeError("the picture came in parts")
    return made

"""Pages set from their data: the same data gives the same bytes."""

import json
from collections.abc import Mapping
from datetime import UTC, datetime
from importlib.resources import files
from pathlib import Path
from typing import Any

from bot.packet.drawn import Entry
from flows.texts.visible import visible_lines

SHARED = "first_page.typ"


def typeset(folder: Path, layout: str, page: Mapping[str, Any], last: Entry) -> bytes:
    """Return a PDF.

    Parameters
    ----------
    folder
        A folder with the pictures that the page names.
    layout
        The name of its layout, a file of this room.
    page
        Its data.
    last
        The last entry it was made from, whose time the file gets.
    """
    import typst  # noqa: PLC0415  only where a page is set

    shown = json.dumps(_with_nothing_hidden(page), ensure_ascii=False)
    (folder / "data.json").write_text(shown, "utf-8")
    for name in (SHARED, layout):
        (folder / name).write_bytes(files("bot.packet").joinpath(name).read_bytes())
    written = datetime.fromisoformat(last["times"]["written"]).astimezone(UTC)
    made = typst.compile(
        str(folder / layout),
        root=str(folder),
        font_paths=typst.Fonts(include_system_fonts=True, include_embedded_fonts=True),
        timestamp=written.replace(microsecond=0),
    )
    if not isinstance(made, bytes):
        raise TypeError("the pages came in parts")
    return made


def _with_nothing_hidden(data: Any) -> Any:  # noqa: ANN401  a page nests freely
    """Return a page's data with each text as a reader may see it."""
    if isinstance(data, str):
        return visible_lines(data)
    if isinstance(data, Mapping):
        return {name: _with_nothing_hidden(one) for name, one in data.items()}
    return [_with_nothing_hidden(one) for one in data] if isinstance(data, list) else data

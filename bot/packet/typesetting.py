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

    shown = _with_nothing_hidden(page)
    for name in (SHARED, layout):
        (folder / name).write_bytes(files("bot.packet").joinpath(name).read_bytes())
    try:
        return _compiled(folder, layout, shown, last)
    except typst.TypstError:
        bad = _bad_pictures(folder)
        if not bad:
            raise
        return _compiled(folder, layout, _without(shown, bad), last)


def _compiled(folder: Path, layout: str, page: object, last: Entry) -> bytes:
    import typst  # noqa: PLC0415  only where a page is set

    (folder / "data.json").write_text(json.dumps(page, ensure_ascii=False), "utf-8")
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


def _bad_pictures(folder: Path) -> set[str]:
    """Return the names of the pictures that cannot be shown."""
    import typst  # noqa: PLC0415  as above

    found = set()
    for path in sorted(folder.iterdir()):
        if path.suffix in {".svg", ".jpg"}:
            try:
                typst.compile(f'#image("{path.name}")'.encode(), root=str(folder))
            except typst.TypstError:
                found.add(path.name)
    return found


def _without(data: Any, names: set[str]) -> Any:  # noqa: ANN401  as above
    """Return a page's data without the names of some pictures, as if they were not here."""
    if isinstance(data, Mapping):
        return {name: _without(one, names) for name, one in data.items()}
    if isinstance(data, list):
        return [_without(one, names) for one in data]
    return "" if isinstance(data, str) and data in names else data

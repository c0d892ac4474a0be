"""The figures of a summary: the result, its inputs, the governing limit and the drawing."""

import shutil
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bot.desk.trail import spare_label
from flows.texts import packet_texts

if TYPE_CHECKING:
    from bot.packet.drawn import Drawn

UNITS: Mapping[str, str] = {"lb": "limits", "in": "lengths"}
"""The lists of limits in a figure's result, by their unit."""

LIMIT_FIELDS: Mapping[str, tuple[str, str, str]] = {
    "lb": ("load_lb", "limit_lb", "margin_lb"),
    "in": ("used_in", "limit_in", "margin_in"),
}
"""The fields of a limit: its load or length, what is allowed, what is left."""


def figures_of(drawn: "Drawn", folder: Path) -> Iterator[dict[str, Any]]:
    """Yield the data of each figure's page, and copy its drawing into the folder."""
    texts = packet_texts()["summary"]
    drawings = {file.seq: file.path for file in drawn.case.files if file.kind == "drawing"}
    for entry in drawn.of_kind("concluded"):
        result, seq = entry["body"]["result"], entry["seq"]
        yield {
            "title": texts["figure_title"].format(seq=seq, time=drawn.time(entry)),
            "verdict": result["verdict"],
            "says": texts["figure_says"].format(
                verdict=result["verdict"],
                governing=result["governing"],
                spare=spare_label(result),
            ),
            "columns": texts["limits_columns"],
            "limits": [
                _limit(row, unit) for unit, key in UNITS.items() for row in result.get(key, [])
            ],
            "drawing": _copied(drawings.get(seq), folder, f"drawing-{seq}.svg"),
            "inputs_title": texts["inputs_title"],
            "inputs": [
                [key.replace("_", " "), _number(value)] for key, value in result["inputs"].items()
            ],
            "source": result["source"],
        }


def _copied(drawing: Path | None, folder: Path, name: str) -> str:
    """Copy a drawing into a folder and return its name there; empty if it is missing."""
    if drawing is None:
        return ""
    shutil.copyfile(drawing, folder / name)
    return name


def _number(value: object) -> str:
    return f"{value:,}" if isinstance(value, int) else str(value)


def _limits(result: Mapping[str, Any]) -> Iterator[list[str]]:
    for unit, key in UNITS.items():
        for limit in result.get(key, ()):
            yield _limit(limit, unit)


def _limit(limit: Mapping[str, Any], unit: str) -> list[str]:
    """Return the row of a limit: what is on it, what is allowed, what is left, with the unit."""
    names = LIMIT_FIELDS[unit]
    numbers = [f"{limit[name]:,} {unit}" for name in names]
    return [limit["name"], *numbers, limit["source"]]

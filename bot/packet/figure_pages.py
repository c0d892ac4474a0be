"""The figures of a summary: the result, its inputs, the governing limit and the drawing."""

import shutil
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from flows.texts import packet_texts

if TYPE_CHECKING:
    from bot.packet.summary import Drawn


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
                spare=f"{result['governing_margin_lb']:,}",
            ),
            "columns": texts["limits_columns"],
            "limits": [_limit(limit) for limit in result.get("limits", [])],
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


def _limit(limit: Mapping[str, Any]) -> list[str]:
    numbers = [f"{limit[name]:,}" for name in ("load_lb", "limit_lb", "margin_lb")]
    return [limit["name"], *numbers, limit["source"]]

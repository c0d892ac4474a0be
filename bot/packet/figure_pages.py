"""The figures of a summary: what was computed, from what, which limit governs, and its drawing."""

import shutil
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from flows.texts import packet_texts

if TYPE_CHECKING:
    from bot.packet.summary import Drawn


def figures_of(drawn: "Drawn", folder: Path) -> Iterator[dict[str, Any]]:
    """Yield each figure as its page has it; its drawing is put into the folder."""
    texts = packet_texts()["summary"]
    drawings = {one.seq: one for one in drawn.case.files if one.kind == "drawing"}
    for entry in drawn.of_kind("concluded"):
        result, seq = entry["body"]["result"], entry["seq"]
        drawing = drawings.get(seq)
        name = ""
        if drawing is not None and drawing.path is not None:
            name = f"drawing-{seq}.svg"
            shutil.copyfile(drawing.path, folder / name)
        yield {
            "title": texts["figure_title"].format(seq=seq, time=drawn.time(entry)),
            "verdict": result["verdict"],
            "says": texts["figure_says"].format(
                verdict=result["verdict"],
                governing=result["governing"],
                spare=f"{result['governing_margin_lb']:,}",
            ),
            "columns": texts["limits_columns"],
            "limits": [_limit(one) for one in result.get("limits", [])],
            "drawing": name,
            "inputs_title": texts["inputs_title"],
            "inputs": [
                [key.replace("_", " "), f"{n:,}" if isinstance(n, int) else str(n)]
                for key, n in result["inputs"].items()
            ],
            "source": result["source"],
        }


def _number(value: object) -> str:
    return f"{value:,}" if isinstance(value, int) else str(value)


def _limit(one: Mapping[str, Any]) -> list[str]:
    numbers = [f"{one[name]:,}" for name in ("load_lb", "limit_lb", "margin_lb")]
    return [one["name"], *numbers, one["source"]]

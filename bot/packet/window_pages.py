"""The neutral windows of a summary: how long was promised, how long it took, when it warned."""

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

from flows.texts import packet_texts

if TYPE_CHECKING:
    from bot.packet.summary import Drawn

MINUTE_NS = 60_000_000_000
NEAR_MIN = 1.5
"""A mark nearer than this to the one before has no name of its own on the bar [minute]."""


def windows_of(drawn: "Drawn") -> Iterator[dict[str, Any]]:
    """Yield each window as its bar shows it, in minutes from its earliest start."""
    rows: list[dict[str, Any]] = []
    for entry in drawn.of_kind("window"):
        if entry["body"]["event"] == "opened":
            if rows:
                yield _bar(drawn, rows)
            rows = []
        rows.append(entry)
    if rows:
        yield _bar(drawn, rows)


def _bar(drawn: "Drawn", rows: list[dict[str, Any]]) -> dict[str, Any]:
    texts, first = packet_texts()["summary"], rows[0]
    hold = first["body"]["hold_min"]
    earliest = min(int(one["body"]["earliest_ns"]) for one in rows if "earliest_ns" in one["body"])
    boot = first["times"]["boot"]
    marks: list[dict[str, Any]] = []
    listed: list[str] = []
    over, used = False, 0.0
    for entry in rows[1:]:
        event = entry["body"]["event"]
        if event not in {"warned", "closed", "ended"} or entry["times"]["boot"] != boot:
            continue
        minutes = _since(entry, earliest)
        number = {"n": entry["body"].get("stage", ""), "minutes": f"{minutes:.1f}"}
        name = texts[f"window_{event}"].format_map(number)
        is_near = bool(marks) and minutes - marks[-1]["at"] < NEAR_MIN
        marks.append({"at": minutes, "name": "" if is_near else name})
        listed.append(texts[f"window_{event}_long"].format_map(number))
        used = max(used, minutes if event != "warned" else used)
        over = over or event == "ended"
    last = next((e for e in reversed(drawn.case.entries) if e["times"]["boot"] == boot), first)
    used = used or _since(last, earliest)
    held = texts["window_open"] if hold is None else texts["window_held"].format(minutes=hold)
    short = texts["window_used_open" if hold is None else "window_used"]
    span = max(used, float(hold or 0), *(mark["at"] for mark in marks))
    return {
        "title": texts["window_title"].format(serial=first["body"]["serial"], held=held),
        "says": texts["window_says"],
        "short": short.format(used=f"{used:.1f}", held=hold),
        "span": span,
        "held": float(hold or 0),
        "used": used,
        "over": over,
        "marks": marks,
        "list": listed,
        "from": texts["window_from"].format(time=drawn.time(first, "%H:%M:%S")),
        "to": texts["window_to"].format(minutes=f"{span:.0f}"),
    }


def _since(entry: Mapping[str, Any], earliest: int) -> float:
    """Return the minutes from a window's earliest start to an entry, by the boot clock."""
    return max(0.0, (int(entry["times"]["mono_ns"]) - earliest) / MINUTE_NS)

"""The neutral windows of a summary: time promised, time used, warnings given."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Any, NamedTuple

from flows.texts import packet_texts

if TYPE_CHECKING:
    from bot.packet.case import Case
    from bot.packet.drawn import Drawn

MINUTE_NS = 60_000_000_000
NEAR_MIN = 1.5
"""A mark closer than this to the mark before it gets no name on the bar [minute]."""

MARKED = frozenset({"warned", "closed", "ended"})
"""The events of a window that are marked on its bar."""


class _Event(NamedTuple):
    """An event of a window: its name, minutes from the earliest start, stage of a warning."""

    name: str
    minutes: float
    stage: object


def windows_of(drawn: "Drawn") -> Iterator[dict[str, Any]]:
    """Yield the data of each window's bar, in minutes from its earliest start."""
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
    promised_min = first["body"]["hold_min"]
    earliest = min(int(row["body"]["earliest_ns"]) for row in rows if "earliest_ns" in row["body"])
    events = list(_events(rows, earliest))
    used = _used(drawn.case, first, events, earliest)
    title, short = _lengths(promised_min, used)
    promised = float(promised_min or 0)
    span = max(used, promised, *(event.minutes for event in events))
    return {
        "title": texts["window_title"].format(serial=first["body"]["serial"], held=title),
        "says": texts["window_says"],
        "short": short,
        "span": span,
        "held": promised,
        "used": used,
        "over": any(event.name == "ended" for event in events),
        "marks": _marks(events),
        "list": [_words(event, "_long") for event in events],
        "from": texts["window_from"].format(time=drawn.time(first, "%H:%M:%S")),
        "to": texts["window_to"].format(minutes=f"{span:.0f}"),
    }


def _events(rows: Sequence[Mapping[str, Any]], earliest: int) -> Iterator[_Event]:
    """Yield the events to mark; after a restart the boot clock cannot be compared."""
    boot = rows[0]["times"]["boot"]
    for entry in rows[1:]:
        body = entry["body"]
        if body["event"] in MARKED and entry["times"]["boot"] == boot:
            yield _Event(body["event"], _since(entry, earliest), body.get("stage", ""))


def _used(
    case: "Case", first: Mapping[str, Any], events: Sequence[_Event], earliest: int
) -> float:
    """Return how long the window took: until its end, or until the last entry of its boot."""
    ends = [event.minutes for event in events if event.name != "warned"]
    boot = first["times"]["boot"]
    last = next((e for e in reversed(case.entries) if e["times"]["boot"] == boot), first)
    return max(ends, default=0.0) or _since(last, earliest)


def _lengths(promised_min: int | None, used: float) -> tuple[str, str]:
    """Return the time promised, and the time used, in words."""
    texts = packet_texts()["summary"]
    minutes = f"{used:.1f}"
    if promised_min is None:
        return texts["window_open"], texts["window_used_open"].format(used=minutes)
    short = texts["window_used"].format(used=minutes, held=promised_min)
    return texts["window_held"].format(minutes=promised_min), short


def _marks(events: Sequence[_Event]) -> list[dict[str, Any]]:
    """Return the marks on the bar, without a name where there is no room for it."""
    is_near = [False, *(b.minutes - a.minutes < NEAR_MIN for a, b in pairwise(events))]
    return [
        {"at": event.minutes, "name": "" if near else _words(event)}
        for event, near in zip(events, is_near, strict=False)
    ]


def _words(event: _Event, form: str = "") -> str:
    text: str = packet_texts()["summary"][f"window_{event.name}{form}"]
    return text.format_map({"n": event.stage, "minutes": f"{event.minutes:.1f}"})


def _since(entry: Mapping[str, Any], earliest: int) -> float:
    """Return the minutes from a window's earliest start to an entry, by the boot clock."""
    return max(0.0, (int(entry["times"]["mono_ns"]) - earliest) / MINUTE_NS)

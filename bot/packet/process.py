"""How a record was made: the software's version, the cards it used, and its clocks."""

import json
from collections.abc import Iterator, Mapping
from datetime import datetime
from importlib.metadata import version
from itertools import pairwise
from typing import Any

from bot.packet.bag import Part
from bot.packet.spreadsheet import table
from flows.cards import Card
from flows.routine.book import Book
from flows.texts import packet_texts

STEP_MS = 1000
"""If wall and boot clock differ by more than this between two entries, somebody set the wall
clock [millisecond]."""

Entry = Mapping[str, Any]


def software() -> str:
    """Return this software's version."""
    return version("rollproof")


def process_parts(entries: list[dict[str, Any]], book: Book) -> Iterator[Part]:
    """Yield the files about how the record was made."""
    opened = opening(entries)
    checklist = book.routine.text_of(opened.get("routine", {}).get("sha256", ""))
    cards = opened.get("cards", {})
    at_hand = book.library.digests
    said = {
        "software": software(),
        "routine": opened.get("routine", {}),
        "routine_text_at_hand": checklist is not None,
        "cards": {
            name: {"sha256": digest, "text_at_hand": at_hand.get(name) == digest}
            for name, digest in sorted(cards.items())
        },
        "entry_form": sorted({e["v"] for e in entries}),
    }
    yield Part("process/versions.json", _json(said))
    yield Part("process/clock.csv", _clock(entries))
    if checklist is not None:
        yield Part("process/checklist.txt", checklist.encode())
    for name, card in cards_of(book):
        if cards.get(name) == at_hand.get(name):
            plain = name.removesuffix(".toml").replace("/", "-").replace("_", "-")
            yield Part(f"process/card-{plain}.json", card_text(card))


def opening(entries: list[dict[str, Any]]) -> dict[str, Any]:
    """Return the body of a job's first entry: the digests of its routine and cards."""
    return next((entry["body"] for entry in entries if entry["kind"] == "opened"), {})


def cards_of(book: Book) -> Iterator[tuple[str, Card]]:
    """Yield every card with the name of its file."""
    library = book.library
    yield "company.toml", library.company
    for shelf, cards in (
        ("vehicles", library.vehicles),
        ("trucks", library.trucks),
        ("gear", library.gear),
    ):
        for name, card in cards.items():
            yield f"{shelf}/{name}.toml", card


def card_text(card: Card) -> bytes:
    """Return a card as the text that its digest is made from."""
    return json.dumps(
        card.model_dump(mode="json"), sort_keys=True, separators=(",", ":"), ensure_ascii=False
    ).encode()


def clock_steps(entries: list[dict[str, Any]]) -> Iterator[tuple[int, int | None]]:
    """Yield each entry before which the wall clock jumped, and by how much [millisecond].

    The jump is None if the machine restarted. Between restarts both clocks run at the same speed,
    so a difference shows that the wall clock was set.
    """
    for before, entry in pairwise(entries):
        earlier, later = before["times"], entry["times"]
        if earlier["boot"] != later["boot"]:
            yield entry["seq"], None
            continue
        wall = _ms(later["written"]) - _ms(earlier["written"])
        step = wall - (int(later["mono_ns"]) - int(earlier["mono_ns"])) // 1_000_000
        if abs(step) > STEP_MS:
            yield entry["seq"], step


def _clock(entries: list[dict[str, Any]]) -> bytes:
    texts = packet_texts()["view"]
    steps = dict(clock_steps(entries))
    rows = []
    for entry in entries:
        times, seq = entry["times"], entry["seq"]
        note = texts["rebooted"] if seq in steps and steps[seq] is None else ""
        clock = (times["written"], int(times["mono_ns"]), times["boot"])
        rows.append((seq, *clock, steps.get(seq) or 0, note))
    return table(texts["clock"], rows)


def _ms(written: str) -> int:
    return round(datetime.fromisoformat(written).timestamp() * 1000)


def _json(value: object) -> bytes:
    return (json.dumps(value, indent=2, sort_keys=True) + "\n").encode()

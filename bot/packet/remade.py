"""Makes again from a packet's entries what can be, and compares; a part of `verify.py`.

Whoever has the company's key can sign other files than the record's. What they cannot do is make
them fit entries that a root, a code in somebody's chat or a time stamp binds.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Callable, Container, Iterable, Iterator, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Any

try:
    from reading import BadFileError, canonical, digest_of, lines_of, sha256, text_of
    from visible import visible
except ImportError:  # inside the program that makes packets
    from bot.packet.reading import BadFileError, canonical, digest_of, lines_of, sha256, text_of
    from flows.texts.visible import visible

if TYPE_CHECKING:
    from bot.packet.reading import Bag

    Entry = dict[str, Any]
    Rows = list[list[str]]

FOLDERS = {"photo": "photos", "voice": "voice", "file": "documents"}
STEP_MS = 1000
COPIES = "data/proof/copies.jsonl"

_FORMULA = re.compile('(^|[;|])(?=[ "]*[=+\\-@\uff1d\uff0b\uff0d\uff20])')
"""Where a formula could begin: at the start, and where a program that splits cells at another sign
than the comma would begin a cell. Full-width forms too, because some programs convert them."""


def cell(value: object) -> str:
    """Return the text of a cell: numbers as they are, text so that no part of it is a formula.

    Examples
    --------
    >>> cell(-2054), cell("=1+1"), cell("-5 degrees"), cell("level")
    ('-2054', "'=1+1", "'-5 degrees", 'level')
    >>> cell("on the left;=1+1"), cell("on the left; by the gate")
    ("on the left;'=1+1", 'on the left; by the gate')
    """
    if isinstance(value, int) and not isinstance(value, bool):
        return str(value)
    shown: str = visible("" if value is None else str(value))
    return _FORMULA.sub("\\1'", shown)


def rows_of(bag: Bag, name: str) -> Rows:
    """Return the rows of a table behind its head."""
    csv.field_size_limit(1 << 26)
    try:
        _, *rows = csv.reader(io.StringIO(text_of(bag, name), newline=""))
    except csv.Error as error:
        raise BadFileError(f"{name} is not a table ({error})") from error
    return rows


def compared(name: str, found: Sequence[Any], wanted: Sequence[Any]) -> Iterator[str]:
    """Yield the first row in which a table differs from the entries."""
    for number, (one, other) in enumerate(zip(found, wanted)):  # noqa: B905  lengths are below
        if len(one) != len(other) or not all(map(is_shown, one, other)):
            yield f"row {number + 1} of {name} does not show what the entries say"
            return
    if len(found) != len(wanted):
        yield f"{name} has {len(found)} rows, and the entries make {len(wanted)}"


def is_shown(found: str, value: str | None) -> bool:
    """Say whether a cell shows a value, or cannot be compared: None stands for that.

    Packets from before had cells in which nothing but the start was changed, or nothing at all.
    """
    return value is None or found in {cell(value), value, f"'{value}"}


def entries_in(lines: Sequence[str]) -> Iterator[Entry]:
    """Yield the entries in some lines."""
    return map(json.loads, lines)


# Files as received, and drawings.


def check_received(bag: Bag, lines: Sequence[str]) -> Iterator[str]:
    """Each photo, voice note, document and drawing is the one that its entry names."""
    named = named_files(entries_in(lines))
    for name, digest in named.items():
        found = [one for one in bag.names if one.rpartition(".")[0] == f"data/{name}"]
        for one in found:
            if digest_of(bag, one) != digest:
                yield f"{one} is not the file that the entries name there"
    yield from (f"{one} is named by no entry" for one in unnamed(bag, named))


def unnamed(bag: Bag, named: Container[str]) -> Iterator[str]:
    """Yield the files in the folders for what was received or drawn that no entry names."""
    for one in bag.names:
        folder = one.split("/")[1] if one.count("/") > 1 else ""
        stem = one.rpartition(".")[0][len("data/") :]
        if folder in {*FOLDERS.values(), "drawings"} and stem not in named:
            yield one


def not_packed(bag: Bag, lines: Sequence[str]) -> Iterator[str]:
    """Yield the files that an entry names and that are not in the packet."""
    there = {name.rpartition(".")[0] for name in bag.names}
    for name in named_files(entries_in(lines)):
        if f"data/{name}" not in there:
            yield f"{name} is named by an entry, and not in this packet: see the read-me"


def named_files(entries: Iterable[Entry]) -> dict[str, str]:
    """Return the digest of each file that the entries name, by its name without its ending."""
    counts, found = dict.fromkeys(FOLDERS, 0), {}
    for entry in entries:
        body = entry["body"]
        if entry["kind"] == "media" and body.get("kind") in FOLDERS and "sha256" in body:
            kind = body["kind"]
            counts[kind] += 1
            found[f"{FOLDERS[kind]}/{kind}-{counts[kind]:03d}"] = body["sha256"]
        if entry["kind"] == "concluded" and "sha256" in (body.get("drawing") or {}):
            found[f"drawings/margin-{entry['seq']:05d}"] = body["drawing"]["sha256"]
    return found


# Copies of photos, for a customer.


def check_copies(bag: Bag, lines: Sequence[str]) -> Iterator[str]:
    """Each photo here is a copy that the company names, of a photo that an entry shows."""
    if COPIES not in bag.names:
        # It came with the signed list of files, so that a copy with the one has the other.
        yield from [f"{COPIES} is missing"] if "data/proof/files.json" in bag.names else []
        return
    shown, pairs = photos_shown(lines), copies_named(bag)
    copied = {copy for original, copy in pairs if original in shown}
    for name in photos_here(bag):
        if digest_of(bag, name) not in copied:
            yield f"{name} is not a copy that the record names of a photo shown here"


def not_copied(bag: Bag, lines: Sequence[str]) -> Iterator[str]:
    """Yield the entries whose photo has no copy here."""
    if COPIES not in bag.names:
        yield "no list of the copies of photos"
    here = {digest_of(bag, name) for name in photos_here(bag)}
    there = {original for original, copy in copies_named(bag) if copy in here}
    for original, seq in photos_shown(lines).items():
        if original not in there:
            yield f"the photo of entry {seq} has no copy here: see the read-me"


def photos_here(bag: Bag) -> list[str]:
    """Return the names of the photos in a customer's copy."""
    return [name for name in bag.names if name.startswith("data/photos/")]


def photos_shown(lines: Sequence[str]) -> dict[str, int]:
    """Return the entry of each photo, by the digest of its file as received."""
    return {entry["body"]["sha256"]: entry["seq"] for entry in entries_in(lines)
            if entry["kind"] == "media" and entry["body"]["kind"] == "photo"
            and "sha256" in entry["body"]}  # fmt: skip


def copies_named(bag: Bag) -> list[tuple[str, str]]:
    """Return the pairs that the company's entries name: a photo as received, and its copy."""
    return [(pair["original"], pair["copy"])
            for entry in entries_in(lines_of(bag, COPIES))
            for pair in entry["body"]["photos"]]  # fmt: skip


# Tables.


def check_tables(bag: Bag, lines: Sequence[str], names: dict[str, str] | None) -> Iterator[str]:
    """The view for spreadsheets, the clock's table and the people are those of the entries."""
    for path, compare in TABLES.items():
        if path in bag.names:
            yield from compare(rows_of(bag, path), lines, names)


def check_view_rows(
    rows: Rows, lines: Sequence[str], names: dict[str, str] | None
) -> Iterator[str]:
    """The view for spreadsheets shows each entry; its words (column 9) are not compared."""
    shown = [row[:8] + row[9:] for row in rows]
    yield from compared("entries.csv", shown, [view_row(line, names) for line in lines])


def check_clock_rows(rows: Rows, lines: Sequence[str], _: dict[str, str] | None) -> Iterator[str]:
    """The clock's table shows the times of each entry."""
    clock = clock_rows([json.loads(line) for line in lines])
    yield from compared("clock.csv", [row[:5] for row in rows], list(clock))


def check_people_rows(
    rows: Rows, lines: Sequence[str], names: dict[str, str] | None
) -> Iterator[str]:
    """The table of people shows everybody who was heard, in each of their roles."""
    entries = [json.loads(line) for line in lines]
    people = {(e["by"], e["body"].get("role", "")) for e in entries if e["kind"] == "heard"}
    wanted = [[who, role, name_in(names, who)] for who, role in sorted(people)]
    yield from compared("people.csv", rows, wanted)


TABLES: dict[str, Callable[[Rows, Sequence[str], dict[str, str] | None], Iterator[str]]] = {
    "data/entries.csv": check_view_rows,
    "data/process/clock.csv": check_clock_rows,
    "data/process/people.csv": check_people_rows,
}


def name_in(names: dict[str, str] | None, person: str) -> str | None:
    """Return a person's name; None if names are not known here."""
    return None if names is None else names.get(person, "")


def view_row(line: str, names: dict[str, str] | None) -> list[Any]:
    """Return an entry's row for spreadsheets, but for its words."""
    entry = json.loads(line)
    times, by = entry["times"], entry["by"]
    when = [times[name] or "" for name in ("written", "claimed", "stamped")]
    late = "late" if entry["late"] else ""
    who = [by, name_in(names, by), entry["kind"]]
    return [str(entry["seq"]), *when, late, *who, canonical(entry["body"]), sha256(line.encode())]


def clock_rows(entries: Sequence[Entry]) -> Iterator[list[str]]:
    """Yield an entry's number, its times, and by how much the wall clock was set before it."""
    before: dict[str, str] = {}
    for entry in entries:
        times, step = entry["times"], 0
        if before and before["boot"] == times["boot"]:
            ran = (int(times["mono_ns"]) - int(before["mono_ns"])) // 1_000_000
            step = wall_ms(times["written"]) - wall_ms(before["written"]) - ran
        shown = step if abs(step) > STEP_MS else 0
        yield [str(entry["seq"]), times["written"], times["mono_ns"], times["boot"], str(shown)]
        before = times


def wall_ms(written: str) -> int:
    """Return a time in milliseconds since 1970."""
    return round(datetime.fromisoformat(written.replace("Z", "+00:00")).timestamp() * 1000)


# What it was made with, and the receipt.


def check_process(bag: Bag, lines: Sequence[str]) -> Iterator[str]:
    """The checklist and the cards are those whose digests the first entry names."""
    opened: Entry = next((e["body"] for e in entries_in(lines) if e["kind"] == "opened"), {})
    named = {f"data/process/card-{plain_name(name)}.json": digest
             for name, digest in opened.get("cards", {}).items()}  # fmt: skip
    named["data/process/checklist.txt"] = opened.get("routine", {}).get("sha256", "")
    for path in bag.names:
        is_named = path.startswith("data/process/card-") or path.endswith("checklist.txt")
        if is_named and digest_of(bag, path) != named.get(path):
            yield f"{path} is not the one that the first entry names"


def plain_name(card: str) -> str:
    """Return the name of a card in a packet: `vehicles/harrow.toml` is `vehicles-harrow`."""
    return card.rpartition(".toml")[0].replace("/", "-").replace("_", "-")


def check_printed_receipt(bag: Bag, said: str) -> Iterator[str]:
    """The receipt in the packet is the one of its entries."""
    if "data/receipt.txt" in bag.names and text_of(bag, "data/receipt.txt") != f"{said}\n":
        yield "receipt.txt is not the receipt of these entries"

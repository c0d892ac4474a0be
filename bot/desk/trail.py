"""A job seen from outside: its status in a line, its trail as a time line, its sheet."""

from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from bot.desk.replaying import rebuilt
from bot.record.errors import READING, StoreError
from bot.record.reader import Reader
from bot.record.rows import COMPANY
from flows.job.entries import plain
from flows.job.state import Job
from flows.routine.book import Book
from flows.telling.labels import act_label, fact_name, last_label, value_label
from flows.telling.saying import fill
from flows.texts import sentences, word
from flows.texts.visible import visible, visible_lines
from flows.turn import sheet, sheet_page

Entry = Mapping[str, Any]


def status_lines(reader: Reader, book: Book) -> list[str]:
    """Return one line for every job: section, last step, next step, window, open matters."""
    lines: list[str] = []
    for ref in reader.jobs():
        try:
            job = rebuilt(Job(ref, book), reader.entries(ref))
        except StoreError as error:
            lines.append(
                visible(sentences()["trail"]["bad_job"].format(number=ref, why=error.what))
            )
            continue
        text = sentences()["trail"]["ended" if job.ended else "status"]
        how = "" if job.ended is None else sentences()["trail"][job.ended.how]
        lines.append(visible(fill(text, job, {"how": how, "number": str(ref)})))
    return lines or [sentences()["trail"]["no_jobs"]]


def sheet_lines(reader: Reader, book: Book, ref: int, page: Path | None) -> tuple[list[str], bool]:
    """Return the steps ahead of a job and whether they are known; write the page if asked."""
    if not reader.has_job(ref):
        return [sentences()["trail"]["no_such_job"].format(number=ref)], False
    job = rebuilt(Job(ref, book), reader.entries(ref))
    if job.ended is not None or not sheet.is_ready(job):
        return [sentences()["sheet"]["not_ready"].format(number=ref)], False
    if page is None:
        return visible_lines(sheet.text(job)).split("\n"), True
    page.write_text(sheet_page.page(job), "utf-8")
    return [sentences()["sheet"]["written"].format(path=page)], True


def trail_lines(reader: Reader, book: Book, ref: int) -> list[str]:
    """Return a job's time line in the company's time, a line per entry; empty for no job."""
    names = names_of(reader)
    return [_line(entry, Job(ref, book), names) for entry in reader.each_entry(ref)]


def names_of(reader: Reader) -> dict[str, str]:
    """Return the names of everybody enrolled, by person id; the id itself if erased."""
    found: dict[str, str] = {}
    for entry in reader.each_entry(COMPANY):
        if not isinstance(entry, StoreError) and entry.get("kind") == "enrolled":
            person = str(entry["body"].get("person"))
            found[person] = str(plain(entry["body"].get("name")) or person)
    return found


def _line(entry: Entry | StoreError, job: Job, names: Mapping[str, str]) -> str:
    """Return an entry's line; of one that cannot be read, why."""
    text = sentences()["trail"]["bad_entry"]
    if isinstance(entry, StoreError):
        return visible(text.format(why=entry.what))
    try:
        return visible(_told(entry, job, names))
    except READING as error:
        why = f"{entry.get('seq')}: {error!r}"
        return visible(text.format(why=why))


def _told(entry: Entry, job: Job, names: Mapping[str, str]) -> str:
    times = entry["times"]
    when = datetime.fromisoformat(times["written"]).astimezone(ZoneInfo(times["zone"]))
    late = sentences()["trail"]["late"] if entry["late"] else ""
    who = names.get(entry["by"], sentences()["trail"]["bot"])
    return (
        f"{entry['seq']:>5}  {when:%Y-%m-%d %H:%M:%S}  {who:<12} {said(entry, job, names)}{late}"
    )


def said(entry: Entry, job: Job, names: Mapping[str, str]) -> str:
    """Return an entry in words on one line: the sentence for its kind, filled from its body."""
    try:
        return visible(_in_words(entry, job, names))
    except READING as error:
        why = f"{entry.get('seq')}: {error!r}"
        return visible(sentences()["trail"]["bad_entry"].format(why=why))


def _in_words(entry: Entry, job: Job, names: Mapping[str, str]) -> str:
    kinds, body = sentences()["trail"]["kinds"], entry["body"]
    kind = _kind(entry["kind"], body)
    if kind == "planned":
        body = {**body, "word": body["result"]["word"]}
    if kind not in kinds:
        return str(kind)
    template = str(kinds[kind])
    named = _labels(entry["kind"], body, job, names)
    return template.format_map({**_plain(body), **_ids(entry["kind"], body), **named})


def _kind(kind: str, body: Mapping[str, Any]) -> str:
    """Return the sentence of an entry: its kind, or a form of it."""
    match kind:
        case "heard" if "tap" in body:
            return "tapped"
        case "window" if body["event"] == "opened":
            return "window_opened" if body["hold_min"] is not None else "window_unpromised"
        case "overridden" if body["verdict"] == "no-go":
            return "overridden_no_go"
        case "ended" if body.get("reason"):
            return "ended_because"
        case _:
            return kind


def _plain(body: Mapping[str, Any]) -> dict[str, str]:
    erased = sentences()["trail"]["erased"]
    found: dict[str, str] = {}
    for name, value in body.items():
        is_gone = isinstance(value, Mapping) and value.get("erased")
        found[name] = erased if is_gone else str(plain(value))
    return found


_NAMED_BY_ID: Mapping[str, tuple[str, ...]] = {
    "fact": ("how",),
    "planned": ("word",),
    "window": ("event",),
    "pending": ("kind",),
    "alarmed": ("key",),
    "escalated": ("key",),
    "handoff_wanted": ("reason",),
    "section_done": ("next",),
    "told": ("what",),
    "ended": ("how", "reason"),
}
"""The fields that hold an id of ours, by kind: said in words, and never as they are written."""


def _ids(kind: str, body: Mapping[str, Any]) -> dict[str, str]:
    tables = {"reason": "reasons", "next": "sections"}
    return {
        name: id_label(body[name], tables.get(name, ""))
        for name in _NAMED_BY_ID.get(kind, ())
        if name in body
    }


def id_label(value: str, table: str = "") -> str:
    """Return how an id in a record is called, by its table or by the trail's own.

    Examples
    --------
    >>> id_label("nobody_came", "reasons"), id_label("read_back")
    ('nobody came to release it', 'read back')
    """
    texts = sentences()
    known = texts[table] if table else texts["trail"]["ids"]
    return str(known.get(value, value.replace("_", " ")))


def spare_label(result: Mapping[str, Any]) -> str:
    """Return what a figure has left at the limit that governs it: "2,366 lb left", "2 in over".

    Examples
    --------
    >>> spare_label({"governing_margin_lb": None, "governing_margin_in": -2})
    '2 in over'
    """
    is_length = result["governing_margin_lb"] is None
    spare = int(result["governing_margin_in" if is_length else "governing_margin_lb"])
    unit = word("inches_shown" if is_length else "pounds_shown")
    return f"{abs(spare):,} {unit} {word('left' if spare >= 0 else 'over')}"


def _labels(
    kind: str, body: Mapping[str, Any], job: Job, names: Mapping[str, str]
) -> dict[str, str]:
    """Return, in words, everything that the body names by an id."""
    found: dict[str, str] = {}
    if "item" in body:
        found["label"] = last_label(str(body["item"]).rpartition(":")[2])
    if "act" in body:
        found["act"] = act_label(body["act"])
    match kind:
        case "fact" | "fact_cleared":
            found |= _fact_labels(body, job)
        case "concluded" | "lift_planned":
            found |= _figure_labels(body["result"])
        case "handover" | "passed_on":
            found |= _end_labels(body, names)
        case "doubted":
            found["states"] = _doubted_label(body)
        case _:
            pass
    return found


def _fact_labels(body: Mapping[str, Any], job: Job) -> dict[str, str]:
    named, value = {"name": fact_name(body["name"])}, plain(body.get("value"))
    return named if value is None else named | {"value": value_label(job, body["name"], value)}


def _end_labels(body: Mapping[str, Any], names: Mapping[str, str]) -> dict[str, str]:
    """Return who a job or words went from, and to whom."""
    return {end: names.get(body[end], body[end]) for end in ("from", "to") if end in body}


def _doubted_label(body: Mapping[str, Any]) -> str:
    """Return the states and items that are in doubt."""
    states = [id_label(" ".join(one.split(".")[::-1])) for one in body["states"]]
    return ", ".join([*states, *(last_label(one) for one in body.get("items", ()))])


def _figure_labels(result: Mapping[str, Any]) -> dict[str, str]:
    """Return the parts of a figure's result that its line tells."""
    if "left_lb" in result:
        lift = {"governing_margin_lb": result["left_lb"]}
        return {"word": result["word"], "governing": result["governing"],
                "spare": spare_label(lift)}  # fmt: skip
    return {name: result[name] for name in ("verdict", "governing")} | {
        "spare": spare_label(result)
    }

"""What a job looks like from outside: its status in a line, its trail as a time line."""

from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from bot.journal.reader import Reader
from bot.replaying import rebuilt
from flows.book import Book
from flows.job import Job
from flows.saying import fill
from flows.texts import sentences


def status_lines(reader: Reader, book: Book) -> list[str]:
    """Return one line for every job: section, last done, next, window, what is open."""
    lines: list[str] = []
    for ref in reader.jobs():
        job = rebuilt(Job(ref, book), reader.entries(ref))
        text = sentences()["trail"]["ended" if job.ended else "status"]
        lines.append(fill(text, job, _ended(job)))
    return lines or [sentences()["trail"]["no_jobs"]]


def _ended(job: Job) -> dict[str, str]:
    how = "" if job.ended is None else sentences()["trail"][job.ended.how]
    return {"how": how, "number": str(job.ref)}


def trail_lines(reader: Reader, ref: int) -> list[str]:
    """Return a job's time line: one line an entry, in the company's time."""
    entries = reader.entries(ref)
    if not entries:
        return []
    return [line for entry in entries for line in _lines(entry)]


def _lines(entry: Mapping[str, Any]) -> Iterator[str]:
    times = entry["times"]
    when = datetime.fromisoformat(times["written"]).astimezone(ZoneInfo(times["zone"]))
    late = sentences()["trail"]["late"] if entry["late"] else ""
    who, kind, said = entry["by"], entry["kind"], _body(entry["body"])
    yield f"{entry['seq']:>5}  {when:%Y-%m-%d %H:%M:%S}  {who:<5} {kind}{late}  {said}"


def _body(body: Mapping[str, Any]) -> str:
    parts: list[str] = []
    for name, value in body.items():
        if isinstance(value, Mapping) and "commitment" in value:
            shown = sentences()["trail"]["erased"] if value.get("erased") else value["value"]
            parts.append(f"{name}={shown}")
        elif isinstance(value, Mapping) and name == "result":
            parts.append(
                f"{value['verdict']}, {value['governing']} {value['governing_margin_lb']} lb"
            )
        elif isinstance(value, str | int) or value is None:
            parts.append(f"{name}={value}")
    return ", ".join(parts)

"""The summary that people read, drawn from a job's entries and from nothing else."""

import json
import re
import tempfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from importlib.resources import files
from itertools import pairwise
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from bot.desk.trail import said
from bot.packet.case import Case
from bot.packet.figure_pages import figures_of
from bot.packet.photo_pages import photo_labels, photos
from bot.packet.process import clock_steps, opening, software
from bot.packet.window_pages import windows_of
from bot.record.checkpoints import code_of
from flows.job.entries import plain
from flows.job.state import Job
from flows.telling.labels import act_label, fact_label, last_label
from flows.telling.left_open import left_open_label
from flows.texts import packet_texts, sentences

GAP_MIN = 10
"""A time without entries that is told as a gap [minute]."""

TOLD = frozenset({
    "opened", "heard", "fact", "fact_cleared", "act", "retracted", "doubted", "done", "concluded",
    "planned", "lift_planned", "overridden", "window", "held", "resumed", "skipped",
    "skip_settled", "alarmed",
    "acknowledged", "escalated", "handover", "handoff_wanted", "handoff_dropped", "refused",
    "media", "media_lost", "transcript", "unseen", "ended", "checkpoint", "parked",
})  # fmt: skip
"""The kinds of entries in the time line; the others are the software's own notes."""

ENDS: Mapping[str, tuple[str, ...]] = {
    "pick_up": ("open", "scene", "vehicle", "attach"),
    "delivery": ("drop",),
}
"""Which sections say how the vehicle was at either end."""

PARTIES = ("asked_by", "emergency", "owner_contact", "destination", "received_by", "handed_to")
"""Who called, and how it was called; where it went, and to whom (49 CFR 373.101; 49 USC 13506)."""

_HIDDEN = re.compile(r"[\u200b-\u200f\u202a-\u202e\u2060-\u2069\ufeff\x00-\x08\x0b-\x1f\x7f]")


@dataclass(frozen=True)
class Drawn:
    """A summary in the making: the case, and how its times are said."""

    case: Case
    zone: ZoneInfo

    def time(self, entry: Mapping[str, Any], form: str = "%Y-%m-%d %H:%M:%S") -> str:
        """Return when an entry was written, in the company's zone."""
        when = datetime.fromisoformat(entry["times"]["written"])
        return when.astimezone(self.zone).strftime(form)

    def who(self, entry: Mapping[str, Any]) -> str:
        """Return who gave an entry."""
        return clean(self.case.names.get(entry["by"], sentences()["trail"]["bot"]))

    def of_kind(self, *kinds: str) -> list[dict[str, Any]]:
        """Return the entries of some kinds, in order."""
        return [entry for entry in self.case.entries if entry["kind"] in kinds]


def clean(text: str) -> str:
    r"""Return a text without what would turn or hide letters beside it.

    Examples
    --------
    >>> clean("mile\u202e 12\u200b")
    'mile 12'
    """
    return _HIDDEN.sub("", text)


def summary(case: Case, fingerprint: str, receipt: bytes) -> bytes:
    """Draw the summary; the same case gives the same bytes.

    Parameters
    ----------
    case
        The job.
    fingerprint
        Of the key that signs the packet.
    receipt
        The code to photograph, an SVG.
    """
    import typst  # noqa: PLC0415  only where a summary is drawn

    drawn = Drawn(case, ZoneInfo(case.entries[-1]["times"]["zone"]))
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "receipt.svg").write_bytes(receipt)
        said_ = {**_said(drawn, folder), "fingerprint": fingerprint}
        (folder / "data.json").write_text(json.dumps(said_, ensure_ascii=False), "utf-8")
        (folder / "main.typ").write_bytes(files("bot.packet").joinpath("summary.typ").read_bytes())
        last = datetime.fromisoformat(case.entries[-1]["times"]["written"]).astimezone(UTC)
        made = typst.compile(
            str(folder / "main.typ"),
            root=str(folder),
            font_paths=typst.Fonts(include_system_fonts=True, include_embedded_fonts=True),
            timestamp=last.replace(microsecond=0),
        )
    if not isinstance(made, bytes):
        raise TypeError("the summary came in parts")
    return made


def _said(drawn: Drawn, folder: Path) -> dict[str, Any]:
    """Return everything that the page says."""
    case, texts = drawn.case, packet_texts()["summary"]
    company = case.book.library.company.name
    zone = str(drawn.zone)
    shown = list(_shown(case))
    return {
        "words": texts,
        "company": company,
        "title": texts["title"].format(job=case.ref),
        "subtitle": texts["subtitle"].format(company=company),
        "code": code_of(bytes.fromhex(case.root)),
        "headline": list(_headline(drawn)),
        "facts": list(_facts(drawn)),
        "open": list(open_points(drawn)),
        "gaps": list(_gaps(drawn, shown)) or [texts["no_gaps"].format(minutes=GAP_MIN)],
        "condition": _condition(drawn),
        "photos": list(photos(drawn, folder)),
        "figures": list(figures_of(drawn, folder)),
        "windows": list(windows_of(drawn)),
        "tie_downs": list(_tie_downs(drawn)),
        "skips": list(_skips(drawn)),
        "time_line": list(_time_line(drawn, shown)),
        "time_line_note": texts["time_line_note"].format(
            shown=len(shown), size=len(case.entries), zone=zone
        ),
        "versions": list(_versions(case)),
    }


def _shown(case: Case) -> Iterator[dict[str, Any]]:
    """Yield what the time line shows; not the empty words that come with a photo."""
    for entry in case.entries:
        body = entry["body"]
        is_empty = entry["kind"] == "heard" and "tap" not in body and plain(body["text"]) == ""
        if entry["kind"] in TOLD and not is_empty:
            yield entry


def _headline(drawn: Drawn) -> Iterator[dict[str, str]]:
    """Yield what a busy reader sees first: result, margin, window, open points."""
    texts = packet_texts()["summary"]
    ended = next(iter(drawn.of_kind("ended")[-1:]), None)
    how = texts["still_open"] if ended is None else texts[ended["body"]["how"]]
    reason = "" if ended is None else clean(str(plain(ended["body"]["reason"]) or ""))
    yield _head(texts["result"], how, reason, "plain")
    margin = next(iter(drawn.of_kind("concluded")[-1:]), None)
    if margin is None:
        yield _head(texts["margin"], texts["margin_none"], "", "plain")
    else:
        result = margin["body"]["result"]
        spare = texts["spare"].format(spare=f"{result['governing_margin_lb']:,}")
        note = f"{result['governing']}, {spare}"
        yield _head(texts["margin"], result["verdict"], note, result["verdict"])
    windows = list(windows_of(drawn))
    window = next((one for one in windows if one["over"]), windows[-1] if windows else None)
    if window is None:
        yield _head(texts["window_short"], texts["window_none"], "", "plain")
    else:
        tone = "no-go" if window["over"] else "plain"
        yield _head(texts["window_short"], window["short"], "", tone)
    count = len(list(open_points(drawn)))
    yield _head(texts["points"], str(count), "", "close" if count else "go")
    yield _head(texts["entry_count"], f"{len(drawn.case.entries):,}", "", "plain")


def _head(name: str, value: str, note: str, tone: str) -> dict[str, str]:
    return {"name": name, "value": value, "note": note, "tone": tone}


def _facts(drawn: Drawn) -> Iterator[dict[str, str]]:
    """Yield who, where, when and what, as the record last had it."""
    case, texts = drawn.case, packet_texts()["summary"]
    first, last = (
        drawn.time(entry, "%Y-%m-%d %H:%M") for entry in (case.entries[0], case.entries[-1])
    )
    said_ = texts["from_to_value"].format(first=first, last=last, zone=str(drawn.zone))
    yield {"name": texts["from_to"], "value": said_}
    known = {entry["body"]["name"]: entry["body"]["value"] for entry in drawn.of_kind("fact")}
    drivers = dict.fromkeys(entry["vehicle"] for entry in case.entries if entry["vehicle"])
    people = ", ".join(clean(case.names.get(person, person)) for person in drivers)
    yield {"name": texts["where"], "value": _fact(drawn, known, "place")}
    yield {"name": texts["history"], "value": _fact(drawn, known, "history")}
    yield {"name": texts["opened_by"], "value": drawn.who(case.entries[0])}
    yield {"name": texts["driver"], "value": people or texts["not_recorded"]}
    yield {"name": texts["truck"], "value": _fact(drawn, known, "truck")}
    names = ("card", "powertrain", "drive", "weight_class", "weight")
    parts = [_fact(drawn, known, name) for name in names if name in known]
    yield {"name": texts["vehicle"], "value": "; ".join(parts) or texts["not_recorded"]}
    for name in PARTIES:
        if name in known:
            yield {"name": texts[name], "value": _fact(drawn, known, name)}


def _fact(drawn: Drawn, known: Mapping[str, Any], name: str) -> str:
    if name not in known:
        return str(packet_texts()["summary"]["not_recorded"])
    value = plain(known[name])
    if value is None:
        return str(sentences()["trail"]["erased"])
    return clean(fact_label(Job(drawn.case.ref, drawn.case.book), name, value))


def open_points(drawn: Drawn) -> Iterator[str]:
    """Yield what the record leaves open: skips nobody settled, what the end left, decisions."""
    job = Job(drawn.case.ref, drawn.case.book)
    settled = {entry["body"]["item"] for entry in drawn.of_kind("skip_settled")}
    for entry in drawn.of_kind("skipped"):
        if entry["body"]["item"] not in settled:
            yield clean(said(entry, job, drawn.case.names))
    for entry in drawn.of_kind("overridden", "refused", "media_lost"):
        yield clean(said(entry, job, drawn.case.names))
    ended = drawn.of_kind("ended")[-1:]
    for one in ended[0]["body"].get("open", []) if ended else []:
        yield left_open_label(one)


def _gaps(drawn: Drawn, shown: list[dict[str, Any]]) -> Iterator[str]:
    """Yield what the record does not show, as plainly as what it shows."""
    case, texts = drawn.case, packet_texts()["summary"]
    for before, after in pairwise(shown):
        minutes = _minutes(before, after)
        if minutes >= GAP_MIN:
            yield texts["gap"].format(minutes=minutes, seq=after["seq"], time=drawn.time(before))
    for seq, step in clock_steps(case.entries):
        text = texts["rebooted"] if step is None else texts["stepped"]
        yield text.format(seq=seq, seconds=0 if step is None else round(step / 1000))
    late = sum(entry["late"] for entry in case.entries)
    if late:
        yield texts["late"].format(count=late, size=len(case.entries))
    for entry in drawn.of_kind("unseen"):
        reason = plain(entry["body"]["reason"]) or sentences()["trail"]["erased"]
        yield texts["unseen"].format(label=last_label(entry["body"]["item"]), reason=clean(reason))
    if case.erased:
        yield texts["erased"].format(count=case.erased)
    missing = sum(one.path is None for one in case.files)
    if missing:
        yield texts["missing"].format(count=missing)


def _minutes(before: Mapping[str, Any], after: Mapping[str, Any]) -> int:
    one, two = (datetime.fromisoformat(entry["times"]["written"]) for entry in (before, after))
    return int((two - one).total_seconds() // 60)


def _condition(drawn: Drawn) -> list[dict[str, Any]]:
    """Return what was recorded at either end: facts as first given, and photos."""
    texts = packet_texts()["summary"]
    job = Job(drawn.case.ref, drawn.case.book)
    ends = []
    for key, sections in ENDS.items():
        rows: dict[str, str] = {}
        for entry in drawn.of_kind("fact"):
            item, name = entry["body"].get("item", ""), entry["body"]["name"]
            value = plain(entry["body"]["value"])
            if item.partition(".")[0] in sections and name != "place" and value is not None:
                rows.setdefault(name, fact_label(job, name, value))
        counts: dict[str, int] = {}
        for label, _ in photo_labels(drawn, sections):
            counts[label] = counts.get(label, 0) + 1
        shots = [texts["photos_counted"].format(count=n, label=one) for one, n in counts.items()]
        ends.append({"name": texts[key], "rows": [clean(row) for row in [*rows.values(), *shots]]})
    return ends


def _tie_downs(drawn: Drawn) -> Iterator[list[str]]:
    for entry in drawn.of_kind("act"):
        act = entry["body"]["act"]
        if "strap" in act or act in {"chains_on", "line_slackened"}:
            yield [drawn.time(entry), drawn.who(entry), act_label(act)]


def _skips(drawn: Drawn) -> Iterator[list[str]]:
    texts = packet_texts()["summary"]
    settled = {entry["body"]["item"]: entry for entry in drawn.of_kind("skip_settled")}
    for entry in drawn.of_kind("skipped", "overridden"):
        body = entry["body"]
        reason = clean(str(plain(body["reason"]) or sentences()["trail"]["erased"]))
        if entry["kind"] == "skipped":
            what = last_label(body["item"])
            done = settled.get(body["item"])
            if done is not None:
                why = plain(done["body"].get("reason")) or drawn.who(done)
                reason += f"; {texts['settled'].format(reason=clean(str(why)))}"
        else:
            what = texts["margin"] + f": {body['verdict']}"
        yield [drawn.time(entry), drawn.who(entry), what, reason]


def _time_line(drawn: Drawn, shown: list[dict[str, Any]]) -> Iterator[dict[str, str]]:
    texts = packet_texts()["summary"]
    job = Job(drawn.case.ref, drawn.case.book)
    before: Mapping[str, Any] | None = None
    for entry in shown:
        minutes = 0 if before is None else _minutes(before, entry)
        if minutes >= GAP_MIN:
            yield {"kind": "gap", "words": texts["time_gap"].format(minutes=minutes)}
        late = sentences()["trail"]["late"] if entry["late"] else ""
        words = clean(said(entry, job, drawn.case.names)) + late
        yield {"kind": entry["kind"], "seq": str(entry["seq"]), "time": drawn.time(entry),
               "who": drawn.who(entry), "words": words}  # fmt: skip
        before = entry


def _versions(case: Case) -> Iterator[list[str]]:
    texts, opened = packet_texts()["summary"], opening(case.entries)
    yield [texts["version"], f"rollproof {software()}"]
    yield [texts["routine"], str(opened.get("routine", {}).get("sha256", "-"))]
    used = {plain(e["body"]["value"]) for e in case.entries if e["kind"] == "fact"
            and e["body"]["name"] in {"card", "truck"}}  # fmt: skip
    for name, sha256 in sorted(opened.get("cards", {}).items()):
        stem = name.removesuffix(".toml").rpartition("/")[2]
        if stem in used or name == "company.toml":
            yield [texts["card"].format(name=stem), str(sha256)]
    yield [texts["entry_form"], ", ".join(sorted({str(e["v"]) for e in case.entries}))]
    yield [texts["root"], case.root]

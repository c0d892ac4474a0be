"""The summary that people read, made only from a job's entries."""

import json
import re
import tempfile
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from importlib.resources import files
from itertools import pairwise
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from bot.desk.trail import said
from bot.packet.case import Case, reach_says
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
"""The shortest time without entries that is shown as a gap [minute]."""

TOLD = frozenset({
    "opened", "heard", "fact", "fact_cleared", "act", "retracted", "doubted", "done", "concluded",
    "planned", "lift_planned", "overridden", "window", "held", "resumed", "skipped",
    "skip_settled", "alarmed",
    "acknowledged", "escalated", "handover", "handoff_wanted", "handoff_dropped", "refused",
    "media", "media_lost", "transcript", "unseen", "ended", "checkpoint", "parked",
})  # fmt: skip
"""The kinds of entries in the time line; other kinds are the software's own notes."""

ENDS: Mapping[str, tuple[str, ...]] = {
    "pick_up": ("open", "scene", "vehicle", "attach"),
    "delivery": ("drop",),
}
"""The sections about the vehicle's condition at either end."""

PARTIES = ("asked_by", "emergency", "owner_contact", "destination", "received_by", "handed_to")
"""Who called, and whether it was an emergency; where the vehicle went, and to whom
(49 CFR 373.101; 49 USC 13506)."""

_HIDDEN = re.compile(r"[\u200b-\u200f\u202a-\u202e\u2060-\u2069\ufeff\x00-\x08\x0b-\x1f\x7f]")


@dataclass(frozen=True)
class Drawn:
    """A summary being made: the case, and the time zone for its times."""

    case: Case
    zone: ZoneInfo

    def time(self, entry: Mapping[str, Any], form: str = "%Y-%m-%d %H:%M:%S") -> str:
        """Return when an entry was written, in the company's zone."""
        when = datetime.fromisoformat(entry["times"]["written"])
        return when.astimezone(self.zone).strftime(form)

    def who(self, entry: Mapping[str, Any]) -> str:
        """Return the name of the person who gave an entry."""
        return clean(self.case.names.get(entry["by"], sentences()["trail"]["bot"]))

    def of_kind(self, *kinds: str) -> list[dict[str, Any]]:
        """Return the entries of some kinds, in order."""
        return [entry for entry in self.case.entries if entry["kind"] in kinds]


def clean(text: str) -> str:
    r"""Return a text without characters that reverse or hide others.

    Examples
    --------
    >>> clean("mile\u202e 12\u200b")
    'mile 12'
    """
    return _HIDDEN.sub("", text)


def summary(case: Case, fingerprint: str, receipt: bytes) -> bytes:
    """Return the summary as a PDF; the same case gives the same bytes.

    Parameters
    ----------
    case
        The job.
    fingerprint
        Of the key that signs the packet.
    receipt
        The QR code of the receipt, an SVG.
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
    """Return the data for every page."""
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
    """Yield the entries in the time line, without the empty text that comes with a photo."""
    for entry in case.entries:
        body = entry["body"]
        is_empty = entry["kind"] == "heard" and "tap" not in body and plain(body["text"]) == ""
        if entry["kind"] in TOLD and not is_empty:
            yield entry


def _headline(drawn: Drawn) -> Iterator[dict[str, str]]:
    """Yield the facts that a busy reader wants first: result, margin, window, open points."""
    texts = packet_texts()["summary"]
    yield _result_head(drawn)
    yield _margin_head(drawn)
    yield _window_head(drawn)
    count = len(list(open_points(drawn)))
    yield _head(texts["points"], str(count), "", "close" if count else "go")
    yield _head(texts["entry_count"], f"{len(drawn.case.entries):,}", "", "plain")


def _result_head(drawn: Drawn) -> dict[str, str]:
    texts = packet_texts()["summary"]
    for ended in drawn.of_kind("ended")[-1:]:
        reason = clean(str(plain(ended["body"]["reason"]) or ""))
        return _head(texts["result"], texts[ended["body"]["how"]], reason, "plain")
    return _head(texts["result"], texts["still_open"], "", "plain")


def _margin_head(drawn: Drawn) -> dict[str, str]:
    texts = packet_texts()["summary"]
    for margin in drawn.of_kind("concluded")[-1:]:
        result = margin["body"]["result"]
        spare = texts["spare"].format(spare=f"{result['governing_margin_lb']:,}")
        note = f"{result['governing']}, {spare}"
        return _head(texts["margin"], result["verdict"], note, result["verdict"])
    return _head(texts["margin"], texts["margin_none"], "", "plain")


def _window_head(drawn: Drawn) -> dict[str, str]:
    """Return the first window that ran out, or else the last window."""
    texts = packet_texts()["summary"]
    windows = list(windows_of(drawn))
    for window in [each for each in windows if each["over"]] or windows[-1:]:
        tone = "no-go" if window["over"] else "plain"
        return _head(texts["window_short"], window["short"], "", tone)
    return _head(texts["window_short"], texts["window_none"], "", "plain")


def _head(name: str, value: str, note: str, tone: str) -> dict[str, str]:
    return {"name": name, "value": value, "note": note, "tone": tone}


def _facts(drawn: Drawn) -> Iterator[dict[str, str]]:
    """Yield the people, places, times and vehicle, as last recorded."""
    case, texts = drawn.case, packet_texts()["summary"]
    first, last = (
        drawn.time(entry, "%Y-%m-%d %H:%M") for entry in (case.entries[0], case.entries[-1])
    )
    said_ = texts["from_to_value"].format(first=first, last=last, zone=str(drawn.zone))
    yield {"name": texts["from_to"], "value": said_}
    known = {entry["body"]["name"]: entry["body"]["value"] for entry in drawn.of_kind("fact")}
    yield {"name": texts["where"], "value": _fact(drawn, known, "place")}
    yield {"name": texts["history"], "value": _fact(drawn, known, "history")}
    yield {"name": texts["opened_by"], "value": drawn.who(case.entries[0])}
    yield {"name": texts["driver"], "value": _drivers(case) or texts["not_recorded"]}
    yield {"name": texts["truck"], "value": _fact(drawn, known, "truck")}
    yield {"name": texts["vehicle"], "value": _vehicle(drawn, known) or texts["not_recorded"]}
    for name in PARTIES:
        if name in known:
            yield {"name": texts[name], "value": _fact(drawn, known, name)}


def _drivers(case: Case) -> str:
    """Return everybody who was at the vehicle, in order."""
    people = dict.fromkeys(entry["vehicle"] for entry in case.entries if entry["vehicle"])
    return ", ".join(clean(case.names.get(person, person)) for person in people)


def _vehicle(drawn: Drawn, known: Mapping[str, Any]) -> str:
    names = ("card", "powertrain", "drive", "weight_class", "weight")
    return "; ".join(_fact(drawn, known, name) for name in names if name in known)


def _fact(drawn: Drawn, known: Mapping[str, Any], name: str) -> str:
    if name not in known:
        return str(packet_texts()["summary"]["not_recorded"])
    value = plain(known[name])
    if value is None:
        return str(sentences()["trail"]["erased"])
    return clean(fact_label(Job(drawn.case.ref, drawn.case.book), name, value))


def open_points(drawn: Drawn) -> Iterator[str]:
    """Yield the points that the record leaves open: unsettled skips, decisions, items left."""
    job = Job(drawn.case.ref, drawn.case.book)
    settled = {entry["body"]["item"] for entry in drawn.of_kind("skip_settled")}
    for entry in drawn.of_kind("skipped"):
        if entry["body"]["item"] not in settled:
            yield clean(said(entry, job, drawn.case.names))
    for entry in drawn.of_kind("overridden", "refused", "media_lost"):
        yield clean(said(entry, job, drawn.case.names))
    ended = drawn.of_kind("ended")[-1:]
    for name in ended[0]["body"].get("open", []) if ended else []:
        yield left_open_label(name)


def _gaps(drawn: Drawn, shown: list[dict[str, Any]]) -> Iterator[str]:
    """Yield everything the record does not show, as openly as it shows the rest."""
    case, texts = drawn.case, packet_texts()["summary"]
    yield from _silences(drawn, shown)
    yield from _clock_jumps(case)
    late = sum(entry["late"] for entry in case.entries)
    if late:
        yield texts["late"].format(count=late, size=len(case.entries))
    yield from _not_photographed(drawn)
    if case.erased:
        yield texts["erased"].format(count=case.erased)
    missing = sum(file.path is None for file in case.files)
    if missing:
        yield texts["missing"].format(count=missing)


def _silences(drawn: Drawn, shown: list[dict[str, Any]]) -> Iterator[str]:
    text = packet_texts()["summary"]["gap"]
    for before, after in pairwise(shown):
        minutes = _minutes(before, after)
        if minutes >= GAP_MIN:
            yield text.format(minutes=minutes, seq=after["seq"], time=drawn.time(before))


def _clock_jumps(case: Case) -> Iterator[str]:
    texts = packet_texts()["summary"]
    for seq, step in clock_steps(case.entries):
        if step is None:
            yield texts["rebooted"].format(seq=seq)
        else:
            yield texts["stepped"].format(seq=seq, seconds=round(step / 1000))


def _not_photographed(drawn: Drawn) -> Iterator[str]:
    text = packet_texts()["summary"]["unseen"]
    for entry in drawn.of_kind("unseen"):
        reason = plain(entry["body"]["reason"]) or sentences()["trail"]["erased"]
        yield text.format(label=last_label(entry["body"]["item"]), reason=clean(reason))


def _minutes(before: Mapping[str, Any], after: Mapping[str, Any]) -> int:
    start, end = (datetime.fromisoformat(entry["times"]["written"]) for entry in (before, after))
    return int((end - start).total_seconds() // 60)


def _condition(drawn: Drawn) -> list[dict[str, Any]]:
    """Return the vehicle's recorded condition at either end: facts as first given, and photos."""
    texts = packet_texts()["summary"]
    ends = []
    for key, sections in ENDS.items():
        rows = [*_facts_in(drawn, sections), *_photo_counts(drawn, sections)]
        ends.append({"name": texts[key], "rows": [clean(row) for row in rows]})
    return ends


def _facts_in(drawn: Drawn, sections: tuple[str, ...]) -> list[str]:
    """Return each fact from some sections, as first given; the place is shown elsewhere."""
    job = Job(drawn.case.ref, drawn.case.book)
    rows: dict[str, str] = {}
    for entry in drawn.of_kind("fact"):
        item, name = entry["body"].get("item", ""), entry["body"]["name"]
        value = plain(entry["body"]["value"])
        if item.partition(".")[0] in sections and name != "place" and value is not None:
            rows.setdefault(name, fact_label(job, name, value))
    return list(rows.values())


def _photo_counts(drawn: Drawn, sections: tuple[str, ...]) -> list[str]:
    text = packet_texts()["summary"]["photos_counted"]
    counts = Counter(label for label, _ in photo_labels(drawn, sections))
    return [text.format(count=count, label=label) for label, count in counts.items()]


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
            label = last_label(body["item"])
            done = settled.get(body["item"])
            if done is not None:
                why = plain(done["body"].get("reason")) or drawn.who(done)
                reason += f"; {texts['settled'].format(reason=clean(str(why)))}"
        else:
            label = texts["margin"] + f": {body['verdict']}"
        yield [drawn.time(entry), drawn.who(entry), label, reason]


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
    yield [texts["reach"], reach_says(case)]

"""The summary that people read, made only from a job's entries."""

import re
import tempfile
from collections import Counter
from collections.abc import Iterator, Mapping, Set
from datetime import datetime
from itertools import pairwise
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from bot.desk.trail import id_label, said
from bot.packet.case import Case, reach_says
from bot.packet.danger_pages import events_of
from bot.packet.drawn import Drawn
from bot.packet.figure_pages import figures_of
from bot.packet.page_one import answers, headline, left_out_of
from bot.packet.photo_pages import photo_labels, photos
from bot.packet.process import clock_steps, opening, software
from bot.packet.story import story
from bot.packet.typesetting import typeset
from bot.packet.window_pages import windows_of
from bot.record.checkpoints import code_of
from flows.job.entries import plain
from flows.job.state import Job
from flows.routine.items import Question
from flows.telling.labels import act_label, last_label
from flows.telling.left_open import left_open, left_open_label
from flows.texts import packet_texts, sentences

GAP_MIN = 10
"""The shortest time without entries that is shown as a gap [minute]."""

_ANSWER = re.compile(r" (Answer|Or answer):")

TOLD = frozenset({
    "opened", "heard", "fact", "fact_cleared", "act", "retracted", "doubted", "done", "concluded",
    "planned", "lift_planned", "overridden", "window", "held", "resumed", "skipped",
    "skip_settled", "alarmed",
    "acknowledged", "escalated", "handover", "handoff_wanted", "handoff_dropped", "refused",
    "media", "media_lost", "transcript", "unseen", "ended", "checkpoint", "parked",
})  # fmt: skip
"""The kinds of entries in the time line; other kinds are the software's own notes."""

PICK_UP = frozenset({"open", "scene", "vehicle", "access", "power", "cord", "attach"})
DELIVERY = frozenset({"drop"})
"""The sections that ask about the vehicle's condition, before it leaves and after."""

ELSEWHERE = frozenset({"place", "danger", "stop_at"})
"""Facts that the pages before have."""


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
    drawn = Drawn(case, ZoneInfo(case.entries[-1]["times"]["zone"]))
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "receipt.svg").write_bytes(receipt)
        said_ = {**_said(drawn, folder), "fingerprint": fingerprint}
        return typeset(folder, "summary.typ", said_, case.entries[-1])


def _said(drawn: Drawn, folder: Path) -> dict[str, Any]:
    """Return the data for every page."""
    case, texts = drawn.case, packet_texts()["summary"]
    company = case.book.library.company.name
    zone = str(drawn.zone)
    shown = list(_shown(case))
    open_ = list(open_points(drawn))
    doubts = list(_doubts(drawn, shown)) or [texts["no_gaps"].format(minutes=GAP_MIN)]
    return {
        "words": texts,
        "company": company,
        "title": texts["title"].format(job=case.ref),
        "subtitle": texts["subtitle"].format(company=company, size=len(case.entries)),
        "code": code_of(bytes.fromhex(case.root)),
        "headline": list(headline(drawn, len(open_))),
        "story": story(drawn),
        "answers": list(answers(drawn, {"open": open_ or [texts["none"]], "gaps": doubts})),
        "open": open_,
        "gaps": [*doubts, *left_out_of(drawn, "unseen")],
        "danger": [event.row for event in events_of(drawn)],
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


def open_points(drawn: Drawn) -> Iterator[str]:
    """Yield the points that the record leaves open: unsettled skips, decisions, items left."""
    job = Job(drawn.case.ref, drawn.case.book)
    settled = {entry["body"]["item"] for entry in drawn.of_kind("skip_settled")}
    for entry in drawn.of_kind("skipped"):
        if entry["body"]["item"] not in settled:
            yield said(entry, job, drawn.case.names)
    for entry in drawn.of_kind("overridden", "refused", "media_lost"):
        yield said(entry, job, drawn.case.names)
    ended = drawn.of_kind("ended")[-1:]
    if not ended:
        yield packet_texts()["summary"]["still_open_point"]
    now = drawn.until(len(drawn.case.entries))
    for name in ended[0]["body"].get("open", ()) if ended else left_open(now):
        yield left_open_label(name)


def _doubts(drawn: Drawn, shown: list[dict[str, Any]]) -> Iterator[str]:
    """Yield everything the record does not show, as openly as it shows the rest."""
    case, texts = drawn.case, packet_texts()["summary"]
    yield from _silences(drawn, shown)
    yield from _clock_jumps(case)
    late = sum(entry["late"] for entry in case.entries)
    if late:
        yield texts["late"].format(count=late, size=len(case.entries))
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
            yield text.format(minutes=minutes, seq=after["seq"], time=drawn.clock(before))


def _clock_jumps(case: Case) -> Iterator[str]:
    texts = packet_texts()["summary"]
    for seq, step in clock_steps(case.entries):
        if step is None:
            yield texts["rebooted"].format(seq=seq)
        else:
            yield texts["stepped"].format(seq=seq, seconds=round(step / 1000))


def _minutes(before: Mapping[str, Any], after: Mapping[str, Any]) -> int:
    start, end = (datetime.fromisoformat(entry["times"]["written"]) for entry in (before, after))
    return int((end - start).total_seconds() // 60)


def _condition(drawn: Drawn) -> list[dict[str, Any]]:
    """Return what was asked about the vehicle, and answered, before it left and at delivery."""
    texts = packet_texts()["summary"]
    left = drawn.acts("departs")
    seq = left[0]["seq"] if left else len(drawn.case.entries)
    before = _asked_in(drawn, PICK_UP, range(seq))
    after = _asked_in(drawn, DELIVERY, range(seq, len(drawn.case.entries)))
    return [
        {"name": texts["pick_up"], "rows": [*before, *_photo_counts(drawn, PICK_UP)]},
        {"name": texts["delivery"], "rows": [*after, *_photo_counts(drawn, DELIVERY)]},
    ]


def _asked_in(drawn: Drawn, sections: Set[str], entries: range) -> list[list[str]]:
    """Return each question of some sections with every answer it got, when and from whom."""
    questions = packet_texts()["questions"]
    asked = {item.fact for item in drawn.case.book.routine.items.values()
             if isinstance(item, Question) and item.id.partition(".")[0] in sections}  # fmt: skip
    return [
        [questions[entry["body"]["name"]], drawn.answer(entry), _how(entry), drawn.who(entry),
         drawn.clock(entry)]
        for entry in drawn.of_kind("fact")
        if entry["seq"] in entries and entry["body"]["name"] in asked - ELSEWHERE
    ]  # fmt: skip


def _how(entry: Mapping[str, Any]) -> str:
    return id_label(str(entry["body"]["how"]))


def _photo_counts(drawn: Drawn, sections: Set[str]) -> list[list[str]]:
    texts = packet_texts()["summary"]
    counts = Counter(label for label, _ in photo_labels(drawn, sections))
    return [[texts["photos_asked"], f"{n} {label}", "", "", ""] for label, n in counts.items()]


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
        reason = str(plain(body["reason"]) or sentences()["trail"]["erased"])
        if entry["kind"] == "skipped":
            label = last_label(body["item"])
            done = settled.get(body["item"])
            if done is not None:
                why = plain(done["body"].get("reason")) or drawn.who(done)
                reason += f"; {texts['settled'].format(reason=str(why))}"
        else:
            label = texts["margin"] + f": {body['verdict']}"
        yield [drawn.time(entry), drawn.who(entry), label, reason]


def _time_line(drawn: Drawn, shown: list[dict[str, Any]]) -> Iterator[dict[str, str]]:
    texts = packet_texts()["summary"]
    job = Job(drawn.case.ref, drawn.case.book)
    before: Mapping[str, Any] | None = None
    asked = _answered(drawn)
    for entry in shown:
        minutes = 0 if before is None else _minutes(before, entry)
        if minutes >= GAP_MIN:
            yield {"kind": "gap", "words": texts["time_gap"].format(minutes=minutes)}
        late = sentences()["trail"]["late"] if entry["late"] else ""
        words = said(entry, job, drawn.case.names) + late
        yield {"kind": entry["kind"], "seq": str(entry["seq"]), "time": drawn.time(entry),
               "who": drawn.who(entry), "asked": asked.get(entry["seq"], ""),
               "words": words}  # fmt: skip
        before = entry


def _answered(drawn: Drawn) -> dict[int, str]:
    """Return, by the entry of each thing a driver said, the question or step it answers."""
    found: dict[int, str] = {}
    open_ = ""
    for entry in drawn.of_kind("asked", "heard"):
        if entry["kind"] == "asked":
            open_ = _question(drawn, str(entry["body"]["item"]))
        elif open_ and entry["body"].get("from_driver"):
            found[entry["seq"]] = open_
            open_ = ""
    return found


def _question(drawn: Drawn, item: str) -> str:
    """Return what an item asks, as shown; in a few words where its text has parts to fill in."""
    texts = packet_texts()
    name = item.rpartition(":")[2]
    known = drawn.case.book.routine.items.get(name)
    if known is None:
        return ""
    shown = str(sentences()["items"][name]["shown"]).partition("\n")[0]
    ask = _ANSWER.split(shown)[0].strip()
    if "{" not in ask:
        return ask
    fact = known.fact if isinstance(known, Question) else ""
    return str(texts["questions"].get(fact, last_label(name)))


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

"""The page for a customer: the same story, without names, places, or anybody's words."""

import json
import tempfile
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from bot.packet.case import Case
from bot.packet.drawn import Drawn
from bot.packet.page_one import answers, headline
from bot.packet.story import story
from bot.packet.summary import open_points
from bot.packet.typesetting import typeset
from flows.texts import packet_texts


def bare(case: Case, size: int) -> Case:
    """Return a case as its first entries were written: no personal value, and roles for names."""
    texts = packet_texts()["customer"]
    drivers = {entry["vehicle"] for entry in case.entries}
    names = {p: texts["driver" if p in drivers else "office"] for p in case.names}
    lines = case.lines[:size]
    entries = [{**entry, "body": json.loads(line)["body"]}
               for entry, line in zip(case.entries, lines, strict=False)]  # fmt: skip
    files = [file for file in case.files if file.seq < size]
    return replace(case, lines=lines, entries=entries, names=names, files=files, values=[])


def customer_page(case: Case, proof: Mapping[str, Any], receipt: bytes) -> bytes:
    """Return the page as a PDF; the same case gives the same bytes.

    Parameters
    ----------
    case
        The job.
    proof
        The signed root that the customer's copy rests on.
    receipt
        The QR code of its receipt, an SVG.
    """
    known = bare(case, proof["size"])
    zone = ZoneInfo(case.entries[-1]["times"]["zone"])
    with tempfile.TemporaryDirectory() as name:
        (Path(name) / "receipt.svg").write_bytes(receipt)
        page = page_for(Drawn(known, zone, packet_texts()["customer"]["left_out"]), proof["code"])
        return typeset(Path(name), "customer.typ", page, known.entries[-1])


def page_for(drawn: Drawn, code: str) -> dict[str, Any]:
    """Return the data of the page."""
    summary, texts = packet_texts()["summary"], packet_texts()["customer"]
    case, open_ = drawn.case, list(open_points(drawn))
    company = case.book.library.company.name
    return {
        "words": {**summary, "first_page_note": texts["note"]},
        "company": company,
        "title": texts["title"].format(job=case.ref),
        "subtitle": texts["subtitle"].format(company=company),
        "code": code,
        "headline": list(headline(drawn, len(open_))),
        "story": story(drawn),
        "answers": list(answers(drawn, {"open": open_ or [summary["none"]]})),
    }

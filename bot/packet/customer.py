"""The customer's copy: the entries about their vehicle, each with a proof that it was recorded.

Lines are given as written. They contain no name, place or text of anybody: those are commitments,
and their values are left out. A position is given in a separate file, rounded.
"""

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from bot.desk.trail import said
from bot.packet.bag import Part, Payload, Progress, Sealed, write_bag
from bot.packet.build import common_parts, info_of, receipt_svg, with_list
from bot.packet.case import Case, facts_of, lines_bytes
from bot.packet.customer_page import customer_page
from bot.packet.customer_photos import Copy
from bot.packet.spreadsheet import table
from bot.record.arithmetic import fingerprint, leaf_hash
from bot.record.chain import digest
from bot.record.checkpoints import CHECKPOINT
from bot.record.errors import StoreError, Words
from bot.record.keys import Signer
from bot.record.merkle import inclusions
from flows.job.entries import plain
from flows.job.state import Job
from flows.texts import packet_texts

SHOWN = frozenset({
    "opened", "handover", "act", "retracted", "doubted", "done", "fact", "window", "concluded",
    "lift_planned", "overridden", "alarmed", "handoff_wanted", "held", "resumed", "skipped",
    "unseen", "media", "ended", "checkpoint",
})  # fmt: skip
"""The kinds of entries that are about the vehicle, not about a person."""

ROUNDED_UDEG = 10_000
"""A hundredth of a degree: about one kilometre north and south [microdegree]."""


@dataclass(frozen=True, slots=True)
class Photos:
    """The photos of a customer's copy: the copies, and the company's lines that name them."""

    copies: list[Copy]
    lines: list[str]

    def left_out(self, case: Case) -> Iterator[str]:
        """Yield a sentence for each photo that an entry shown names and that has no copy."""
        texts, copied = packet_texts(), {copy.original for copy in self.copies}
        shown = photos_in(case)
        for file in case.files:
            if file.kind == "photo" and file.sha256 in shown - copied:
                text = texts["readme"].get(f"line_{file.state}", texts["customer"]["not_written"])
                ending = file.name.rpartition(".")[2]
                yield str(text.format(seq=file.seq, kind=file.kind, sha256=file.sha256, of=ending))


NOT_SEALED = Words(
    "Job {value} has no checkpoint yet.",
    "A copy for the customer is proven by a signed root.",
    "Wait for a pause in the work, a hold or the end of the job.",
)


def build_customer(
    case: Case, signer: Signer, target: Path, photos: Photos, tell: Progress = max
) -> Sealed:
    """Write the customer's copy of a job.

    Parameters
    ----------
    photos
        The copies of its photos, and the lines that name them.

    Raises
    ------
    StoreError
        When the job has no checkpoint yet, or the file cannot be written.
    """
    proof, shown = _last_proof(case), shown_in(case)
    top = packet_texts()["file"]["customer"].format(job=case.ref)
    left_out = tuple(photos.left_out(case))
    parts = (
        *common_parts(case, signer),
        Part("00-READ-ME-FIRST.txt", _readme(case, signer, proof, len(shown), left_out)),
        *_parts(case, shown, proof),
        *_of_photos(photos),
    )
    parts = with_list(parts, signer, {name: proof[name] for name in ("job", "size", "root")})
    sealed = write_bag(target, Payload(top, parts, info_of(case)), signer, tell)
    return replace(sealed, left_out=left_out)


def shown_in(case: Case) -> list[dict[str, Any]]:
    """Return the entries that the customer's copy shows.

    Raises
    ------
    StoreError
        When the job has no checkpoint yet.
    """
    size = _last_proof(case)["size"]
    return [e for e in case.entries if e["kind"] in SHOWN and e["seq"] < size]


def photos_in(case: Case) -> set[str]:
    """Return the digests of the photos that the customer's copy has; otherwise as `shown_in`."""
    return {entry["body"].get("sha256", "") for entry in shown_in(case)}


def _of_photos(photos: Photos) -> Iterator[Part]:
    for copy in photos.copies:
        yield Part(copy.name, copy.content)
    yield Part("proof/copies.jsonl", lines_bytes(photos.lines))


def _last_proof(case: Case) -> dict[str, Any]:
    marks = [entry for entry in case.entries if entry["kind"] == CHECKPOINT]
    if not marks:
        raise StoreError(NOT_SEALED, value=case.ref)
    body = marks[-1]["body"]
    names = ("size", "root", "code", "key", "signature")
    return {"job": str(case.ref), **{name: body[name] for name in names}}


def _parts(case: Case, shown: list[dict[str, Any]], proof: dict[str, Any]) -> Iterator[Part]:
    leaves = [leaf_hash(line.encode()) for line in case.lines[: proof["size"]]]
    numbers = [entry["seq"] for entry in shown]
    paths = {
        str(seq): [node.hex() for node in nodes]
        for seq, nodes in zip(numbers, inclusions(leaves, numbers), strict=True)
    }
    yield Part("entries.jsonl", lines_bytes(case.lines[seq] for seq in numbers))
    yield Part("entries.csv", _view(case, shown))
    receipt = receipt_svg(packet_texts()["receipt"]["text"].format_map(proof))
    yield Part("summary.pdf", customer_page(case, proof, receipt))
    yield Part("place.txt", lines_bytes(rounded_positions(case)))
    text = json.dumps({**proof, "paths": paths}, sort_keys=True, separators=(",", ":"))
    yield Part("proof/inclusion.json", f"{text}\n".encode())


def rounded_positions(case: Case) -> Iterator[str]:
    """Yield the positions in the record, rounded to a hundredth of a degree."""
    for entry in case.entries:
        position = plain(entry["body"].get("place")) if entry["kind"] == "media" else None
        if isinstance(position, dict):
            yield ", ".join(_rounded(position[name]) for name in ("lat_udeg", "lon_udeg"))


def _rounded(udeg: int) -> str:
    hundredths = round(udeg / ROUNDED_UDEG)
    sign = "-" if hundredths < 0 else ""
    return f"{sign}{abs(hundredths) // 100}.{abs(hundredths) % 100:02d}"


def _view(case: Case, shown: list[dict[str, Any]]) -> bytes:
    job, texts = Job(case.ref, case.book), packet_texts()
    nobody = dict.fromkeys(case.names, "")
    rows = []
    for entry in shown:
        line = case.lines[entry["seq"]]
        bare = json.loads(line)
        body = _without_values(bare["body"], texts["customer"]["left_out"])
        words = said({**entry, "body": body}, job, nobody)
        when = entry["times"]["written"]
        rows.append((entry["seq"], when, entry["kind"], words, digest(line.encode())))
    return table(texts["customer"]["columns"], rows)


def _without_values(body: dict[str, Any], left_out: str) -> dict[str, Any]:
    return {
        name: left_out if isinstance(value, dict) and "commitment" in value else value
        for name, value in body.items()
    }


def _readme(
    case: Case, signer: Signer, proof: dict[str, Any], shown: int, left_out: Sequence[str]
) -> bytes:
    text = packet_texts()["customer"]["readme"]
    given = {
        **facts_of(case),
        "fingerprint": fingerprint(signer.public),
        "code": proof["code"],
        "size": proof["size"],
        "shown": shown,
        "photos_left_out": "\n".join(left_out) or packet_texts()["readme"]["none"],
    }
    return str(text).lstrip("\n").format_map(given).encode()

"""Makes a job's packet out of its record: everything a claim needs, checkable without us."""

import io
import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from bot.journal.canonical import canonical
from bot.journal.chain import digest, verify_lines
from bot.journal.errors import StoreError, Words
from bot.journal.private import commitments
from bot.journal.reader import Reader
from bot.journal.rows import COMPANY
from bot.packet import arithmetic, reading, verify
from bot.packet.bag import Part, Payload, Progress, Sealed, allowed_signers, write_bag
from bot.packet.checkpoints import ALL_JOBS, KEY
from bot.packet.evidence_files import Evidence, evidence_of
from bot.packet.keys import Signer, fingerprint, public_pem, ssh_line
from bot.packet.merkle import leaf_hash, root_of
from bot.packet.process import opening, process_parts, software
from bot.packet.seals import check_chain, keys_in
from bot.packet.spreadsheet import table
from bot.trail import names_of, said
from flows.book import Book
from flows.job import Job
from flows.texts import packet_texts

NO_JOB = Words(
    "There is no job {value} in this record.",
    "Jobs are counted from 1; rollproof status lists them.",
    "Name one of them.",
)
BROKEN = Words(
    "The record of job {value} does not hold: {why}",
    "A packet is made of a record whose chain and signed roots hold.",
    "Run rollproof verify, keep the record as it is, and ask why.",
)


@dataclass(frozen=True)
class Case:
    """One job as its record has it.

    Attributes
    ----------
    ref
        The job.
    book
        The cards and the routine in use now.
    lines
        Its entries as written.
    entries
        The same, with the personal values still kept.
    names
        Who is who.
    files
        The files that it names.
    company
        The lines of the company's chain that carry keys and roots over all jobs.
    values
        The personal values still kept, as commitment, salt and value.
    """

    ref: int
    book: Book
    lines: list[str]
    entries: list[dict[str, Any]]
    names: dict[str, str]
    files: list[Evidence]
    company: list[str]
    values: list[tuple[str, str, Any]]

    @property
    def root(self) -> str:
        """The root over all its entries, in hex."""
        return root_of(leaf_hash(line.encode()) for line in self.lines).hex()

    @property
    def erased(self) -> int:
        """How many of its personal values were erased."""
        named = {one for line in self.lines for one in commitments(json.loads(line)["body"])}
        return len(named - {commitment for commitment, _, _ in self.values})


def read_case(reader: Reader, ref: int, book: Book) -> Case:
    """Read a job for a packet, after checking that its record holds.

    Raises
    ------
    StoreError
        When there is no such job, or its chain or a signed root does not hold.
    """
    lines = reader.lines(ref)
    if not lines:
        raise StoreError(NO_JOB, value=ref)
    company = reader.lines(COMPANY)
    keys, _ = keys_in(company)
    wrong = [*verify_lines(lines, job=str(ref))] or [*check_chain(str(ref), lines, keys).problems]
    for problem in wrong:
        raise StoreError(BROKEN, value=ref, why=problem.what)
    entries = reader.entries(ref)
    marks = [one for line in lines for one in commitments(json.loads(line)["body"])]
    kept = [(mark, reader.secret(mark)) for mark in dict.fromkeys(marks)]
    return Case(
        ref=ref,
        book=book,
        lines=lines,
        entries=entries,
        names=names_of(reader),
        files=evidence_of(entries, reader.folder),
        company=[line for line in company if json.loads(line)["kind"] in {KEY, ALL_JOBS}],
        values=[(mark, *found) for mark, found in kept if found is not None],
    )


def build(case: Case, signer: Signer, target: Path, tell: Progress = max) -> Sealed:
    """Write the owner's packet of a job.

    Raises
    ------
    StoreError
        When the file cannot be written; then there is none.
    """
    top = packet_texts()["file"]["name"].format(job=case.ref)
    parts = (*common_parts(case, signer), *_own_parts(case, signer, top))
    return write_bag(target, Payload(top, parts, info_of(case)), signer, tell)


def info_of(case: Case) -> dict[str, str]:
    """Return what bag-info.txt says; the date is that of the last entry, never today's."""
    return {
        "Bag-Software-Agent": f"rollproof {software()}",
        "Bagging-Date": case.entries[-1]["times"]["written"][:10],
        "External-Identifier": f"job-{case.ref}",
        "Source-Organization": case.book.library.company.name,
    }


def common_parts(case: Case, signer: Signer) -> Iterator[Part]:
    """Yield what every packet has: the checker, the keys."""
    for name, module in (("verify", verify), ("arithmetic", arithmetic), ("reading", reading)):
        yield Part(f"{name}.py", Path(str(module.__file__)).read_bytes())
    yield Part("proof/public-key.pem", public_pem(signer.public).encode())
    yield Part("proof/key.pub", f"{ssh_line(signer.public)} rollproof\n".encode())
    yield Part("proof/allowed-signers.txt", allowed_signers(signer.public).encode())
    yield Part("proof/keys.jsonl", _lines(one for one in case.company if _kind(one) == KEY))


def _own_parts(case: Case, signer: Signer, top: str) -> Iterator[Part]:
    """Yield what only the owner's packet has."""
    yield Part("00-READ-ME-FIRST.txt", _readme(case, signer, top))
    yield Part("entries.jsonl", _lines(case.lines))
    yield Part("entries.csv", view(case))
    yield Part("receipt.svg", receipt_svg(receipt_text(case)))
    yield Part("receipt.txt", f"{receipt_text(case)}\n".encode())
    yield Part(
        "proof/all-jobs.jsonl", _lines(one for one in case.company if _kind(one) == ALL_JOBS)
    )
    yield Part("proof/values.jsonl", values_of(case.values))
    people = sorted(
        {(e["by"], e["body"].get("role", "")) for e in case.entries if e["kind"] == "heard"}
    )
    rows = [(person, role, case.names.get(person, "")) for person, role in people]
    yield Part("process/people.csv", table(packet_texts()["view"]["people"], rows))
    yield from process_parts(case.entries, case.book)
    yield from _certificates(case)
    for file in case.files:
        if file.path is not None:
            yield Part(file.name, file.path)


def receipt_text(case: Case) -> str:
    """Return what a receipt says: job, number of entries, root."""
    text = packet_texts()["receipt"]["text"]
    return str(text.format(job=case.ref, size=len(case.lines), root=case.root))


def receipt_svg(text: str) -> bytes:
    """Draw a text as a code that a phone reads."""
    import segno  # noqa: PLC0415  slow to import

    out = io.BytesIO()
    segno.make(text, error="m", micro=False).save(out, kind="svg", scale=4, xmldecl=False)
    return out.getvalue()


def view(case: Case) -> bytes:
    """Return the view for spreadsheets."""
    job = Job(case.ref, case.book)
    rows = []
    for line, entry in zip(case.lines, case.entries, strict=True):
        times = entry["times"]
        when = (
            times["written"],
            times["claimed"],
            times["stamped"],
            "late" if entry["late"] else "",
        )
        who = (entry["by"], case.names.get(entry["by"], ""))
        fields = canonical(json.loads(line)["body"]).decode()
        words = said(entry, job, case.names)
        rows.append(
            (entry["seq"], *when, *who, entry["kind"], words, fields, digest(line.encode()))
        )
    return table(packet_texts()["view"]["columns"], rows)


def values_of(values: list[tuple[str, str, Any]]) -> bytes:
    """Return personal values as lines that `verify.py` holds against their commitments."""
    return _lines(
        canonical({"commitment": mark, "salt": salt, "value": value}).decode()
        for mark, salt, value in values
    )


def _readme(case: Case, signer: Signer, top: str) -> bytes:
    texts = packet_texts()["readme"]
    missing = [
        texts["line_missing"].format(seq=one.seq, kind=one.kind, sha256=one.sha256)
        for one in case.files
        if one.path is None
    ]
    erased = texts["erased"].format(count=case.erased) if case.erased else texts["none"]
    said_ = {
        "erased": erased,
        "missing": "\n".join(missing) or texts["none"],
        "fingerprint": fingerprint(signer.public),
        "receipt": receipt_text(case),
        "top": top,
        **facts_of(case),
    }
    return str(texts["text"]).lstrip("\n").format_map(said_).encode()


def facts_of(case: Case) -> dict[str, object]:
    """Return what the texts of a packet say of a job."""
    company = case.book.library.company.name
    return {
        "job": case.ref,
        "company": company,
        "line": "=" * (26 + len(company)),
        "size": len(case.lines),
        "first": case.entries[0]["times"]["written"],
        "last": case.entries[-1]["times"]["written"],
    }


def _certificates(case: Case) -> Iterator[Part]:
    texts = packet_texts()["certificates"]
    given = {
        **facts_of(case),
        "version": software(),
        "routine": opening(case.entries).get("routine", {}).get("sha256", "-"),
        "entries": digest(_lines(case.lines)),
        "selftest": texts["holds"],
    }
    for name in ("902-11", "902-13", "902-14"):
        text = texts[name].lstrip("\n").format_map(given)
        yield Part(f"certificates/{name}.txt", text.encode())


def _lines(lines: Iterator[str] | list[str]) -> bytes:
    return "".join(f"{line}\n" for line in lines).encode()


def _kind(line: str) -> object:
    return json.loads(line)["kind"]

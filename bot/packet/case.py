"""One job as its record has it, read for a packet after checking that it holds."""

import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from bot.desk.trail import names_of
from bot.packet.evidence_files import Evidence, evidence_of
from bot.record.arithmetic import leaf_hash
from bot.record.chain import verify_lines
from bot.record.checkpoints import ALL_JOBS, KEY
from bot.record.errors import StoreError, Words
from bot.record.merkle import root_of
from bot.record.private import commitments
from bot.record.reader import Reader
from bot.record.rows import COMPANY
from bot.record.seals import check_chain, keys_in
from flows.routine.book import Book

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


def lines_bytes(lines: Iterable[str]) -> bytes:
    """Return lines as a file has them."""
    return "".join(f"{line}\n" for line in lines).encode()


def kind_of(line: str) -> object:
    """Return the kind of the entry that a line holds."""
    return json.loads(line)["kind"]

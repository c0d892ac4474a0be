"""A job as recorded, read for a packet after its chain and signed roots were checked."""

import json
from collections.abc import Iterable, Iterator
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
    "The record of job {value} is not intact: {why}",
    "A packet is made from a record with an intact chain and valid signed roots.",
    "Run rollproof verify, keep the record as it is, and find out why.",
)


@dataclass(frozen=True)
class Case:
    """A job as recorded.

    Attributes
    ----------
    ref
        The job.
    book
        The cards and the routine in use now.
    lines
        Its entries as written.
    entries
        The same entries, with the personal values still kept.
    names
        The people's names by their ids.
    files
        The files that it names.
    company
        The lines of the company's chain with keys and roots over all jobs.
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
        return len(set(marks_in(self.lines)) - {mark for mark, _, _ in self.values})


def read_case(reader: Reader, ref: int, book: Book) -> Case:
    """Read a job for a packet, after checking its record.

    Raises
    ------
    StoreError
        When there is no such job, its chain is not intact, or a signed root is not valid.
    """
    lines, company = reader.lines(ref), reader.lines(COMPANY)
    if not lines:
        raise StoreError(NO_JOB, value=ref)
    _refuse_broken(ref, lines, company)
    entries = reader.entries(ref)
    kept = ((mark, reader.secret(mark)) for mark in dict.fromkeys(marks_in(lines)))
    return Case(
        ref=ref,
        book=book,
        lines=lines,
        entries=entries,
        names=names_of(reader),
        files=evidence_of(entries, reader.folder),
        company=[line for line in company if kind_of(line) in {KEY, ALL_JOBS}],
        values=[(mark, *found) for mark, found in kept if found is not None],
    )


def _refuse_broken(ref: int, lines: list[str], company: list[str]) -> None:
    keys, _ = keys_in(company)
    wrong = verify_lines(lines, job=str(ref)) or check_chain(str(ref), lines, keys).problems
    for problem in wrong:
        raise StoreError(BROKEN, value=ref, why=problem.what)


def marks_in(lines: Iterable[str]) -> Iterator[str]:
    """Yield every commitment in some lines, in order."""
    for line in lines:
        yield from commitments(json.loads(line)["body"])


def facts_of(case: Case) -> dict[str, object]:
    """Return the facts of a job that a packet's texts fill in."""
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
    """Return lines as the bytes of a file."""
    return "".join(f"{line}\n" for line in lines).encode()


def kind_of(line: str) -> object:
    """Return the kind of the entry in a line."""
    return json.loads(line)["kind"]

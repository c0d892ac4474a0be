"""A job as recorded, read for a packet after its chain and signed roots were checked."""

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from bot.desk.trail import names_of
from bot.packet.evidence_files import Evidence, evidence_of
from bot.record.arithmetic import leaf_hash
from bot.record.chain import verify_lines
from bot.record.checkpoints import ALL_JOBS, CHECKPOINT, KEY
from bot.record.errors import StoreError, Words
from bot.record.heads import BOUND
from bot.record.keeping import ERASED, HOLD, erased_marks
from bot.record.merkle import inclusions, root_of
from bot.record.private import commitments
from bot.record.reach import Proof, prove
from bot.record.reader import Reader
from bot.record.rows import COMPANY
from bot.record.seals import check_chain, keys_in
from flows.routine.book import Book
from flows.texts import packet_texts
from flows.texts.visible import visible

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
    told
        The lines of that chain about this job: its people, erasures, holds, what was restored.
    values
        The personal values still kept, as commitment, salt and value; the people's names too.
    proof
        That the job's entries and the company's are under the signed head; None without one.
    paths
        The proof of each of the company's lines that are shown, by their numbers.
    erased_marks
        What an entry says was erased: commitments, and digests of files.
    """

    ref: int
    book: Book
    lines: list[str]
    entries: list[dict[str, Any]]
    names: dict[str, str]
    files: list[Evidence]
    company: list[str]
    told: list[str]
    values: list[tuple[str, str, Any]]
    proof: Proof | None
    paths: dict[str, list[str]]
    erased_marks: set[str]

    @property
    def root(self) -> str:
        """The root over all its entries, in hex."""
        return root_of(leaf_hash(line.encode()) for line in self.lines).hex()

    @property
    def erased(self) -> int:
        """How many of its personal values were erased, as an entry says."""
        return len(self._gone & self.erased_marks)

    @property
    def lost(self) -> int:
        """How many of its personal values are gone although no entry says why."""
        return len(self._gone - self.erased_marks)

    @property
    def _gone(self) -> set[str]:
        return set(marks_in(self.lines)) - {mark for mark, _, _ in self.values}

    @property
    def reach(self) -> int:
        """How many of its entries a signature in the record reaches."""
        if self.proof is not None:
            return len(self.lines)
        sealed = [entry["body"]["size"] for entry in self.entries if entry["kind"] == CHECKPOINT]
        return max(sealed, default=0)


def read_case(reader: Reader, ref: int, book: Book) -> Case:
    """Read a job for a packet, after checking its record.

    Raises
    ------
    StoreError
        When there is no such job, its chain is not intact, or a signed root is not valid.
    """
    with reader.snapshot():
        lines, company = reader.lines(ref), reader.lines(COMPANY)
        if not lines:
            raise StoreError(NO_JOB, value=ref)
        proof = _refuse_broken(ref, reader, company)
        entries = reader.entries(ref)
        told = list(_told(ref, company, entries))
        erased, gone = erased_marks(reader), erased_marks(reader, ref)
        values = list(_values(reader, lines, told))
    bound = [line for line in company if kind_of(line) in {KEY, ALL_JOBS}]
    return Case(
        ref=ref,
        book=book,
        lines=lines,
        entries=entries,
        names=names_of(reader),
        files=evidence_of(entries, reader.folder, gone),
        company=bound,
        told=told,
        values=values,
        proof=proof,
        paths=_paths(company, [*bound, *told]),
        erased_marks=erased,
    )


def _told(ref: int, company: list[str], entries: list[dict[str, Any]]) -> Iterator[str]:
    """Yield the company's lines that say something about a job."""
    people = {entry["by"] for entry in entries} | {entry["vehicle"] for entry in entries}
    for line in company:
        entry = json.loads(line)
        kind, body = entry["kind"], entry["body"]
        is_about = kind in {BOUND, "restored"}
        is_about |= kind == "enrolled" and body.get("person") in people
        is_about |= kind in {HOLD, ERASED} and body.get("job") == str(ref)
        if is_about:
            yield line


def _values(reader: Reader, lines: list[str], told: list[str]) -> Iterator[tuple[str, str, Any]]:
    """Yield the personal values still kept of a job, and of what the company says about it."""
    names = [mark for line in told for mark in commitments(_name_in(line))]
    for mark in dict.fromkeys((*marks_in(lines), *names)):
        found = reader.secret(mark)
        if found is not None:
            yield mark, *found


def _name_in(line: str) -> object:
    return json.loads(line)["body"].get("name")


def _paths(company: list[str], shown: list[str]) -> dict[str, list[str]]:
    """Return a proof for each line shown: the hashes to join it with, in hex, by its number."""
    leaves = [leaf_hash(line.encode()) for line in company]
    numbers = sorted({int(json.loads(line)["seq"]) for line in shown})
    paths = inclusions(leaves, numbers)
    return {str(seq): [node.hex() for node in path]
            for seq, path in zip(numbers, paths, strict=True)}  # fmt: skip


def _refuse_broken(ref: int, reader: Reader, company: list[str]) -> Proof | None:
    """Return the proof that a job is under the signed head, unless something is wrong with it."""
    (keys, _), lines = keys_in(company), reader.lines(ref)
    wrong = verify_lines(lines, job=str(ref)) or check_chain(str(ref), lines, keys).problems
    for problem in wrong:
        raise StoreError(BROKEN, value=ref, why=problem.what)
    proof, why = prove(reader, ref)
    if why:
        raise StoreError(BROKEN, value=ref, why=why)
    return proof


def marks_in(lines: Iterable[str]) -> Iterator[str]:
    """Yield every commitment in some lines, in order."""
    for line in lines:
        yield from commitments(json.loads(line)["body"])


def facts_of(case: Case) -> dict[str, object]:
    """Return the facts of a job that a packet's texts fill in."""
    company = visible(case.book.library.company.name)
    return {
        "job": case.ref,
        "company": company,
        "line": "=" * (26 + len(company)),
        "size": len(case.lines),
        "first": case.entries[0]["times"]["written"],
        "last": case.entries[-1]["times"]["written"],
    }


def reach_says(case: Case) -> str:
    """Say how far a signature in the record reaches, and what lies behind it."""
    texts, size, reach = packet_texts()["reach"], len(case.lines), case.reach
    number = 0 if case.proof is None else case.proof.head.number
    text = texts["head"] if number else texts["root"] if reach else texts["none"]
    return str(text.format(size=size, last=size - 1, reach=reach, number=number))


def lines_bytes(lines: Iterable[str]) -> bytes:
    """Return lines as the bytes of a file."""
    return "".join(f"{line}\n" for line in lines).encode()


def kind_of(line: str) -> object:
    """Return the kind of the entry in a line."""
    return json.loads(line)["kind"]

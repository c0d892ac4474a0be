"""Checking checkpoints: a record against the roots that were signed while it was written."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from bot.record.arithmetic import Tree, fingerprint, leaf_hash
from bot.record.canonical import parse
from bot.record.chain import Problem, digest
from bot.record.checkpoints import (
    ALL_JOBS,
    CHECKPOINT,
    KEY,
    all_jobs_root,
    all_jobs_statement,
    checkpoint_statement,
    code_of,
    key_statement,
)
from bot.record.entry import AFTER_END
from bot.record.errors import CanonicalError, StoreError
from bot.record.keys import is_signed
from bot.record.reader import Reader
from bot.record.rows import COMPANY

Body = Mapping[str, Any]
DigestAt = Callable[[int, int], str | None]
"""From a job and an entry's number to the digest of its line; None if there is no such entry."""

WRONG_ROOT = "The checkpoint in entry {seq} was signed over different entries."
WRONG_SIGNATURE = "The signature in entry {seq} does not match the key it names."
WRONG_CODE = "The code in entry {seq} does not match its root."
UNKNOWN_KEY = "Entry {seq} is signed with a key that the company's chain does not name."
UNREADABLE = "Entry {seq} is not a readable checkpoint."
BROKEN_KEYS = "The key in entry {seq} does not follow from the key before it."
REPLACED_KEY = "The key in entry {seq} was replaced without the old key's signature: ask why."
AFTER_END_ADDED = "Entry {seq} was added after the job had ended."
LOST = "Job {job} had {size} entries when entry {seq} was signed, and these are different."
GAP = "Entry {seq} was signed over {jobs} jobs, but names different ones."


@dataclass(frozen=True, slots=True)
class Checked:
    """The result of checking a chain's checkpoints.

    Attributes
    ----------
    problems
        Everything wrong with them.
    count
        How many checkpoints there are.
    covered
        How many entries the last checkpoint covers.
    root
        Its root, in hex; empty without a checkpoint.
    """

    problems: tuple[Problem, ...]
    count: int = 0
    covered: int = 0
    root: str = ""


def check_chain(job: str, lines: Sequence[str], keys: Mapping[str, str]) -> Checked:
    """Check the checkpoints of a job.

    Parameters
    ----------
    job
        The job, as in its entries.
    lines
        Its entries, in order; they parse.
    keys
        The company's keys: public half in hex to fingerprint.
    """
    tree, found = Tree(), list[Problem]()
    count, covered, root = 0, 0, ""
    is_over = False
    for seq, line in enumerate(lines):
        kind = _kind(line)
        if is_over and kind not in AFTER_END:
            found.append(Problem(job, seq, AFTER_END_ADDED.format(seq=seq)))
        is_over = is_over or kind == "ended"
        if kind == CHECKPOINT:
            wrong = _of_checkpoint(job, seq, parse(line), tree, keys)
            found += [Problem(job, seq, wrong.format(seq=seq))] if wrong else []
            count, covered, root = count + 1, tree.size, tree.root().hex()
        tree.add(leaf_hash(line.encode()))
    return Checked(tuple(found), count, covered, root)


def _of_checkpoint(
    job: str, seq: int, entry: Mapping[str, Any], tree: Tree, keys: Mapping[str, str]
) -> str:
    """Return the problem with a checkpoint; empty if it is valid."""
    try:
        body = entry["body"]
        if body["size"] != tree.size or body["root"] != tree.root().hex():
            return WRONG_ROOT
        return _of_signed(body, checkpoint_statement(job, seq, body["root"]), keys)
    except (KeyError, TypeError, ValueError):
        return UNREADABLE


def _of_signed(body: Body, text: bytes, keys: Mapping[str, str]) -> str:
    if body["key"] not in keys:
        return UNKNOWN_KEY
    if body["code"] != code_of(bytes.fromhex(body["root"])):
        return WRONG_CODE
    key, signature = bytes.fromhex(body["key"]), bytes.fromhex(body["signature"])
    return "" if is_signed(key, text, signature) else WRONG_SIGNATURE


def keys_in(lines: Sequence[str]) -> tuple[dict[str, str], list[Problem]]:
    """Return the keys in the company's chain, and the problems with them.

    A key that was replaced without the old key's signature is none: `replaced_keys` tells it.
    """
    keys: dict[str, str] = {}
    found: list[Problem] = []
    before = ""
    for seq, line in enumerate(lines):
        if _kind(line) != KEY:
            continue
        body = parse(line)["body"]
        wrong = _of_key(body, before)
        found += [Problem(str(COMPANY), seq, wrong.format(seq=seq))] if wrong else []
        before = str(body.get("public"))
        keys[before] = str(body.get("fingerprint"))
    return keys, found


def replaced_keys(lines: Sequence[str]) -> Iterator[str]:
    """Tell each key that came without the signature of the key before it.

    It may be honest (the old key was lost); the record alone cannot show that.
    """
    for seq, line in enumerate(lines):
        if _kind(line) == KEY:
            body = parse(line)["body"]
            if body.get("before") and body.get("signature_before") is None:
                yield REPLACED_KEY.format(seq=seq)


def _of_key(body: Body, before: str) -> str:
    try:
        public = bytes.fromhex(body["public"])
        text = key_statement(before, body["public"])
        signed = is_signed(public, text, bytes.fromhex(body["signature"]))
        is_next = body["before"] == before and body["fingerprint"] == fingerprint(public)
        if not signed or not is_next:
            return BROKEN_KEYS
        if not before:
            return ""
        old = body.get("signature_before")
        is_old = old is None or is_signed(bytes.fromhex(before), text, bytes.fromhex(old))
    except (KeyError, TypeError, ValueError):
        return BROKEN_KEYS
    return "" if is_old else BROKEN_KEYS


def check_all_jobs(
    lines: Sequence[str], digest_at: DigestAt, keys: Mapping[str, str]
) -> Iterator[Problem]:
    """Yield the problems with the roots over all jobs: a missing job, or a missing tail."""
    heads: dict[int, tuple[int, str]] = {}
    for seq, line in enumerate(lines):
        if _kind(line) != ALL_JOBS:
            continue
        try:
            yield from _of_all_jobs(seq, parse(line)["body"], heads, digest_at, keys)
        except (KeyError, TypeError, ValueError):
            yield Problem(str(COMPANY), seq, UNREADABLE.format(seq=seq))


def _of_all_jobs(
    seq: int,
    body: Body,
    heads: dict[int, tuple[int, str]],
    digest_at: DigestAt,
    keys: Mapping[str, str],
) -> Iterator[Problem]:
    for chain in body["changed"]:
        job, size = int(chain["job"]), chain["size"]
        heads[job] = (size, chain["head"])
        if digest_at(job, size - 1) != chain["head"]:
            yield Problem(str(COMPANY), seq, LOST.format(job=job, size=size, seq=seq))
    jobs = body["jobs"]
    if sorted(heads.keys() - {COMPANY}) != list(range(1, jobs + 1)):
        yield Problem(str(COMPANY), seq, GAP.format(seq=seq, jobs=jobs))
    if body["root"] != all_jobs_root(heads).hex():
        yield Problem(str(COMPANY), seq, WRONG_ROOT.format(seq=seq))
    wrong = _of_signed(body, all_jobs_statement(body["date"], jobs, body["root"]), keys)
    if wrong:
        yield Problem(str(COMPANY), seq, wrong.format(seq=seq))


def check_record(reader: Reader) -> list[Problem]:
    """Check every signed root of a record with intact chains."""
    company = reader.lines(COMPANY)
    keys, found = keys_in(company)
    for job in reader.sizes():
        found += check_chain(str(job), reader.lines(job), keys).problems
    return [*found, *check_all_jobs(company, _digests(reader), keys)]


def _digests(reader: Reader) -> DigestAt:
    def digest_at(job: int, seq: int) -> str | None:
        line = reader.line(job, seq)
        return None if line is None else digest(line.encode())

    return digest_at


def _kind(line: str) -> object:
    try:
        return parse(line).get("kind")
    except (CanonicalError, StoreError):
        return None

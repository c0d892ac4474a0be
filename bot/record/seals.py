"""Checks of checkpoints: a record against the roots that were signed while it was written."""

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
from bot.record.errors import CanonicalError, StoreError
from bot.record.keys import is_signed
from bot.record.reader import Reader
from bot.record.rows import COMPANY

Body = Mapping[str, Any]
DigestAt = Callable[[int, int], str | None]
"""From a job and an entry's number to the digest of its line, None where there is none."""

WRONG_ROOT = "The checkpoint in entry {seq} was signed over other entries than these."
WRONG_SIGNATURE = "The signature in entry {seq} is not that of the key it names."
WRONG_CODE = "The code in entry {seq} is not that of its root."
UNKNOWN_KEY = "Entry {seq} is signed with a key that the company's chain does not name."
UNREADABLE = "Entry {seq} is no checkpoint that can be read."
BROKEN_KEYS = "The key in entry {seq} does not follow from the one before it."
REPLACED_KEY = "The key in entry {seq} was replaced without the old key's signature: ask why."
LOST = "Job {job} had {size} entries when entry {seq} was signed, and they are not these."
GAP = "Entry {seq} was signed over {jobs} jobs, but names others."


@dataclass(frozen=True, slots=True)
class Checked:
    """What a chain's checkpoints show.

    Attributes
    ----------
    problems
        What does not hold.
    count
        How many checkpoints there are.
    covered
        How many entries the last one covers.
    root
        Its root, in hex; empty where there is none.
    """

    problems: tuple[Problem, ...]
    count: int = 0
    covered: int = 0
    root: str = ""


def check_chain(job: str, lines: Sequence[str], keys: Mapping[str, str]) -> Checked:
    """Check the checkpoints of one job.

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
    for seq, line in enumerate(lines):
        if _kind(line) == CHECKPOINT:
            what = _of_checkpoint(job, seq, parse(line), tree, keys)
            found += [Problem(job, seq, what.format(seq=seq))] if what else []
            count, covered, root = count + 1, tree.size, tree.root().hex()
        tree.add(leaf_hash(line.encode()))
    return Checked(tuple(found), count, covered, root)


def _of_checkpoint(
    job: str, seq: int, entry: Mapping[str, Any], tree: Tree, keys: Mapping[str, str]
) -> str:
    """Return what is wrong with a checkpoint; empty when it holds."""
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
    """Return the keys that the company's chain brings into use, and what is wrong with them.

    A key that was replaced without the old one's signature is told as a problem: it may be
    honest (the old key was lost), and the record alone cannot tell.
    """
    keys: dict[str, str] = {}
    found: list[Problem] = []
    before = ""
    for seq, line in enumerate(lines):
        if _kind(line) != KEY:
            continue
        body = parse(line)["body"]
        what = _of_key(body, before)
        found += [Problem(str(COMPANY), seq, what.format(seq=seq))] if what else []
        before = str(body.get("public"))
        keys[before] = str(body.get("fingerprint"))
    return keys, found


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
        if old is None:
            return REPLACED_KEY
        is_old = is_signed(bytes.fromhex(before), text, bytes.fromhex(old))
    except (KeyError, TypeError, ValueError):
        return BROKEN_KEYS
    return "" if is_old else BROKEN_KEYS


def check_all_jobs(
    lines: Sequence[str], digest_at: DigestAt, keys: Mapping[str, str]
) -> Iterator[Problem]:
    """Yield what does not hold of the roots over all jobs: a job or a tail that is gone."""
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
    for one in body["changed"]:
        job, size = int(one["job"]), one["size"]
        heads[job] = (size, one["head"])
        if digest_at(job, size - 1) != one["head"]:
            yield Problem(str(COMPANY), seq, LOST.format(job=job, size=size, seq=seq))
    jobs = body["jobs"]
    if sorted(heads.keys() - {COMPANY}) != list(range(1, jobs + 1)):
        yield Problem(str(COMPANY), seq, GAP.format(seq=seq, jobs=jobs))
    if body["root"] != all_jobs_root(heads).hex():
        yield Problem(str(COMPANY), seq, WRONG_ROOT.format(seq=seq))
    what = _of_signed(body, all_jobs_statement(body["date"], jobs, body["root"]), keys)
    if what:
        yield Problem(str(COMPANY), seq, what.format(seq=seq))


def check_record(reader: Reader) -> list[Problem]:
    """Check every signed root of a record whose chains hold."""
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

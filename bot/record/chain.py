"""The chain: every entry carries the digest of the line before it.

``prev`` is the SHA-256 of the previous line's bytes, sixty-four zeros for the first. Anyone
with the lines and a SHA-256 tool can check it. Whoever has the lines can also rewrite all of
them; only digests kept elsewhere (the database's own column, checkpoints in the chats) show that.
"""

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from bot.record.canonical import canonical, parse
from bot.record.errors import CanonicalError

GENESIS = "0" * 64
"""The ``prev`` of the first line."""

MISPLACED = "Entry {found} is where entry {seq} belongs."
OTHER_JOB = "Entry {seq} names job {found}, not job {job}."
MISSING = "Entry {seq} is missing."
NOT_CANONICAL = "Entry {seq} is not in canonical form."
UNLINKED = "Entry {seq} does not follow from the entry before it."
CHANGED = "Entry {seq} does not match its known digest."


@dataclass(frozen=True, slots=True)
class Problem:
    """The first thing that is wrong with a chain.

    Attributes
    ----------
    job
        The chain, as written in its entries; None if that cannot be read.
    seq
        The entry, counted from 0; -1 for the chain as a whole.
    what
        The problem, as a sentence.
    """

    job: str | None
    seq: int
    what: str


def digest(data: bytes) -> str:
    """Return the SHA-256 of bytes in lower-case hex.

    Examples
    --------
    >>> digest(b"abc")[:16]
    'ba7816bf8f01cfea'

    Source
    ------
    FIPS 180-4; the example is that standard's one-block message.
    """
    return hashlib.sha256(data).hexdigest()


def commitment(salt: str, value: object) -> str:
    """Commit to a personal value without showing it.

    Parameters
    ----------
    salt
        Random text, stored only with the value.
    value
        Anything that an entry may contain.

    Returns
    -------
    str
        Hex SHA-256 of the canonical form of ``{"salt": salt, "value": value}``.

    Raises
    ------
    CanonicalError
        If an entry cannot contain the value.

    Examples
    --------
    >>> commitment("00", "ABC 123") == digest(b'{"salt":"00","value":"ABC 123"}')
    True
    """
    return commitment_to(salt, canonical(value).decode("utf-8"))


def commitment_to(salt: str, written: str) -> str:
    """Commit to a personal value that is already written in canonical form.

    Examples
    --------
    >>> commitment_to("00", '"ABC 123"') == commitment("00", "ABC 123")
    True
    """
    return digest(f'{{"salt":{canonical(salt).decode("utf-8")},"value":{written}}}'.encode())


def link(prev: str, entry: Mapping[str, object]) -> tuple[str, str]:
    """Write an entry as the next line of its chain.

    Parameters
    ----------
    prev
        Digest of the line before, or `GENESIS`.
    entry
        The entry without its ``prev``.

    Returns
    -------
    tuple of str
        The line, without line end, and its digest.

    Raises
    ------
    CanonicalError
        If an entry cannot contain one of the values.

    Examples
    --------
    >>> line, head = link(GENESIS, {"seq": 0, "kind": "opened"})
    >>> line[:40], head == digest(line.encode())
    ('{"kind":"opened","prev":"000000000000000', True)
    """
    line = canonical({**entry, "prev": prev})
    return line.decode("utf-8"), digest(line)


def verify_lines(
    lines: Sequence[str], known: Mapping[int, str] | None = None, *, job: str | None = None
) -> list[Problem]:
    """Check a chain and name the first bad entry.

    Number and order are checked before anything is hashed.

    Parameters
    ----------
    lines
        The entries of a chain, in order.
    known
        Digests known from elsewhere, by entry: the database's own column, or checkpoints.
        Without them a change to the last line goes unnoticed, and a change to any other line
        shows at the line after it.
    job
        The job that every entry must name; by default the job that the first entry names.

    Returns
    -------
    list of Problem
        Empty if the chain is intact, otherwise a single problem.

    Examples
    --------
    >>> first, head = link(GENESIS, {"job": "1", "seq": 0})
    >>> second, _ = link(head, {"job": "1", "seq": 1})
    >>> verify_lines([first, second])
    []
    >>> verify_lines([second])[0].what
    'Entry 1 is where entry 0 belongs.'
    """
    known = known or {}
    found: list[dict[str, Any]] = []
    problem = next(_misplaced(lines, known, found, job), None) or next(
        _unlinked(lines, known, found), None
    )
    return [problem] if problem else []


def _misplaced(
    lines: Sequence[str],
    known: Mapping[int, str],
    found: list[dict[str, Any]],
    job: str | None,
) -> Iterator[Problem]:
    for seq, line in enumerate(lines):
        try:
            entry = parse(line)
        except CanonicalError as error:
            yield Problem(job, seq, error.what)
            return
        job = entry.get("job") if job is None else job
        if wrong := _wrong_position(entry, job, seq):
            yield Problem(job, seq, wrong)
        found.append(entry)
    for seq in sorted(seq for seq in known if seq >= len(lines)):
        yield Problem(job, seq, MISSING.format(seq=seq))


def _wrong_position(entry: Mapping[str, Any], job: str | None, seq: int) -> str:
    """Return why an entry does not belong here; empty if it does."""
    its_seq, its_job = entry.get("seq"), entry.get("job")
    if its_seq != seq or isinstance(its_seq, bool):
        return MISPLACED.format(found=its_seq, seq=seq)
    if its_job != job:
        return OTHER_JOB.format(found=its_job, seq=seq, job=job)
    return ""


def _unlinked(
    lines: Sequence[str], known: Mapping[int, str], found: list[dict[str, Any]]
) -> Iterator[Problem]:
    prev = GENESIS
    for seq, (line, entry) in enumerate(zip(lines, found, strict=True)):
        job = entry.get("job")
        if _rewritten(entry) != line:
            yield Problem(job, seq, NOT_CANONICAL.format(seq=seq))
        if entry.get("prev") != prev:
            yield Problem(job, seq, UNLINKED.format(seq=seq))
        prev = digest(line.encode("utf-8"))
        if known.get(seq, prev) != prev:
            yield Problem(job, seq, CHANGED.format(seq=seq))


def _rewritten(entry: dict[str, Any]) -> str | None:
    try:
        return canonical(entry).decode("utf-8")
    except CanonicalError:
        return None

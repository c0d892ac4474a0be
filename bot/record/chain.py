"""The chain: every entry carries the digest of the line before it.

``prev`` is the SHA-256 of the previous line's bytes, sixty-four zeros for the first. Anyone
with the lines and a SHA-256 tool can check it; only digests seen elsewhere (the database's own
column, checkpoints in the chats) bind the one who holds the lines.
"""

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from bot.record.canonical import canonical, parse
from bot.record.errors import CanonicalError

GENESIS = "0" * 64
"""What stands for the line before the first."""

MISPLACED = "Entry {found} stands where entry {seq} belongs."
OTHER_JOB = "Entry {seq} names job {found}, not job {job}."
MISSING = "Entry {seq} is missing."
NOT_CANONICAL = "Entry {seq} is not in canonical form."
UNLINKED = "Entry {seq} does not follow from the entry before it."
CHANGED = "Entry {seq} is not the one whose digest is known."


@dataclass(frozen=True, slots=True)
class Problem:
    """The first place where a chain does not hold.

    Attributes
    ----------
    job
        The chain, as written in its entries; None where that cannot be told.
    seq
        The entry, counted from 0; -1 for the chain as a whole.
    what
        What was found, as a sentence.
    """

    job: str | None
    seq: int
    what: str


def digest(data: bytes) -> str:
    """Hash bytes with SHA-256, in lower-case hex.

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
        Random text, kept only beside the value.
    value
        Anything that an entry may hold.

    Returns
    -------
    str
        Hex SHA-256 of the canonical form of ``{"salt": salt, "value": value}``.

    Raises
    ------
    CanonicalError
        If the value cannot stand in an entry.

    Examples
    --------
    >>> commitment("00", "ABC 123") == digest(b'{"salt":"00","value":"ABC 123"}')
    True
    """
    return digest(canonical({"salt": salt, "value": value}))


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
        If a value cannot stand in an entry.

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
        The entries of one chain, in order.
    known
        Digests learnt elsewhere, by entry: the database's own, or those of checkpoints.
        Without them a change of the last line cannot be seen, and a change of another one
        is seen at the line after it.
    job
        The job that every entry must name; by default the one that the first names.

    Returns
    -------
    list of Problem
        Empty when the chain holds, otherwise one.

    Examples
    --------
    >>> first, head = link(GENESIS, {"job": "1", "seq": 0})
    >>> second, _ = link(head, {"job": "1", "seq": 1})
    >>> verify_lines([first, second])
    []
    >>> verify_lines([second])[0].what
    'Entry 1 stands where entry 0 belongs.'
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
        at, of = entry.get("seq"), entry.get("job")
        if at != seq or isinstance(at, bool):
            yield Problem(job, seq, MISPLACED.format(found=at, seq=seq))
        if of != job:
            yield Problem(job, seq, OTHER_JOB.format(found=of, seq=seq, job=job))
        found.append(entry)
    for seq in sorted(seq for seq in known if seq >= len(lines)):
        yield Problem(job, seq, MISSING.format(seq=seq))


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

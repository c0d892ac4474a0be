"""Checkpoints: signed roots over the record, written with the entries that they cover.

Whoever has the database can write a new one with intact chains. They cannot change the messages
that others have seen. So at each pause, and when a job ends, the root over the job's entries is
signed, written as an entry, and its code is sent into the chats. When a job ends, and once a
day, the same is done over all jobs.

A code is the first sixteen digits of a root, in four groups. A forger can choose salts freely,
and so try for the same code: 64 bits are too many for that, 32 would not be.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Literal

from bot.record.arithmetic import fingerprint, leaf_hash
from bot.record.canonical import canonical
from bot.record.heads import Binder
from bot.record.keys import Signer
from bot.record.merkle import root_of
from bot.record.reader import Reader
from bot.record.rows import COMPANY, NewEntry
from bot.record.seen import remember
from flows.job.events import Moment
from flows.routine.items import Gate
from flows.turn.turning import BOT, Turn

CHECKPOINT: Literal["checkpoint"] = "checkpoint"
ALL_JOBS, KEY = "all_jobs", "key"
PAUSES = frozenset({"held", "handover", "ended"})
CODE_DIGITS = 16


@dataclass(frozen=True, slots=True)
class Codes:
    """The codes sent into the chats: of the job, and of all jobs if they were sealed as well.

    With the code of all jobs goes `mark`, the key's fingerprint: whoever kept that message has
    it from elsewhere than a packet.
    """

    code: str
    size: int
    all_jobs: str | None = None
    jobs: int = 0
    mark: str = ""


@dataclass
class CompanySeals:
    """The state of keys and of all jobs by the company's chain, followed as it grows.

    Attributes
    ----------
    read
        How many of its entries have been read.
    public
        The key in use, in hex; empty before the first key.
    heads
        Size and last digest of every chain, by job, according to the last root over all jobs.
    date
        The day of that root, in UTC.
    """

    read: int = 0
    public: str = ""
    heads: dict[int, tuple[int, str]] = field(default_factory=dict)
    date: str = ""

    def follow(self, reader: Reader) -> None:
        """Read the entries added to the company's chain since the last call."""
        for entry in reader.entries(COMPANY, self.read):
            self.read += 1
            self.take(entry["kind"], entry["body"])

    def take(self, kind: str, body: Mapping[str, Any]) -> None:
        """Apply an entry of that chain."""
        if kind == KEY:
            self.public = body["public"]
        elif kind == ALL_JOBS:
            self.date = body["date"]
            for chain in body["changed"]:
                self.heads[int(chain["job"])] = (chain["size"], chain["head"])


def is_pause(made: Turn) -> bool:
    """Say whether a turn reaches a pause: a go, a hold, a handover, or the end of the job."""
    items = made.job.book.routine.items
    return any(
        entry.kind in PAUSES
        or (entry.kind == "act" and isinstance(items.get(entry.body.get("item", "")), Gate))
        for entry, _ in made.entries
    )


class Sealer:
    """Makes the entries that bind a record; the store writes them.

    Parameters
    ----------
    signer
        The company's key.
    seen
        The file that keeps the last checkpoint apart from the record; None to keep none.
    note
        The file that keeps the last signed head apart from the record; None to keep none.

    Attributes
    ----------
    binder
        Moves the signed head between checkpoints; `Store.bind` puts it to work.
    """

    def __init__(self, signer: Signer, seen: Path | None = None, note: Path | None = None) -> None:
        self._signer = signer
        self._seen = seen
        self.binder = Binder(signer, note)
        self._company = CompanySeals()

    def seal(
        self, reader: Reader, job: int, at: Moment, *, is_over: bool
    ) -> Iterator[NewEntry | Codes]:
        """Yield the entries that seal a job now, each to be written before the next is made.

        Last come the codes for the chats.
        """
        public = self._signer.public
        self._company.follow(reader)
        if self._company.public != public.hex():
            yield key_entry(self._signer, before=self._company.public)
        leaves = [leaf_hash(line.encode()) for line in reader.lines(job)]
        root = root_of(leaves)
        yield self._checkpoint(job, len(leaves), root)
        date = datetime.fromtimestamp(at.wall_ms / 1000, UTC).date().isoformat()
        if not is_over and self._company.date == date:
            yield Codes(code_of(root), len(leaves))
            return
        entry = self._all_jobs(reader, date)
        yield entry
        whole = str(entry.body["code"])
        mark, jobs = fingerprint(public), _whole(entry.body["jobs"])
        yield Codes(code_of(root), len(leaves), whole, jobs, mark)

    def remember(self, reader: Reader, job: int) -> None:
        """Keep the checkpoint apart from the record, once it is written."""
        if self._seen is not None:
            remember(self._seen, reader, job)

    def _checkpoint(self, job: int, size: int, root: bytes) -> NewEntry:
        text = checkpoint_statement(job, size, root.hex())
        return NewEntry(job, CHECKPOINT, {"size": size, **self._signed(root, text)}, by=BOT)

    def _all_jobs(self, reader: Reader, date: str) -> NewEntry:
        heads = dict(self._company.heads)
        changed: list[dict[str, object]] = []
        for job, size in reader.sizes().items():
            if heads.get(job, (0, ""))[0] != size:
                head = reader.head(job)
                heads[job] = (size, head.digest if head else "")
                changed.append({"job": str(job), "size": size, "head": heads[job][1]})
        root = all_jobs_root(heads)
        jobs = len(heads.keys() - {COMPANY})
        # The number of the head that is signed with this entry: from here on there is one.
        number = self.binder.number + 1
        body = {"date": date, "jobs": jobs, "changed": changed, "head": number}
        text = all_jobs_statement(date, jobs, root.hex())
        return NewEntry(COMPANY, ALL_JOBS, {**body, **self._signed(root, text)}, by=BOT)

    def _signed(self, root: bytes, text: bytes) -> dict[str, object]:
        return {
            "root": root.hex(),
            "code": code_of(root),
            "key": self._signer.public.hex(),
            "signature": self._signer.sign(text).hex(),
        }


def key_entry(signer: Signer, before: str, old: Signer | None = None) -> NewEntry:
    """Return the entry that brings a key into use.

    Parameters
    ----------
    signer
        The key from now on.
    before
        The key until now, in hex; empty for the first key.
    old
        The key until now, if it is available to sign as well: a rotation. Without it the
        entry says "replaced", and its reader has to ask why.
    """
    public = signer.public.hex()
    text = key_statement(before, public)
    body: dict[str, object] = {
        "event": "created" if not before else "rotated" if old is not None else "replaced",
        "public": public,
        "fingerprint": fingerprint(signer.public),
        "before": before,
        "signature": signer.sign(text).hex(),
    }
    if old is not None:
        body["signature_before"] = old.sign(text).hex()
    return NewEntry(COMPANY, KEY, body, by=BOT)


def code_of(root: bytes) -> str:
    """Return the short code of a root.

    Examples
    --------
    >>> code_of(bytes.fromhex("7f3a92c15be00d44") + bytes(24))
    '7f3a 92c1 5be0 0d44'
    """
    digits = root.hex()[:CODE_DIGITS]
    return " ".join(digits[start : start + 4] for start in range(0, CODE_DIGITS, 4))


def checkpoint_statement(job: int | str, size: int, root: str) -> bytes:
    """Return the bytes that a checkpoint signs."""
    said = {"what": "rollproof checkpoint 1", "job": str(job), "size": size, "root": root}
    return canonical(said)


def all_jobs_statement(date: str, jobs: int, root: str) -> bytes:
    """Return the bytes that a root over all jobs signs."""
    return canonical({"what": "rollproof all jobs 1", "date": date, "jobs": jobs, "root": root})


def key_statement(before: str, public: str) -> bytes:
    """Return the bytes that a new key signs, and the key before it."""
    return canonical({"what": "rollproof key 1", "before": before, "public": public})


def all_jobs_root(heads: Mapping[int, tuple[int, str]]) -> bytes:
    """Return the root over every chain's size and last digest, in job order."""
    return root_of(
        leaf_hash(canonical({"job": str(job), "size": size, "head": head}))
        for job, (size, head) in sorted(heads.items())
    )


def _whole(value: object) -> int:
    return value if isinstance(value, int) else 0

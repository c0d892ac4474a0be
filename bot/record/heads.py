"""The signed head: every commit moves it, so that nothing is written without the key.

A checkpoint binds a job up to its last pause. Between pauses, whoever has the database alone
could change or add entries. So each commit signs a root over all chains, in its own transaction:
a crash leaves both or neither. The same head is noted beside the key, outside the data folder;
that note may be behind the record after a crash, and never ahead of it.

A head is never made from lines read again, only from the tree of the head before it and the
lines being written: entries that somebody changed or added never come under a signature.
"""

import json
import logging
import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from bot.record.arithmetic import HASH_BYTES, Tree, leaf_hash
from bot.record.canonical import canonical, parse
from bot.record.keys import Signer, is_signed
from bot.record.merkle import LiveTree
from bot.record.rows import COMPANY, NewEntry

if TYPE_CHECKING:
    from sqlite_utils import Database

    from bot.record.reader import Reader

LOG = logging.getLogger(__name__)

BOUND: Literal["bound"] = "bound"
"""The kind of the company's entry that says from when on the record has a signed head."""

BEGUN, BROKEN = "begun", "broken"
SLOT = 512
"""Bytes of each of the two places in the note; they are written in turn, so that a write that a
loss of power cut off leaves the other."""

_KEEP_CHAIN = "INSERT OR REPLACE INTO signed_chains (job, size, nodes) VALUES (?, ?, ?)"
_KEEP_HEAD = """INSERT OR REPLACE INTO signed_head (id, number, chains, root, key, signature)
    VALUES (1, ?, ?, ?, ?, ?)"""


@dataclass(frozen=True, slots=True)
class SignedHead:
    """A signature over all chains, as of a commit.

    Attributes
    ----------
    number
        How many commits were signed up to this one, counted from 1; 0 where none was.
    chains
        How many chains it is over: the company's and every job's.
    root
        The root over their leaves, in hex, by `chain_leaf` in the order of the jobs.
    key, signature
        In hex.
    """

    number: int
    chains: int
    root: str
    key: str
    signature: str

    @property
    def is_signed(self) -> bool:
        """Whether the key that it names signed it."""
        try:
            key, signature = bytes.fromhex(self.key), bytes.fromhex(self.signature)
        except (ValueError, TypeError):  # a database may hold bytes where a text was
            return False
        return is_signed(key, head_statement(self.number, self.chains, self.root), signature)


def head_statement(number: int, chains: int, root: str) -> bytes:
    """Return the bytes that a head signs."""
    said = {"what": "rollproof head 1", "number": number, "chains": chains, "root": root}
    return canonical(said)


def chain_leaf(job: int, tree: Tree) -> bytes:
    """Return a chain's leaf under a head: its job, its size and the root over its lines."""
    said = {"job": str(job), "size": tree.size, "root": tree.root().hex()}
    return leaf_hash(canonical(said))


def live_tree(trees: Mapping[int, Tree]) -> LiveTree:
    """Return the tree over the chains; a chain without entries has its place too."""
    found = LiveTree()
    for job in range(max(trees, default=-1) + 1):
        found.put(job, chain_leaf(job, trees.get(job, Tree())))
    return found


def tree_over(lines: Iterable[str]) -> Tree:
    """Return the tree over the lines of a chain."""
    tree = Tree()
    for line in lines:
        tree.add(leaf_hash(line.encode()))
    return tree


def nodes_of(tree: Tree) -> str:
    """Return the unfinished tree as text: the roots of its full parts, in hex."""
    return b"".join(tree.full).hex()


def tree_of(size: int, nodes: str) -> Tree:
    """Return the unfinished tree that a text holds.

    Raises
    ------
    ValueError
        For a text that is not one.
    """
    data, tree = bytes.fromhex(nodes), Tree()
    tree.size = size
    tree.full = [data[at : at + HASH_BYTES] for at in range(0, len(data), HASH_BYTES)]
    if size < 0 or len(data) != HASH_BYTES * size.bit_count():
        raise ValueError("these are not the nodes of a tree of this size")
    return tree


class Binder:
    """Moves a record's signed head with every commit.

    Parameters
    ----------
    signer
        The key in use.
    note
        The file beside the key that the head is noted in; None to keep none.
    """

    def __init__(self, signer: Signer, note: Path | None = None) -> None:
        self._signer = signer
        self._note = note
        self._head: SignedHead | None = None
        self._trees: dict[int, Tree] = {}
        self._live: LiveTree | None = None
        self._why = ""

    @property
    def number(self) -> int:
        """The number of the last head."""
        return self._head.number if self._head is not None else 0

    def load(self, reader: "Reader") -> None:
        """Read the last head of a record, and notice where it has to begin again."""
        self._head = reader.signed_head()
        self._why = self._missing(reader)
        if self._why:
            LOG.log(
                logging.ERROR if self._why == BROKEN else logging.INFO,
                "the record's signed head is %s: it begins again from the entries as they are",
                "gone or broken" if self._why == BROKEN else "not there yet",
            )

    def _missing(self, reader: "Reader") -> str:
        """Return why the head has to begin; empty if it goes on, or nothing is written yet."""
        head, self._trees, self._live = self._head, {}, None
        if head is None:
            return BROKEN if reader.sizes() else ""
        if head.number == 0:
            return BEGUN
        try:
            self._trees = kept_trees(reader)
        except ValueError:
            return BROKEN
        self._live = live_tree(self._trees)
        is_ours = head.root == self._live.root().hex() and head.is_signed
        return "" if is_ours and head.key in self._keys(reader) else BROKEN

    def _keys(self, reader: "Reader") -> set[str]:
        """Return the keys that the last head may be signed with: ours, and the record's newest."""
        named = [parse(line) for line in reader.lines(COMPANY) if '"kind":"key"' in line]
        keys = [str(entry["body"].get("public")) for entry in named if entry["kind"] == "key"]
        return {self._signer.public.hex(), *keys[-1:]}

    def count_from(self, number: int) -> None:
        """Go on behind the head of this number, if it is later: a copy was put back."""
        if self._head is not None and number > self._head.number:
            self._head = replace(self._head, number=number)

    def begins(self) -> Iterator[NewEntry]:
        """Yield the entry with which a record's head begins, where it has to."""
        if self._why:
            yield NewEntry(COMPANY, BOUND, {"why": self._why, "number": self.number + 1}, by="bot")

    def move(self, db: "Database", reader: "Reader", added: Sequence[tuple[int, str]]) -> None:
        """Sign the head over the lines just written; call it in their transaction."""
        if self._live is None or self._why:
            # From the lines as they are: nothing is written yet, or an entry says so.
            self._trees = {job: tree_over(reader.lines(job)) for job in reader.sizes()}
            self._live = live_tree(self._trees)
            changed = set(self._trees)
        else:
            changed = {job for job, _ in added}
            for job, line in added:
                self._trees.setdefault(job, Tree()).add(leaf_hash(line.encode()))
            for job in sorted({*range(self._live.size, max(changed) + 1), *changed}):
                self._live.put(job, chain_leaf(job, self._trees.setdefault(job, Tree())))
        self._sign(db, changed)

    def _sign(self, db: "Database", changed: set[int]) -> None:
        live, number = self._live or LiveTree(), self.number + 1
        root = live.root().hex()
        signature = self._signer.sign(head_statement(number, live.size, root)).hex()
        head = SignedHead(number, live.size, root, self._signer.public.hex(), signature)
        rows = [(job, tree.size, nodes_of(tree)) for job in sorted(changed)
                for tree in [self._trees[job]]]  # fmt: skip
        db.conn.executemany(_KEEP_CHAIN, rows)
        db.execute(_KEEP_HEAD, (number, head.chains, root, head.key, signature))
        self._head = head

    def moved(self) -> None:
        """Note the head beside the key, once its transaction is written."""
        self._why = ""
        if self._note is not None and self._head is not None:
            try:
                write_note(self._note, self._head)
            except OSError:
                LOG.exception("the signed head cannot be noted in %s", self._note)


def kept_trees(reader: "Reader") -> dict[int, Tree]:
    """Return the unfinished tree over each chain, as kept with the head.

    Raises
    ------
    ValueError
        If one is not readable.
    """
    try:
        return {job: tree_of(size, nodes) for job, size, nodes in reader.signed_chains()}
    except TypeError as error:
        raise ValueError("these are not the nodes of a tree") from error


def write_note(path: Path, head: SignedHead) -> None:
    """Note a head in the place that the note before it did not use; does not wait for the disk."""
    text = canonical(asdict(head)).ljust(SLOT - 1) + b"\n"
    file = os.open(path, os.O_RDWR | os.O_CREAT | os.O_NOFOLLOW, 0o600)
    try:
        os.pwrite(file, text, SLOT * (head.number % 2))
    finally:
        os.close(file)


def read_note(path: Path) -> SignedHead | None:
    """Return the newest head noted that its key signed; None if there is none."""
    try:
        file = os.open(path, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK)
    except OSError:
        return None
    try:
        data = os.pread(file, 2 * SLOT, 0)
    except OSError:
        return None
    finally:
        os.close(file)
    heads = [_head_in(data[at : at + SLOT]) for at in (0, SLOT)]
    return max((one for one in heads if one), key=lambda one: one.number, default=None)


def _head_in(data: bytes) -> SignedHead | None:
    try:
        found: dict[str, Any] = json.loads(data.strip(b" \n\0"))
        head = SignedHead(**found)
        is_signed = head.is_signed
    except (ValueError, TypeError, RecursionError):
        return None
    return head if is_signed else None

"""How far the signed head reaches: which entries it covers, and which lie behind it."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from bot.record.arithmetic import Tree, leaf_hash
from bot.record.canonical import parse
from bot.record.chain import Problem
from bot.record.checkpoints import ALL_JOBS, KEY
from bot.record.heads import BEGUN, BOUND, SignedHead, kept_trees, live_tree
from bot.record.reader import Reader
from bot.record.rows import COMPANY

NO_HEADS = "This record is from before there was a signed head."
NOT_BEGUN = "Nothing was written since this record got its first signed head."
GONE = "The signed head is gone."
UNSIGNED = "The signature of the signed head does not match the key it names."
OTHER_KEY = "The signed head is signed with another key than the record names last."
OTHER_ROOT = "The signed head is over other chains than are kept with it."
UNREADABLE = "What is kept with the signed head cannot be read."
BEHIND = "Entries {first} to {last} lie behind the signed head: they were added without the key."
CHANGED = (
    "Its entries are not those that the signed head is over: one was changed without the key."
)
SHORT = "The signed head is over {size} entries, and there are {found}."
BEGUN_AT = "Entries before entry {seq} of job 0 ({time}) are bound only by roots signed before it."
BROKEN_AT = "At entry {seq} the signed head was found gone or broken, and began again: ask why."
BEGUN_AGAIN = "At entry {seq} the signed head began, and there was one before it: ask why."


@dataclass(frozen=True, slots=True)
class Reach:
    """What a signed head covers.

    Attributes
    ----------
    problems
        Everything wrong with it.
    lacks
        What is not there that could be, as sentences.
    covered
        How many entries of each chain it covers, by job.
    number
        The number of the head; 0 if none is signed.
    """

    problems: tuple[Problem, ...] = ()
    lacks: tuple[str, ...] = ()
    covered: Mapping[int, int] | None = None
    number: int = 0


def check_head(reader: Reader) -> Reach:
    """Check the signed head of a record whose chains are intact."""
    company = reader.lines(COMPANY)
    head, sizes = reader.signed_head(), reader.sizes()
    if head is None or not head.number:
        return _unsigned(reader, head, sizes)
    try:
        kept = kept_trees(reader)
    except ValueError:
        return Reach((_of_company(UNREADABLE),))
    wrong = [*_of_head(head, kept, company), *_of_beginnings(company)]
    found = _of_chains(reader, kept, sorted(kept.keys() | sizes.keys()))
    wrong += [Problem(str(job), size, what) for job, (what, size) in found.items() if what]
    covered = {} if wrong else {job: size for job, (_, size) in found.items()}
    return Reach(tuple(wrong), tuple(_begun(company)), covered, head.number)


def _unsigned(reader: Reader, head: SignedHead | None, sizes: Mapping[int, int]) -> Reach:
    """Say why there is no signature: none was due yet, or it is gone."""
    if head is None and not reader.has_heads():
        return Reach(lacks=(NO_HEADS,))
    if head is None and any(sizes.values()):
        return Reach((_of_company(GONE),))
    return Reach(lacks=(NOT_BEGUN,))


@dataclass(frozen=True, slots=True)
class Proof:
    """The proof that a job and the company's chain are under a signed head.

    Attributes
    ----------
    head
        The head.
    job, company
        Size and root of each chain, in hex.
    job_path, company_path
        The hashes to join each leaf with, from it up.
    """

    head: SignedHead
    job: tuple[int, str]
    company: tuple[int, str]
    job_path: list[bytes]
    company_path: list[bytes]


def prove(reader: Reader, job: int) -> tuple[Proof | None, str]:
    """Prove that a job's entries are under the signed head.

    Returns
    -------
    tuple
        The proof, None if nothing was signed yet; and what is wrong with the head.
    """
    head = reader.signed_head()
    if head is None or not head.number:
        return None, GONE if head is None and reader.has_heads() else ""
    try:
        trees = kept_trees(reader)
    except ValueError:
        return None, UNREADABLE
    if wrong := next(_of_proof(reader, head, trees, job), ""):
        return None, wrong
    live = live_tree(trees)
    own, company = (_size_and_root(trees[one]) for one in (job, COMPANY))
    return Proof(head, own, company, live.path(job), live.path(COMPANY)), ""


def _of_proof(
    reader: Reader, head: SignedHead, kept: Mapping[int, Tree], job: int
) -> Iterator[str]:
    """Yield what is wrong with a head, or with a job's chain or the company's under it."""
    yield from (problem.what for problem in _of_head(head, kept, reader.lines(COMPANY)))
    for what, _ in _of_chains(reader, kept, (job, COMPANY)).values():
        if what:
            yield what


def _size_and_root(tree: Tree) -> tuple[int, str]:
    return tree.size, tree.root().hex()


def _of_company(what: str, seq: int = -1) -> Problem:
    return Problem(str(COMPANY), seq, what)


def _of_head(head: SignedHead, kept: Mapping[int, Tree], company: list[str]) -> Iterator[Problem]:
    keys = [str(parse(line)["body"].get("public")) for _, line in _of_kind(company, KEY)]
    if not head.is_signed:
        yield _of_company(UNSIGNED)
    elif keys and head.key != keys[-1]:
        yield _of_company(OTHER_KEY)
    live = live_tree(kept)
    if (head.root, head.chains) != (live.root().hex(), live.size):
        yield _of_company(OTHER_ROOT)


def _of_chains(
    reader: Reader, kept: Mapping[int, Tree], jobs: Iterable[int]
) -> dict[int, tuple[str, int]]:
    return {job: _of_chain(kept.get(job, Tree()), reader.lines(job)) for job in jobs}


def _of_chain(kept: Tree, lines: list[str]) -> tuple[str, int]:
    """Return what is wrong with a chain, and how many of its entries the head covers."""
    tree = Tree()
    for line in lines[: kept.size]:
        tree.add(leaf_hash(line.encode()))
    if tree.size < kept.size:
        return SHORT.format(size=kept.size, found=len(lines)), 0
    if tree.root() != kept.root():
        return CHANGED, 0
    if len(lines) > kept.size:
        return BEHIND.format(first=kept.size, last=len(lines) - 1), kept.size
    return "", kept.size


def _of_beginnings(company: list[str]) -> Iterator[Problem]:
    """Yield each time the head began again, where it could not have."""
    there = False
    for seq, line in enumerate(company):
        kind, body = _kind_and_body(line)
        if kind == BOUND and body.get("why") != BEGUN:
            yield _of_company(BROKEN_AT.format(seq=seq), seq)
        elif kind == BOUND and there:
            yield _of_company(BEGUN_AGAIN.format(seq=seq), seq)
        there = there or _is_of_a_head(kind, body)


def _is_of_a_head(kind: object, body: Mapping[str, object]) -> bool:
    return kind == BOUND or (kind == ALL_JOBS and "head" in body)


def _begun(company: list[str]) -> Iterator[str]:
    for seq, line in _of_kind(company, BOUND):
        if seq:
            yield BEGUN_AT.format(seq=seq, time=parse(line)["times"]["written"])


def _of_kind(lines: list[str], kind: str) -> Iterator[tuple[int, str]]:
    for seq, line in enumerate(lines):
        if _kind_and_body(line)[0] == kind:
            yield seq, line


def _kind_and_body(line: str) -> tuple[object, Mapping[str, object]]:
    entry = parse(line)
    return entry.get("kind"), entry.get("body") or {}

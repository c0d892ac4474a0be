"""Whether a packet's key is the company's newest, and how far its signed head reaches.

A part of `verify.py`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

try:
    from arithmetic import Tree, fingerprint, is_included, is_signed, leaf_hash
    from reading import canonical, entry_of, key_of, lines_of, only_line
except ImportError:  # inside the program that makes packets
    from bot.packet.reading import canonical, entry_of, key_of, lines_of, only_line
    from bot.record.arithmetic import Tree, fingerprint, is_included, is_signed, leaf_hash

if TYPE_CHECKING:
    from bot.packet.reading import Bag

MOST_KEYS = 100
"""A company that replaced its key more often than this is none."""


def missing_head(roots: Sequence[str]) -> Iterator[str]:
    """Say that a signed head was left out: a root over all jobs names the number of one."""
    if any("head" in entry_of(line)["body"] for line in roots):
        yield "the record had a signed head, and it is not here"


def check_keys(bag: Bag) -> Iterator[str]:
    """Each key states itself, its follower is signed by both, the newest signed this packet."""
    before, lines = "", lines_of(bag, "data/proof/keys.jsonl")
    if len(lines) > MOST_KEYS:
        yield f"there are {len(lines)} keys; allowed: {MOST_KEYS}"
        return
    for line in lines:
        body = entry_of(line)["body"]
        public = str(body["public"])
        said = {"what": "rollproof key 1", "before": before, "public": public}
        text = canonical(said).encode()
        if not states_itself(body, before, text):
            yield f"the key {body['fingerprint']} does not state itself"
        elif not follows(body, before, text):
            yield f"the key {body['fingerprint']} does not follow from the key before it"
        before = public
    if before and before != key_of(bag).hex():
        yield "this packet is signed with a key that was replaced, not with the company's newest"


def states_itself(body: Any, before: str, text: bytes) -> bool:
    """Say whether a key names the key before it and its own fingerprint, and signs that."""
    public = bytes.fromhex(str(body["public"]))
    names = fingerprint(public) == body["fingerprint"]
    own = is_signed(public, text, bytes.fromhex(body["signature"]))
    return bool(body["before"] == before and names and own)


def follows(body: Any, before: str, text: bytes) -> bool:
    """Say whether the key before it signed a key; one that came without that is told elsewhere."""
    old = body.get("signature_before")
    return old is None or is_signed(bytes.fromhex(before), text, bytes.fromhex(old))


def lacking_keys(bag: Bag) -> Iterator[str]:
    """Say which keys were brought into use without the key before, and that there is none."""
    bodies = [entry_of(line)["body"] for line in lines_of(bag, "data/proof/keys.jsonl")]
    for body in bodies:
        if body["before"] and "signature_before" not in body:
            mark = body["fingerprint"]
            yield f"the key {mark} came without the signature of the key before: ask why"
    if not bodies:
        yield "the record states no key"


def check_head(bag: Bag, lines: Sequence[str]) -> Iterator[str]:
    """The head is signed with the packet's key, over these entries and the company's."""
    head = only_line(bag, "data/proof/head.json")
    said = {name: head[name] for name in ("number", "chains", "root")}
    text = canonical({"what": "rollproof head 1", **said}).encode()
    if head["key"] != key_of(bag).hex():
        yield "the signed head is signed with another key than this packet"
    if not is_signed(bytes.fromhex(head["key"]), text, bytes.fromhex(head["signature"])):
        yield "the signature of the signed head is not valid"
    tree = Tree()
    for line in lines:
        tree.add(leaf_hash(line.encode()))
    job, company = head["job"], head["company"]
    if (job["job"], job["size"], job["root"]) != (
        entry_of(lines[0])["job"], tree.size, tree.root().hex(),
    ):  # fmt: skip
        yield "the signed head is over other entries than these"
    for chain in (job, company):
        if not is_under(head, chain):
            yield f"job {chain['job']} is not under the signed head"
    yield from check_company(bag, company)


def is_under(head: Any, chain: Any) -> bool:
    """Say whether a chain's size and root are a leaf under a signed head."""
    leaf = canonical({name: chain[name] for name in ("job", "size", "root")}).encode()
    path = [bytes.fromhex(node) for node in chain["path"]]
    index, root = int(chain["job"]), bytes.fromhex(head["root"])
    return bool(is_included(leaf_hash(leaf), index, head["chains"], path, root))


def check_company(bag: Bag, company: Any) -> Iterator[str]:
    """Each of the company's entries shown here is under its root: people, keys, erasures."""
    root, paths = bytes.fromhex(company["root"]), company["paths"]
    for name in ("keys", "all-jobs", "company"):
        for line in lines_of(bag, f"data/proof/{name}.jsonl"):
            seq = entry_of(line)["seq"]
            path = [bytes.fromhex(node) for node in paths.get(str(seq), ["00"])]
            if not is_included(leaf_hash(line.encode()), seq, company["size"], path, root):
                yield f"entry {seq} in {name}.jsonl is not among the company's signed entries"

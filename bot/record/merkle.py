"""Merkle trees: one digest over many entries, and short proofs against it.

Source: RFC 9162 sections 2.1.1 to 2.1.4, with SHA-256. A leaf is hashed behind a zero byte and
an inner node behind a one, so that neither can pass for the other. Sizes and places are counts
of leaves; digests are 32 bytes.
"""

import hashlib
from collections.abc import Iterable, Iterator, Sequence

EMPTY = hashlib.sha256(b"").digest()
"""The root of no leaves."""


def leaf_hash(data: bytes) -> bytes:
    """Hash one leaf.

    Examples
    --------
    >>> leaf_hash(b"").hex()[:16]
    '6e340b9cffb37a98'
    """
    return hashlib.sha256(b"\x00" + data).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """Hash an inner node from the two below it."""
    return hashlib.sha256(b"\x01" + left + right).digest()


class Tree:
    r"""The root of a growing list of leaves, without keeping the leaves.

    Examples
    --------
    >>> tree = Tree()
    >>> for data in (b"", b"\x00", b"\x10"):
    ...     tree.add(leaf_hash(data))
    >>> tree.size, tree.root().hex()[:16]
    (3, 'aeb6bcfe274b70a1')
    """

    def __init__(self) -> None:
        self.size = 0
        self._full: list[bytes] = []

    def add(self, leaf: bytes) -> None:
        """Add the hash of one more leaf."""
        # As many full pairs end here as the size so far ends in ones.
        size = self.size
        while size & 1:
            leaf = node_hash(self._full.pop(), leaf)
            size >>= 1
        self._full.append(leaf)
        self.size += 1

    def root(self) -> bytes:
        """Return the root over the leaves so far."""
        if not self._full:
            return EMPTY
        root = self._full[-1]
        for left in reversed(self._full[:-1]):
            root = node_hash(left, root)
        return root


def root_of(leaves: Iterable[bytes]) -> bytes:
    """Return the root over hashes of leaves, in order.

    Examples
    --------
    >>> root_of([]) == EMPTY, root_of([leaf_hash(b"")]) == leaf_hash(b"")
    (True, True)
    """
    tree = Tree()
    for leaf in leaves:
        tree.add(leaf)
    return tree.root()


def inclusion(leaves: Sequence[bytes], place: int) -> list[bytes]:
    """Return the proof that a leaf stands at a place of a tree.

    Parameters
    ----------
    leaves
        The hashes of all leaves, in order.
    place
        Which one, from 0.

    Returns
    -------
    list of bytes
        The nodes to hash it with, from the bottom.

    Raises
    ------
    ValueError
        For a place that the tree does not have.

    Examples
    --------
    >>> leaves = [leaf_hash(bytes([n])) for n in range(5)]
    >>> proof = inclusion(leaves, 3)
    >>> len(proof), is_included(leaves[3], 3, 5, proof, root_of(leaves))
    (3, True)

    Source
    ------
    RFC 9162 section 2.1.3.1, ``PATH(m, D[n])``.
    """
    if not 0 <= place < len(leaves):
        raise ValueError(f"place is {place}; allowed: 0 to {len(leaves) - 1}")
    if len(leaves) == 1:
        return []
    half = _half(len(leaves))
    if place < half:
        return [*inclusion(leaves[:half], place), root_of(leaves[half:])]
    return [*inclusion(leaves[half:], place - half), root_of(leaves[:half])]


def inclusions(leaves: Sequence[bytes], places: Iterable[int]) -> Iterator[list[bytes]]:
    """Yield the proof of inclusion for each of some places, reckoning every node once.

    Examples
    --------
    >>> leaves = [leaf_hash(bytes([n])) for n in range(5)]
    >>> list(inclusions(leaves, [3, 0])) == [inclusion(leaves, 3), inclusion(leaves, 0)]
    True
    """
    known: dict[tuple[int, int], bytes] = {}

    def node(start: int, end: int) -> bytes:
        if end - start == 1:
            return leaves[start]
        if (start, end) not in known:
            middle = start + _half(end - start)
            known[start, end] = node_hash(node(start, middle), node(middle, end))
        return known[start, end]

    for place in places:
        proof: list[bytes] = []
        start, end = 0, len(leaves)
        while end - start > 1:
            middle = start + _half(end - start)
            is_left = place < middle
            proof.append(node(middle, end) if is_left else node(start, middle))
            start, end = (start, middle) if is_left else (middle, end)
        yield proof[::-1]


def is_included(leaf: bytes, place: int, size: int, proof: Sequence[bytes], root: bytes) -> bool:
    """Say whether a proof of inclusion holds.

    Source
    ------
    RFC 9162 section 2.1.3.2.
    """
    if not 0 <= place < size:
        return False
    at, last, found = place, size - 1, leaf
    for node in proof:
        if last == 0:
            return False
        if at & 1 or at == last:
            found = node_hash(node, found)
            while not at & 1 and at:
                at, last = at >> 1, last >> 1
        else:
            found = node_hash(found, node)
        at, last = at >> 1, last >> 1
    return last == 0 and found == root


def consistency(leaves: Sequence[bytes], earlier: int) -> list[bytes]:
    """Return the proof that a tree only grew since it had fewer leaves.

    Parameters
    ----------
    leaves
        The hashes of all leaves now, in order.
    earlier
        How many there were, at least 1.

    Raises
    ------
    ValueError
        For an earlier size that this tree never had.

    Examples
    --------
    >>> leaves = [leaf_hash(bytes([n])) for n in range(7)]
    >>> proof = consistency(leaves, 3)
    >>> is_consistent(3, 7, root_of(leaves[:3]), root_of(leaves), proof)
    True

    Source
    ------
    RFC 9162 section 2.1.4.1, ``PROOF(m, D[n])``.
    """
    if not 1 <= earlier <= len(leaves):
        raise ValueError(f"earlier is {earlier}; allowed: 1 to {len(leaves)}")
    return _subproof(leaves, earlier, is_whole=True)


def _subproof(leaves: Sequence[bytes], earlier: int, *, is_whole: bool) -> list[bytes]:
    if earlier == len(leaves):
        return [] if is_whole else [root_of(leaves)]
    half = _half(len(leaves))
    if earlier <= half:
        below = _subproof(leaves[:half], earlier, is_whole=is_whole)
        return [*below, root_of(leaves[half:])]
    below = _subproof(leaves[half:], earlier - half, is_whole=False)
    return [*below, root_of(leaves[:half])]


def is_consistent(
    earlier: int, size: int, earlier_root: bytes, root: bytes, proof: Sequence[bytes]
) -> bool:
    """Say whether a proof of consistency holds.

    Source
    ------
    RFC 9162 section 2.1.4.2.
    """
    if not 0 < earlier <= size:
        return False
    if earlier == size:
        return not proof and earlier_root == root
    # A power of two: the earlier root is itself the first node.
    nodes = [earlier_root, *proof] if earlier & (earlier - 1) == 0 else list(proof)
    if not nodes:
        return False
    at, last = earlier - 1, size - 1
    while at & 1:
        at, last = at >> 1, last >> 1
    return _grown(at, last, nodes) == (earlier_root, root)


def _grown(at: int, last: int, nodes: Sequence[bytes]) -> tuple[bytes, bytes] | None:
    """Return the two roots that a proof of consistency leads to; None when it is no proof."""
    was = now = nodes[0]
    for node in nodes[1:]:
        if last == 0:
            return None
        if at & 1 or at == last:
            was, now = node_hash(node, was), node_hash(node, now)
            while not at & 1 and at:
                at, last = at >> 1, last >> 1
        else:
            now = node_hash(now, node)
        at, last = at >> 1, last >> 1
    return (was, now) if last == 0 else None


def _half(size: int) -> int:
    """Return the largest power of two that is less than a size of at least 2."""
    return 1 << (size - 1).bit_length() - 1

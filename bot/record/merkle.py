"""Merkle trees of a record: a root over many entries, and proofs that an entry is under it.

Checking a proof is in `bot.record.arithmetic`, which every packet carries.
Source: RFC 9162 section 2.1.
"""

import hashlib
from collections.abc import Iterable, Iterator, Sequence

from bot.record.arithmetic import Tree, left_size, node_hash


def root_of(leaves: Iterable[bytes]) -> bytes:
    """Return the root over hashes of leaves, in order.

    Examples
    --------
    >>> from bot.record.arithmetic import leaf_hash
    >>> root_of([leaf_hash(b"")]) == leaf_hash(b"")
    True
    """
    tree = Tree()
    for leaf in leaves:
        tree.add(leaf)
    return tree.root()


def inclusions(leaves: Sequence[bytes], indices: Iterable[int]) -> Iterator[list[bytes]]:
    """Yield a proof of inclusion for each index, computing every node once.

    Parameters
    ----------
    leaves
        The hashes of all leaves, in order.
    indices
        The leaves to prove, from 0.

    Yields
    ------
    list of bytes
        The hashes to join a leaf with, from the leaf up.

    Raises
    ------
    ValueError
        For an index outside the tree.

    Examples
    --------
    >>> from bot.record.arithmetic import is_included, leaf_hash
    >>> leaves = [leaf_hash(bytes([n])) for n in range(5)]
    >>> (proof,) = inclusions(leaves, [3])
    >>> len(proof), is_included(leaves[3], 3, 5, proof, root_of(leaves))
    (3, True)

    Source
    ------
    RFC 9162 section 2.1.3.1, ``PATH(m, D[n])``.
    """
    known: dict[tuple[int, int], bytes] = {}

    def node(start: int, end: int) -> bytes:
        if end - start == 1:
            return leaves[start]
        if (start, end) not in known:
            middle = start + left_size(end - start)
            known[start, end] = node_hash(node(start, middle), node(middle, end))
        return known[start, end]

    for index in indices:
        if not 0 <= index < len(leaves):
            raise ValueError(f"index is {index}; allowed: 0 to {len(leaves) - 1}")
        proof: list[bytes] = []
        start, end = 0, len(leaves)
        while end - start > 1:
            middle = start + left_size(end - start)
            is_left = index < middle
            proof.append(node(middle, end) if is_left else node(start, middle))
            start, end = (start, middle) if is_left else (middle, end)
        yield proof[::-1]


class LiveTree:
    """A tree whose leaves may change: putting one in costs a node on each level.

    A lone node at the end of a level goes up as it is, which gives the same root as splitting
    at the largest power of two.

    Examples
    --------
    >>> from bot.record.arithmetic import leaf_hash
    >>> leaves, tree = [leaf_hash(bytes([n])) for n in range(5)], LiveTree()
    >>> for index, leaf in enumerate(leaves):
    ...     tree.put(index, leaf)
    >>> tree.root() == root_of(leaves), tree.path(4) == next(inclusions(leaves, [4]))
    (True, True)
    """

    def __init__(self) -> None:
        self._levels: list[list[bytes]] = [[]]

    @property
    def size(self) -> int:
        """How many leaves it has."""
        return len(self._levels[0])

    def put(self, index: int, leaf: bytes) -> None:
        """Set the hash of a leaf: one that is there, or the next.

        Raises
        ------
        ValueError
            For an index past the next leaf.
        """
        if not 0 <= index <= self.size:
            raise ValueError(f"index is {index}; allowed: 0 to {self.size}")
        for row in self._levels:
            row[index : index + 1] = [leaf]
            index //= 2
            pair = row[2 * index : 2 * index + 2]
            leaf = node_hash(*pair) if len(pair) > 1 else pair[0]
        if len(self._levels[-1]) > 1:
            self._levels.append([leaf])

    def root(self) -> bytes:
        """Return the root over the leaves; the hash of nothing while there are none."""
        return self._levels[-1][0] if self.size else hashlib.sha256(b"").digest()

    def path(self, index: int) -> list[bytes]:
        """Return a proof that a leaf is in the tree: the hashes to join it with, from it up."""
        found: list[bytes] = []
        for row in self._levels[:-1]:
            found += row[index ^ 1 : (index ^ 1) + 1]
            index //= 2
        return found

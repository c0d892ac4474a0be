"""The arithmetic that checks a record: Ed25519 signatures and Merkle trees.

Every packet carries this file beside `verify.py`, so it imports only Python's own library.
Checking needs no secret, so slow and simple code is safe here.

Sources: RFC 8032 section 5.1 (Ed25519); RFC 9162 sections 2.1.1 and 2.1.3 (trees), with SHA-256.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    Point = tuple[int, int, int, int]

HASH_BYTES = 32

P, ORDER = 2**255 - 19, 2**252 + 27742317777372353535851937790883648493
D = -121665 * pow(121666, P - 2, P) % P
ROOT = pow(2, (P - 1) // 4, P)


def add(a: Point, b: Point) -> Point:
    """Add two points in extended coordinates."""
    e = (a[1] - a[0]) * (b[1] - b[0]) % P
    f = (a[1] + a[0]) * (b[1] + b[0]) % P
    g, h = 2 * a[3] * b[3] * D % P, 2 * a[2] * b[2] % P
    e, g, h, i = f - e, h - g, h + g, e + f
    return (e * g % P, h * i % P, g * h % P, e * i % P)


def times(number: int, point: Point) -> Point:
    """Multiply a point by a number."""
    found = (0, 1, 1, 0)
    while number:
        if number & 1:
            found = add(found, point)
        point, number = add(point, point), number >> 1
    return found


def point_of(data: bytes) -> Point | None:
    """Decode a point; None if the bytes do not encode one."""
    y = int.from_bytes(data, "little")
    sign, y = y >> 255, y & (1 << 255) - 1
    square = (y * y - 1) * pow(D * y * y + 1, P - 2, P) % P
    x = pow(square, (P + 3) // 8, P)
    if (x * x - square) % P:
        x = x * ROOT % P
    if y >= P or (x * x - square) % P or (x == 0 and sign):
        return None
    x = P - x if x & 1 != sign else x
    return (x, y, 1, x * y % P)


BASE = point_of((4 * pow(5, P - 2, P) % P).to_bytes(32, "little")) or (0, 1, 1, 0)


def is_signed(public: bytes, message: bytes, signature: bytes) -> bool:
    """Say whether this key made this signature over this message."""
    if len(public) != 32 or len(signature) != 64:
        return False
    key, half = point_of(public), point_of(signature[:32])
    number = int.from_bytes(signature[32:], "little")
    if key is None or half is None or number >= ORDER:
        return False
    hashed = hashlib.sha512(signature[:32] + public + message).digest()
    left = times(number, BASE)
    right = add(half, times(int.from_bytes(hashed, "little") % ORDER, key))
    same_x = (left[0] * right[2] - right[0] * left[2]) % P == 0
    return same_x and (left[1] * right[2] - right[1] * left[2]) % P == 0


def fingerprint(public: bytes) -> str:
    """Return a public key's fingerprint as `ssh-keygen -l` shows it: "SHA256:" and 43 letters."""
    blob = b"\0\0\0\x0bssh-ed25519\0\0\0\x20" + public
    return "SHA256:" + base64.b64encode(hashlib.sha256(blob).digest()).decode().rstrip("=")


def leaf_hash(data: bytes) -> bytes:
    """Hash a leaf; its prefix differs from a node's, so neither can pass for the other.

    Examples
    --------
    >>> leaf_hash(b"").hex()[:16]
    '6e340b9cffb37a98'
    """
    return hashlib.sha256(b"\0" + data).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """Hash an inner node from its two children."""
    return hashlib.sha256(b"\1" + left + right).digest()


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
        self.full: list[bytes] = []

    def add(self, leaf: bytes) -> None:
        """Add the hash of the next leaf."""
        # Each 1 at the end of the old size in binary is a full subtree to merge with.
        size = self.size
        while size & 1:
            leaf, size = node_hash(self.full.pop(), leaf), size >> 1
        self.full.append(leaf)
        self.size += 1

    def root(self) -> bytes:
        """Return the root over the leaves so far; the hash of nothing while there are none."""
        if not self.full:
            return hashlib.sha256(b"").digest()
        root = self.full[-1]
        for left in reversed(self.full[:-1]):
            root = node_hash(left, root)
        return root


def left_size(size: int) -> int:
    """Return how many of a tree's leaves are in its left half: the largest power of two below.

    Examples
    --------
    >>> [left_size(size) for size in (2, 3, 4, 5, 8, 9)]
    [1, 2, 2, 4, 4, 8]
    """
    return 1 << (size - 1).bit_length() - 1


def sides(index: int, size: int) -> list[bool]:
    """Say for each node of a leaf's proof, from the leaf up, whether it joins from the left.

    Examples
    --------
    >>> sides(4, 5), sides(2, 4)
    ([True], [False, True])
    """
    found = []
    while size > 1:
        half = left_size(size)
        is_right = index >= half
        index, size = (index - half, size - half) if is_right else (index, half)
        found.append(is_right)
    return found[::-1]


def is_included(leaf: bytes, index: int, size: int, proof: Sequence[bytes], root: bytes) -> bool:
    """Say whether a proof shows that a leaf is at an index of a tree.

    Parameters
    ----------
    leaf
        The leaf's hash.
    index, size
        Its index, from 0, and how many leaves the tree has.
    proof
        The hashes to join it with, from the leaf up.
    root
        The tree's root.
    """
    if not 0 <= index < size:
        return False
    joins, found = sides(index, size), leaf
    for node, is_left in zip(proof, joins):  # noqa: B905  compared below; Python 3.8 has no strict
        found = node_hash(node, found) if is_left else node_hash(found, node)
    return len(proof) == len(joins) and found == root

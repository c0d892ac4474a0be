"""The arithmetic of `verify.py`: signatures and trees, with nothing but Python's own library.

Checking a signature needs no secret, so this may be slow and plain.
"""

import base64
import hashlib
from collections.abc import Sequence

Point = tuple[int, int, int, int]

# Ed25519, RFC 8032 section 5.1: checking needs no secret, so it may be slow and plain.

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
    """Decode a point; None where the bytes are none."""
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
    """Say whether a signature is this key's over this message."""
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
    """Return what `ssh-keygen -l` shows for this key."""
    blob = b"\0\0\0\x0bssh-ed25519\0\0\0\x20" + public
    return "SHA256:" + base64.b64encode(hashlib.sha256(blob).digest()).decode().rstrip("=")


# Merkle trees, RFC 9162 section 2.1.


def leaf_hash(data: bytes) -> bytes:
    """Hash one leaf."""
    return hashlib.sha256(b"\0" + data).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """Hash an inner node."""
    return hashlib.sha256(b"\1" + left + right).digest()


class Tree:
    """A root over a growing list."""

    def __init__(self) -> None:
        self.size = 0
        self.full: list[bytes] = []

    def add(self, leaf: bytes) -> None:
        """Add the hash of one more leaf."""
        size = self.size
        while size & 1:
            leaf, size = node_hash(self.full.pop(), leaf), size >> 1
        self.full.append(leaf)
        self.size += 1

    def root(self) -> str:
        """Return the root over the leaves so far, in hex."""
        if not self.full:
            return hashlib.sha256(b"").hexdigest()
        root = self.full[-1]
        for left in reversed(self.full[:-1]):
            root = node_hash(left, root)
        return root.hex()


def is_included(leaf: bytes, place: int, size: int, proof: Sequence[bytes], root: str) -> bool:
    """Say whether a proof shows a leaf at its place under a root."""
    at, last, found = place, size - 1, leaf
    for node in proof:
        if last == 0:
            return False
        if at & 1 or at == last:
            found = node_hash(node, found)
            while at and not at & 1:
                at, last = at >> 1, last >> 1
        else:
            found = node_hash(found, node)
        at, last = at >> 1, last >> 1
    return 0 <= place < size and last == 0 and found.hex() == root

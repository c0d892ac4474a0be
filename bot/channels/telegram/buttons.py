"""Buttons: an opaque mark for each choice of a message, resolved on our side only.

A mark names the message it is under and the choice, and carries a keyed digest, so that nobody
else can make a mark. It needs no table, and survives a crash.
"""

import base64
import binascii
import hashlib
import hmac

_DIGEST, _ROW = 12, 6


def mark(key: bytes, row: int, index: int) -> str:
    """Return the mark of a choice: 28 characters, where the platform allows 64.

    Parameters
    ----------
    key
        The data folder's own key.
    row
        The number of the message in the outbox.
    index
        The choice, from 0.

    Examples
    --------
    >>> resolved(b"key", mark(b"key", 7, 2)), resolved(b"other", mark(b"key", 7, 2))
    ((7, 2), None)
    """
    plain = row.to_bytes(_ROW, "big") + bytes([index])
    return base64.urlsafe_b64encode(plain + _digest(key, plain)).decode("ascii")


def resolved(key: bytes, data: str) -> tuple[int, int] | None:
    """Return the outbox number and the choice of a mark; None for a mark that is not ours."""
    try:
        found = base64.urlsafe_b64decode(data.encode("ascii", "replace"))
    except (binascii.Error, ValueError):
        return None
    plain, digest = found[: _ROW + 1], found[_ROW + 1 :]
    if len(plain) != _ROW + 1 or not hmac.compare_digest(digest, _digest(key, plain)):
        return None
    return int.from_bytes(plain[:_ROW], "big"), plain[_ROW]


def _digest(key: bytes, plain: bytes) -> bytes:
    return hmac.new(key, plain, hashlib.sha256).digest()[:_DIGEST]

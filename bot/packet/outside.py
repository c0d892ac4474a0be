"""The form of other programs' signatures: OpenSSH's, and time stamps; a part of `verify.py`.

Source: PROTOCOL.sshsig of OpenSSH; RFC 3161 section 2.4.2; ITU-T X.690 (DER).
"""

from __future__ import annotations

import base64
import hashlib
from typing import TYPE_CHECKING

try:
    from arithmetic import is_signed
except ImportError:  # inside the program that makes packets
    from bot.record.arithmetic import is_signed

SSH_TYPE, NAMESPACE = b"ssh-ed25519", b"rollproof-packet"


def ssh_string(data: bytes) -> bytes:
    """Write a string of the SSH protocol: its length, then its bytes."""
    return len(data).to_bytes(4, "big") + data


def is_ssh_signed(public: bytes, message: bytes, signature: bytes) -> bool:
    """Say whether this key made this SSH signature (PROTOCOL.sshsig of OpenSSH)."""
    try:
        head, *body, foot = signature.decode("ascii").split()
        blob = base64.b64decode(
            "".join(signature.decode("ascii").split("\n")[1:-2]), validate=True
        )
    except ValueError:
        return False
    names = ssh_string(NAMESPACE) + ssh_string(b"") + ssh_string(b"sha512")
    start = b"SSHSIG" + (1).to_bytes(4, "big")
    start += ssh_string(ssh_string(SSH_TYPE) + ssh_string(public)) + names
    signed = b"SSHSIG" + names + ssh_string(hashlib.sha512(message).digest())
    made = blob[-64:]
    whole = start + ssh_string(ssh_string(SSH_TYPE) + ssh_string(made))
    return bool(head and body and foot) and blob == whole and is_signed(public, signed, made)


def stamped_digest(stamp: bytes) -> bytes | None:
    """Return the SHA-256 digest in a time-stamp response that was granted; else None."""
    try:
        status, token = parts_of(only(stamp, 0x30))
        granted = int.from_bytes(only(parts_of(status[1])[0], 0x02), "big") in {0, 1}
        kind, content = parts_of(token[1])
        is_signed_data = only(kind, 0x06) == SIGNED_DATA
        fields = parts_of(only(content[1], 0x30))
        kind, holder = parts_of(fields[2][1])
        is_stamp = only(kind, 0x06) == STAMP_INFO
        info = parts_of(only(only_inside(holder, 0xA0, 0x04), 0x30))
        method, digest = parts_of(only(info[2], 0x30))
    except (ValueError, IndexError):
        return None
    is_sha256 = SHA256_OID in method[1]
    return only(digest, 0x04) if granted and is_signed_data and is_stamp and is_sha256 else None


SIGNED_DATA = bytes.fromhex("2a864886f70d010702")
STAMP_INFO = bytes.fromhex("2a864886f70d0109100104")
SHA256_OID = bytes.fromhex("0609608648016503040201")
if TYPE_CHECKING:
    Part = tuple[int, bytes]


def parts_of(data: bytes) -> list[Part]:
    """Split DER into its parts, as (tag, content)."""
    found: list[Part] = []
    while data:
        tag, size, start = data[0], data[1], 2
        if size & 0x80:
            start = 2 + (size & 0x7F)
            size = int.from_bytes(data[2:start], "big")
        if start > 6 or len(data) < start + size:
            raise ValueError("not DER")
        found.append((tag, data[start : start + size]))
        data = data[start + size :]
    return found


def only(part: Part | bytes, tag: int) -> bytes:
    """Return the content of a part that must have a tag; of the only part in some bytes."""
    found = part if isinstance(part, tuple) else parts_of(part)[0]
    if found[0] != tag:
        raise ValueError(f"tag {found[0]}, not {tag}")
    return found[1]


def only_inside(part: Part, tag: int, inner: int) -> bytes:
    """Return the content of a part within a part."""
    return only(only(part, tag), inner)

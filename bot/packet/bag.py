"""The container of a packet: a BagIt 1.0 folder in a zip, the same bytes from the same record.

Source: RFC 8493 (BagIt); PROTOCOL.sshsig of OpenSSH (the SSH signature). Files are stored
without compression, so the bytes do not depend on a compressor and no zip bomb is possible.
"""

import base64
import hashlib
import os
import textwrap
import zipfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from bot.record.errors import StoreError, Words, translated
from bot.record.keys import Signer, ssh_line, ssh_string
from bot.record.media import opened_kept

NAMESPACE, PRINCIPAL = "rollproof-packet", "packet"
_WHEN = (1980, 1, 1, 0, 0, 0)
_PIECE = 1 << 20
MANIFEST = "manifest-sha256.txt"

CHANGED = Words(
    "The file {value} changed while the packet was made.",
    "A file is packed as it was received.",
    "Run rollproof verify, keep the record as it is, and find out why. No packet was made.",
)

Progress = Callable[[int, int], object]
"""Called with the number of files written, and the number of all files."""


@dataclass(frozen=True, slots=True)
class Part:
    """A file of the payload: its name under data/, and its bytes or their path and digest."""

    name: str
    content: bytes | Path
    sha256: str = ""

    @property
    def digest(self) -> str:
        """Its SHA-256; that of a file is known, and checked while it is copied."""
        content = self.content
        return hashlib.sha256(content).hexdigest() if isinstance(content, bytes) else self.sha256

    @property
    def size(self) -> int:
        """Its size in bytes."""
        content = self.content
        return len(content) if isinstance(content, bytes) else content.stat().st_size


@dataclass(frozen=True, slots=True)
class Sealed:
    """A finished bag: the digest of its manifest, and the number of files listed in it.

    `wrong` says what of the record could not be packed, and no entry says why; `left_out` which
    photos a customer's copy does not have.
    """

    manifest: str
    files: int
    wrong: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Payload:
    """The contents of a bag: the name of its folder, its files, the fields of bag-info.txt.

    `stamp` makes the time stamp of its list of files, if a service is configured.
    """

    top: str
    parts: tuple[Part, ...]
    info: Mapping[str, str]
    stamp: Callable[[bytes], bytes] | None = None


def write_bag(target: Path, payload: Payload, signer: Signer, tell: Progress = max) -> Sealed:
    """Write a packet completely, or not at all.

    Parameters
    ----------
    target
        The zip to write.
    payload
        The contents.
    signer
        Signs the manifest, and thereby all of the payload.
    tell
        Called after each file.
    """
    listed = sorted(payload.parts, key=lambda part: part.name)
    digests = {f"data/{part.name}": part.digest for part in listed}
    tags = _tags(digests, payload.info, sum(part.size for part in listed), signer)
    if payload.stamp is not None:
        tags[f"{MANIFEST}.tsr"] = payload.stamp(tags[MANIFEST])
    partial = target.with_name(target.name + ".partial")
    with translated(target):
        try:
            partial.unlink(missing_ok=True)
            private = os.open(partial, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600)
            with (
                os.fdopen(private, "w+b") as file,
                zipfile.ZipFile(file, "w", zipfile.ZIP_STORED) as out,
            ):
                for count, part in enumerate(listed, 1):
                    _store(out, f"{payload.top}/data/{part.name}", part)
                    tell(count, len(listed))
                for name, content in sorted(tags.items()):
                    _store(out, f"{payload.top}/{name}", Part(name, content))
            partial.replace(target)
        finally:
            partial.unlink(missing_ok=True)
    return Sealed(hashlib.sha256(tags[MANIFEST]).hexdigest(), len(listed))


def _tags(
    digests: Mapping[str, str], info: Mapping[str, str], size: int, signer: Signer
) -> dict[str, bytes]:
    """Return the files outside the payload."""
    about = {**info, "Payload-Oxum": f"{size}.{len(digests)}"}
    tags = {
        "bagit.txt": b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n",
        "bag-info.txt": "".join(f"{name}: {about[name]}\n" for name in sorted(about)).encode(),
        MANIFEST: _manifest(digests),
    }
    tags["tagmanifest-sha256.txt"] = _manifest(
        {name: hashlib.sha256(content).hexdigest() for name, content in tags.items()}
    )
    tags[f"{MANIFEST}.ed25519"] = signer.sign(tags[MANIFEST])
    tags[f"{MANIFEST}.sig"] = ssh_signature(signer, tags[MANIFEST])
    return tags


def _manifest(digests: Mapping[str, str]) -> bytes:
    return "".join(f"{digests[name]}  {name}\n" for name in sorted(digests)).encode()


def _store(out: zipfile.ZipFile, name: str, part: Part) -> None:
    info, content = zipfile.ZipInfo(name, _WHEN), part.content
    info.create_system, info.external_attr = 3, 0o100644 << 16
    if isinstance(content, bytes):
        out.writestr(info, content)
        return
    found = hashlib.sha256()
    info.file_size = content.lstat().st_size
    with opened_kept(content) as file, out.open(info, "w") as into:
        while piece := file.read(_PIECE):
            found.update(piece)
            into.write(piece)
    if found.hexdigest() != part.sha256:
        raise StoreError(CHANGED, value=content)


def ssh_signature(signer: Signer, message: bytes) -> bytes:
    """Return a signature that `ssh-keygen -Y verify` reads."""
    names = ssh_string(NAMESPACE.encode()) + ssh_string(b"") + ssh_string(b"sha512")
    signed = signer.sign(b"SSHSIG" + names + ssh_string(hashlib.sha512(message).digest()))
    kind = ssh_string(b"ssh-ed25519")
    blob = b"SSHSIG" + (1).to_bytes(4, "big") + ssh_string(kind + ssh_string(signer.public))
    blob += names + ssh_string(kind + ssh_string(signed))
    body = "\n".join(textwrap.wrap(base64.b64encode(blob).decode("ascii"), 70))
    return f"-----BEGIN SSH SIGNATURE-----\n{body}\n-----END SSH SIGNATURE-----\n".encode()


def allowed_signers(public: bytes) -> str:
    """Return the file of allowed signers for `ssh-keygen -Y verify`."""
    return f'{PRINCIPAL} namespaces="{NAMESPACE}" {ssh_line(public)}\n'

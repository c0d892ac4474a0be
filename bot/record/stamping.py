"""Time stamps by an outside service (RFC 3161): proof that something existed at a certain time.

A signature with the company's own key can be made again at any time. A stamp cannot: the service
signs a digest together with the time of its own clock. A packet's list of files is stamped, and
the newest root over all jobs. A message that was stamped before keeps its first stamp.
"""

import hashlib
import http.client
import urllib.error
import urllib.request
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bot.record.canonical import parse
from bot.record.checkpoints import all_jobs_statement
from bot.record.errors import StoreError, Words
from bot.record.media import keep_stamp, stamp_path

if TYPE_CHECKING:
    from rfc3161_client import TimeStampResponse

WAIT_S = 20
LARGEST = 65_536
"""The most bytes of an answer to read; a stamp with its certificates has some thousand."""

NO_ANSWER = Words(
    "The time-stamping service at {value} did not answer: {why}.",
    "A service that answers RFC 3161 requests over HTTP.",
    "Try again later, or make the packet without a stamp: rollproof packet --no-stamp.",
)
NO_STAMP = Words(
    "The answer of {value} is not a valid stamp: {why}.",
    "A stamp of the message sent, signed by a certificate under the configured root.",
    "Check ROLLPROOF_STAMPER_ROOT, or ask the service.",
)
NO_LIBRARY = Words(
    "Time stamps need the library {value}, which is not installed.",
    "An installation with the extra: rollproof[stamp].",
    "Install it, or remove ROLLPROOF_STAMPER from the environment.",
)
NO_SERVICE = Words(
    "No time-stamping service is configured: {value} is not set.",
    "The address of a service that answers RFC 3161 requests over HTTP.",
    "Set it, and ROLLPROOF_STAMPER_ROOT to the file of the service's root certificate.",
)
NO_ROOT = Words(
    "The time-stamping service's root certificate cannot be read: {value}, {why}.",
    "ROLLPROOF_STAMPER_ROOT names a PEM file with the root certificate of the service.",
    "Get it from the service by a channel you trust, and name it there.",
)

UNSTAMPED = (NO_ANSWER, NO_STAMP, NO_LIBRARY, NO_ROOT)
"""Reasons to continue without a stamp for now."""

Post = Callable[[str, bytes], bytes]
"""From an address and a request to the answer; OSError or ValueError if none comes."""


@dataclass(frozen=True)
class Stamper:
    """A time-stamping service, and the folder of its stamps.

    Parameters
    ----------
    url
        Its address.
    root
        The file of its root certificate, PEM.
    folder
        The data folder.
    post
        Sends a request.
    """

    url: str
    root: Path
    folder: Path
    post: Post

    def stamp(self, message: bytes) -> bytes:
        """Return the stamp of a message: its kept stamp, or else a new stamp after checking it.

        Parameters
        ----------
        message
            The bytes to stamp; only their SHA-256 leaves this machine.

        Returns
        -------
        bytes
            A time-stamp response in DER, as `openssl ts -verify` reads it.

        Raises
        ------
        StoreError
            When the service does not answer, or its answer is not a valid stamp.
        """
        digest = hashlib.sha256(message).hexdigest()
        kept = stamp_path(self.folder, digest)
        if kept.is_file():
            return kept.read_bytes()
        answer = self._asked(message)
        keep_stamp(self.folder, digest, answer)
        return answer

    def _asked(self, message: bytes) -> bytes:
        library = _library()
        request = library.TimestampRequestBuilder(
            data=message, hash_algorithm=library.HashAlgorithm.SHA256
        ).build()
        try:
            answer = self.post(self.url, request.as_bytes())
        except (OSError, ValueError, http.client.HTTPException) as error:
            raise StoreError(NO_ANSWER, value=self.url, why=error) from error
        try:
            response = library.decode_timestamp_response(answer)
            self._check(response, message, request.nonce)
        except (ValueError, library.VerificationError) as error:
            raise StoreError(NO_STAMP, value=self.url, why=error) from error
        return answer

    def _check(self, response: "TimeStampResponse", message: bytes, nonce: int | None) -> None:
        library = _library()
        builder = library.VerifierBuilder().add_root_certificate(self._root())
        if nonce is not None:
            builder = builder.nonce(nonce)
        builder.build().verify_message(response, message)

    def _root(self) -> Any:  # noqa: ANN401  a certificate of a library imported late
        from cryptography.x509 import load_pem_x509_certificate  # noqa: PLC0415  slow to import

        try:
            return load_pem_x509_certificate(self.root.read_bytes())
        except (OSError, ValueError) as error:
            raise StoreError(NO_ROOT, value=self.root, why=error) from error


def posted(url: str, request: bytes) -> bytes:
    """Send a request to a service over HTTP.

    Raises
    ------
    OSError
        When it cannot be reached.
    ValueError
        For an address that is not HTTP, or an answer of another media type.
    """
    if not url.startswith(("https://", "http://")):
        raise ValueError("its address starts with neither https:// nor http://")
    asked = urllib.request.Request(  # noqa: S310  the scheme is checked above
        url, request, {"Content-Type": "application/timestamp-query"}
    )
    with urllib.request.urlopen(asked, timeout=WAIT_S) as answer:  # noqa: S310  checked above
        kind = answer.headers.get_content_type()
        if kind != "application/timestamp-reply":
            raise ValueError(f"it answers with {kind}")
        data: bytes = answer.read(LARGEST + 1)
    if len(data) > LARGEST:
        raise ValueError(f"its answer has more than {LARGEST} bytes")
    return data


def time_of(stamp: bytes) -> datetime:
    """Return the time in a stamp, UTC."""
    found: datetime = _library().decode_timestamp_response(stamp).tst_info.gen_time
    return found


@dataclass(frozen=True, slots=True)
class Rooted:
    """A root over all jobs: the number of its entry, and the bytes to stamp."""

    seq: int
    statement: bytes


def roots_in(company: Iterable[str]) -> Iterator[Rooted]:
    """Yield every root over all jobs in lines of the company's chain, in order."""
    for line in company:
        entry = parse(line)
        if entry["kind"] == "all_jobs":
            body = entry["body"]
            yield Rooted(
                entry["seq"], all_jobs_statement(body["date"], body["jobs"], body["root"])
            )


def kept_stamps(folder: Path, company: Iterable[str]) -> Iterator[tuple[Rooted, bytes]]:
    """Yield every stamped root over all jobs, with its stamp."""
    for root in roots_in(company):
        kept = stamp_path(folder, hashlib.sha256(root.statement).hexdigest())
        if kept.is_file():
            yield root, kept.read_bytes()


def _library() -> Any:  # noqa: ANN401  a module from an extra
    try:
        import rfc3161_client  # noqa: PLC0415  an extra, and slow to import
    except ImportError as error:
        raise StoreError(NO_LIBRARY, value="rfc3161-client") from error
    return rfc3161_client

"""The recogniser's three files, from a pinned package, each checked by its digest.

Only the files are used: the package's own code is never imported.
"""

import hashlib
from dataclasses import dataclass
from importlib.metadata import PackageNotFoundError, distribution
from importlib.util import find_spec
from pathlib import Path

PACKAGE, MODULE = "moonshine-voice", "moonshine_voice"
FOLDER = Path("assets", "tiny-en")
ENGINE = "moonshine-tiny-en"
DIGESTS = {
    "encoder_model.ort": "94e90a4654fc45cdfedb77c4c08e1739f48862998e58fada384b25118134f221",
    "decoder_model_merged.ort": "cf524c4862d36e9e5ab032eddc73637efd822d70e868ac575cf1a46e1e4708a0",
    "tokenizer.bin": "6884b35fd6377d4c4d32336a0bc152f36b64d1e45b6503683cdc238250a8472d",
}
"""SHA-256 of each file, as in moonshine-voice 0.1.0 (MIT licence)."""
NEEDED = ("numpy", "onnxruntime", "soundfile")


class NoEngineError(Exception):
    """Voice notes cannot be heard here; `key` names the reason, `value` its subject."""

    def __init__(self, key: str, value: str) -> None:
        super().__init__(f"{key}: {value}")
        self.key, self.value = key, value


@dataclass(frozen=True, slots=True)
class Weights:
    """The three files, each checked by its digest, and the version of their package."""

    encoder: bytes
    decoder: bytes
    tokenizer: bytes
    version: str


def find_folder() -> Path:
    """Return the folder of the files.

    Raises
    ------
    NoEngineError
        If a library or the package is not installed.
    """
    for name in (*NEEDED, MODULE):
        found = find_spec(name)
        if found is None or found.origin is None:
            raise NoEngineError("not_installed", name)
    spec = find_spec(MODULE)
    return Path(str(spec.origin if spec else "")).parent / FOLDER


def read_weights(folder: Path | None = None) -> Weights:
    """Read the files and check each by its digest.

    Parameters
    ----------
    folder
        Their folder; None for the installed package's.

    Raises
    ------
    NoEngineError
        If a file is missing, or differs from the file that was measured.
    """
    source = find_folder() if folder is None else folder
    found: dict[str, bytes] = {}
    for name, digest in DIGESTS.items():
        try:
            data = (source / name).read_bytes()
        except OSError:
            raise NoEngineError("missing", name) from None
        if hashlib.sha256(data).hexdigest() != digest:
            raise NoEngineError("different", name)
        found[name] = data
    encoder, decoder, tokenizer = found.values()
    return Weights(encoder, decoder, tokenizer, _version())


def _version() -> str:
    try:
        return distribution(PACKAGE).version
    except PackageNotFoundError:
        return "unknown"

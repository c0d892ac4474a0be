"""A second opinion by a Whisper network, from any folder that the owner names.

CTranslate2 must be able to read the folder: `model.bin`, `config.json`, and the vocabulary in
`vocabulary.json` or `vocabulary.txt`. We ship no network: whoever brings it knows its licence. It
runs here like all hearing; nothing leaves the machine.
"""

import hashlib
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np

from bot.voice.mel import log_mel
from bot.voice.model import RATE, THREADS, Floats
from bot.voice.opinion import Written
from bot.voice.weights import NoEngineError

LIBRARY = "ctranslate2"
NEEDED = ("model.bin", "config.json")
VOCABULARIES = ("vocabulary.json", "vocabulary.txt")
SHORTEST_S, BEYOND_S = 12.0, 1.0
"""The least time that the network listens, and time after the sound [s]. It was trained on 30 s:
under 8 s it repeats itself; 30 s take four times as long as 12 and gained 3 words in 100."""
COUNT = 10
"""Texts followed at a time, all returned: of 37 answers, the likeliest 1, 5 and 10 texts agreed
with 6, 8 and 11, every time rightly."""
MOST_PIECES = 96


class Whisper:
    """The network of a folder.

    Parameters
    ----------
    folder
        The folder.

    Raises
    ------
    NoEngineError
        If the library, the folder or a file is missing, or it is no such network.
    """

    def __init__(self, folder: Path) -> None:
        check_folder(folder)
        import ctranslate2  # noqa: PLC0415  of an extra of its own

        try:
            self._network: Any = ctranslate2.models.Whisper(
                str(folder), device="cpu", compute_type="int8", intra_threads=THREADS
            )
            languages = ["<|en|>", "<|transcribe|>"] if self._network.is_multilingual else []
        except (RuntimeError, ValueError, TypeError, AttributeError, OSError) as error:
            raise NoEngineError("opinion_broken", str(folder)) from error
        self._begin = ["<|startoftranscript|>", *languages, "<|notimestamps|>"]
        self._view = ctranslate2.StorageView.from_array
        self.engine, self.version = f"whisper {folder.resolve().name}", digest(folder)

    def write(self, sound: Floats) -> Written:
        """Return a transcription of a sound at 16 kHz."""
        seconds = max(SHORTEST_S, len(sound) / RATE + BEYOND_S)
        heard = log_mel(sound, seconds, self._network.n_mels)
        found = self._network.generate(
            self._view(np.ascontiguousarray(heard[None])), [self._begin],
            beam_size=COUNT, num_hypotheses=COUNT, max_length=MOST_PIECES,
            return_no_speech_prob=True,
        )[0]  # fmt: skip
        texts = tuple(plain(one) for one in found.sequences)
        return Written(texts, float(found.no_speech_prob))


def check_folder(folder: Path) -> None:
    """Refuse a folder that is no network, and a machine without the library.

    Raises
    ------
    NoEngineError
        Names the missing part.
    """
    if find_spec(LIBRARY) is None:
        raise NoEngineError("opinion_not_installed", LIBRARY)
    missing = [name for name in NEEDED if not (folder / name).is_file()]
    if not any((folder / name).is_file() for name in VOCABULARIES):
        missing.append(VOCABULARIES[0])
    if missing:
        raise NoEngineError("opinion_missing", str(folder / missing[0]))


def digest(folder: Path) -> str:
    """Return the SHA-256 of a folder's network, in hex."""
    with (folder / NEEDED[0]).open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def plain(pieces: list[str]) -> str:
    """Return a text from its pieces, whose characters stand for bytes.

    Source: A. Radford et al., Language Models are Unsupervised Multitask Learners, 2019, and its
    published code: a byte that prints stands for itself, the others for letters from 256 on.

    Examples
    --------
    >>> plain(["\u0120No", ".", "\u0120caf", "\u00c3\u00a9"])
    'No. café'
    """
    known = _bytes()
    data = bytes(known[letter] for piece in pieces for letter in piece if letter in known)
    return data.decode("utf-8", "replace").strip()


@lru_cache(maxsize=1)
def _bytes() -> dict[str, int]:
    printed = [*range(ord("!"), ord("~") + 1), *range(0xA1, 0xAD), *range(0xAE, 0x100)]
    others = [one for one in range(256) if one not in set(printed)]
    return {chr(one): one for one in printed} | {
        chr(256 + place): one for place, one in enumerate(others)
    }

"""A second opinion by a Whisper network, out of any folder that the owner points to.

The folder is one that CTranslate2 reads: `model.bin`, `config.json`, and the network's words in
`vocabulary.json` or `vocabulary.txt`. It comes with no package of ours: whoever brings it knows
its licence. It runs here, like everything that hears; nothing leaves the machine.
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
"""How long the network listens at least, and how long after the sound [s]. It was trained on 30 s:
under 8 s it says things twice; 30 s take four times as long as 12 and gained 3 words of 100."""
COUNT = 10
"""So many texts are followed side by side, and all are told: the same ones agreed of 37 answers
with the 1, 5 and 10 likeliest texts 6, 8 and 11 times, each time rightly."""
MOST_PIECES = 96


class Whisper:
    """The network of a folder.

    Parameters
    ----------
    folder
        Where it is.

    Raises
    ------
    NoEngineError
        Where the library, the folder or a file of it is missing, or it is no such network.
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
        """Return what was said in a sound of 16 kHz."""
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
    """Refuse a folder that is none of a network, and a machine without the library.

    Raises
    ------
    NoEngineError
        With what is missing.
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
    """Return a text from its pieces, which stand for bytes.

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

"""Speak a reply: its spoken text as a voice note, by the voice installed here.

Only the spoken text is spoken, which has its numbers written out as words. The voice comes in a
package and needs no network; without it, espeak-ng speaks if it is installed.
"""

import io
import logging
import shutil
import subprocess
import tempfile
import threading
from concurrent.futures import ThreadPoolExecutor
from importlib.util import find_spec
from pathlib import Path
from typing import Any

LOG = logging.getLogger(__name__)
LEVEL = 0.93
"""Compression of Ogg/Opus, which is 22 kbit/s for one voice at 48 kHz."""
LONGEST = 600
"""The most characters to speak; the rest is only shown."""
WORDS_A_MINUTE = "150"
ESPEAK = "espeak-ng"
PLAYERS = (("paplay",), ("aplay", "-q"))
_WAIT_S = 20


class Speaker:
    """Speaks with the best voice that is installed; found on first use."""

    def __init__(self) -> None:
        self._voice: Any = None
        self._looked = False
        self._lock = threading.Lock()

    def speak(self, text: str) -> bytes | None:
        """Return a text as Ogg/Opus; None if nothing here can speak, or the text is empty."""
        said = text.strip()[:LONGEST]
        if not said or find_spec("soundfile") is None:
            return None
        with self._lock:
            try:
                return self._spoken(said)
            except Exception:
                LOG.exception("a reply could not be spoken; it is shown")
                return None

    def _spoken(self, text: str) -> bytes | None:
        if not self._looked:
            self._looked = True
            self._voice = _package_voice()
        if self._voice is not None:
            samples, rate = self._voice(text)
            return encoded(samples, rate)
        return _by_espeak(text)


def _package_voice() -> Any:  # noqa: ANN401  a function of a package without types
    """Return the voice of the package; None if it is not installed or does not start."""
    if find_spec("hibari") is None:
        return None
    try:
        from hibari import SAMPLE_RATE, Hibari  # noqa: PLC0415  needs the extra

        voice = Hibari()
    except Exception:
        LOG.exception("the voice of the package does not start")
        return None
    return lambda text: (voice(text, seed=1), SAMPLE_RATE)


def encoded(samples: Any, rate: int) -> bytes:  # noqa: ANN401  an array of a package without types
    """Return samples as Ogg/Opus.

    Parameters
    ----------
    samples
        Mono, -1 to 1.
    rate
        Sample rate [Hz]: 8,000, 12,000, 16,000, 24,000 or 48,000; others are resampled to 24,000.
    """
    import numpy as np  # noqa: PLC0415  needs the extra
    import soundfile  # noqa: PLC0415  needs the extra

    found = np.asarray(samples, np.float32)
    if rate not in {8_000, 12_000, 16_000, 24_000, 48_000}:
        at = np.arange(int(len(found) * 24_000 / rate)) * (rate / 24_000)
        found, rate = np.interp(at, np.arange(len(found)), found).astype(np.float32), 24_000
    out = io.BytesIO()
    soundfile.write(out, found, rate, format="OGG", subtype="OPUS", compression_level=LEVEL)
    return out.getvalue()


def _by_espeak(text: str) -> bytes | None:
    import soundfile  # noqa: PLC0415  needs the extra

    program = shutil.which(ESPEAK)
    if program is None:
        return None
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "said.wav"
        words = [program, "-v", "en-us", "-s", WORDS_A_MINUTE, "-w", str(path), "--", text]
        subprocess.run(words, check=True, capture_output=True, timeout=_WAIT_S)  # noqa: S603  no shell, and the text comes last
        samples, rate = soundfile.read(path, dtype="float32")
    return encoded(samples, int(rate))


class Aloud:
    """Speaks the messages of a conversation: plays them, or only writes them to files.

    Parameters
    ----------
    folder
        The folder for files.
    speaker
        The voice; None for the voice installed here.
    """

    def __init__(self, folder: Path, speaker: Speaker | None = None) -> None:
        self._folder = folder
        self._speaker = speaker or Speaker()
        self._player = next((one for one in PLAYERS if _plays(one[0])), None)
        self._count = 0
        self._worker = ThreadPoolExecutor(1, "speak")

    def say(self, text: str) -> None:
        """Speak a text after earlier texts, in a thread."""
        self._worker.submit(self._say, text)

    def close(self) -> None:
        """Wait until everything is spoken."""
        self._worker.shutdown()

    def _say(self, text: str) -> Path | None:
        """Speak a text; return its file, None if it was played or not spoken."""
        data = self._speaker.speak(text)
        if data is None:
            return None
        self._folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        self._count += 1
        path = self._folder / f"{self._count:04d}.ogg"
        path.write_bytes(data)
        return path if self._player is None or not _played((*self._player, str(path))) else None


def _plays(program: str) -> bool:
    """Say whether a player is installed and there is a sound device."""
    return shutil.which(program) is not None and Path("/dev/snd").is_dir()


def _played(words: tuple[str, ...]) -> bool:
    try:
        subprocess.run(words, check=True, capture_output=True, timeout=_WAIT_S)  # noqa: S603  our own file
    except (OSError, subprocess.SubprocessError):
        return False
    return True

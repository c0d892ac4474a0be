"""A voice note's sound: decoded, limited, mono at 16 kHz, with a check for silence."""

import io

import numpy as np
import numpy.typing as npt
import soundfile

Floats = npt.NDArray[np.float32]
RATE = 16_000
LONGEST_S = 15.0
SHORTEST_S = 0.2
LARGEST_BYTES = 2 * 1024 * 1024
"""Fifteen seconds of speech take 50 KB as Opus, and 1.4 MB as WAV at 48 kHz."""
MOST_CHANNELS = 2
RATES = (8_000, 192_000)
QUIETEST_DB = -45.0
"""A note whose loudest moment is quieter is silent [dB of full scale]."""
_TAPS = 96
_FRAME = 320
_SPEECH_OVER_DB = 3.0


class SoundError(Exception):
    """A sound that cannot be heard; `key` names why in the texts."""

    def __init__(self, key: str) -> None:
        super().__init__(key)
        self.key = key


def decode(data: bytes) -> Floats:
    """Return a note's samples, mono at 16 kHz, -1 to 1.

    Parameters
    ----------
    data
        Ogg/Opus, the form of voice notes, or any other form that libsndfile reads.

    Raises
    ------
    SoundError
        "unreadable" if it is no sound, or has no rate or too many channels, "too_long" for more
        than 15 s, "empty" for less than 0.2 s. The file's own claims do not count: at most 15 s
        are decoded.
    """
    if not data:
        raise SoundError("empty")
    if len(data) > LARGEST_BYTES:
        raise SoundError("too_long")
    samples, rate = _decoded(data)
    if len(samples) > rate * LONGEST_S:
        raise SoundError("too_long")
    if len(samples) < rate * SHORTEST_S:
        raise SoundError("empty")
    if not np.isfinite(samples).all():
        raise SoundError("unreadable")
    mono = samples.mean(axis=1, dtype=np.float32)
    return np.clip(resampled(mono, rate), -1.0, 1.0).astype(np.float32)


def _decoded(data: bytes) -> tuple[Floats, int]:
    try:
        with soundfile.SoundFile(io.BytesIO(data)) as file:
            rate, channels = int(file.samplerate), int(file.channels)
            if not RATES[0] <= rate <= RATES[1] or not 1 <= channels <= MOST_CHANNELS:
                raise SoundError("unreadable")
            most = int(rate * LONGEST_S) + rate // 2
            samples: Floats = file.read(most, dtype="float32", always_2d=True)
    except (soundfile.SoundFileError, RuntimeError, ValueError, OSError, MemoryError):
        raise SoundError("unreadable") from None
    return samples, rate


def resampled(samples: Floats, rate: int) -> Floats:
    """Return samples at 16 kHz: a windowed sinc, so that nothing above 8 kHz folds down.

    Parameters
    ----------
    samples
        Mono.
    rate
        Its sample rate, 8,000 to 192,000 Hz.

    Notes
    -----
    Each new sample is the sum over the nearest samples, weighted by the sinc of the lower of
    both rates under a Hann window. Source: J. O. Smith, Digital Audio Resampling, 2020.
    """
    if rate == RATE:
        return samples
    cut = min(1.0, RATE / rate)
    half = int(_TAPS / 2 / cut)
    if rate % RATE == 0:
        step = rate // RATE
        offsets = np.arange(-half, half + 1)
        kernel = cut * np.sinc(cut * offsets) * np.hanning(2 * half + 3)[1:-1]
        filtered = np.convolve(samples, (kernel / kernel.sum()).astype(np.float32), "same")
        found: Floats = filtered[::step].astype(np.float32)
        return found
    at = np.arange(int(len(samples) * RATE / rate)) * (rate / RATE)
    middle = np.floor(at).astype(np.int64)
    padded = np.pad(samples, half + 1)
    total = np.zeros(len(at), np.float32)
    for offset in range(-half, half + 1):
        away = middle + offset - at
        window = 0.5 + 0.5 * np.cos(np.pi * np.clip(away / (half + 1), -1.0, 1.0))
        weight = cut * np.sinc(cut * away) * window
        total += (weight * padded[middle + offset + half + 1]).astype(np.float32)
    return total


def frame_levels(sound: Floats) -> Floats:
    """Return the level of each 20 ms [dB of full scale]."""
    count = max(1, len(sound) // _FRAME)
    frames = (
        np.resize(sound, (count, _FRAME))
        if len(sound) < _FRAME
        else sound[: count * _FRAME].reshape(count, _FRAME)
    )
    power = (frames.astype(np.float64) ** 2).mean(axis=1)
    found: Floats = (10.0 * np.log10(power + 1e-10)).astype(np.float32)
    return found


def check_level(sound: Floats) -> None:
    """Refuse a silent note.

    Raises
    ------
    SoundError
        "too_quiet" if its loudest moment is below -45 dB of full scale.
    """
    if float(np.percentile(frame_levels(sound), 98)) < QUIETEST_DB:
        raise SoundError("too_quiet")


def snr_db(sound: Floats) -> float:
    """Return the level of speech over its surroundings [dB], from its loud and quiet parts.

    An estimate from levels alone: the 95th percentile of 20 ms frames over the 10th.
    """
    levels = frame_levels(sound)
    return float(np.percentile(levels, 95) - np.percentile(levels, 10))

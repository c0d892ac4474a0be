"""A sound as input for Whisper's networks: the level of each pitch, every 10 milliseconds.

Source: A. Radford et al., Robust Speech Recognition via Large-Scale Weak Supervision, 2022,
section 2.2: 80 channels on a mel scale, windows of 25 ms every 10 ms, logarithms brought to about
-1 to 1. The mel scale is that of M. Slaney, Auditory Toolbox, 1998: linear to 1 kHz, then
logarithmic, each channel of the same area.
"""

from functools import lru_cache

import numpy as np

from bot.voice.model import RATE, Floats

WINDOW, HOP, MOST_HZ = 400, 160, 8_000.0
_LINEAR_TO_HZ, _HZ_A_MEL = 1_000.0, 200.0 / 3.0
_LINEAR_TO = _LINEAR_TO_HZ / _HZ_A_MEL
_STEP = np.log(6.4) / 27.0
_FLOOR, _RANGE = 1e-10, 8.0


def hertz(mels: Floats) -> Floats:
    """Return the frequencies of positions on the mel scale [Hz].

    Examples
    --------
    >>> hertz(np.array([0.0, 15.0, 42.0])).round().tolist()
    [0.0, 1000.0, 6400.0]
    """
    above = _LINEAR_TO_HZ * np.exp(_STEP * (mels - _LINEAR_TO))
    found: Floats = np.where(mels < _LINEAR_TO, mels * _HZ_A_MEL, above)
    return found


@lru_cache(maxsize=2)
def filters(channels: int) -> Floats:
    """Return each channel's weight for each frequency: triangles from centre to centre."""
    top = _LINEAR_TO + np.log(MOST_HZ / _LINEAR_TO_HZ) / _STEP
    edges = hertz(np.linspace(0.0, top, channels + 2))
    low, middle, high = edges[:-2, None], edges[1:-1, None], edges[2:, None]
    at = np.linspace(0.0, RATE / 2, WINDOW // 2 + 1)
    triangles = np.minimum((at - low) / (middle - low), (high - at) / (high - middle))
    found: Floats = (np.maximum(triangles, 0.0) * 2.0 / (high - low)).astype(np.float32)
    return found


def log_mel(sound: Floats, seconds: float, channels: int = 80) -> Floats:
    """Return a sound, padded with silence, as channels by rows of 10 ms.

    Parameters
    ----------
    sound
        Mono at 16 kHz.
    seconds
        The length of the result [s].
    channels
        The number of channels the network takes: 80 or 128.
    """
    samples = int(seconds * RATE)
    filled = np.zeros(samples, np.float32)
    filled[: len(sound)] = sound[:samples]
    padded = np.pad(filled, WINDOW // 2, mode="reflect")
    rows = np.lib.stride_tricks.sliding_window_view(padded, WINDOW)[::HOP][: samples // HOP]
    power = np.abs(np.fft.rfft(rows * np.hanning(WINDOW + 1)[:-1], axis=1)) ** 2
    levels = np.log10(np.maximum(filters(channels) @ power.T, _FLOOR))
    found: Floats = ((np.maximum(levels, levels.max() - _RANGE) + 4.0) / 4.0).astype(np.float32)
    return found

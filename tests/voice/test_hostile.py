"""Sounds made to hurt: each gets a sentence, none a crash, none more work than fifteen seconds."""

import io
import struct
import zipfile
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
import soundfile

from bot.voice.sound import LONGEST_S, RATE, SoundError, check_level, decode, resampled

CLIPS = Path(__file__).parent / "clips"
OGG = (CLIPS / "t0370_syn_clean.ogg").read_bytes()


def wav(rate: int, channels: int, data: bytes, claimed: int | None = None) -> bytes:
    """Return a WAV file with a claimed size."""
    size = len(data) if claimed is None else claimed
    head = struct.pack("<4sI4s4sIHHIIHH4sI", b"RIFF", (36 + size) & 0xFFFFFFFF, b"WAVE", b"fmt ",
                       16, 1, channels, rate, rate * channels * 2 & 0xFFFFFFFF, channels * 2,
                       16, b"data", size & 0xFFFFFFFF)  # fmt: skip
    return head + data


def archive() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as file:
        file.writestr("note.ogg", OGG)
    return out.getvalue()


def long_note(seconds: float) -> bytes:
    out = io.BytesIO()
    rng = np.random.default_rng(5)
    soundfile.write(out, 0.1 * rng.standard_normal(int(seconds * 8000)).astype(np.float32), 8000,
                    format="OGG", subtype="OPUS", compression_level=0.99)  # fmt: skip
    return out.getvalue()


SECOND = struct.pack("<16000h", *([1000, -1000] * 8000))


@pytest.mark.parametrize(
    ("data", "key"),
    [
        (b"", "empty"),
        (wav(16_000, 1, b""), "empty"),
        (wav(16_000, 1, SECOND[:2000]), "empty"),
        (wav(0, 1, SECOND), "unreadable"),
        (wav(4, 1, SECOND), "unreadable"),
        (wav(16_000, 8, SECOND), "unreadable"),
        (wav(16_000, 0, SECOND), "unreadable"),
        (OGG[: len(OGG) // 200], "unreadable"),
        (b"OggS\x00" + bytes(4000), "unreadable"),
        (b"this is no sound at all", "unreadable"),
        (archive(), "unreadable"),
        (long_note(LONGEST_S + 2), "too_long"),
        (bytes(3_000_000), "too_long"),
    ],
    ids=["nothing", "no samples", "a moment", "0 Hz", "4 Hz", "8 channels", "no channel", "cut",
         "empty pages", "text", "zip", "17 s", "3 MB"],
)  # fmt: skip
def test_a_hostile_sound_is_refused_by_name(data: bytes, key: str) -> None:
    with pytest.raises(SoundError) as told:
        decode(data)
    assert told.value.key == key


def outcome(data: bytes) -> Sequence[float]:
    """Return the decoded samples; none if it is refused by name."""
    try:
        return [float(one) for one in decode(data)]
    except SoundError:
        return []


def test_of_three_hours_claimed_fifteen_seconds_are_asked_for(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked: list[int] = []
    read = soundfile.SoundFile.read

    def noted(file: soundfile.SoundFile, frames: int, **how: object) -> object:
        asked.append(frames)
        return read(file, frames, **how)

    monkeypatch.setattr(soundfile.SoundFile, "read", noted)
    outcome(wav(16_000, 1, SECOND, 3 * 3600 * 16_000 * 2))
    [frames] = asked
    assert frames <= RATE * (LONGEST_S + 1)


def test_a_note_cut_in_the_middle_is_heard_as_far_as_it_goes_or_refused() -> None:
    assert len(outcome(OGG[: len(OGG) // 2])) < len(decode(OGG))


def test_silence_and_a_whisper_are_too_quiet() -> None:
    for level in (0, 20):
        quiet = wav(16_000, 1, struct.pack("<16000h", *([level, -level] * 8000)))
        with pytest.raises(SoundError) as told:
            check_level(decode(quiet))
        assert told.value.key == "too_quiet"


@pytest.mark.parametrize("rate", [8_000, 11_025, 22_050, 44_100, 48_000])
@pytest.mark.parametrize("hertz", [300, 1_000, 3_000])
def test_a_tone_stays_a_tone_at_another_rate(rate: int, hertz: int) -> None:
    tone = np.sin(2 * np.pi * hertz * np.arange(rate) / rate).astype(np.float32)
    wanted = np.sin(2 * np.pi * hertz * np.arange(RATE) / RATE)
    middle = slice(RATE // 4, 3 * RATE // 4)
    assert np.abs(resampled(tone, rate)[middle] - wanted[middle]).max() < 0.02


@pytest.mark.parametrize("rate", [44_100, 48_000])
def test_frequencies_above_speech_do_not_fold_into_it(rate: int) -> None:
    tone = np.sin(2 * np.pi * 11_000 * np.arange(rate) / rate).astype(np.float32)
    assert np.abs(resampled(tone, rate)[RATE // 4 : 3 * RATE // 4]).max() < 0.02

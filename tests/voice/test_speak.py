"""Replies spoken: Ogg/Opus that plays, by the package's voice or by espeak-ng, or silence."""

import io
from pathlib import Path

import pytest
import soundfile

from bot.voice import speak
from bot.voice.sound import check_level, decode
from bot.voice.speak import Aloud, Speaker

SAID = "Four two five zero pounds. Yes or no?"


def seconds(data: bytes) -> float:
    samples, rate = soundfile.read(io.BytesIO(data))
    return len(samples) / rate


def test_a_reply_is_a_voice_note_of_the_length_of_speech() -> None:
    data = Speaker().speak(SAID)
    assert data is not None
    info = soundfile.info(io.BytesIO(data))
    assert (info.format, info.subtype, info.channels) == ("OGG", "OPUS", 1)
    # 8 tokens at 1.5 to 4 a second.
    assert 2.0 < seconds(data) < 6.0
    check_level(decode(data))


def test_without_the_package_espeak_speaks_or_nothing_does(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(speak, "_package_voice", lambda: None)
    monkeypatch.setattr(speak.shutil, "which", lambda _name: None)
    assert Speaker().speak(SAID) is None


def test_nothing_is_said_of_no_text() -> None:
    assert Speaker().speak("  ") is None


def test_a_voice_that_fails_is_silent_and_says_so_in_the_log(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def broken(_text: str) -> tuple[object, int]:
        raise RuntimeError("planted")

    monkeypatch.setattr(speak, "_package_voice", lambda: broken)
    assert Speaker().speak(SAID) is None
    assert "could not be spoken" in caplog.text


def test_where_nothing_plays_each_reply_is_a_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(speak, "_plays", lambda _program: False)
    aloud = Aloud(tmp_path / "spoken")
    for text in ("Job one is open.", "", "Where is it?"):
        aloud.say(text)
    aloud.close()
    files = sorted((tmp_path / "spoken").iterdir())
    assert [file.name for file in files] == ["0001.ogg", "0002.ogg"]
    assert all(seconds(file.read_bytes()) > 0.5 for file in files)

"""The meaning understood in a note, and why, for a person to read."""

import time
from collections.abc import Iterator

from bot.voice.measure import banded
from bot.voice.questions import Question
from bot.voice.recogniser import Guess, Recogniser
from bot.voice.score import judge
from bot.voice.sound import SoundError, check_level, decode
from flows.texts import voice_texts


def explained(data: bytes, question: Question, recogniser: Recogniser) -> tuple[list[str], bool]:
    """Return the lines about a note, and whether it could be heard."""
    texts = voice_texts()["hear"]
    start = time.perf_counter()
    try:
        sound = decode(data)
        check_level(sound)
    except SoundError as error:
        return [str(texts["why"][error.key])], False
    guess = recogniser.hear(question, sound)
    ms = round(1000 * (time.perf_counter() - start))
    lines = list(_lines(question, guess))
    about = {"engine": recogniser.engine, "version": recogniser.version, "ms": ms}
    return [*lines, str(texts["engine"]).format(**about)], True


def _lines(question: Question, guess: Guess) -> Iterator[str]:
    texts = voice_texts()["hear"]
    heard, (value, band, _) = judge(question, guess), banded(question, guess)
    yield texts["text"].format(text=heard.text) if heard.text else texts["nothing"]
    if not heard.is_free:
        yield texts["means"].format(value=value) if guess.meaning else texts["no_meaning"]
        yield texts["free"].format(free=guess.free)
    yield texts["score"].format(score=heard.score, band=texts["bands"][band])
    signs = guess.signs
    yield texts["signs"].format(
        share=signs.share, gap=signs.gap, pin=signs.pin, per_letter=signs.per_letter,
        over_silence=signs.over_silence, snr_db=signs.snr_db,
    )  # fmt: skip
    others = [f"{one} {share:.3f}" for one, share in guess.rivals[1:]]
    if others:
        yield texts["rivals"].format(rivals=", ".join(others))

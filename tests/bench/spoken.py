"""Thirty spoken replies in traffic noise at 10 dB, written down again by the recogniser.

python -m tests.bench.spoken: the words heard wrong of a hundred. The recogniser that hears
answers writes them down freely, without a grammar; with `--opinion DIR` the network of a second
opinion does: a machine listener either way, and no person.
"""

import argparse
import io
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import soundfile

from bot.voice.beam import listen
from bot.voice.ears import load_opinion
from bot.voice.measure import word_errors
from bot.voice.model import Floats, Model
from bot.voice.sound import decode
from bot.voice.speak import Speaker
from bot.voice.weights import read_weights
from tests.bench.voice_carry import PLAIN_SNR_DB, traffic
from tests.bot.scripted import TO_CLOSE, TO_NEUTRAL, Script, output

COUNT = 30


def replies(folder: str) -> list[str]:
    """Return what is spoken in a plain carry, each text once."""
    import json  # noqa: PLC0415  beside its only use

    script = Script().say(*TO_NEUTRAL, "neutral", "just now", *TO_CLOSE)
    lines = [json.loads(line) for line in output(Path(folder), script.lines).splitlines()]
    return list(dict.fromkeys(line["spoken"] for line in lines if line.get("spoken")))[:COUNT]


def in_traffic(note: bytes, seed: int) -> bytes:
    """Return a spoken reply with traffic at 10 dB below it."""
    said, rate = soundfile.read(io.BytesIO(note), dtype="float32")
    noise = traffic(len(said), np.random.default_rng(seed))
    loud = said[np.abs(said) > 0.02 * np.abs(said).max()]
    noise *= np.sqrt((loud**2).mean() / (noise**2).mean()) * 10 ** (-PLAIN_SNR_DB / 20)
    mixed, out = said + noise, io.BytesIO()
    soundfile.write(out, 0.5 * mixed / np.abs(mixed).max(), rate, format="OGG", subtype="OPUS")
    return out.getvalue()


def _first_ear() -> Callable[[Floats], str]:
    model = Model(read_weights())

    def write(sound: Floats) -> str:
        found = listen(model, model.encode(sound), len(sound))
        return found[0].text if found else ""

    return write


def _second_ear(folder: Path) -> Callable[[Floats], str]:
    writer = load_opinion(folder)
    return lambda sound: writer.write(sound).words


def main() -> None:
    """Speak, add noise, write down, and compare."""
    import tempfile  # noqa: PLC0415  beside its only use

    parser = argparse.ArgumentParser(description="Spoken replies, written down again.")
    parser.add_argument("--opinion", metavar="DIR", help="folder of the network that writes")
    given = parser.parse_args()
    write = _first_ear() if given.opinion is None else _second_ear(Path(given.opinion))
    speaker = Speaker()
    wrong = {"clean": 0, "traffic": 0}
    said, spent = 0, []
    with tempfile.TemporaryDirectory() as folder:
        texts = replies(folder)
    for number, text in enumerate(texts):
        start = time.perf_counter()
        note = speaker.speak(text)
        spent.append(time.perf_counter() - start)
        if note is None:
            sys.stdout.write("nothing here can speak\n")
            return
        for noise, data in (("clean", note), ("traffic", in_traffic(note, number))):
            errors, count = word_errors(text, write(decode(data)))
            wrong[noise] += errors
        said += count
    for noise, errors in wrong.items():
        sys.stdout.write(f"{noise}: {100 * errors / said:.1f} of 100 words heard wrong\n")
    middle = statistics.median(spent)
    sys.stdout.write(f"{len(texts)} replies, {said} words, median {middle:.2f} s\n")


if __name__ == "__main__":
    main()

"""The commands about voice: hear a file, measure a folder of clips."""

import argparse
import sys
from typing import TYPE_CHECKING

from bot.commands.parts import EXIT_FAILED, EXIT_OK, EXIT_USAGE, Commands, add, card_folder

if TYPE_CHECKING:
    from bot.voice.recogniser import Recogniser


def parsers(commands: Commands) -> None:
    """Add the commands about voice."""
    hear = add(
        commands,
        "hear",
        "Show what is understood in a voice note, and why.",
        "rollproof hear note.ogg --question vehicle.drive",
        _hear,
    )
    hear.add_argument(
        "file", metavar="FILE", help="a voice note (Ogg/Opus), or another sound file"
    )
    hear.add_argument(
        "--question",
        required=True,
        metavar="ITEM",
        help="the question asked: an item, or a kind such as weight",
    )
    card_folder(hear)
    voice = commands.add_parser(
        "voice",
        help="Measure how well voice notes are understood.",
        description="Measure how well voice notes are understood.",
        epilog="Example: rollproof voice measure clips",
    )
    inner = voice.add_subparsers(required=True, metavar="COMMAND")
    measure = add(
        inner,
        "measure",
        "Measure a folder of clips, by kind of question and noise.",
        "rollproof voice measure clips",
        _measure,
    )
    measure.add_argument("dir", metavar="DIR", help="folder of clips with a manifest.csv")
    measure.add_argument(
        "--every", type=int, default=1, metavar="N", help="use every Nth clip (default: 1)"
    )
    measure.add_argument(
        "--opinion", metavar="DIR", help="folder of a network for second opinions"
    )


def _recogniser() -> "Recogniser | None":
    from bot.voice.ears import load
    from bot.voice.weights import NoEngineError, read_weights
    from flows.texts import voice_texts

    try:
        return load(read_weights())
    except NoEngineError as error:
        text = str(voice_texts()["doctor"][error.key]).format(value=error.value)
        print(f"rollproof: {text}", file=sys.stderr)
        return None


def _hear(given: argparse.Namespace) -> int:
    from pathlib import Path

    from bot.commands.bootstrap import book_for
    from bot.machine.settings import settings
    from flows.texts import voice_texts

    path = Path(given.file)
    if not path.is_file():
        text = voice_texts()["hear"]["no_file"].format(name=given.file)
        print(f"rollproof: {text}", file=sys.stderr)
        return EXIT_FAILED
    recogniser = _recogniser()
    if recogniser is None:
        return EXIT_FAILED
    from bot.voice.explain import explained
    from bot.voice.questions import KINDS, named

    try:
        question = named(book_for(settings(None, given.cards)), given.question)
    except KeyError:
        text = voice_texts()["hear"]["no_question"]
        text = text.format(name=given.question, kinds=", ".join(KINDS))
        print(f"rollproof: {text}", file=sys.stderr)
        return EXIT_USAGE
    lines, is_heard = explained(path.read_bytes(), question, recogniser)
    print("\n".join(lines), file=sys.stdout if is_heard else sys.stderr)
    return EXIT_OK if is_heard else EXIT_FAILED


def _measure(given: argparse.Namespace) -> int:
    from pathlib import Path

    from bot.commands.bootstrap import book_for
    from bot.machine.settings import settings
    from bot.voice.ears import load_opinion
    from bot.voice.memory import peak_mib
    from bot.voice.weights import NoEngineError
    from flows.texts import voice_texts

    book, before = book_for(settings(None, None)), peak_mib()
    recogniser = _recogniser()
    if recogniser is None:
        return EXIT_FAILED
    from bot.voice.measure import ManifestError, outcomes, read_manifest, report

    folder = Path(given.dir)
    try:
        clips = read_manifest(folder)[:: max(1, given.every)]
    except ManifestError as error:
        print(f"rollproof: {error}", file=sys.stderr)
        return EXIT_FAILED
    try:
        writer = None if given.opinion is None else load_opinion(Path(given.opinion))
    except NoEngineError as error:
        text = str(voice_texts()["doctor"][error.key]).format(value=error.value)
        print(f"rollproof: {text}", file=sys.stderr)
        return EXIT_FAILED
    found = list(outcomes(clips, recogniser, book, writer))
    for line in report(found, folder, recogniser.engine, recogniser.version):
        print(line)
    if writer is not None:
        about = {"engine": writer.engine, "version": writer.version}
        print(voice_texts()["measure"]["opinion"].format(**about))
    print(voice_texts()["measure"]["memory"].format(peak=peak_mib(), before=before))
    return EXIT_OK

"""The bot's ears: loaded when first needed, in a thread of their own.

The recogniser releases the interpreter while it computes, so no alarm waits for a note. A failure
becomes a reason in words, and the note is kept; it never ends the bot.
"""

import logging
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import cached_property
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

from bot.voice.weights import ENGINE, NEEDED, NoEngineError, Weights, read_weights
from flows.hearing.lexicon import lexicon_of
from flows.hearing.prompts import Prompt
from flows.job.events import Opinion, Spoken
from flows.routine.book import Book

if TYPE_CHECKING:
    from bot.voice.model import Floats
    from bot.voice.opinion import Writer
    from bot.voice.questions import Question
    from bot.voice.recogniser import Guess, Recogniser

LOG = logging.getLogger(__name__)


class LazyEars:
    """Hears voice notes; loads the recogniser for the first.

    Parameters
    ----------
    weights
        Reads and checks the recogniser's files.
    opinion
        The folder of a network for second opinions: on answers that would be read back, and on
        free words; None for no second opinion.
    """

    def __init__(
        self, weights: Callable[[], Weights] = read_weights, opinion: Path | None = None
    ) -> None:
        self._weights = weights
        self._recogniser: Recogniser | None = None
        self._missing = False
        self._second = Second(opinion)

    @cached_property
    def _worker(self) -> ThreadPoolExecutor:
        return ThreadPoolExecutor(1, "voice")

    def heard(self, path: Path, prompt: Prompt, book: Book) -> Spoken:
        """Return the words of a note sent under an open question, or the reason for no words."""
        return self._worker.submit(self._hear, path, prompt, book).result()

    def _hear(self, path: Path, prompt: Prompt, book: Book) -> Spoken:
        if self._missing:
            return Spoken(why="no_engine", under=prompt.key)
        try:
            recogniser = self._loaded()
        except NoEngineError as error:
            LOG.warning("voice notes are kept, but not heard (%s)", error)
            self._missing = True
            return Spoken(why="no_engine", under=prompt.key)
        try:
            return _listened(recogniser, self._second, path, prompt, book)
        except Exception:
            LOG.exception("a voice note could not be heard; it is kept")
            return Spoken(why="unreadable", under=prompt.key)

    def _loaded(self) -> "Recogniser":
        if self._recogniser is None:
            self._recogniser = load(self._weights())
        return self._recogniser


def load(weights: Weights) -> "Recogniser":
    """Return the recogniser, ready to hear.

    Raises
    ------
    NoEngineError
        If the files cannot be run here.
    """
    from bot.voice.model import Model  # noqa: PLC0415  needs the extra
    from bot.voice.recogniser import GrammarRecogniser  # noqa: PLC0415  needs the extra

    try:
        return GrammarRecogniser(Model(weights), ENGINE, weights.version)
    except Exception as error:
        raise NoEngineError("broken", type(error).__name__) from error


def load_opinion(folder: Path) -> "Writer":
    """Return the network of a folder, ready to transcribe.

    Raises
    ------
    NoEngineError
        If it, or a library it needs, is missing or does not start here.
    """
    for name in NEEDED:
        if find_spec(name) is None:
            raise NoEngineError("opinion_not_installed", name)
    from bot.voice.whisper import Whisper  # noqa: PLC0415  needs the extra

    return Whisper(folder)


class Second:
    """A second opinion, loaded when first needed.

    Parameters
    ----------
    folder
        The folder of its network; None for no opinion.
    load
        Loads the network.
    """

    def __init__(
        self, folder: Path | None, load: Callable[[Path], "Writer"] = load_opinion
    ) -> None:
        self._folder, self._load = folder, load
        self._writer: Writer | None = None

    def on(self, first: Spoken, question: "Question", guess: "Guess", sound: "Floats") -> Spoken:
        """Return the answer heard, with a second opinion or the reason for no opinion."""
        if self._folder is None:
            return first
        try:
            if self._writer is None:
                self._writer = self._load(self._folder)
        except NoEngineError as error:
            LOG.warning("there is no second opinion on voice notes (%s)", error)
            self._folder = None
            return replace(first, opinion=Opinion(why=error.key))
        from bot.voice.opinion import with_opinion  # noqa: PLC0415  needs the extra

        try:
            written = self._writer.write(sound)
        except Exception:
            LOG.exception("a second opinion failed; from now on there is none")
            self._folder = None
            return replace(first, opinion=Opinion(why="opinion_broken"))
        return with_opinion(first, question, guess, written, self._writer)


def _listened(
    recogniser: "Recogniser", second: Second, path: Path, prompt: Prompt, book: Book
) -> Spoken:
    from bot.voice.opinion import is_wanted  # noqa: PLC0415  needs the extra
    from bot.voice.questions import of_prompt  # noqa: PLC0415  as above
    from bot.voice.score import judge  # noqa: PLC0415  as above
    from bot.voice.sound import SoundError, check_level, decode  # noqa: PLC0415  as above

    nothing = Spoken(engine=recogniser.engine, version=recogniser.version, under=prompt.key)
    try:
        sound = decode(path.read_bytes())
        check_level(sound)
    except SoundError as error:
        return replace(nothing, why=error.key)
    question = of_prompt(prompt, lexicon_of(book.library))
    guess = recogniser.hear(question, sound)
    heard = judge(question, guess)
    if not heard.text:
        return replace(nothing, why="empty")
    found = replace(nothing, text=heard.text, score=heard.score, is_free=heard.is_free)
    return second.on(found, question, guess, sound) if is_wanted(heard) else found

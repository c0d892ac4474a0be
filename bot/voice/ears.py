"""The ears of a bot: loaded on first need, in a worker of their own, and never the end of it.

The recogniser runs in one thread, which leaves the interpreter to others while it computes: an
alarm waits for no note. Whatever goes wrong is a reason, in words, and the note is kept.
"""

import logging
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from bot.voice.weights import ENGINE, NoEngineError, Weights, read_weights
from flows.book import Book
from flows.events import Spoken
from flows.prompts import Prompt

if TYPE_CHECKING:
    from bot.voice.recogniser import Recogniser

LOG = logging.getLogger(__name__)


class LazyEars:
    """Hears voice notes once the recogniser is wanted.

    Parameters
    ----------
    weights
        Reads and checks the recogniser's files.
    """

    def __init__(self, weights: Callable[[], Weights] = read_weights) -> None:
        self._weights = weights
        self._recogniser: Recogniser | None = None
        self._missing = False

    @cached_property
    def _worker(self) -> ThreadPoolExecutor:
        return ThreadPoolExecutor(1, "voice")

    def heard(self, path: Path, prompt: Prompt, book: Book) -> Spoken:
        """Return what was said in a note while something was open; why nothing, where nothing."""
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
            return _listened(recogniser, path, prompt, book)
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
        Where the files cannot be run here.
    """
    from bot.voice.model import Model  # noqa: PLC0415  needs the extra
    from bot.voice.recogniser import GrammarRecogniser  # noqa: PLC0415  needs the extra

    try:
        return GrammarRecogniser(Model(weights), ENGINE, weights.version)
    except Exception as error:
        raise NoEngineError("broken", type(error).__name__) from error


def _listened(recogniser: "Recogniser", path: Path, prompt: Prompt, book: Book) -> Spoken:
    from bot.voice.questions import of_prompt  # noqa: PLC0415  beside the recogniser only
    from bot.voice.score import judge  # noqa: PLC0415  needs the extra
    from bot.voice.sound import SoundError, check_level, decode  # noqa: PLC0415  needs the extra

    nothing = Spoken(engine=recogniser.engine, version=recogniser.version, under=prompt.key)
    try:
        sound = decode(path.read_bytes())
        check_level(sound)
    except SoundError as error:
        return replace(nothing, why=error.key)
    question = of_prompt(prompt, book.lexicon)
    heard = judge(question, recogniser.hear(question, sound))
    if not heard.text:
        return replace(nothing, why="empty")
    return replace(nothing, text=heard.text, score=heard.score, is_free=heard.is_free)

"""Hearing as the desk knows it: a file and a question in, the words that were said out."""

from pathlib import Path
from typing import Protocol

from flows.hearing.prompts import Prompt
from flows.job.events import Spoken
from flows.routine.book import Book


class Ears(Protocol):
    """Hears voice notes."""

    def heard(self, path: Path, prompt: Prompt, book: Book) -> Spoken:
        """Return the words of a note sent under an open question, or the reason for no words."""
        ...

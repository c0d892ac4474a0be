"""What a desk knows of hearing: a file and a question in, what was said out."""

from pathlib import Path
from typing import Protocol

from flows.hearing.prompts import Prompt
from flows.job.events import Spoken
from flows.routine.book import Book


class Ears(Protocol):
    """Hears voice notes."""

    def heard(self, path: Path, prompt: Prompt, book: Book) -> Spoken:
        """Return what was said in a note while something was open; why nothing, where nothing."""
        ...

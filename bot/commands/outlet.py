"""What the commands print: nothing in it acts on a terminal, whoever wrote it."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, TextIO

from flows.texts.visible import visible_lines


class Outlet:
    """A stream on which hidden characters are named; only the ends of lines stay as they are.

    A terminal's own screen writes to the stream below, and names them itself.
    """

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    def write(self, text: str) -> int:
        """Write a text with nothing hidden in it."""
        self._stream.write(visible_lines(text))
        return len(text)

    def __getattr__(self, name: str) -> Any:  # noqa: ANN401  whatever the stream has
        return getattr(self._stream, name)


@contextmanager
def outlets() -> Iterator[None]:
    """Let everything that is printed go through an outlet."""
    before = sys.stdout, sys.stderr
    for stream in before:
        if hasattr(stream, "reconfigure"):
            # A terminal without these letters shows their numbers; nothing stops for it.
            stream.reconfigure(errors="backslashreplace")
    sys.stdout, sys.stderr = Outlet(before[0]), Outlet(before[1])
    try:
        yield
    finally:
        sys.stdout, sys.stderr = before

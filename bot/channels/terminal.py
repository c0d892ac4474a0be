"""The terminal for talk: a prompt that stays whole while messages are drawn above it.

The messages of a turn come at reading speed; a stop, or the next line entered, draws all that wait
at once. A message counts as sent when it is drawn. Colours only add to the marks, never replace
them, and only on a terminal that has colours.
"""

import asyncio
import shutil
from collections import deque
from collections.abc import Callable, Iterable, Sequence

from prompt_toolkit import PromptSession, print_formatted_text
from prompt_toolkit.completion import CompleteEvent, Completer, Completion, PathCompleter
from prompt_toolkit.document import Document
from prompt_toolkit.formatted_text import FormattedText
from prompt_toolkit.history import InMemoryHistory
from prompt_toolkit.key_binding import KeyBindings
from prompt_toolkit.keys import Keys
from prompt_toolkit.patch_stdout import patch_stdout
from typing_extensions import override

from bot.channels.talk import KINDS, LEAVE, Talk
from bot.channels.waiting import Timers

# Adults read plain English silently at some 240 words a minute (Brysbaert 2019, from memory).
WORDS_A_MINUTE = 240
# A question is seen within a second.
MOST_PAUSE_S = 0.8
STYLES = {"stop": "ansired bold", "check": "ansiyellow bold", "note": "ansicyan"}
Done = Callable[[], None]


def pause_s(lines: Sequence[str]) -> float:
    """Return how long to leave for reading before the next message [s], at most 0.8.

    Examples
    --------
    >>> pause_s(["  Noted."]), pause_s(["word"] * 40)
    (0.25, 0.8)
    """
    words = sum(len(line.split()) for line in lines)
    return min(words * 60 / WORDS_A_MINUTE, MOST_PAUSE_S)


class Screen:
    """Draws messages one by one above the prompt, which keeps the line being typed."""

    def __init__(self) -> None:
        self._waiting: deque[tuple[list[str], str, Done]] = deque()
        self._more = asyncio.Event()
        self._hurry = asyncio.Event()

    @property
    def columns(self) -> int:
        """The terminal's present width."""
        return shutil.get_terminal_size().columns

    def show(self, lines: list[str], priority: str, done: Done) -> None:
        """Queue a message; call `done` when it is drawn."""
        self._waiting.append((lines, priority, done))
        self._more.set()
        if priority == "stop":
            self._hurry.set()

    def flush(self) -> None:
        """Draw all messages that wait."""
        while self._waiting:
            self._draw()

    async def run(self) -> None:
        """Draw messages as they come, at reading speed."""
        while True:
            await self._more.wait()
            self._more.clear()
            while self._waiting:
                lines = self._draw()
                if self._waiting and not self._hurry.is_set():
                    await self._rest(pause_s(lines))
            self._hurry.clear()

    async def _rest(self, seconds: float) -> None:
        try:
            await asyncio.wait_for(self._hurry.wait(), seconds)
        except TimeoutError:
            return

    def _draw(self) -> list[str]:
        lines, priority, done = self._waiting.popleft()
        style = STYLES.get(priority, "")
        print_formatted_text(FormattedText([(style, "\n".join(lines))]))
        done()
        return lines


class Offers(Completer):
    """Completes the choices offered now, words for any time, and paths of files."""

    def __init__(self, offers: Callable[[], Iterable[str]]) -> None:
        self._offers = offers
        self._paths = PathCompleter(expanduser=True)

    @override
    def get_completions(self, document: Document, event: CompleteEvent) -> Iterable[Completion]:
        """Yield completions of the line so far."""
        said = document.text_before_cursor.lstrip()
        first, space, rest = said.partition(" ")
        if space and first.lower() in KINDS:
            path = rest.rpartition(" ")[2]
            yield from self._paths.get_completions(Document(path, len(path)), event)
            return
        for offer in self._offers():
            if offer.lower().startswith(said.lower()):
                yield Completion(offer, start_position=-len(said))


async def converse(talk: Talk, timers: Timers, screen: Screen) -> None:
    """Hold the conversation until the end of input, or "quit"."""
    session = _session(talk)
    with patch_stdout():
        drawing = asyncio.create_task(screen.run())
        talk.start()
        ticking = asyncio.create_task(_ticking(timers))
        try:
            while True:
                text = await session.prompt_async("> ")
                screen.flush()
                if text.strip().lower() in LEAVE:
                    return
                talk.hear(text)
        except (EOFError, KeyboardInterrupt):
            return
        finally:
            screen.flush()
            ticking.cancel()
            drawing.cancel()


def _session(talk: Talk) -> PromptSession[str]:
    keys = KeyBindings()
    # A colour code in pasted text would be taken for a mouse report, raise, and lose a line.
    keys.add(Keys.Vt100MouseEvent)(lambda _event: None)
    return PromptSession(
        key_bindings=keys,
        history=InMemoryHistory(talk.said_before()),
        completer=Offers(talk.offers),
        complete_while_typing=False,
        reserve_space_for_menu=4,
    )


async def _ticking(timers: Timers) -> None:
    """Fire timers when they are due; look every second for timers set meanwhile."""
    while True:
        timers.fire()
        wait = timers.wait_s()
        await asyncio.sleep(min(1.0, 1.0 if wait is None else wait))

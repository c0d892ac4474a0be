"""Talk: a conversation in a terminal. Timers speak up while the prompt waits."""

import asyncio
import re
import shlex
import sys
import textwrap
import uuid
from collections.abc import Callable, Iterable
from pathlib import Path

from bot.channels.shown import shown_text
from bot.channels.waiting import Timers, incoming
from bot.clock import Clock
from bot.desk import Desk
from bot.inbound import Inbound
from bot.journal.errors import StoreError
from bot.journal.media import FileRefusedError, MediaKind, keep
from bot.journal.rows import Reply
from bot.journal.store import Store
from flows.events import Moment
from flows.texts import sentences

CHANNEL = "talk"
WIDTH = 76
KINDS: tuple[MediaKind, ...] = ("photo", "voice", "file")
LEAVE = frozenset({"quit", "exit"})
# A terminal's own sequences, whole, then every other control character but a line's end.
_CONTROLS = re.compile(
    r"\x1b\[[0-?]*[ -/]*[@-~]|\x1b\][^\x07\x1b]*(?:\x07|\x1b\\)?|[\x00-\x09\x0b-\x1f\x7f-\x9f]"
)
MARKS = {"stop": "!!!", "check": "!!", "note": "!"}


class Talk:
    """One person's conversation, with others spoken for by "@role:name words".

    Parameters
    ----------
    chat
        Who types: "driver:you".
    show
        Prints one line.
    """

    def __init__(
        self, desk: Desk, store: Store, clock: Clock, chat: str, show: Callable[[str], None]
    ) -> None:
        self._desk = desk
        self._store = store
        self._clock = clock
        self._chat = chat
        self._show = show

    def start(self) -> None:
        """Pick up where the record stands, or say how to begin."""
        self._desk.catch_up()
        self._print(self._store.pending(), is_repeat=True)
        back = self._desk.welcome_back(self._clock.now(), self._chat)
        self._print(back)
        if not back:
            self._show(sentences()["talk"]["welcome"])

    def hear(self, text: str) -> None:
        """Take what was typed, and print what it leads to; "photo PATH ..." sends files."""
        chat, words = self._speaker(typed(text))
        kind, paths = named_files(words)
        try:
            if kind is None:
                self._take(Inbound(chat, uuid.uuid4().hex, text=words))
            for path in paths:
                media = keep(self._store.folder, kind or "file", path)
                self._take(Inbound(chat, uuid.uuid4().hex, media=media))
        except StoreError as error:
            self._show(f"{MARKS['stop']} {error}")
        except (ValueError, FileRefusedError) as error:
            self._show(f"{MARKS['check']} {error}")

    def _take(self, message: Inbound) -> None:
        self._print(self._desk.take(message, self._clock.now()).replies)

    def tick(self, at: Moment) -> None:
        """Fire what is due, and print it."""
        self._print(self._desk.tick(at))

    def next_due(self, at: Moment) -> int | None:
        """Return when the next timer is due on the boot clock [ns]."""
        return self._desk.next_due(at)

    def refuse_tick(self, error: StoreError) -> None:
        """Print that the record refuses; the timers stay set."""
        self._show(f"{MARKS['stop']} {error}")

    def _speaker(self, text: str) -> tuple[str, str]:
        if not text.startswith("@"):
            return self._chat, text
        who, _, words = text[1:].partition(" ")
        return who, words

    def _print(self, replies: Iterable[Reply], *, is_repeat: bool = False) -> None:
        sent = list(replies)
        for reply in sent:
            for line in shown_lines(reply, self._chat, is_repeat=is_repeat):
                self._show(line)
        self._store.mark_sent(reply.id for reply in sent if reply.state == "pending")


def typed(text: str) -> str:
    r"""Return what was typed or pasted without control characters; a tab is a space.

    Examples
    --------
    >>> typed("\x1b[31mred\x1b[0m barn,\tmile 9\x07")
    'red barn, mile 9'
    """
    return _CONTROLS.sub(lambda found: " " if found[0] == "\t" else "", text)


def named_files(words: str) -> tuple[MediaKind | None, list[str]]:
    """Return the kind and the paths of "photo PATH ...", or of files dropped on the terminal.

    Examples
    --------
    >>> named_files("photo left.jpg 'right side.jpg'")
    ('photo', ['left.jpg', 'right side.jpg'])
    >>> named_files("photo"), named_files("it's on photo")
    ((None, []), (None, []))
    """
    first, _, rest = words.strip().partition(" ")
    kind: MediaKind | None = next((one for one in KINDS if one == first.lower()), None)
    dropped = words.strip().startswith(("/", "'/"))
    paths = _paths(words if dropped else rest)
    if dropped and paths and all(Path(path).is_file() for path in paths):
        return "photo", paths
    if kind is None or not paths:
        return None, []
    return kind, [str(Path(path).expanduser()) for path in paths]


def _paths(text: str) -> list[str]:
    try:
        return shlex.split(text)
    except ValueError:
        return [text]


def shown_lines(reply: Reply, chat: str, *, is_repeat: bool) -> list[str]:
    """Return the lines that show one message: who else it is for, its text, its choices."""
    body = reply.body
    mark = MARKS.get(body["priority"], "")
    text = shown_text(body, is_repeat=is_repeat, before=f"{mark} " if mark else "")
    if not text:
        return []
    head = f"[{reply.chat}] " if reply.chat != chat else ""
    lines: list[str] = []
    for part in f"{head}{text}".split("\n"):
        lines += textwrap.wrap(part, WIDTH, initial_indent="  ", subsequent_indent="  ")
    choices = body["expects"].get("choices", [])
    if choices and reply.chat == chat:
        row = "   ".join(f"{place} {one['label']}" for place, one in enumerate(choices, 1))
        lines += textwrap.wrap(row, WIDTH, initial_indent="    ", subsequent_indent="    ")
    return lines


def run(talk: Talk, clock: Clock, *, is_terminal: bool) -> None:
    """Hold the conversation until the input ends or says quit."""
    timers = Timers(talk, clock)
    talk.start()
    if is_terminal:
        asyncio.run(_prompted(talk, timers))
        return
    for line in incoming(sys.stdin.fileno(), timers.fire, timers.wait_s):
        print(f"> {line}")
        if line.strip().lower() in LEAVE:
            return
        talk.hear(line)


async def _prompted(talk: Talk, timers: Timers) -> None:
    from prompt_toolkit import PromptSession  # noqa: PLC0415  not before the first words
    from prompt_toolkit.key_binding import KeyBindings  # noqa: PLC0415  as above
    from prompt_toolkit.keys import Keys  # noqa: PLC0415  as above
    from prompt_toolkit.patch_stdout import patch_stdout  # noqa: PLC0415  as above

    keys = KeyBindings()
    # Read as a report of the mouse, a colour in what is pasted would raise, and eat a line.
    keys.add(Keys.Vt100MouseEvent)(lambda _event: None)
    session: PromptSession[str] = PromptSession(key_bindings=keys)
    with patch_stdout():
        ticking = asyncio.create_task(_ticking(timers))
        try:
            while True:
                text = await session.prompt_async("> ")
                if text.strip().lower() in LEAVE:
                    return
                talk.hear(text)
        except (EOFError, KeyboardInterrupt):
            return
        finally:
            ticking.cancel()


async def _ticking(timers: Timers) -> None:
    """Fire timers when they are due; look again every second for those set meanwhile."""
    while True:
        timers.fire()
        wait = timers.wait_s()
        await asyncio.sleep(min(1.0, 1.0 if wait is None else wait))

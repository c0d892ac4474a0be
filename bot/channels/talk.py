"""Talk: a conversation in a terminal. Timers speak up while the prompt waits."""

import re
import shlex
import sys
import textwrap
import uuid
from collections.abc import Callable, Iterable
from functools import partial
from pathlib import Path
from typing import Protocol

from bot.channels.shown import shown_text
from bot.channels.waiting import Timers, incoming
from bot.desk.desk import Desk
from bot.desk.inbound import Inbound
from bot.machine.clock import Clock
from bot.record.errors import StoreError
from bot.record.media import FileRefusedError, MediaKind, keep
from bot.record.rows import Reply
from bot.record.store import Store
from flows.job.events import Moment
from flows.texts import sentences

CHANNEL = "talk"
WIDTH = 76
NARROWEST = 20
TIED = "\u00a0"
MOST_SAID = 200
KINDS: tuple[MediaKind, ...] = ("photo", "voice", "file")
LEAVE = frozenset({"quit", "exit"})
# A terminal's own sequences, whole, then every other control character but a line's end.
_CONTROLS = re.compile(
    r"\x1b\[[0-?]*[ -/]*[@-~]|\x1b\][^\x07\x1b]*(?:\x07|\x1b\\)?|[\x00-\x09\x0b-\x1f\x7f-\x9f]"
)
MARKS = {"stop": "!!!", "check": "!!", "note": "!"}


class Screen(Protocol):
    """Where messages are shown."""

    @property
    def columns(self) -> int:
        """How many characters fit on a line."""
        ...

    def show(self, lines: list[str], priority: str, done: Callable[[], None]) -> None:
        """Show one message; `done` is called once it is shown."""
        ...


class Talk:
    """One person's conversation, with others spoken for by "@role:name words".

    Parameters
    ----------
    chat
        Who types: "driver:you".
    screen
        Shows messages.

    Attributes
    ----------
    aloud
        Speaks what is said to whoever types; None for not at all.
    """

    def __init__(self, desk: Desk, store: Store, clock: Clock, chat: str, screen: Screen) -> None:
        self._desk = desk
        self._store = store
        self._clock = clock
        self._chat = chat
        self._screen = screen
        self._choices: tuple[str, ...] = ()
        self.aloud: Callable[[str], None] | None = None

    def start(self) -> None:
        """Pick up where the record stands, or say how to begin."""
        self._desk.catch_up()
        self._print(self._store.pending(), is_repeat=True)
        back = self._desk.welcome_back(self._clock.now(), self._chat)
        self._print(back)
        if not back:
            self._tell("reply", sentences()["talk"]["welcome"])

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
            self._tell("stop", str(error))
        except (ValueError, FileRefusedError) as error:
            self._tell("check", str(error))

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
        self._tell("stop", str(error))

    def _speaker(self, text: str) -> tuple[str, str]:
        if not text.startswith("@"):
            return self._chat, text
        who, _, words = text[1:].partition(" ")
        return who, words

    def _print(self, replies: Iterable[Reply], *, is_repeat: bool = False) -> None:
        for reply in replies:
            self._offer(reply)
            lines = shown_lines(reply, self._chat, self._width, is_repeat=is_repeat)
            done = partial(self._sent, reply)
            if self.aloud is not None and reply.chat == self._chat:
                self.aloud(reply.body["spoken"])
            if lines:
                self._screen.show(lines, reply.body["priority"], done)
            else:
                done()

    def _sent(self, reply: Reply) -> None:
        if reply.state == "pending":
            self._store.mark_sent([reply.id])

    def _offer(self, reply: Reply) -> None:
        """Keep what the open question offers."""
        expects = reply.body["expects"]
        if reply.chat == self._chat and expects["kind"] != "nothing":
            self._choices = tuple(one["label"] for one in expects.get("choices", ()))

    def _tell(self, priority: str, text: str) -> None:
        mark = MARKS.get(priority, "")
        lines = wrapped(f"{mark} {text}".strip() if mark else text, self._width, "  ")
        self._screen.show(lines, priority, lambda: None)

    @property
    def _width(self) -> int:
        return max(NARROWEST, min(WIDTH, self._screen.columns - 2))

    def offers(self) -> tuple[str, ...]:
        """Return what may be said now: the choices of the open question, then any time's words."""
        return (*self._choices, *sentences()["talk"]["any_time"])

    def said_before(self) -> list[str]:
        """Return what was typed here before, the newest last."""
        return self._store.last_said(CHANNEL, self._chat, MOST_SAID)


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


def shown_lines(reply: Reply, chat: str, width: int, *, is_repeat: bool) -> list[str]:
    """Return the lines that show one message: who else it is for, its text, its choices."""
    body = reply.body
    mark = MARKS.get(body["priority"], "")
    text = shown_text(body, is_repeat=is_repeat, before=f"{mark} " if mark else "")
    if not text:
        return []
    head = f"[{reply.chat}] " if reply.chat != chat else ""
    lines = wrapped(f"{head}{text}", width, "  ")
    choices = body["expects"].get("choices", [])
    if choices and reply.chat == chat:
        found = (f"{place} {one['label']}" for place, one in enumerate(choices, 1))
        # A choice stays in one piece.
        row = "   ".join(one.replace(" ", TIED) for one in found)
        lines += [line.replace(TIED, " ") for line in wrapped(row, width, "    ")]
    return lines


def wrapped(text: str, width: int, indent: str) -> list[str]:
    r"""Return the lines of a text, each as wide as the screen at most; an indent of its own stays.

    Examples
    --------
    >>> wrapped("Cord\n    [ ] Unlock the vehicle.", 22, "  ")
    ['  Cord', '      [ ] Unlock the', '      vehicle.']
    """
    lines: list[str] = []
    for part in text.split("\n"):
        own = indent + " " * (len(part) - len(part.lstrip()))
        lines += textwrap.wrap(part.lstrip(), width, initial_indent=own, subsequent_indent=own)
    return lines


class Plain:
    """Prints messages as they come, for a file or a pipe."""

    columns = WIDTH + 2

    def show(self, lines: list[str], _priority: str, done: Callable[[], None]) -> None:
        """Print a message."""
        print("\n".join(lines))
        done()


def run(talk: Talk, clock: Clock) -> None:
    """Hold the conversation over plain input until it ends or says quit."""
    timers = Timers(talk, clock)
    talk.start()
    for line in incoming(sys.stdin.fileno(), timers.fire, timers.wait_s):
        print(f"> {line}")
        if line.strip().lower() in LEAVE:
            return
        talk.hear(line)

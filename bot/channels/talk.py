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
from flows.texts.visible import visible, visible_lines

CHANNEL = "talk"
WIDTH = 76
NARROWEST = 20
TIED = "\u00a0"
MOST_SAID = 200
KINDS: tuple[MediaKind, ...] = ("photo", "voice", "file")
LEAVE = frozenset({"quit", "exit"})
# A terminal's own sequences as a whole, then any other control character except a line's end.
_CONTROLS = re.compile(
    r"\x1b\[[0-?]*[ -/]*[@-~]|\x1b\][^\x07\x1b]*(?:\x07|\x1b\\)?|[\x00-\x09\x0b-\x1f\x7f-\x9f]"
)
MARKS = {"stop": "!!!", "check": "!!", "note": "!"}


class Screen(Protocol):
    """A place to show messages."""

    @property
    def columns(self) -> int:
        """How many characters fit on a line."""
        ...

    def show(self, lines: list[str], priority: str, done: Callable[[], None]) -> None:
        """Show one message; call `done` once it is shown."""
        ...


class Talk:
    """One person's conversation; "@role:name words" speaks for somebody else.

    Parameters
    ----------
    chat
        The person who types: "driver:you".
    screen
        Shows messages.

    Attributes
    ----------
    aloud
        Speaks messages to the person who types; None to stay silent.
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
        """Pick up from the record, or say how to begin."""
        left = self._store.pending()
        caught_up = self._desk.catch_up()
        self._print(left, is_repeat=True)
        self._print(caught_up)
        back = self._desk.welcome_back(self._clock.now(), self._chat)
        self._print(back)
        if not back:
            self._tell("reply", sentences()["talk"]["welcome"])

    def hear(self, text: str) -> None:
        """Take a typed line, and print its replies; "photo PATH ..." sends files."""
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
        """Fire the timers that are due, and print their messages."""
        self._print(self._desk.tick(at))

    def next_due(self, at: Moment) -> int | None:
        """Return when the next timer is due on the boot clock [ns]."""
        return self._desk.next_due(at)

    def refuse_tick(self, error: StoreError) -> None:
        """Print that the record refuses to be written; the timers stay set."""
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
        """Remember the choices of the open question."""
        expects = reply.body["expects"]
        if reply.chat == self._chat and expects["kind"] != "nothing":
            self._choices = tuple(choice["label"] for choice in expects.get("choices", ()))

    def _tell(self, priority: str, text: str) -> None:
        mark = MARKS.get(priority, "")
        shown = visible_lines(text)
        lines = wrapped(f"{mark} {shown}".strip() if mark else shown, self._width, "  ")
        self._screen.show(lines, priority, lambda: None)

    @property
    def _width(self) -> int:
        return max(NARROWEST, min(WIDTH, self._screen.columns - 2))

    def offers(self) -> tuple[str, ...]:
        """Return the choices of the open question, then the words that work at any time."""
        return (*self._choices, *sentences()["talk"]["any_time"])

    def said_before(self) -> list[str]:
        """Return the lines typed here before, newest last."""
        return self._store.last_said(CHANNEL, self._chat, MOST_SAID)


def typed(text: str) -> str:
    r"""Return a typed or pasted line without control characters; a tab becomes a space.

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
    if words.strip().startswith(("/", "'/")):
        dropped = _files_among(_paths(words))
        return ("photo", dropped) if dropped else (None, [])
    first, _, rest = words.strip().partition(" ")
    kind: MediaKind | None = next((known for known in KINDS if known == first.lower()), None)
    paths = _paths(rest)
    if kind is None or not paths:
        return None, []
    return kind, [str(Path(path).expanduser()) for path in paths]


def _files_among(paths: list[str]) -> list[str]:
    """Return the paths if each is a file, or else none of them."""
    return paths if all(Path(path).is_file() for path in paths) else []


def _paths(text: str) -> list[str]:
    try:
        return shlex.split(text)
    except ValueError:
        return [text]


def shown_lines(reply: Reply, chat: str, width: int, *, is_repeat: bool) -> list[str]:
    """Return the lines that show one message: whose chat if not this, its text, its choices."""
    body = reply.body
    mark = MARKS.get(body["priority"], "")
    text = shown_text(body, is_repeat=is_repeat, before=f"{mark} " if mark else "")
    if not text:
        return []
    if reply.chat != chat:
        return wrapped(f"[{visible(reply.chat)}] {text}", width, "  ")
    return wrapped(text, width, "  ") + _choice_lines(body["expects"].get("choices", []), width)


def _choice_lines(choices: list[dict[str, str]], width: int) -> list[str]:
    """Return numbered choices in lines; none is broken in two."""
    found = (f"{number} {visible(choice['label'])}" for number, choice in enumerate(choices, 1))
    row = "   ".join(shown.replace(" ", TIED) for shown in found)
    return [line.replace(TIED, " ") for line in wrapped(row, width, "    ")]


def wrapped(text: str, width: int, indent: str) -> list[str]:
    r"""Return the lines of a text, each at most as wide as the screen; own indents stay.

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
    """Prints messages at once, for a file or a pipe."""

    columns = WIDTH + 2

    def show(self, lines: list[str], _priority: str, done: Callable[[], None]) -> None:
        """Print a message."""
        print("\n".join(lines))
        done()


def run(talk: Talk, clock: Clock) -> None:
    """Hold the conversation over plain input until its end, or "quit"."""
    timers = Timers(talk, clock)
    talk.start()
    for line in incoming(sys.stdin.fileno(), timers.fire, timers.wait_s):
        print(f"> {line}")
        if line.strip().lower() in LEAVE:
            return
        talk.hear(line)

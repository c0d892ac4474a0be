"""Recorded conversations: the one form that demo, tests and replay read.

A file holds one conversation, a line a step::

    # a comment
    > breakdown                the driver says this, five seconds after the last step
    @owner:kim> override ...   somebody else says this
    + 11 photos                the driver sends so many photos; also @who+ 2 photos
    ~ 90s                      time passes: s, m or h
    ~ reboot                   the machine restarts; also: restart (only the process),
                               wall +2h (the wall clock is stepped)
    = fact drive all           a check; `tests/bot/checks.py` lists them
"""

import re
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, replace
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from zoneinfo import ZoneInfo

from bot.commands.bootstrap import book_for, open_desk, scripted
from bot.desk.desk import Desk
from bot.desk.inbound import Inbound
from bot.machine.clock import offsets_at
from bot.machine.settings import Settings
from bot.record.media import keep_bytes
from bot.record.rows import Reply
from bot.record.store import Store
from flows.errors import FlowError
from flows.job.events import Media, Moment

DRIVER = "driver:sam"
START_MS = 1_780_000_000_000
PACE_S = 5
# The start of a photo nobody looks at; a number after it makes each photo different.
JPEG = b"\xff\xd8\xff\xe0"
UNIT_S = {"s": 1, "m": 60, "h": 3600}


@dataclass(frozen=True, slots=True)
class Step:
    """One line of a conversation: its number, its kind, the speaker, and the rest."""

    line: int
    kind: str
    chat: str
    text: str


def parse(text: str) -> list[Step]:
    """Read a conversation.

    Raises
    ------
    FlowError
        If a line has another form; names its number.
    """
    steps: list[Step] = []
    for number, raw in enumerate(text.splitlines(), 1):
        line = raw.strip()
        if not line or line.startswith("#"):
            continue
        step = _step(number, line)
        if step is None:
            raise FlowError(
                f"line {number} is {line!r}; allowed: lines that start with # > @who> + ~ =. "
                "Correct the conversation."
            )
        steps.append(step)
    return steps


def _step(number: int, line: str) -> Step | None:
    if line.startswith("@") and (by := re.search("[>+]", line)):
        chat, said = line[1 : by.start()], line[by.end() :]
        return Step(number, by[0], chat.strip(), said.strip())
    if line[0] in ">~=+":
        return Step(number, line[0], DRIVER, line[1:].strip())
    return None


class Player:
    """Plays a conversation on its own desk, with its own clock."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._settings = Settings(folder)
        self._book = book_for(self._settings)
        self._said = 0
        self._zone = ZoneInfo(self._book.library.company.zone)
        self.at = Moment(START_MS, 3_600_000_000_000, "boot-1", offsets_at(self._zone, START_MS))
        self.desk, self.store = self._open()

    def _open(self) -> tuple[Desk, Store]:
        return open_desk(self._settings, self._book, "lines", secrets=scripted("1"))

    def close(self) -> None:
        """Close the data folder."""
        self.store.close()

    def step(self, step: Step) -> list[Reply]:
        """Play one step; return the messages it leads to, in all chats."""
        match step.kind:
            case ">":
                self._pass(PACE_S)
                return self._send(step.chat, text=step.text)
            case "~":
                return self._time(step.text)
            case "+":
                return self._photos(step)
            case _:
                return []

    def _photos(self, step: Step) -> list[Reply]:
        found: list[Reply] = []
        for _ in range(int(step.text.split()[0])):
            self._pass(PACE_S)
            data = JPEG + str(self._said).encode()
            found += self._send(step.chat, media=keep_bytes(self._folder, "photo", data))
        return found

    def _send(
        self, chat: str, *, text: str | None = None, media: Media | None = None
    ) -> list[Reply]:
        self._said += 1
        is_tick = text is None and media is None
        message = Inbound(
            chat, str(self._said), stamped_ms=self.at.wall_ms, text=text, media=media, tick=is_tick
        )
        return list(self.desk.take(message, self.at, wind=True).replies)

    def _time(self, text: str) -> list[Reply]:
        words = text.split()
        if words[0] == "reboot":
            self.at = replace(self.at, mono_ns=60_000_000_000, boot=self.at.boot + "+")
            return self._restart()
        if words[0] == "restart":
            return self._restart()
        if words[0] == "wall":
            self._wall(_seconds(words[1].lstrip("+-")) * (-1 if words[1][0] == "-" else 1))
            return []
        self._pass(_seconds(words[0]))
        return self._send(DRIVER)

    def _restart(self) -> list[Reply]:
        self.store.close()
        self.desk, self.store = self._open()
        caught = self.desk.catch_up()
        return caught + self.desk.tick(self.at) + self.desk.welcome_back(self.at)

    def _pass(self, seconds: int) -> None:
        self.at = replace(
            self.at,
            wall_ms=self.at.wall_ms + seconds * 1000,
            mono_ns=self.at.mono_ns + seconds * 1_000_000_000,
        )

    def _wall(self, seconds: int) -> None:
        wall_ms = self.at.wall_ms + seconds * 1000
        self.at = replace(self.at, wall_ms=wall_ms, offsets=offsets_at(self._zone, wall_ms))


def _seconds(text: str) -> int:
    return int(text[:-1]) * UNIT_S[text[-1]]


def names() -> list[str]:
    """Return the names of the recorded conversations."""
    return sorted(
        file.name.removesuffix(".txt")
        for file in _folder().iterdir()
        if file.name.endswith(".txt")
    )


def _folder() -> Traversable:
    """Return the folder of conversations: in the package, or in a checkout with the tests."""
    packaged = files("demo_data") / "conversations"
    if packaged.is_dir():
        return packaged
    return Path(str(files("demo_data"))).parent / "tests" / "conversations"


def conversation(name: str) -> str:
    """Return the text of a recorded conversation."""
    return (_folder() / f"{name}.txt").read_text("utf-8")


def play(name: str) -> Iterator[str]:
    """Play a recorded conversation; yield its lines and the replies."""
    with tempfile.TemporaryDirectory() as folder:
        player = Player(Path(folder))
        try:
            for step in parse(conversation(name)):
                if step.kind == "=":
                    continue
                who = "" if step.chat == DRIVER else f"{step.chat} "
                yield f"{who}{step.kind} {step.text}"
                for reply in player.step(step):
                    if reply.body["spoken"]:
                        to = "" if reply.chat == DRIVER else f"[{reply.chat}] "
                        yield f"    {to}{reply.body['spoken']}"
        finally:
            player.close()

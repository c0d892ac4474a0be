"""Faults that the stand-in can be told to have, and its answers."""

import asyncio
from dataclasses import dataclass, field
from typing import Any

CONFLICT = (
    "Conflict: terminated by other getUpdates request; "
    "make sure that only one bot instance is running"
)
WORDS = {
    "400": "Bad Request",
    "403": "Forbidden: bot was blocked by the user",
    "404": "Not Found",
    "409": CONFLICT,
    "500": "Internal Server Error",
    "502": "Bad Gateway",
}


class ApiError(Exception):
    """An answer that is none: its code, its words, its parameters."""

    def __init__(self, code: int, words: str, **parameters: Any) -> None:
        super().__init__(words)
        self.code, self.words, self.parameters = code, words, parameters


class Cut(Exception):  # noqa: N818  no error of ours: the connection ends without an answer
    """The connection is cut without an answer."""


@dataclass
class Fault:
    """One scripted failure; `when` is "before" (not applied) or "after" (applied, answer lost)."""

    method: str
    kind: str  # 429, 400, 403, 404, 409, 500, 502, page (502 as a web page), cut, delay, migrate
    times: int = 1
    skip: int = 0
    chat: int | None = None
    when: str = "before"
    retry_after: int = 1
    seconds: float = 0.0
    words: str = ""
    migrate_to: int = 0

    def meets(self, method: str, chat: int | None, when: str) -> bool:
        """Say whether it strikes now, and count that it did."""
        if self.method not in (method, "*") or self.when != when or self.times < 1:
            return False
        if self.chat is not None and self.chat != chat:
            return False
        if self.skip > 0:
            self.skip -= 1
            return False
        self.times -= 1
        return True

    async def strike(self) -> None:
        """Fail as scripted; a delay only takes its time."""
        if self.seconds:
            await asyncio.sleep(self.seconds)
        match self.kind:
            case "delay":
                return
            case "cut":
                raise Cut
            case "429":
                words = f"Too Many Requests: retry after {self.retry_after}"
                raise ApiError(429, words, retry_after=self.retry_after)
            case "migrate":
                words = "Bad Request: group chat was upgraded to a supergroup chat"
                raise ApiError(400, words, migrate_to_chat_id=self.migrate_to)
            case "page":
                raise ApiError(502, "page")
            case _:
                raise ApiError(int(self.kind), self.words or WORDS[self.kind])


@dataclass
class Faults:
    """All scripted failures, in the order in which they are looked through."""

    scripted: list[Fault] = field(default_factory=list)

    def add(self, *faults: Fault) -> None:
        """Script failures."""
        self.scripted += faults

    async def strike(self, method: str, chat: int | None, when: str) -> None:
        """Let the first that fits strike."""
        for fault in self.scripted:
            if fault.meets(method, chat, when):
                await fault.strike()
                return

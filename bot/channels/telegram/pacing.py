"""The platform's rates: how long to wait before the next message, overall and to one chat."""

import asyncio
import time
from collections.abc import Awaitable, Callable
from dataclasses import dataclass

Now = Callable[[], float]
Sleep = Callable[[float], Awaitable[None]]
Urgent = Callable[[], bool]


@dataclass(frozen=True, slots=True)
class Rates:
    """How many messages the platform accepts, and how many we do.

    Parameters
    ----------
    all_per_s, all_burst
        To all chats together: the platform's own page says about 30 a second.
    chat_per_s, chat_burst
        To one chat: about one a second, short bursts allowed.
    board_per_s, board_burst
        Edits of living messages in one chat, beside its replies.
    said_per_s, said_burst
        From one chat, until only danger and stop count: our own choice.
    """

    all_per_s: float = 25.0
    all_burst: int = 25
    chat_per_s: float = 1.0
    chat_burst: int = 3
    board_per_s: float = 0.3
    board_burst: int = 3
    said_per_s: float = 1.0
    said_burst: int = 40


@dataclass(frozen=True)
class Pace:
    """The rates, the clock they go by [s], and a way to wait."""

    rates: Rates = Rates()
    now: Now = time.monotonic
    sleep: Sleep = asyncio.sleep


class Bucket:
    """Tokens that are refilled with time.

    Parameters
    ----------
    per_s
        Tokens added a second.
    most
        Tokens it can contain; it starts full.

    Examples
    --------
    >>> bucket = Bucket(per_s=2.0, most=1)
    >>> bucket.take(10.0), bucket.take(10.0), bucket.take(10.5)
    (0.0, 0.5, 0.0)
    """

    def __init__(self, per_s: float, most: int) -> None:
        self._per_s = per_s
        self._most = float(most)
        self._tokens = float(most)
        self._at: float | None = None

    def take(self, now: float, *, force: bool = False) -> float:
        """Take a token and return 0; if there is none, return how long to wait [s].

        Parameters
        ----------
        force
            Take a token in any case, even on credit: an alarm does not wait.
        """
        passed = 0.0 if self._at is None else max(0.0, now - self._at)
        self._tokens = min(self._most, self._tokens + passed * self._per_s)
        self._at = now
        # After a rounded wait the token may be short by a rounding error.
        if self._tokens < 1 - 1e-9 and not force:
            return (1 - self._tokens) / self._per_s
        self._tokens = max(self._tokens - 1, -self._most)
        return 0.0


class Gate:
    """Lets messages through at the rate for all chats, alarms before the rest."""

    def __init__(self, bucket: Bucket, now: Now, sleep: Sleep) -> None:
        self._bucket = bucket
        self._now = now
        self._sleep = sleep
        self._waiting: list[tuple[Urgent, asyncio.Future[None]]] = []
        self._opener: asyncio.Task[None] | None = None

    async def wait(self, urgent: Urgent) -> None:
        """Wait until a message may go.

        Parameters
        ----------
        urgent
            Says whether it goes ahead; asked each time, because an alarm may come up behind it.
        """
        if not self._waiting and self._bucket.take(self._now()) == 0:
            return
        mine: asyncio.Future[None] = asyncio.get_running_loop().create_future()
        self._waiting.append((urgent, mine))
        if self._opener is None or self._opener.done():
            self._opener = asyncio.create_task(self._open())
        await mine

    async def _open(self) -> None:
        while self._waiting:
            wait = self._bucket.take(self._now())
            if wait:
                await self._sleep(wait)
                continue
            place = next((n for n, (urgent, _) in enumerate(self._waiting) if urgent()), 0)
            _, first = self._waiting.pop(place)
            if not first.done():
                first.set_result(None)

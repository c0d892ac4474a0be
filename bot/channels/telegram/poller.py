"""The poller: asks for updates for ever, and says when it has not heard from the platform."""

import asyncio
import logging
from collections.abc import Awaitable, Callable
from typing import Any

from telegram.error import Conflict, RetryAfter, TelegramError

from bot.channels.telegram.reading import WANTED
from bot.channels.telegram.transport import Api, seconds_to_wait
from bot.clock import Clock
from bot.journal.errors import StoreError

LOG = logging.getLogger(__name__)
PATIENCE_S = 50
QUIET_MS = 90_000
FIRST_WAIT_S, LONGEST_WAIT_S = 1.0, 30.0

Take = Callable[[list[dict[str, Any]]], None]
Sleep = Callable[[float], Awaitable[None]]


class Poller:
    """Asks again only for what is not safe yet.

    Parameters
    ----------
    api
        The platform.
    take
        Makes a batch of raw updates safe, in order; only then are they confirmed, by asking
        for the next.
    clock
        Says when the platform was last heard from.
    silence
        Is told, once it is heard again, from when to when it was not [ms UTC].
    """

    def __init__(
        self, api: Api, take: Take, clock: Clock, silence: Callable[[int, int], None],
        sleep: Sleep = asyncio.sleep,
    ) -> None:  # fmt: skip
        self._api = api
        self._take = take
        self._clock = clock
        self._silence = silence
        self._sleep = sleep
        self.offset = 0
        self.patience_s = PATIENCE_S
        self._fails = 0
        self.heard_ms = clock.now().wall_ms

    async def run(self) -> None:
        """Poll until cancelled; nothing that goes wrong ends it."""
        while True:
            wait = await self.once()
            if wait:
                await self._sleep(wait)

    async def once(self) -> float:
        """Poll once; return how long to wait before the next time [s]."""
        try:
            updates = await self._api.raw(
                "getUpdates", patience=self.patience_s + 15, offset=self.offset,
                timeout=self.patience_s, allowed_updates=WANTED,
            )  # fmt: skip
            self._heard()
            self._take(updates)
        except RetryAfter as error:
            return seconds_to_wait(error)
        except (TelegramError, StoreError) as error:
            return self._failed(error)
        except Exception as error:
            LOG.exception("polling failed; it goes on")
            return self._failed(error)
        self._fails = 0
        # Asked without an offset when nothing is left: the platform may begin its numbers anew.
        self.offset = updates[-1]["update_id"] + 1 if updates else 0
        return 0.0

    def _failed(self, error: Exception) -> float:
        self._fails += 1
        kind = type(error).__name__
        if isinstance(error, Conflict):
            LOG.error("another program polls with this bot's token; stop the other one")
        else:
            LOG.warning("the platform was not reached (%s), %s times in a row", kind, self._fails)
        return float(min(LONGEST_WAIT_S, FIRST_WAIT_S * 1.5 ** (self._fails - 1)))

    def _heard(self) -> None:
        now = self._clock.now().wall_ms
        since, self.heard_ms = self.heard_ms, now
        if self._fails and now - since >= QUIET_MS:
            self._silence(since, now)

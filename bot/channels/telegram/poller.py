"""The poller: keeps asking for updates, and reports whether the platform answers."""

import asyncio
import logging
import math
from collections.abc import Awaitable, Callable
from typing import Any

from telegram.error import Conflict, RetryAfter, TelegramError

from bot.channels.telegram.contact import Contact
from bot.channels.telegram.transport import Api, seconds_to_wait
from bot.channels.telegram.updates import WANTED
from bot.record.errors import StoreError

LOG = logging.getLogger(__name__)
PATIENCE_S = 50
ALONE_S = 2.5
"""A program that starts polls so long without taking anything, to see if another one polls [s]."""

AGAIN_S = 0.5
"""A program that was at it first polls again so soon, and so ends the poll of one that starts."""

Take = Callable[[list[dict[str, Any]]], None]
Sleep = Callable[[float], Awaitable[None]]


class Poller:
    """Asks for updates; confirms them only once they are safe.

    Parameters
    ----------
    api
        The platform.
    take
        Makes a batch of raw updates safe, in order; asking for the next confirms them.
    contact
        Is told whether the platform answered.
    sleep
        Waits so many seconds.
    """

    def __init__(
        self, api: Api, take: Take, contact: Contact, sleep: Sleep = asyncio.sleep
    ) -> None:
        self._api = api
        self._take = take
        self._contact = contact
        self._sleep = sleep
        self.offset = 0
        self.patience_s = PATIENCE_S

    async def is_alone(self) -> bool:
        """Say whether no other program polls with this token; True if that cannot be told.

        Nothing is confirmed: what comes meanwhile stays at the platform.
        """
        ends = asyncio.get_running_loop().time() + ALONE_S
        while (left := ends - asyncio.get_running_loop().time()) > 0:
            try:
                await self._api.raw("getUpdates", limit=1, timeout=math.ceil(left))
            except Conflict as error:
                if "webhook" in str(error).lower():
                    # Left by a run with a webhook, which polling takes away.
                    return True
                LOG.warning("another program polls with this bot's token")
                return False
            except TelegramError:
                return True
            await self._sleep(min(AGAIN_S, left))
        return True

    async def run(self) -> None:
        """Poll until cancelled; no failure ends it."""
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
            self._contact.heard()
            self._take(updates)
        except RetryAfter as error:
            return seconds_to_wait(error)
        except Conflict as error:
            self._contact.failed(error)
            return AGAIN_S
        except (TelegramError, StoreError) as error:
            return self._contact.failed(error)
        except Exception as error:
            LOG.exception("polling failed; it goes on")
            return self._contact.failed(error)
        self._contact.well()
        # No offset when nothing is left: the platform may restart its numbers.
        self.offset = updates[-1]["update_id"] + 1 if updates else 0
        return 0.0

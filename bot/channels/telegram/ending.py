"""The end of a service, in bounded time whatever hangs; the next start catches up."""

import asyncio
import logging
import os
import threading
from collections.abc import Iterable

LOG = logging.getLogger(__name__)
AGAIN_S = 0.1
"""A task that was told to end, and did not, is told again after so long [s]."""

LAST_S = 8.0
"""A process that was told to end is gone after so long, whatever hangs in it [s]."""


async def ended(tasks: Iterable["asyncio.Task[None]"], within_s: float) -> None:
    """Have tasks end; those that swallow the order are told again, and left after some time.

    Parameters
    ----------
    tasks
        They are cancelled.
    within_s
        How long they may take [s].
    """
    loop = asyncio.get_running_loop()
    late, until = {task for task in tasks if not task.done()}, loop.time() + within_s
    while late and (left_s := until - loop.time()) > 0:
        for task in late:
            task.cancel()
        _, late = await asyncio.wait(late, timeout=min(AGAIN_S, left_s))
    if late:
        LOG.error("%s tasks did not end", len(late))


def last_resort(within_s: float = LAST_S) -> None:
    """End this process after some time, even if a thread of it hangs [s]."""

    def leave() -> None:
        LOG.error("something hangs; the process ends without it")
        os._exit(0)

    timer = threading.Timer(within_s, leave)
    timer.daemon = True
    timer.start()

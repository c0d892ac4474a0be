"""Waiting for the next line while timers fire: one thread, no polling."""

import os
import select
from collections.abc import Callable, Iterator


def incoming(
    source: int, tick: Callable[[], None], wait_s: Callable[[], float | None]
) -> Iterator[str]:
    """Yield lines from a file descriptor as they come; `tick` whenever a timer is due.

    Parameters
    ----------
    source
        The descriptor to read.
    tick
        Fires what is due.
    wait_s
        How long until the next timer [s], None for none.
    """
    left = b""
    while True:
        tick()
        ready, _, _ = select.select([source], [], [], wait_s())
        if not ready:
            continue
        chunk = os.read(source, 65_536)
        *whole, left = (left + chunk).split(b"\n")
        for line in whole:
            yield line.decode("utf-8", "replace")
        if not chunk:
            if left.strip():
                yield left.decode("utf-8", "replace")
            return

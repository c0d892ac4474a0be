"""Waiting for the next line while timers fire: one thread, no polling."""

import logging
import os
import select
from collections.abc import Callable, Iterator
from typing import Protocol

from bot.machine.clock import Clock
from bot.record.errors import StoreError
from flows.job.events import SECOND_NS, Moment

LOG = logging.getLogger(__name__)
RETRY_S = 5


class Ticking(Protocol):
    """A channel with timers."""

    def tick(self, at: Moment) -> None:
        """Fire the timers that are due, and show their messages."""
        ...

    def next_due(self, at: Moment) -> int | None:
        """Return when the next timer is due on the boot clock [ns]."""
        ...

    def refuse_tick(self, error: StoreError) -> None:
        """Say that the record refuses to be written."""
        ...


class Timers:
    """Fires the timers that are due; after a failure again in a few seconds, never at once.

    Input goes on meanwhile: no word of danger waits for a timer.
    """

    def __init__(self, channel: Ticking, clock: Clock) -> None:
        self._channel = channel
        self._clock = clock
        self._resting_until_ns = 0
        self._fired_ns = -1

    def fire(self) -> None:
        """Fire the timers that are due; if the record refuses, say so and leave them set."""
        now = self._clock.now()
        if now.mono_ns < self._resting_until_ns:
            return
        self._fired_ns = now.mono_ns
        try:
            self._channel.tick(now)
        except StoreError as error:
            self._channel.refuse_tick(error)
            self._rest(now)
        except Exception:
            LOG.exception("a timer failed; timers go on")
            self._rest(now)

    def wait_s(self) -> float | None:
        """Return how long to wait for input until the next timer [s]; None for no limit."""
        now = self._clock.now()
        try:
            due = self._channel.next_due(now)
        except StoreError as error:
            self._channel.refuse_tick(error)
            return RETRY_S
        if due is None:
            return None
        if due <= self._fired_ns or due == now.mono_ns:
            # It was due at the last firing and is due again: it would fire without end.
            self._rest(now)
        return max(0, max(due, self._resting_until_ns) - now.mono_ns) / SECOND_NS

    def _rest(self, now: Moment) -> None:
        self._resting_until_ns = max(self._resting_until_ns, now.mono_ns + RETRY_S * SECOND_NS)


def incoming(
    source: int, tick: Callable[[], None], wait_s: Callable[[], float | None]
) -> Iterator[str]:
    """Yield lines from a file descriptor as they come; `tick` whenever a timer is due.

    Parameters
    ----------
    source
        The descriptor to read.
    tick
        Fires the timers that are due.
    wait_s
        How long until the next timer [s]; None if none is set.
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

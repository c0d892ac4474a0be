"""Waiting for the next line while timers fire: one thread, no polling."""

import os
import select
from collections.abc import Callable, Iterator
from typing import Protocol

from bot.clock import Clock
from bot.journal.errors import StoreError
from flows.events import SECOND_NS, Moment

RETRY_S = 5


class Ticking(Protocol):
    """A channel whose timers fall due."""

    def tick(self, at: Moment) -> None:
        """Fire what is due and show it."""
        ...

    def next_due(self, at: Moment) -> int | None:
        """Return when the next timer is due on the boot clock [ns]."""
        ...

    def refuse_tick(self, error: StoreError) -> None:
        """Say that the record refuses."""
        ...


class Timers:
    """Fires what is due; while the record refuses, it tries again every few seconds.

    Input goes on meanwhile: no word of danger waits for a timer.
    """

    def __init__(self, channel: Ticking, clock: Clock) -> None:
        self._channel = channel
        self._clock = clock
        self._resting_until_ns = 0

    def fire(self) -> None:
        """Fire what is due; a record that refuses says so, and the timers stay set."""
        now = self._clock.now()
        if now.mono_ns < self._resting_until_ns:
            return
        try:
            self._channel.tick(now)
        except StoreError as error:
            self._channel.refuse_tick(error)
            self._resting_until_ns = now.mono_ns + RETRY_S * SECOND_NS

    def wait_s(self) -> float | None:
        """Return how long to wait for input before the next timer [s], None for ever."""
        now = self._clock.now()
        due = self._channel.next_due(now)
        if due is None:
            return None
        return max(0, max(due, self._resting_until_ns) - now.mono_ns) / SECOND_NS


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

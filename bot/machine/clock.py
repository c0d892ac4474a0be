"""The machine's clocks: wall time for the record, boot time for every duration."""

import time
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Protocol
from zoneinfo import ZoneInfo

from flows.job.events import Moment

LOOK_BACK_H = 12


class Clock(Protocol):
    """A source of the current time."""

    def now(self) -> Moment:
        """Return the current moment by both clocks."""
        ...


def offsets(zone: ZoneInfo, wall_ms: int) -> tuple[tuple[int, int], ...]:
    """Return a zone's UTC offsets in the last 12 hours, as (since [ms], minutes east).

    Examples
    --------
    The zone's clocks went back on 2025-11-02 at 08:00 UTC:

    >>> denver = ZoneInfo("America/Denver")
    >>> offsets(denver, 1762074000000)
    ((0, -360), (1762070400000, -420))
    """
    now = datetime.fromtimestamp(wall_ms / 1000, UTC)
    start = now - timedelta(hours=LOOK_BACK_H)
    before, after = _offset(zone, start), _offset(zone, now)
    if before == after:
        return ((0, after),)
    low, high = start, now
    while high - low > timedelta(minutes=1):
        middle = low + (high - low) / 2
        low, high = (middle, high) if _offset(zone, middle) == before else (low, middle)
    # Offsets change on a whole minute.
    since = int(high.timestamp() // 60) * 60_000
    return ((0, before), (since, after))


def _offset(zone: ZoneInfo, when: datetime) -> int:
    offset = when.astimezone(zone).utcoffset() or timedelta()
    return int(offset.total_seconds() // 60)


@cache
def _cached_offsets(zone: ZoneInfo, hour: int) -> tuple[tuple[int, int], ...]:
    """Return the offsets at the start of an hour."""
    return offsets(zone, hour * 3_600_000)


def offsets_at(zone: ZoneInfo, wall_ms: int) -> tuple[tuple[int, int], ...]:
    """Return `offsets`, cached for each hour without a change."""
    hour = wall_ms // 3_600_000
    start, end = _cached_offsets(zone, hour), _cached_offsets(zone, hour + 1)
    return start if start == end and len(start) == 1 else offsets(zone, wall_ms)


class SystemClock:
    """The machine's own clocks."""

    def __init__(self, zone: str) -> None:
        self._zone = ZoneInfo(zone)
        self._boot = boot_id()

    def now(self) -> Moment:
        """Return the current moment; the boot-time clock keeps running in suspend."""
        wall_ms = time.time_ns() // 1_000_000
        mono_ns = time.clock_gettime_ns(time.CLOCK_BOOTTIME)
        return Moment(wall_ms, mono_ns, self._boot, offsets_at(self._zone, wall_ms))


def boot_id() -> str:
    """Return the kernel's id of this boot; if it is unknown, an id that differs at every start."""
    path = Path("/proc/sys/kernel/random/boot_id")
    try:
        return path.read_text("ascii").strip()
    except OSError:
        return f"unknown-{time.time_ns()}"


class GivenClock:
    """A clock that only moves to times given by accepted inputs."""

    def __init__(self, zone: str) -> None:
        self._zone = ZoneInfo(zone)
        self._now: Moment | None = None

    def moment_of(
        self, received_ms: int | None, at_ms: int, mono_ms: int | None, boot: str | None
    ) -> Moment:
        """Return the moment that an input gives.

        Without `received_ms` a message is received when it was stamped, but never before the
        clock's current time; without `mono_ms` elapsed time follows the time of receipt.
        """
        before = self._now
        wall_ms = received_ms
        if wall_ms is None:
            wall_ms = at_ms if before is None else max(at_ms, before.wall_ms)
        mono = wall_ms if mono_ms is None else mono_ms
        boot_now = boot or (before.boot if before is not None else "given")
        return Moment(wall_ms, mono * 1_000_000, boot_now, offsets_at(self._zone, wall_ms))

    def move(self, at: Moment) -> None:
        """Set the clock to a moment."""
        self._now = at

"""The form of an entry, version 1: it never changes, and every later version reads it."""

from datetime import UTC, datetime, timedelta
from functools import lru_cache
from typing import Any

from bot.record.rows import Moment, NewEntry

VERSION = 1
"""Version of the entry form."""

AFTER_END = frozenset({"checkpoint", "done", "heard", "media", "media_lost", "told"})
"""What a job takes once it has ended: words, files that were on their way, and checkpoints."""

LATE_MS = 30_000
"""An entry is late if it was said or stamped longer than this before it is written
[millisecond]."""

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def compose(new: NewEntry, seq: int, body: object, moment: Moment, zone: str) -> dict[str, Any]:
    """Put an entry into its final form, except for the link to the line before.

    Parameters
    ----------
    new
        The entry to write.
    seq
        Its number in its chain, from 0.
    body
        Its body with personal values already concealed.
    moment
        When it is written.
    zone
        Time zone to note with the times, as an IANA name.

    Returns
    -------
    dict
        The entry; its times in UTC.

    Examples
    --------
    >>> new = NewEntry(7, "fact", {}, by="p3", stamped_ms=0)
    >>> entry = compose(new, 2, {}, Moment(31_000, 5, "b1"), "America/Denver")
    >>> entry["job"], entry["times"]["written"], entry["times"]["mono_ns"], entry["late"]
    ('7', '1970-01-01T00:00:31.000Z', '5', True)
    """
    return {
        "v": VERSION,
        "job": str(new.job),
        "seq": seq,
        "kind": new.kind,
        "body": body,
        "by": new.by,
        "vehicle": new.vehicle,
        "times": {
            "claimed": utc(new.claimed_ms),
            "stamped": utc(new.stamped_ms),
            "written": utc(moment.wall_ms),
            "zone": zone,
            "mono_ns": str(moment.mono_ns),
            "boot": moment.boot,
        },
        "late": is_late(new, moment.wall_ms),
    }


def is_late(new: NewEntry, written_ms: int) -> bool:
    """Say whether an entry's own times are more than 30 s from when it is written.

    A stamp in the future counts like a stamp in the past.

    Examples
    --------
    >>> is_late(NewEntry(7, "fact", {}, by="p3", stamped_ms=0), 30_000)
    False
    >>> is_late(NewEntry(7, "act", {}, by="p3", claimed_ms=0, stamped_ms=600_000), 600_000)
    True
    """
    given = (new.claimed_ms, new.stamped_ms)
    return any(time is not None and abs(written_ms - time) > LATE_MS for time in given)


@lru_cache(maxsize=64)
def utc(wall_ms: int | None) -> str | None:
    """Write a time in UTC to the millisecond, RFC 3339.

    Examples
    --------
    >>> utc(1_000_000_000_123), utc(None)
    ('2001-09-09T01:46:40.123Z', None)
    """
    if wall_ms is None:
        return None
    time = _EPOCH + timedelta(milliseconds=wall_ms)
    return time.isoformat(timespec="milliseconds").replace("+00:00", "Z")

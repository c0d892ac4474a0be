"""The neutral window: its earliest possible start, its warnings, its end.

A hold is "at most". Whatever is unknown, late or in doubt may shorten it, never lengthen it.
"""

from collections.abc import Iterator
from fractions import Fraction
from typing import TYPE_CHECKING

from flows.job.events import MINUTE_NS, SECOND_NS, Heard, Moment
from flows.job.intents import When
from flows.measures.found import Clock

if TYPE_CHECKING:
    from flows.job.state import Job, Window

SIX_HOURS_MS = 6 * 3600 * 1000
DAY_MS = 24 * 3600 * 1000
MS_NS = 1_000_000

# Part of the hold that is left at each warning (15, 5 and 2 minutes of 30).
LEFT_AT_WARNING = (Fraction(1, 2), Fraction(1, 6), Fraction(1, 15))
END_STAGE = len(LEFT_AT_WARNING)
# Time left is said in whole minutes, rounded down: never more than there is. A timer is a moment
# late by the real clock, and the words take time to be heard; so that five minutes are still
# five by then, and not four and fifty-nine seconds, a warning comes a little before its mark.
WARNING_LEAD_S = 5
REPEATS_S = (60, 180)
WARNINGS = ("window_half", "window_sixth", "window_fifteenth", "window_end")


def due_ns(window: "Window", stage: int) -> int | None:
    """Return when a stage is due on the boot-time clock [ns]; None with nothing promised.

    Examples
    --------
    Warnings 5 seconds before 15, 25 and 28 minutes, the end and its repeats at theirs:

    >>> from flows.job.state import Window
    >>> thirty = Window(serial=1, earliest_ns=0, boot="b", hold_min=30)
    >>> [due_ns(thirty, stage) // SECOND_NS for stage in range(6)]
    [895, 1495, 1675, 1800, 1860, 1980]
    """
    if window.hold_min is None:
        return None
    hold = window.hold_min * MINUTE_NS
    if stage < END_STAGE:
        mark = int(hold * (1 - LEFT_AT_WARNING[stage]))
        return window.earliest_ns + max(mark - WARNING_LEAD_S * SECOND_NS, 0)
    late = REPEATS_S[stage - END_STAGE - 1] if stage > END_STAGE else 0
    return window.earliest_ns + hold + late * SECOND_NS


def left_ns(window: "Window", at: Moment) -> int:
    """Return the most time that can be left [ns], 0 once it has ended or the clock is in doubt."""
    if window.ends_ns is None or window.state != "open" or at.boot != window.boot:
        return 0
    return max(window.ends_ns - at.mono_ns, 0)


def stage_at(window: "Window", at: Moment) -> int:
    """Return the first stage that is not yet due at a moment."""
    stage = 0
    while stage <= END_STAGE:
        due = due_ns(window, stage)
        if due is None or due > at.mono_ns:
            break
        stage += 1
    return stage


def in_doubt(job: "Job", at: Moment) -> bool:
    """Say whether elapsed time cannot be trusted: another boot, or the boot clock gone back."""
    return job.now is not None and (at.boot != job.now.boot or at.mono_ns < job.now.mono_ns)


def message_lo_ns(job: "Job", heard: Heard, *, is_answer: bool) -> int:
    """Return the earliest moment a message can have been composed [boot ns].

    `job` is the job before the message. An answer comes no earlier than its question; any other
    message no earlier than the driver's last. An earlier platform stamp counts, since the clocks
    may disagree.
    """
    before = job.asked.since(heard.at.boot) if is_answer and job.asked is not None else None
    start = before or job.last_heard or job.opened or heard.at
    known = [heard.at.mono_ns, *_stamped_ns(job, heard)]
    if start.boot == heard.at.boot:
        known.append(start.mono_ns)
    return min(known)


def _stamped_ns(job: "Job", heard: Heard) -> Iterator[int]:
    """Yield the stamp on our boot-time clock [ns], by the sender's least lag, if there is one."""
    lag = job.lags.get(heard.who.id)
    if heard.stamped_ms is not None and lag is not None:
        yield (heard.stamped_ms + lag.least_ms) * MS_NS


def sent_ns(job: "Job", heard: Heard) -> int | None:
    """Return when a message was sent, at the latest [boot ns]; None where nothing tells.

    By its stamp and its sender's least delayed message so far. A stamp ahead of its receipt counts
    as the receipt, and so does every stamp on a channel that tells no receipt.
    """
    lag = job.lags.get(heard.who.id)
    if heard.stamped_ms is None or lag is None or heard.no_receipt:
        return None
    return (heard.stamped_ms + lag.held_ms) * MS_NS


def earliest_ns(job: "Job", heard: Heard, when: When | None, *, is_answer: bool) -> int:
    """Return the earliest moment neutral can have been selected [boot ns].

    A maximum runs from the earlier of the claim and the start of the message's interval.
    """
    start = message_lo_ns(job, heard, is_answer=is_answer)
    if when is None:
        return start
    if when.ago_min is not None:
        return start - when.ago_min * MINUTE_NS
    claimed = claimed_wall_ms(when, heard.at, heard.stamped_ms)
    if claimed is None:
        return start
    return min(start, *_on_boot_clock(job, heard, claimed))


def _on_boot_clock(job: "Job", heard: Heard, claimed_ms: int) -> list[int]:
    """Return a claimed wall time on the boot clock, through each known anchor."""
    anchors = [(heard.at.wall_ms, heard.at.mono_ns)]
    if heard.stamped_ms is not None:
        anchors.append((heard.stamped_ms, heard.at.mono_ns))
    if job.asked is not None and job.asked.at.boot == heard.at.boot:
        anchors.append((job.asked.at.wall_ms, job.asked.at.mono_ns))
    return [mono - max(wall - claimed_ms, 0) * MS_NS for wall, mono in anchors]


def claimed_wall_ms(when: When, at: Moment, stamped_ms: int | None = None) -> int | None:
    """Return the earliest wall time [ms] in the last six hours at which a clock showed this.

    By our wall clock or by the platform's stamp, for either may be wrong. A time that the zone
    had twice counts as the first; a time ahead, or longer ago, is no claim at all.
    """
    found = [
        wall
        for now_ms in {at.wall_ms, at.wall_ms if stamped_ms is None else stamped_ms}
        for clock in when.clocks
        for wall in _wall_times(clock, at, now_ms)
    ]
    return min(found, default=None)


def claimed_clock(
    when: When, at: Moment, stamped_ms: int | None = None
) -> tuple[Clock | None, int]:
    """Return which reading of a clock was taken as the claim, and its wall time [ms]; or None."""
    each = ((one, claimed_wall_ms(When(None, (one,)), at, stamped_ms)) for one in when.clocks)
    found = [(wall, one) for one, wall in each if wall is not None]
    if not found:
        return None, 0
    wall, clock = min(found, key=lambda one: one[0])
    return clock, wall


def claim(when: When) -> dict[str, object]:
    """Return a claimed time as the record keeps it: minutes ago, or the time on the clock."""
    return {"clock": _shown(when)} if when.ago_min is None else {"ago_min": when.ago_min}


def claimed_value(when: When) -> int | str:
    """Return a claimed time as a fact's value: minutes ago, or the clock as it was said."""
    return " or ".join(_shown(when)) if when.ago_min is None else when.ago_min


def _shown(when: When) -> list[str]:
    return [f"{clock.hour:02d}:{clock.minute:02d}" for clock in when.clocks]


def _wall_times(clock: Clock, at: Moment, now_ms: int) -> Iterator[int]:
    """Yield the wall times of the last six hours at which a clock showed this."""
    ends = [since for since, _ in at.offsets[1:]] + [now_ms + 1]
    for (since, offset_min), end in zip(at.offsets, ends, strict=True):
        local = now_ms + offset_min * 60_000
        midnight = local - local % DAY_MS - offset_min * 60_000
        for day in (0, 1):
            wall = midnight - day * DAY_MS + (clock.hour * 60 + clock.minute) * 60_000
            if max(since, now_ms - SIX_HOURS_MS) <= wall < min(end, now_ms + 1):
                yield wall


def is_ahead(when: When, at: Moment, stamped_ms: int | None = None) -> bool:
    """Say whether the time that was said is ahead, or not in the last six hours."""
    if when.ago_min is not None:
        return when.ago_min < 0
    return claimed_wall_ms(when, at, stamped_ms) is None

"""A time that somebody claims, as the record keeps it."""

from flows.job.intents import When


def claim(when: When) -> dict[str, object]:
    """Return a claimed time as the record keeps it: minutes ago, or the clock's readings."""
    if when.ago_min is not None:
        return {"ago_min": when.ago_min}
    return {"clock": [f"{clock.hour:02d}:{clock.minute:02d}" for clock in when.clocks]}


def claimed_value(when: When) -> int | str:
    """Return a claimed time as a fact's value: minutes ago, or the clock as it was said."""
    if when.ago_min is not None:
        return when.ago_min
    return " or ".join(f"{clock.hour:02d}:{clock.minute:02d}" for clock in when.clocks)

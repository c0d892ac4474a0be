"""Find a time of day in spoken or typed text."""

from collections.abc import Iterator
from typing import Final, NamedTuple

from flows.measures.amounts import after_tail, before_lead, foreign
from flows.measures.found import Clock, ClockFound
from flows.measures.numbers import rows_of
from flows.measures.search import CORRECTS, Said, as_tokens, swaps
from flows.measures.segments import Tokens, segment, starts_number, token_at
from flows.measures.words import (
    CORRECTION,
    HUNDRED,
    LABELS,
    NOT,
    OH,
    SOUNDS_LIKE_DIGIT,
    Atom,
    vocabulary,
)

_PAST: Final = vocabulary("past after")
_TO: Final = vocabulary("to till til before of")
_NOT_PLAIN_AFTER: Final = _PAST | _TO | LABELS | {"-"}
_ALSO: Final = CORRECTS | {"and", "to", "-"}
_NAMED: Final = {"noon": 12, "midday": 12, "midnight": 0}
_QUARTERS: Final = {"quarter": 15, "half": 30}
_HOURS: Final = {"": range(24), "am": range(13), "pm": range(1, 24), "night": range(24)}
"""Hours that can be said with each half of the day."""
_AFTER_MIDNIGHT: Final = {12, *range(6)}
"""Hours of "at night" that are in the morning."""
_HALVES: Final[dict[tuple[str, ...], str]] = {
    ("am",): "am", ("pm",): "pm", ("a", "m"): "am", ("p", "m"): "pm",
    ("in", "the", "morning"): "am", ("this", "morning"): "am",
    ("in", "the", "afternoon"): "pm", ("this", "afternoon"): "pm",
    ("in", "the", "evening"): "pm", ("this", "evening"): "pm",
    ("at", "night"): "night", ("tonight",): "night",
}  # fmt: skip


class _Time(NamedTuple):
    """An hour and minute as said.

    `sure` means that it is on the 24-hour clock, `plain` that it may be another kind of number.
    """

    hour: int
    minute: int
    start: int
    stop: int
    sure: bool = False
    plain: bool = False


def _half_of_day(tokens: Tokens, index: int) -> tuple[str, int]:
    """Return "am", "pm", "night" or nothing, and the index after it."""
    for words, half in _HALVES.items():
        if tokens[index : index + len(words)] == words:
            return half, index + len(words)
    return "", index


def _is_on_clock(time: _Time, half: str) -> bool:
    """Tell whether there is such an hour in that half of the day, and such a minute."""
    return time.hour in _HOURS[half] and time.minute < 60


def _readings(time: _Time, half: str, *, sure: bool) -> tuple[Clock, ...]:
    """Return the times of day that an hour and minute may mean; empty if not on the clock."""
    hour, minute = time.hour, time.minute
    if not _is_on_clock(time, half):
        return ()
    if hour > 12 or hour == 0 or (sure and not half):
        return (Clock(hour, minute),)
    morning, afternoon = Clock(hour % 12, minute), Clock(hour % 12 + 12, minute)
    if half == "night":
        half = "am" if hour in _AFTER_MIDNIGHT else "pm"
    return {"am": (morning,), "pm": (afternoon,)}.get(half, (morning, afternoon))


def _figures(text: str, most: int) -> bool:
    """Tell whether a text is a number of at most this many figures."""
    return text.isdecimal() and len(text) <= most


def _written(tokens: Tokens, index: int) -> _Time | None:
    """Read "14:05", "14h05" and, less surely, "14.05"."""
    return _with_mark(tokens, index) or _with_h(tokens, index)


def _with_mark(tokens: Tokens, index: int) -> _Time | None:
    """Read "14:05", "14:05:30" and "14.05"."""
    word = token_at(tokens, index)
    mark, most = (":", 2) if ":" in word else (".", 1)
    hour, *rest = word.split(mark)
    if not 0 < len(rest) <= most or len(rest[0]) != 2:
        return None
    if not all(_figures(part, 2) for part in (hour, *rest)):
        return None
    return _Time(int(hour), int(rest[0]), index, index + 1, plain=mark == ".")


def _with_h(tokens: Tokens, index: int) -> _Time | None:
    """Read "14h05", which is cut into three tokens."""
    hour, mark, minute = (token_at(tokens, index + step) for step in range(3))
    if mark != "h" or len(minute) != 2 or not (_figures(hour, 2) and _figures(minute, 2)):
        return None
    return _Time(int(hour), int(minute), index, index + 3, sure=True)


def _number(tokens: Tokens, index: int) -> tuple[list[Atom], int, int] | None:
    """Return a number's atoms, with a zero before it and a word that sounds like a digit."""
    lead: list[Atom] = []
    start = index
    if token_at(tokens, index) in OH and starts_number(tokens, index + 1):
        lead, index = [0], index + 1
        sounding = SOUNDS_LIKE_DIGIT.get(token_at(tokens, start - 1))
        if sounding is not None:
            lead, start = [sounding, 0], start - 1
    if not starts_number(tokens, index):
        return None
    atoms, stop = segment(tokens, index)
    return lead + atoms, start, stop


def _hour_digits(rows: list[str]) -> int:
    """Return how many digits of "two thirty", "fourteen oh five", "1405" are the hour's; or 0."""
    total = sum(map(len, rows))
    if len(rows) > 1 and len(rows[0]) == 2:
        return 2 if total == 4 else 0
    return total - 2 if total in (3, 4) else 0


def _is_hour_alone(rows: list[str]) -> bool:
    """Tell whether rows are an hour without minutes: "two", "fourteen", "oh seven"."""
    return sum(map(len, rows)) < 3 and (len(rows) == 1 or rows[0] == "0")


def _spoken(tokens: Tokens, index: int) -> _Time | None:
    """Read "fourteen oh five", "two thirty", "oh seven hundred", "1405", and "two" alone."""
    number = _number(tokens, index)
    if number is None:
        return None
    atoms, start, stop = number
    hundred = len(atoms) > 1 and atoms[-1] == HUNDRED
    rows = rows_of(atoms[:-1] if hundred else atoms)
    if not rows:
        return None
    digits = "".join(rows)
    if _is_hour_alone(rows):
        return _Time(int(digits), 0, start, stop, sure=hundred, plain=True)
    split = 0 if hundred else _hour_digits(rows)
    if not split:
        return None
    return _Time(int(digits[:split]), int(digits[split:]), start, stop, plain=True)


def _minutes_before(tokens: Tokens, index: int) -> tuple[int, int] | None:
    """Read the minutes of "twenty past", "a quarter to", "half past"."""
    index += token_at(tokens, index) in ("a", "an")
    quarters = _QUARTERS.get(token_at(tokens, index))
    return _counted_minutes(tokens, index) if quarters is None else (quarters, index + 1)


def _counted_minutes(tokens: Tokens, index: int) -> tuple[int, int] | None:
    """Read "twenty", "seven minutes"; without the word only fives: "two to three" is no time."""
    if not starts_number(tokens, index):
        return None
    atoms, stop = segment(tokens, index)
    rows = rows_of(atoms)
    if not rows or len(rows) > 1 or not 0 < int(rows[0]) < 60:
        return None
    named = token_at(tokens, stop) in ("minutes", "minute", "min", "mins")
    if not named and int(rows[0]) % 5:
        return None
    return int(rows[0]), stop + named


def _whole_hour(tokens: Tokens, index: int) -> _Time | None:
    """Read the hour of "five past two", "a quarter to midnight"."""
    named = _named(tokens, index)
    if named is not None:
        return named
    time = _spoken(tokens, index)
    if time is None or time.minute or time.sure or not 0 < time.hour < 24:
        return None
    return time._replace(sure=time.hour > 12)


def _relative(tokens: Tokens, index: int) -> _Time | None:
    """Read "five past two", "a quarter to three"."""
    said = _minutes_before(tokens, index)
    if said is None:
        return None
    minute, stop = said
    link = token_at(tokens, stop)
    time = _whole_hour(tokens, stop + 1) if link in _PAST or link in _TO else None
    if time is None:
        return None
    if link in _PAST:
        return time._replace(minute=minute, start=index, plain=False)
    hour = 12 if time.hour == 1 else (time.hour - 1) % 24
    return time._replace(hour=hour, minute=60 - minute, start=index, plain=False)


def _named(tokens: Tokens, index: int) -> _Time | None:
    """Read "noon" and "midnight"."""
    hour = _NAMED.get(token_at(tokens, index))
    return None if hour is None else _Time(hour, 0, index, index + 1, sure=True)


def _military(tokens: Tokens, time: _Time) -> bool:
    """Tell whether "hours" after a time belongs to it: "1405 hours", not "two hours"."""
    if not time.plain or token_at(tokens, time.stop) not in ("hours", "hrs", "h"):
        return False
    figures = tokens[time.stop - 1]
    return time.sure or len(figures) == 4 or (time.minute > 0 and not figures.isdecimal())


def _completed(tokens: Tokens, time: _Time) -> tuple[_Time, str] | None:
    """Include "o'clock", "pm", "hours"; None if it is another kind of number after all."""
    half, stop = _half_of_day(tokens, time.stop)
    if half:
        return time._replace(stop=stop, plain=False), half
    if token_at(tokens, stop) in ("o'clock", "oclock"):
        half, stop = _half_of_day(tokens, stop + 1)
        return time._replace(stop=stop, plain=False), half
    if _military(tokens, time):
        return time._replace(stop=stop + 1, sure=True, plain=False), ""
    follower = token_at(tokens, stop)
    unfinished = time.plain and (follower in _PAST or follower in _TO)
    return None if unfinished or foreign(tokens, after_tail(tokens, stop)) else (time, "")


def _is_other_number(time: _Time, before: str, *, bare: bool) -> bool:
    """Tell whether a plain number is left a number: unmarked, and no bare time is wanted there."""
    marked = before in ("at", "since")
    return time.plain and not marked and (not bare or before in _NOT_PLAIN_AFTER)


def _settled(tokens: Tokens, time: _Time, *, bare: bool) -> ClockFound | None:
    """Return a time with the words around it, if it surely is a time or a bare time is wanted."""
    completed = _completed(tokens, time)
    if completed is None:
        return None
    time, half = completed
    start = before_lead(tokens, time.start)
    before = token_at(tokens, start - 1)
    if before in NOT or _is_other_number(time, before, bare=bare):
        return None
    readings = _readings(time, half, sure=time.sure)
    end = after_tail(tokens, time.stop)
    approx = start < time.start or end > time.stop
    return ClockFound(readings, start, end, approx) if readings else None


def _time_at(tokens: Tokens, index: int) -> _Time | None:
    """Read a time in the first form that fits."""
    for form in (_named, _relative, _written, _spoken):
        time = form(tokens, index)
        if time is not None:
            return time
    return None


def _times(tokens: Tokens, *, bare: bool) -> Iterator[ClockFound]:
    """Yield every time of day, in order."""
    index = 0
    while index < len(tokens):
        time = _time_at(tokens, index)
        found = _settled(tokens, time, bare=bare) if time else None
        if found:
            yield found
            index = max(found.stop, index + 1)
        elif starts_number(tokens, index):
            index = segment(tokens, index)[1]
        else:
            index += 1


def _leaves_open(tokens: Tokens, first: ClockFound, second: ClockFound) -> bool:
    """Tell whether the words between two times leave open which one is meant."""
    gap = tokens[first.stop : second.start]
    return set(gap) <= CORRECTION | _ALSO and not _ALSO.isdisjoint(gap)


def _search(tokens: Tokens, *, bare: bool) -> ClockFound | None:
    """Return the first time of day together with any that correct it."""
    times = list(_times(tokens, bare=False)) or (list(_times(tokens, bare=True)) if bare else [])
    if not times:
        return None
    found = times[0]
    for other in times[1:]:
        if not _leaves_open(tokens, found, other):
            break
        union = tuple(dict.fromkeys(found.readings + other.readings))
        found = ClockFound(union, found.start, other.stop, found.approx or other.approx)
    return found


def find_clock(said: Said, *, bare: bool = False) -> ClockFound | None:
    """Find the first time of day in an utterance.

    Parameters
    ----------
    said
        A text or its tokens.
    bare
        Whether a number that is not marked as a time ("fourteen oh five", "two") is a time: true
        when the open question expects a time. "At" before it marks it too.

    Returns
    -------
    ClockFound or None
        One reading, or two if morning or afternoon was not said.

    Examples
    --------
    >>> find_clock("five past two").readings
    (Clock(hour=2, minute=5), Clock(hour=14, minute=5))
    >>> find_clock("at fourteen oh five").readings
    (Clock(hour=14, minute=5),)
    """
    tokens = as_tokens(said)
    found = _search(tokens, bare=bare)
    if found is None:
        return None
    alike: dict[Clock, None] = {}
    for swapped in swaps(tokens, found.start, found.stop):
        other = _search(swapped[: found.stop], bare=bare)
        alike |= dict.fromkeys(other.readings if other else ())
    sounds_like = tuple(reading for reading in alike if reading not in found.readings)
    return ClockFound(found.readings, found.start, found.stop, found.approx, sounds_like)

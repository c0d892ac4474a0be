"""Find a time of day in what a person said or typed."""

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
_HALVES: Final[dict[tuple[str, ...], str]] = {
    ("am",): "am", ("pm",): "pm", ("a", "m"): "am", ("p", "m"): "pm",
    ("in", "the", "morning"): "am", ("this", "morning"): "am",
    ("in", "the", "afternoon"): "pm", ("this", "afternoon"): "pm",
    ("in", "the", "evening"): "pm", ("this", "evening"): "pm",
    ("at", "night"): "night", ("tonight",): "night",
}  # fmt: skip


class _Time(NamedTuple):
    """An hour and minute as said.

    `sure` says that it is on the 24-hour clock, `plain` that it could be another kind of number.
    """

    hour: int
    minute: int
    start: int
    stop: int
    sure: bool = False
    plain: bool = False


def _half_of_day(tokens: Tokens, place: int) -> tuple[str, int]:
    """Return "am", "pm", "night" or nothing, and the place after it."""
    for words, half in _HALVES.items():
        if tokens[place : place + len(words)] == words:
            return half, place + len(words)
    return "", place


def _readings(time: _Time, half: str, *, sure: bool) -> tuple[Clock, ...]:
    """Return the times of day that an hour and minute may mean; none where there is none."""
    hour, minute = time.hour, time.minute
    if hour > 23 or minute > 59 or (half == "am" and hour > 12) or (half == "pm" and hour == 0):
        return ()
    if hour > 12 or hour == 0 or (sure and not half):
        return (Clock(hour, minute),)
    morning, afternoon = Clock(hour % 12, minute), Clock(hour % 12 + 12, minute)
    if half == "night":
        half = "am" if hour < 6 or hour == 12 else "pm"
    if half:
        return (morning if half == "am" else afternoon,)
    return (morning, afternoon)


def _figures(text: str, most: int) -> bool:
    """Tell whether a text is one to so many figures."""
    return text.isdecimal() and len(text) <= most


def _written(tokens: Tokens, place: int) -> _Time | None:
    """Read "14:05", "14h05" and, less surely, "14.05"."""
    word, after = token_at(tokens, place), token_at(tokens, place + 2)
    mark = ":" if ":" in word else "."
    hour, *rest = word.split(mark)
    if rest and all(_figures(part, 2) for part in (hour, *rest)):
        if len(rest) > (2 if mark == ":" else 1) or len(rest[0]) != 2:
            return None
        return _Time(int(hour), int(rest[0]), place, place + 1, plain=mark == ".")
    french = token_at(tokens, place + 1) == "h" and _figures(after, 2) and len(after) == 2
    if not french or not _figures(word, 2):
        return None
    return _Time(int(word), int(after), place, place + 3, sure=True)


def _number(tokens: Tokens, place: int) -> tuple[list[Atom], int, int] | None:
    """Return a number's atoms, with a zero and what sounds like a digit before it."""
    lead: list[Atom] = []
    start = place
    if token_at(tokens, place) in OH and starts_number(tokens, place + 1):
        lead, place = [0], place + 1
        sounding = SOUNDS_LIKE_DIGIT.get(token_at(tokens, start - 1))
        if sounding is not None:
            lead, start = [sounding, 0], start - 1
    if not starts_number(tokens, place):
        return None
    atoms, stop = segment(tokens, place)
    return lead + atoms, start, stop


def _hour_digits(rows: list[str]) -> int:
    """Return how many digits of "two thirty", "fourteen oh five", "1405" are the hour's; or 0."""
    total = sum(map(len, rows))
    if len(rows) > 1 and len(rows[0]) == 2:
        return 2 if total == 4 else 0
    return total - 2 if total in (3, 4) else 0


def _spoken(tokens: Tokens, place: int) -> _Time | None:
    """Read "fourteen oh five", "two thirty", "oh seven hundred", "1405", and "two" alone."""
    number = _number(tokens, place)
    if number is None:
        return None
    atoms, start, stop = number
    hundred = len(atoms) > 1 and atoms[-1] == HUNDRED
    rows = rows_of(atoms[:-1] if hundred else atoms)
    if not rows:
        return None
    digits = "".join(rows)
    if len(digits) < 3 and (len(rows) == 1 or rows[0] == "0"):
        return _Time(int(digits), 0, start, stop, sure=hundred, plain=True)
    split = 0 if hundred else _hour_digits(rows)
    if not split:
        return None
    return _Time(int(digits[:split]), int(digits[split:]), start, stop, plain=True)


def _minutes_before(tokens: Tokens, place: int) -> tuple[int, int] | None:
    """Read the minutes of "twenty past", "a quarter to", "half past"."""
    if token_at(tokens, place) in ("a", "an"):
        place += 1
    word = token_at(tokens, place)
    if word in _QUARTERS:
        return _QUARTERS[word], place + 1
    if not starts_number(tokens, place):
        return None
    atoms, stop = segment(tokens, place)
    rows = rows_of(atoms)
    if not rows or len(rows) > 1 or not 0 < int(rows[0]) < 60:
        return None
    named = token_at(tokens, stop) in ("minutes", "minute", "min", "mins")
    if not named and int(rows[0]) % 5:  # "two to three" is no time of day
        return None
    return int(rows[0]), stop + named


def _whole_hour(tokens: Tokens, place: int) -> _Time | None:
    """Read the hour of "five past two", "a quarter to midnight"."""
    named = _named(tokens, place)
    if named is not None:
        return named
    time = _spoken(tokens, place)
    if time is None or time.minute or time.sure or not 0 < time.hour < 24:
        return None
    return time._replace(sure=time.hour > 12)


def _relative(tokens: Tokens, place: int) -> _Time | None:
    """Read "five past two", "a quarter to three"."""
    said = _minutes_before(tokens, place)
    if said is None:
        return None
    minute, stop = said
    link = token_at(tokens, stop)
    time = _whole_hour(tokens, stop + 1) if link in _PAST or link in _TO else None
    if time is None:
        return None
    if link in _PAST:
        return time._replace(minute=minute, start=place, plain=False)
    hour = 12 if time.hour == 1 else (time.hour - 1) % 24
    return time._replace(hour=hour, minute=60 - minute, start=place, plain=False)


def _named(tokens: Tokens, place: int) -> _Time | None:
    """Read "noon" and "midnight"."""
    hour = _NAMED.get(token_at(tokens, place))
    return None if hour is None else _Time(hour, 0, place, place + 1, sure=True)


def _military(tokens: Tokens, time: _Time) -> bool:
    """Tell whether "hours" after a time belongs to it: "1405 hours", not "two hours"."""
    if not time.plain or token_at(tokens, time.stop) not in ("hours", "hrs", "h"):
        return False
    figures = tokens[time.stop - 1]
    return time.sure or len(figures) == 4 or (time.minute > 0 and not figures.isdecimal())


def _completed(tokens: Tokens, time: _Time) -> tuple[_Time, str] | None:
    """Take in "o'clock", "pm", "hours"; None where the number is of another kind after all."""
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


def _settled(tokens: Tokens, time: _Time, *, bare: bool) -> ClockFound | None:
    """Return a time with what stands round it, if it is surely one or a bare one is wanted."""
    completed = _completed(tokens, time)
    if completed is None:
        return None
    time, half = completed
    start = before_lead(tokens, time.start)
    before = token_at(tokens, start - 1)
    marked = before in ("at", "since")
    if before in NOT or (time.plain and not marked and (not bare or before in _NOT_PLAIN_AFTER)):
        return None
    readings = _readings(time, half, sure=time.sure)
    end = after_tail(tokens, time.stop)
    approx = start < time.start or end > time.stop
    return ClockFound(readings, start, end, approx) if readings else None


def _time_at(tokens: Tokens, place: int) -> _Time | None:
    """Read a time in the first form that fits."""
    for form in (_named, _relative, _written, _spoken):
        time = form(tokens, place)
        if time is not None:
            return time
    return None


def _times(tokens: Tokens, *, bare: bool) -> Iterator[ClockFound]:
    """Yield every time of day, in order."""
    place = 0
    while place < len(tokens):
        time = _time_at(tokens, place)
        found = _settled(tokens, time, bare=bare) if time else None
        if found:
            yield found
            place = max(found.stop, place + 1)
        elif starts_number(tokens, place):
            place = segment(tokens, place)[1]
        else:
            place += 1


def _leaves_open(tokens: Tokens, first: ClockFound, second: ClockFound) -> bool:
    """Tell whether the words between two times leave open which one is meant."""
    gap = tokens[first.stop : second.start]
    return set(gap) <= CORRECTION | _ALSO and not _ALSO.isdisjoint(gap)


def _search(tokens: Tokens, *, bare: bool) -> ClockFound | None:
    """Return the first time of day with those that correct it."""
    times = list(_times(tokens, bare=False)) or (list(_times(tokens, bare=True)) if bare else [])
    if not times:
        return None
    held = times[0]
    for other in times[1:]:
        if not _leaves_open(tokens, held, other):
            break
        union = tuple(dict.fromkeys(held.readings + other.readings))
        held = ClockFound(union, held.start, other.stop, held.approx or other.approx)
    return held


def find_clock(said: Said, *, bare: bool = False) -> ClockFound | None:
    """Find the first time of day in an utterance.

    Parameters
    ----------
    said
        A text or its tokens.
    bare
        Whether a number that is not marked as a time ("fourteen oh five", "two") is one: true
        when the open question expects a time. "At" before it marks it too.

    Returns
    -------
    ClockFound or None
        One reading, or the morning's and the afternoon's where neither was said.

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

"""Times and weights, taken out of the words so that the rest is read without them."""

from flows.hearing.answers import Answer
from flows.hearing.lexicon import talk
from flows.hearing.matching import negated
from flows.job.intents import Weighs, When
from flows.measures import ClockFound, Found, find_clock, find_mass, find_minutes
from flows.measures.say import write_mass
from flows.measures.words import vocabulary
from flows.texts import word

MOST_BARE_MIN = 99
"""At most this is minutes where only a time is asked for; "1405" is a time of day."""
_ABOVE = vocabulary("over above more least plus north + change odd")
"""Words of an amount that say it is more than the number."""


def take_time(left: list[str], answer: Answer, *, timed: bool) -> When | None:
    """Take a time out of the words: minutes ago, now, or a clock time; one ahead is negative.

    Of several readings the longest ago counts: a hold may end early, never late. "Twelve fifteen"
    is a time of day unless minutes are said.
    """
    said = find_minutes(tuple(left))
    clock = _spoken_clock(left) if timed and said is None else None
    span = said if clock or said else _bare_minutes(left, answer)
    if span is not None and _is_time(left, span, timed=timed):
        return _taken_minutes(left, span)
    if timed and clock is None:
        clock = _clock(left, answer)
    if clock is None:
        return None
    _blank(left, clock)
    return When(None, clock.readings)


def _taken_minutes(left: list[str], span: Found) -> When:
    """Take minutes out of the words."""
    when = When(_longest_ago(span), is_least=_is_least(left, span))
    _blank(left, span)
    return when


def _spoken_clock(left: list[str]) -> ClockFound | None:
    """Return an hour and its minutes that are said as two numbers: "twelve fifteen", "12 15"."""
    found = find_clock(tuple(left), bare=True)
    has_minutes = found is not None and any(clock.minute for clock in found.readings)
    return found if has_minutes else None


def _is_least(left: list[str], span: Found) -> bool:
    """Say whether it was at least so long ago: "over ten minutes", "20+"."""
    around = left[max(span.start - 2, 0) : span.stop + 2]
    return has_any("at_least", around) and not _is_ahead(span)


def _is_ahead(span: Found) -> bool:
    return all(one.low < 0 for one in span.readings)


def _is_time(left: list[str], span: Found, *, timed: bool) -> bool:
    """Say whether minutes are a time: expected, ago or ahead, and not negated."""
    says_when = timed or "ago" in left or _is_ahead(span)
    return says_when and not negated(tuple(left), span.start)


def _longest_ago(span: Found) -> int:
    """Return the reading that is longest ago; of minutes ahead the furthest ahead."""
    if _is_ahead(span):
        return min(one.low for one in span.readings)
    return max(one.high for one in span.readings)


def _bare_minutes(left: list[str], answer: Answer) -> Found | None:
    """Return a number alone as minutes, where nothing but a time is asked for."""
    found = find_minutes(tuple(left), bare=True) if answer.kind == "time" else None
    if found is None or any(not 0 <= one.high <= MOST_BARE_MIN for one in found.readings):
        return None
    return found


def _clock(left: list[str], answer: Answer) -> ClockFound | None:
    """Return a time of day; "at" need not be said where nothing but a time is asked for."""
    found = find_clock(tuple(left))
    if found is not None or answer.kind != "time":
        return found
    said = find_clock(("at", *left))
    if said is None:
        return None
    return ClockFound(said.readings, max(said.start - 1, 0), said.stop - 1, said.approx)


def take_mass(left: list[str], *, bare: bool) -> Weighs | None:
    """Take a weight out of the words; without its unit only if it is no time of day.

    The words around the number are never dropped: that it is over it, the ends of a range, that
    there is another weight.
    """
    bare = bare and find_clock(tuple(left)) is None
    found = find_mass(tuple(left), bare=bare)
    if found is None or negated(tuple(left), found.start):
        return None
    words = frozenset(left[found.start : found.stop])
    _blank(left, found)
    scaled = any((token,) in talk("scaled") for token in left)
    is_whole = has_any("whole", left)
    return Weighs(
        found.readings,
        _range(found) or write_mass(found.amount, found.unit_said),
        is_over=found.approx and not words.isdisjoint(_ABOVE),
        has_more=find_mass(tuple(left)) is not None,
        scaled=scaled,
        is_load=not is_whole and has_any("loads", left),
        is_whole=is_whole,
    )


def has_any(name: str, left: list[str]) -> bool:
    """Say whether any phrase of a set is among the words."""
    phrases = {phrase: len(phrase) for phrase in talk(name)}
    return any(
        tuple(left[start : start + length]) == phrase
        for phrase, length in phrases.items()
        for start in range(len(left))
    )


def _range(found: Found) -> str:
    """Return both ends of a range as they are read back; nothing for one number."""
    first = found.readings[0]
    if len(found.readings) > 1 or first.low == first.high:
        return ""
    return word("range_shown").format(low=first.low, high=first.high)


def _blank(left: list[str], span: Found | ClockFound) -> None:
    left[span.start : span.stop] = ["."] * (span.stop - span.start)

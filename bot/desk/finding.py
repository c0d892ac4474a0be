"""Finding jobs by a plate, a VIN, a place, any words said in them, a name or a day."""

import re
from collections.abc import Iterable
from datetime import UTC, date, datetime, timedelta

from bot.desk.job_lines import JobLines
from bot.record.reader import Reader
from flows.job.events import Moment
from flows.job.state import Job

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})")
_NAMED = re.compile(r"([a-z]{3,9})\.? (\d{1,2})(?:st|nd|rd|th)?")
_SLASHED = re.compile(r"(\d{1,2})/(\d{1,2})(?:/(\d{2,4}))?")
LEAST = 3
"""The fewest letters and digits that are searched for."""


class Finding:
    """Finds jobs in the record, newest first.

    Parameters
    ----------
    record
        The record.
    lines
        Knows who drives which job.
    """

    def __init__(self, record: Reader, lines: JobLines) -> None:
        self._record = record
        self._lines = lines

    def jobs(self, words: str, open_jobs: Iterable[Job], at: Moment) -> list[int]:
        """Return the jobs that words find, newest first."""
        today = datetime.fromtimestamp(at.wall_ms / 1000, UTC).astimezone(self._lines.zone).date()
        day = day_of(words, today)
        if day is not None:
            return sorted(self._of_day(day), reverse=True)
        said = words.casefold().strip()
        found = {job.ref for job in open_jobs if said in self._people(job)}
        plain = searchable(words)
        if len(plain) >= LEAST:
            found |= set(self._record.jobs_saying(plain))
        return sorted(found, reverse=True)

    def _people(self, job: Job) -> set[str]:
        slots = self._lines.slots(job)
        return {slots["driver"].casefold(), slots["truck"].casefold()}

    def _of_day(self, day: date) -> list[int]:
        start = datetime(day.year, day.month, day.day, tzinfo=self._lines.zone)
        end = start + timedelta(days=1)
        return self._record.jobs_opened(_ms(start), _ms(end))


def _ms(when: datetime) -> int:
    return int(when.timestamp() * 1000)


def searchable(words: str) -> str:
    """Return the letters and digits of words, as the record is searched for them.

    Examples
    --------
    >>> searchable("abc-1234"), searchable("Mile 12"), searchable("%")
    ('ABC1234', 'MILE12', '')
    """
    return "".join(one for one in words.upper() if one.isalnum())


def day_of(words: str, today: date) -> date | None:
    """Return the day that words name, none after today; None for other words.

    Examples
    --------
    >>> today = date(2026, 6, 3)
    >>> [str(day_of(words, today)) for words in ("yesterday", "june 1", "6/1", "2026-05-31")]
    ['2026-06-02', '2026-06-01', '2026-06-01', '2026-05-31']
    >>> str(day_of("monday", today)), day_of("mile 12", today), str(day_of("dec 24", today))
    ('2026-06-01', None, '2025-12-24')
    """
    said = words.casefold().strip(" .,")
    if said in {"today", "yesterday"}:
        return today - timedelta(days=int(said == "yesterday"))
    if said[:3] in _DAYS and said in {said[:3], *_WHOLE}:
        return today - timedelta(days=(today.weekday() - _DAYS.index(said[:3])) % 7)
    return _written(said, today)


def _written(said: str, today: date) -> date | None:
    """Return the day of a written date."""
    if found := _ISO.fullmatch(said):
        return _date(int(found[1]), int(found[2]), int(found[3]))
    if (found := _NAMED.fullmatch(said)) and found[1][:3] in _MONTHS:
        return _past(_MONTHS.index(found[1][:3]) + 1, int(found[2]), today)
    found = _SLASHED.fullmatch(said)
    if found is None or found[3] is None:
        return None if found is None else _past(int(found[1]), int(found[2]), today)
    return _date(int(found[3]) % 100 + 2000, int(found[1]), int(found[2]))


_WHOLE = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday", "tues",
          "thurs", "weds")  # fmt: skip


def _date(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None


def _past(month: int, day: int, today: date) -> date | None:
    """Return the newest day of this name that is not after today."""
    found = _date(today.year, month, day)
    return _date(today.year - 1, month, day) if found is None or found > today else found

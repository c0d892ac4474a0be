"""What the company's chain tells a desk: which job was given to whom. Read on as it grows."""

from dataclasses import dataclass

from bot.desk.replaying import written_ms
from bot.record.reader import Reader
from bot.record.rows import COMPANY


@dataclass(frozen=True, slots=True)
class Given:
    """A job that was given to a driver: to which person, and when [ms UTC]."""

    driver: str
    at_ms: int


class GivenJobs:
    """Jobs given to drivers, as far as nobody declined them."""

    def __init__(self, record: Reader) -> None:
        self._record = record
        self._next = 0
        self._jobs: dict[int, Given] = {}

    def of(self, job: int) -> Given | None:
        """Return to whom a job was given last; None if to nobody."""
        self._read_on()
        return self._jobs.get(job)

    def all(self) -> dict[int, Given]:
        """Return every job that was given to somebody."""
        self._read_on()
        return self._jobs

    def _read_on(self) -> None:
        head = self._record.head(COMPANY)
        if head is None or head.seq < self._next:
            return
        for entry in self._record.entries(COMPANY, self._next):
            body = entry["body"]
            if entry["kind"] == "assigned":
                at_ms = written_ms(entry)
                self._jobs[int(body["job"])] = Given(str(body["driver"]), at_ms)
            elif entry["kind"] == "declined":
                self._jobs.pop(int(body["job"]), None)
        self._next = head.seq + 1

"""Jobs kept in memory: all open jobs, and the few ended jobs that were asked for last.

A job that ended with its vehicle on a deck is in the record as open until that is off.
"""

from bot.desk.replaying import rebuilt
from bot.record.reader import Reader
from flows.job.state import Job
from flows.routine.book import Book
from flows.turn.aboard import aboard_of

MOST_ENDED = 64


def is_open(job: Job) -> bool:
    """Say whether a job is open in the record: not ended, or its vehicle is still on a truck."""
    return job.ended is None or aboard_of(job) is not None


class JobsInMemory:
    """Keeps current jobs, each rebuilt from its entries on first use.

    The record has one writer, and it puts every job it changes back here, so a job here is always
    the job that the record tells. Ended jobs are many: most of them stay in the record only.
    """

    def __init__(self, reader: Reader, book: Book) -> None:
        self._reader = reader
        self._book = book
        self._ended: dict[int, Job] = {}
        self._open: dict[int, Job] | None = None

    def open(self) -> list[Job]:
        """Return all open jobs, in order."""
        return [job for job in self._open_jobs().values() if job.ended is None]

    def on_trucks(self) -> list[Job]:
        """Return all open jobs, and those that left their vehicle on a truck."""
        return list(self._open_jobs().values())

    def job(self, ref: int) -> Job:
        """Return a job, open or ended; a job that the record does not know yet is empty."""
        found = self._open_jobs().get(ref) or self._ended.get(ref)
        if found is None:
            found = self._rebuilt(ref)
            self._keep_ended(found)
        return found

    def put(self, job: Job) -> None:
        """Keep a job that was just written to the record."""
        if is_open(job):
            self._open_jobs()[job.ref] = job
        else:
            self._open_jobs().pop(job.ref, None)
            self._keep_ended(job)

    def _open_jobs(self) -> dict[int, Job]:
        if self._open is None:
            self._open = {ref: self._rebuilt(ref) for ref in self._reader.open_jobs()}
        return self._open

    def _keep_ended(self, job: Job) -> None:
        self._ended.pop(job.ref, None)
        self._ended[job.ref] = job
        while len(self._ended) > MOST_ENDED:
            del self._ended[next(iter(self._ended))]

    def _rebuilt(self, ref: int) -> Job:
        return rebuilt(Job(ref, self._book), self._reader.entries(ref))

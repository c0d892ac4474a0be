"""Jobs kept in memory: all open jobs, and the few ended jobs that were asked for last."""

from bot.desk.replaying import rebuilt
from bot.record.reader import Reader
from flows.job.state import Job
from flows.routine.book import Book

MOST_ENDED = 64


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
        if job.ended is None:
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

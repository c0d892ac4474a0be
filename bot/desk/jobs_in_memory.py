"""The jobs at hand: every open one, and the few ended ones that were asked for last."""

from bot.desk.replaying import rebuilt
from bot.record.reader import Reader
from flows.job.state import Job
from flows.routine.book import Book

MOST_ENDED = 64


class Shelf:
    """Holds jobs as they stand, each rebuilt from its entries on first use.

    Whoever writes the record puts every job back as it stands then: there is one writer, so what
    is here is what the record says. A company's ended jobs are many, and stay in the record.
    """

    def __init__(self, reader: Reader, book: Book) -> None:
        self._reader = reader
        self._book = book
        self._ended: dict[int, Job] = {}
        self._open: dict[int, Job] | None = None

    def open(self) -> list[Job]:
        """Return every open job, in their order."""
        return list(self._at_hand().values())

    def job(self, ref: int) -> Job:
        """Return a job, open or ended; one that is in no record yet has nothing in it."""
        found = self._at_hand().get(ref) or self._ended.get(ref)
        if found is None:
            found = self._rebuilt(ref)
            self._keep_ended(found)
        return found

    def put(self, job: Job) -> None:
        """Take a job as the record has it from now on."""
        if job.ended is None:
            self._at_hand()[job.ref] = job
        else:
            self._at_hand().pop(job.ref, None)
            self._keep_ended(job)

    def _at_hand(self) -> dict[int, Job]:
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

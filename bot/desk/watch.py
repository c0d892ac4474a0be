"""What a desk hears of by the clock: a job not taken, a driver silent, an alarm not answered.

Each is a timer of its job, beside those that the flows want. Its generation counts how often the
desk was told, and its payload holds since when it counts; each time is twice as late as the one
before. They go by wall time, so that a restart of the machine is no alarm.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from bot.desk.given_jobs import GivenJobs
from bot.record.rows import Timer
from flows.cards.company import CompanyCard
from flows.job.events import Moment
from flows.job.state import Job
from flows.turn.turning import Turn

Name = Literal["untaken", "silent", "unheard"]
UNTAKEN: Final = "untaken"
SILENT: Final = "silent"
UNHEARD: Final = "unheard"
WATCHES = frozenset({UNTAKEN, SILENT, UNHEARD})
UNHEARD_MIN = 1
"""An alarm at its highest that no desk answers is said again after so long [min]."""

MINUTE_MS, MS_NS = 60_000, 1_000_000


@dataclass(frozen=True, slots=True)
class Watched:
    """Something a desk hears of.

    Parameters
    ----------
    name
        "untaken", "silent" or "unheard".
    since_ms
        Since when it counts [ms UTC].
    first_min
        After how many minutes a desk first hears of it.
    key
        The sentence that was not answered, if it is that.
    """

    name: Name
    since_ms: int
    first_min: int
    key: str = ""

    def due_ms(self, told: int) -> int:
        """Return when a desk hears of it after it was told so often [ms UTC]."""
        return self.since_ms + (self.first_min * MINUTE_MS << told)

    def timer(self, job: int, told: int, at: Moment) -> Timer:
        """Return its timer, on the boot clock of this moment."""
        due_ms = self.due_ms(told)
        due_ns = at.mono_ns + max(0, due_ms - at.wall_ms) * MS_NS
        payload = {"since_ms": self.since_ms, "key": self.key}
        return Timer(job, self.name, told, due_ns, at.boot, due_ms, payload)


class Watch:
    """Knows what a desk waits for in a job.

    Parameters
    ----------
    given
        The jobs that were given to drivers.
    company
        The company's card, with the times that its owner sets.
    """

    def __init__(self, given: GivenJobs, company: CompanyCard) -> None:
        self._given = given
        self._company = company

    def of_turn(
        self, made: Turn, at: Moment, known: Sequence[Timer], fired: Timer | None
    ) -> tuple[list[Timer], set[str]]:
        """Return the timers that a turn sets, and the names of those that it drops.

        Parameters
        ----------
        known
            The timers of the job that are set, of whatever kind.
        fired
            The timer that made the turn.
        """
        wanted = {one.name: one for one in self._wanted(made, known, fired)}
        mine = {timer.name: timer for timer in known if timer.name in WATCHES}
        rows: list[Timer] = []
        for name, one in wanted.items():
            told = _told(one, mine.get(name), fired)
            if told is not None:
                rows.append(one.timer(made.job.ref, told, at))
        return rows, mine.keys() - wanted.keys()

    def _wanted(
        self, made: Turn, known: Sequence[Timer], fired: Timer | None
    ) -> Iterator[Watched]:
        if made.job.ended is not None:
            return
        found = self.by_the_clock(made.job)
        if found is not None:
            yield found
        alarm = "" if _has_fired(UNHEARD, fired) else _alarm_in(made)
        if alarm and made.job.now is not None:
            yield Watched(UNHEARD, made.job.now.wall_ms, UNHEARD_MIN, alarm)
        elif not _is_of_desk(made):
            yield from _still_unheard(known)

    def fallen_due(self, job: Job, timer: Timer) -> Watched | None:
        """Return what a timer that fell due stands for now; None if that is past."""
        if job.ended is not None:
            return None
        if timer.name == UNHEARD:
            return _unheard(timer)
        found = self.by_the_clock(job)
        return found if found is not None and found.name == timer.name else None

    def by_the_clock(self, job: Job) -> Watched | None:
        """Return what a desk hears of when nothing is said in a job; None for nothing."""
        if job.opened is None or job.ended is not None or _is_away(job):
            return None
        if job.at_vehicle is None:
            given = self._given.of(job.ref)
            since = max(job.opened.wall_ms, 0 if given is None else given.at_ms)
            return Watched(UNTAKEN, since, self._company.untaken_min)
        since = max([job.opened.wall_ms, *_spoken_ms(job)])
        return Watched(SILENT, since, self._company.silent_min)


def _told(watched: Watched, timer: Timer | None, fired: Timer | None) -> int | None:
    """Return how often a desk was told, for a timer to set; None to leave the one that is set."""
    if timer is None or timer.payload.get("since_ms") != watched.since_ms:
        return 0
    return timer.generation + 1 if _has_fired(watched.name, fired) else None


def _has_fired(name: Name, fired: Timer | None) -> bool:
    return fired is not None and fired.name == name


def _is_away(job: Job) -> bool:
    """Say whether a driver has reason to be silent: on the road, or at another job."""
    return job.acts["rolling"] == "rolling" or job.paused_why == "left"


def _spoken_ms(job: Job) -> list[int]:
    """Return when the driver last spoke, and when the open question was first asked [ms UTC]."""
    asked = None if job.asked is None else job.asked.first
    return [one.wall_ms for one in (job.last_heard, asked) if one is not None]


def _still_unheard(known: Sequence[Timer]) -> Iterator[Watched]:
    return (_unheard(one) for one in known if one.name == UNHEARD and "key" in one.payload)


def _unheard(timer: Timer) -> Watched:
    since_ms, key = int(timer.payload["since_ms"]), str(timer.payload["key"])
    return Watched(UNHEARD, since_ms, UNHEARD_MIN, key)


def _alarm_in(made: Turn) -> str:
    """Return the sentence of a turn's alarm that a desk has to answer; empty for none."""
    alarms = (
        one.key for one in made.replies if one.to == "dispatchers" and one.priority == "stop"
    )
    return next(alarms, "")


def _is_of_desk(made: Turn) -> bool:
    """Say whether a desk spoke in a turn: it has heard what was said before."""
    roles = (entry.body["role"] for entry, _ in made.entries if entry.kind == "heard")
    return any(role != "driver" for role in roles)

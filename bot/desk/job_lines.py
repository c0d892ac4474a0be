"""A job in a few words for a desk: who, with which truck, where, how far, since when."""

from dataclasses import dataclass
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from bot.desk.chats import Chats
from bot.desk.given_jobs import GivenJobs
from flows.job.events import MINUTE_NS, Moment
from flows.job.state import Job
from flows.job.windows import left_ns
from flows.telling.labels import fact_label
from flows.telling.saying import brief, fill
from flows.texts import desk_texts, sentences

MINUTE_MS, HOUR_MIN, DAY_MIN = 60_000, 60, 24 * 60


@dataclass(frozen=True)
class JobLines:
    """Words for jobs, for a company in a time zone.

    Parameters
    ----------
    chats, given
        The people, and the jobs that were given to them.
    zone
        The company's time zone.
    """

    chats: Chats
    given: GivenJobs
    zone: ZoneInfo

    def line(self, job: Job, at: Moment) -> str:
        """Return what a list shows of a job."""
        if job.ended is not None:
            return self._filled("ended_line", job, how=how_ended(job), day=self.day(job.opened))
        if job.at_vehicle is None:
            asked = self.asked(job.ref)
            given = desk_texts()["jobs"]["asked"].format(name=asked) if asked else ""
            age = self.age(job.opened, at)
            return self._filled("untaken", job, state=state_of(job, at), asked=given, age=age)
        age = self.age(job.last_heard, at)
        return self._filled("line", job, state=state_of(job, at), age=age)

    def alarm(self, job: Job) -> str:
        """Return what an alarm adds for a desk with several jobs: who, where, the last step."""
        return fill(desk_texts()["alarm"]["who"], job, self.slots(job))

    def _filled(self, key: str, job: Job, **given: str) -> str:
        return fill(desk_texts()["jobs"][key], job, {**self.slots(job), **given})

    def slots(self, job: Job) -> dict[str, str]:
        """Return who is at a job, with which truck, and where."""
        texts, place = desk_texts()["jobs"], job.value("place")
        truck = job.value("truck")
        return {
            "number": str(job.ref),
            "driver": self.driver(job) or self.asked(job.ref) or texts["nobody"],
            "truck": texts["no_truck"] if truck is None else fact_label(job, "truck", truck),
            "place": brief(str(place)) if place else texts["no_place"],
        }

    def driver(self, job: Job) -> str:
        """Return the name of whoever is at the vehicle; empty for nobody."""
        return self.chats.name_of(job.at_vehicle)

    def asked(self, ref: int) -> str:
        """Return the name of the driver that a job was given to; empty for nobody."""
        given = self.given.of(ref)
        return "" if given is None else self.chats.name_of(given.driver)

    def age(self, since: Moment | None, at: Moment) -> str:
        """Return how long ago something was, in words."""
        texts = desk_texts()["age"]
        if since is None:
            return str(desk_texts()["jobs"]["no_word"])
        minutes = max(0, at.wall_ms - since.wall_ms) // MINUTE_MS
        if minutes >= DAY_MIN:
            return str(texts["days"].format(day=self.day(since)))
        hours, rest = divmod(minutes, HOUR_MIN)
        unit = "hours" if hours else "minutes" if minutes else "now"
        return str(texts[unit].format(hours=hours, minutes=rest))

    def day(self, when: Moment | None) -> str:
        """Return the day of a moment where the company is."""
        if when is None:
            return str(desk_texts()["jobs"]["no_word"])
        return f"{datetime.fromtimestamp(when.wall_ms / 1000, UTC).astimezone(self.zone):%Y-%m-%d}"


def how_ended(job: Job) -> str:
    """Return how a job ended, in words; empty if it is open."""
    if job.ended is None:
        return ""
    reason = sentences()["reasons"].get(job.ended.reason, "")
    return str(desk_texts()["how"][job.ended.how].format(reason=reason))


def state_of(job: Job, at: Moment) -> str:
    """Return the state that a desk must not overlook: danger, a window, a pause, the road."""
    texts = desk_texts()["state"]
    if job.acts["danger"] == "seen":
        return str(texts["danger"])
    if job.acts["rolling"] == "rolling":
        return str(texts["rolling"])
    window = job.window
    if window is not None and window.is_counted and window.boot == at.boot:
        minutes = max(0, left_ns(window, at)) // MINUTE_NS
        return str(texts["window"].format(left=f"{minutes} min"))
    return str(texts["paused"]) if job.paused is not None else ""

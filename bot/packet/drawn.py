"""A job as its summary shows it: times in the company's zone, names, values and acts in words."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import Any
from zoneinfo import ZoneInfo

from bot.desk.replaying import rebuilt
from bot.packet.case import Case
from flows.job.entries import plain
from flows.job.state import Job
from flows.telling.labels import value_label
from flows.texts import packet_texts, sentences

Entry = Mapping[str, Any]


@dataclass(frozen=True)
class Drawn:
    """A summary being made: the case, and the time zone for its times.

    Attributes
    ----------
    gone
        The words for a personal value that is not shown.
    """

    case: Case
    zone: ZoneInfo
    gone: str = ""

    @cached_property
    def job(self) -> Job:
        """The job without any of its entries, which has the company's own names."""
        return Job(self.case.ref, self.case.book)

    @cached_property
    def known(self) -> dict[str, Entry]:
        """The last entry of each fact, by its name."""
        return {entry["body"]["name"]: entry for entry in self.of_kind("fact")}

    def time(self, entry: Entry, form: str = "%Y-%m-%d %H:%M:%S") -> str:
        """Return when an entry was written, in the company's zone."""
        return self._at(entry["times"]["written"]).strftime(form)

    def _at(self, utc: str) -> datetime:
        return datetime.fromisoformat(utc).astimezone(self.zone)

    def clock(self, entry: Entry) -> str:
        """Return when an entry was written as people say it: "2:26 PM"; another day with it."""
        return self._clock(entry["times"]["written"])

    def claimed(self, entry: Entry) -> str:
        """Return the time that its speaker claims, as people say it; else when it was written."""
        return self._clock(entry["times"]["claimed"] or entry["times"]["written"])

    def _clock(self, utc: str) -> str:
        when, first = self._at(utc), self._at(self.case.entries[0]["times"]["written"])
        day = "" if when.date() == first.date() else f"{when:%B} {when.day}, "
        return f"{day}{when.hour % 12 or 12}:{when:%M %p}"

    def day(self, entry: Entry) -> str:
        """Return the day on which an entry was written: "May 28, 2026"."""
        when = self._at(entry["times"]["written"])
        return f"{when:%B} {when.day}, {when.year}"

    def who(self, entry: Entry) -> str:
        """Return the name of the person who gave an entry."""
        return self.name(entry["by"])

    def name(self, person: str) -> str:
        """Return the name of a person; of nobody, the software's own."""
        return self.case.names.get(person, str(sentences()["trail"]["bot"]))

    def of_kind(self, *kinds: str) -> list[dict[str, Any]]:
        """Return the entries of some kinds, in order."""
        return [entry for entry in self.case.entries if entry["kind"] in kinds]

    def acts(self, *names: str) -> list[dict[str, Any]]:
        """Return the entries of some acts, in order."""
        return [entry for entry in self.of_kind("act") if entry["body"]["act"] in names]

    def facts(self, name: str) -> Iterator[dict[str, Any]]:
        """Yield the entries of a fact, in order."""
        return (entry for entry in self.of_kind("fact") if entry["body"]["name"] == name)

    def value(self, name: str) -> str:
        """Return the last value of a fact in words; empty where it was never given."""
        return self.answer(self.known[name]) if name in self.known else ""

    def values(self, name: str) -> str:
        """Return every value of a fact in words, in order: "mile 12, then mile 14"."""
        given = dict.fromkeys(self.answer(entry) for entry in self.facts(name))
        return str(packet_texts()["page"]["then"]).join(given)

    def answer(self, entry: Entry) -> str:
        """Return the value that a fact's entry gives, in words."""
        value = plain(entry["body"]["value"])
        if value is None:
            return self.left_out
        return value_label(self.job, entry["body"]["name"], value)

    def words(self, value: object) -> str:
        """Return somebody's words from a body, as they may be shown."""
        said = plain(value)
        return self.left_out if said is None else str(said)

    @property
    def left_out(self) -> str:
        """The words for a personal value that is not here."""
        return self.gone or str(sentences()["trail"]["erased"])

    def until(self, seq: int) -> Job:
        """Return the job as it was before an entry."""
        return rebuilt(self.job, self.case.entries[:seq])

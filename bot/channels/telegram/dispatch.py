"""Requests of dispatchers and owners: a job for a driver, a time line, a record as a file."""

import asyncio
import re
import tempfile
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from bot.desk.batches import Cause
from bot.desk.company import Company
from bot.desk.company_messages import Line, choices, line
from bot.desk.crew import Member
from bot.desk.inbound import Inbound
from bot.desk.trail import status_lines, trail_lines
from bot.record.rows import COMPANY, NewEntry, Reply
from flows.texts import air_texts

LONGEST_TRAIL = 3500

_NEW = re.compile(r"(new job\b.*?),? for ([^,]{1,60})", re.IGNORECASE | re.DOTALL)
_ASSIGN = re.compile(r"(?:assign )?job (\d{1,9}),? (?:for|to) (\S.{0,60})", re.IGNORECASE)
_TRAIL = re.compile(r"trail (\d{1,9})", re.IGNORECASE)
_RECORD = re.compile(r"record (\d{1,9})", re.IGNORECASE)
_JOBS = re.compile(r"jobs", re.IGNORECASE)


@dataclass(frozen=True)
class Dispatch:
    """Takes dispatchers' requests about jobs; all other messages go on to the job.

    Parameters
    ----------
    company
        Whose jobs they are.
    """

    company: Company

    def take(self, member: Member, message: Inbound, cause: Cause) -> list[Reply] | None:
        """Take a message of a dispatcher or an owner; return None if it is for a job."""
        said = (message.tap or message.text or "").strip()
        if member.role == "driver" or message.edit_of is not None:
            return None
        if found := _NEW.fullmatch(said):
            return self._new(message, found, cause)
        flat = " ".join(said.split())
        for pattern, act in (
            (_ASSIGN, self._assigned), (_TRAIL, self._trail), (_RECORD, self._record),
            (_JOBS, self._jobs),
        ):  # fmt: skip
            if found := pattern.fullmatch(flat):
                return act(member, found, cause)
        return None

    def _jobs(self, member: Member, _found: re.Match[str], cause: Cause) -> list[Reply]:
        lines = status_lines(self.company.store, self.company.book)
        return self._say(member, cause, line("\n".join(lines)))

    def _assigned(self, member: Member, found: re.Match[str], cause: Cause) -> list[Reply]:
        return self._assign(member, int(found[1]), found[2], cause)

    def _new(self, message: Inbound, found: re.Match[str], cause: Cause) -> list[Reply] | None:
        """Open a job and ask its driver; if nobody has that name, it is part of the address."""
        driver = self._driver(found[2])
        if driver is None or cause.inbox is None:
            return None
        opening = replace(message, text=found[1], tap=None)
        number = self.company.store.next_job()
        sent = self.company.desk.settle(opening, cause.at, cause.inbox)
        if not self.company.store.has_job(number):
            return sent
        member = self.company.crew.by_chat(message.chat)
        asked = [] if member is None else self._assign(
            member, number, driver.name, Cause(cause.at)
        )  # fmt: skip
        return sent + asked

    def _assign(self, member: Member, number: int, name: str, cause: Cause) -> list[Reply]:
        texts, driver = air_texts()["dispatch"], self._driver(name)
        if not self.company.store.has_job(number):
            return self._say(member, cause, line(texts["no_job"].format(number=number)))
        if driver is None:
            return self._say(member, cause, line(texts["no_driver"].format(name=name)))
        place = self.company.desk.job(number).value("place") or texts["no_place"]
        asked = {
            **line(texts["yours"].format(number=number, place=place), "check"),
            "expects": choices((f"job {number}", texts["here"].format(number=number))),
        }
        told = line(texts["asked"].format(number=number, name=driver.name))
        entry = NewEntry(
            COMPANY, "assigned", {"job": str(number), "driver": driver.person}, member.person
        )
        lines: list[Line] = [(driver.chat, asked), (member.chat, told)]
        return self.company.messages.write(cause, lines, [entry])

    def _driver(self, name: str) -> Member | None:
        found = self.company.crew.named(name.strip(" ."), "driver")
        return found if found is not None and found.account else None

    def _trail(self, member: Member, found: re.Match[str], cause: Cause) -> list[Reply]:
        number = int(found[1])
        shown = trail_lines(self.company.store, self.company.book, number)
        texts = air_texts()["dispatch"]
        if not shown:
            return self._say(member, cause, line(texts["no_job"].format(number=number)))
        kept = _newest(shown)
        file = line(texts["trail"].format(number=number, size=len(shown)))
        file["attach"] = {"trail": number}
        return self._say(member, cause, line("\n".join(kept)), file)

    def _record(self, member: Member, found: re.Match[str], cause: Cause) -> list[Reply]:
        number = int(found[1])
        texts = air_texts()["dispatch"]
        if member.role != "owner":
            return self._say(member, cause, line(air_texts()["crew"]["only_owner"]))
        if not self.company.store.has_job(number):
            return self._say(member, cause, line(texts["no_job"].format(number=number)))
        file = line(texts["record"].format(number=number))
        file["attach"] = {"record": number}
        entry = NewEntry(COMPANY, "exported", {"job": str(number)}, member.person)
        return self.company.messages.write(cause, [(member.chat, file)], [entry])

    def _say(self, member: Member, cause: Cause, *bodies: dict[str, Any]) -> list[Reply]:
        return self.company.messages.write(cause, [(member.chat, body) for body in bodies])

    async def attachment(self, reply: Reply) -> tuple[str, bytes] | None:
        """Make the file that goes with a reply."""
        asked = reply.body.get("attach", {})
        if "trail" in asked:
            number = asked["trail"]
            lines = trail_lines(self.company.store, self.company.book, number)
            return f"trail-{number}.txt", ("\n".join(lines) + "\n").encode()
        if "record" in asked:
            number = asked["record"]
            # This takes a while: in a thread, with its own connection to the record.
            return f"job-{number}.zip", await asyncio.to_thread(self._packet, number)
        return None

    def _packet(self, number: int) -> bytes:
        with tempfile.TemporaryDirectory() as folder:
            made = Path(folder) / "packet.zip"
            self.company.packet(number, made)
            return made.read_bytes()


def _newest(lines: list[str]) -> list[str]:
    """Return the newest lines that fit in one message."""
    kept: list[str] = []
    for one in reversed(lines):
        if sum(map(len, kept)) + len(kept) + len(one) > LONGEST_TRAIL:
            break
        kept.append(one.strip())
    return kept[::-1]

"""Files that a desk asks for: a time line, the packet of a job for its owner."""

import asyncio
import re
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from bot.desk.batches import Cause
from bot.desk.company import Company
from bot.desk.crew import Member
from bot.desk.inbound import Inbound
from bot.desk.outgoing import line
from bot.desk.trail import trail_lines
from bot.record.rows import COMPANY, NewEntry, Reply
from flows.texts import air_texts, desk_texts

_RECORD = re.compile(r"record (\d{1,9})", re.IGNORECASE)


@dataclass(frozen=True)
class Dispatch:
    """Takes an owner's request for a packet, and makes the files that go with replies.

    Parameters
    ----------
    company
        Whose jobs they are.
    """

    company: Company

    def take(self, member: Member, message: Inbound, cause: Cause) -> list[Reply] | None:
        """Take a request for a job's packet; return None for everything else."""
        said = " ".join((message.text or "").split())
        found = _RECORD.fullmatch(said)
        if member.role == "driver" or message.edit_of is not None or found is None:
            return None
        return self._record(member, int(found[1]), cause)

    def _record(self, member: Member, number: int, cause: Cause) -> list[Reply]:
        texts = air_texts()["dispatch"]
        if member.role != "owner":
            return self._say(member, cause, line(air_texts()["crew"]["only_owner"]))
        if not self.company.store.has_job(number):
            told = desk_texts()["give"]["no_job"].format(number=number)
            return self._say(member, cause, line(told))
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

    def offered_otherwise(self, reply: Reply) -> str:
        """Return the words for a file that does not go through: where it is, how to get it."""
        asked, texts = reply.body.get("attach", {}), air_texts()["dispatch"]
        if "record" not in asked:
            return str(texts["no_trail"].format(number=asked.get("trail")))
        number = asked["record"]
        return str(texts["no_record"].format(number=number, path=self._kept(number)))

    def _kept(self, number: int) -> Path:
        return self.company.store.folder / "packets" / f"job-{number}.zip"

    def _packet(self, number: int) -> bytes:
        kept = self._kept(number)
        kept.parent.mkdir(mode=0o700, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=kept.parent) as folder:
            made = Path(folder) / "packet.zip"
            self.company.packet(number, made)
            made.chmod(0o600)
            made.replace(kept)
        return kept.read_bytes()

"""Checks a packet or a whole record, for people and for programs.

Exit codes: 0 everything is intact, 1 something is wrong, 2 it cannot be checked.
"""

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from bot.machine.settings import Settings
from bot.packet.reading import NoPacketError, opened
from bot.packet.verify import FAILED, NO_PACKET, PASSED, Finding, check, key_of
from bot.record.arithmetic import fingerprint
from bot.record.reader import open_reader
from bot.record.seals import check_record
from bot.record.seen import missing


@dataclass(frozen=True, slots=True)
class Result:
    """The result of checking a packet or a record.

    Attributes
    ----------
    what
        "packet" or "record".
    checks
        Each check and its problems.
    refused
        Why it cannot be checked at all; empty if it was checked.
    facts
        The values that its words fill in.
    """

    what: str
    checks: tuple[Finding, ...] = ()
    refused: str = ""
    facts: Mapping[str, Any] | None = None

    @property
    def code(self) -> int:
        """The exit code."""
        if self.refused:
            return NO_PACKET
        return FAILED if any(wrong for _, wrong in self.checks) else PASSED

    def words(self, texts: Mapping[str, str]) -> Iterator[str]:
        """Yield the result as sentences for people."""
        if self.refused:
            yield texts["refused"].format(why=self.refused)
            return
        for name, wrong in self.checks:
            yield texts["fails" if wrong else "holds"].format(check=name)
            yield from (f"       {problem}" for problem in wrong)
        if self.facts is not None:
            yield texts[self.what].format_map(self.facts)


def check_packet(path: Path, receipt: str = "", known: str = "") -> Result:
    """Check a packet; a hostile packet is refused before anything in it is used."""
    try:
        checks = tuple(check(path, receipt, known))
        mark = fingerprint(key_of(opened(path)))
    except (NoPacketError, OSError) as error:
        return Result("packet", refused=str(error))
    return Result("packet", checks, facts={"fingerprint": mark})


def check_whole(settings: Settings) -> Result:
    """Check every chain, value and signed root of a record, and that the record is not behind.

    Raises
    ------
    StoreError
        When there is no record, or it cannot be read.
    """
    with open_reader(settings.data) as reader:
        chains = [f"job {bad.job}, entry {bad.seq}: {bad.what}" for bad in reader.verify()]
        checks = [("every chain, and every personal value", chains)]
        if not chains:
            seals = [f"job {bad.job}: {bad.what}" for bad in check_record(reader)]
            checks.append(("every signed root", seals))
        behind = [f"job {job}, entry {seq}" for job, seq in missing(settings.seen_file, reader)]
        checks.append(("the last checkpoint that was seen", behind))
        heads = reader.heads()
    facts = {"chains": len(heads), "entries": sum(head.seq + 1 for head in heads.values())}
    return Result("record", tuple(checks), facts=facts)


def json_text(result: Result) -> str:
    """Return a result for programs: its code, and each check with its problems."""
    checks = [{"check": name, "holds": not wrong, "wrong": wrong} for name, wrong in result.checks]
    found: dict[str, Any] = {"what": result.what, "code": result.code, "checks": checks}
    if result.refused:
        found["refused"] = result.refused
    return json.dumps({**found, **(result.facts or {})}, indent=2, ensure_ascii=False)

"""Checks a packet or a whole record, for people and for programs.

Exit codes: 0 everything is intact, 1 something is wrong, 2 it cannot be checked.
"""

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from bot.machine.settings import Settings
from bot.packet.evidence_files import evidence_of
from bot.packet.reading import NoPacketError, key_of, opened
from bot.packet.verify import FAILED, NO_PACKET, PASSED, Finding, check
from bot.record.arithmetic import fingerprint
from bot.record.checkpoints import CompanySeals
from bot.record.errors import StoreError
from bot.record.heads import read_note
from bot.record.keeping import erased_marks, gone_values
from bot.record.keys import read_key
from bot.record.reach import check_head
from bot.record.reader import Reader, open_reader
from bot.record.rows import COMPANY
from bot.record.seals import check_chain, check_record, keys_in
from bot.record.seen import behind_note, is_there, missing
from flows.texts.visible import visible

NO_ROOT = "no root is signed yet: the first pause or end of a job signs one"
ROOTED = "job {job}: the last signed root is over its first {covered} of {size} entries"
NO_KEY_FILE = "there is no key at {path}"
NO_KEY_NAMED = "the record names no key yet"
OTHER_KEY_FILE = "{path} is another key than the record names last: it was replaced"
BEHIND_NOTE = "the record is behind the head noted in {path}, or another than it"
NOT_SEEN = "there is no readable note at {path}"
FILE_MISSING = "job {job}, entry {seq}: its {kind} is missing, and no entry erased it: {mark}"
FILE_CHANGED = "job {job}, entry {seq}: the file kept is not its {kind} as received: {mark}"


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
        return FAILED if any(check.wrong for check in self.checks) else PASSED

    def words(self, texts: Mapping[str, str]) -> Iterator[str]:
        """Yield the result as sentences for people."""
        if self.refused:
            yield visible(texts["refused"].format(why=self.refused))
            return
        for one in self.checks:
            yield texts[one.state].format(check=one.name)
            yield from (f"       {line}" for line in one.told)
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
    """Check everything that binds a record: its chains, values, roots, head, key and files.

    Raises
    ------
    StoreError
        When there is no record, or it cannot be read.
    """
    with open_reader(settings.data) as reader, reader.snapshot():
        chains = [f"job {bad.job}, entry {bad.seq}: {bad.what}" for bad in reader.verify()]
        checks = [Finding("every chain, and every personal value", chains)]
        if not chains:
            checks += _bound(reader, settings)
        checks += [_seen(reader, settings), check_files(reader)]
        heads = reader.heads()
        head = reader.signed_head()
    facts = {
        "chains": len(heads),
        "entries": sum(head.seq + 1 for head in heads.values()),
        "head": 0 if head is None else head.number,
    }
    return Result("record", tuple(checks), facts=facts)


def _bound(reader: Reader, settings: Settings) -> Iterator[Finding]:
    """Check what binds intact chains: erasures, roots, the signed head, the key."""
    gone = [f"job {bad.job}, entry {bad.seq}: {bad.what}" for bad in gone_values(reader)]
    yield Finding("every personal value that is gone was erased by an entry", gone)
    wrong = [f"job {bad.job}: {bad.what}" for bad in check_record(reader)]
    yield Finding("every signed root", wrong, [] if _has_roots(reader) else [NO_ROOT])
    reach = check_head(reader)
    behind = [f"job {bad.job}: {bad.what}" for bad in reach.problems]
    if behind:
        behind += list(_rooted(reader))
    yield Finding("the signed head", behind, list(reach.lacks))
    yield _key(reader, settings)


def _has_roots(reader: Reader) -> bool:
    return any('"kind":"all_jobs"' in line for line in reader.lines(COMPANY))


def _rooted(reader: Reader) -> Iterator[str]:
    """Say of every job how far its last signed root reaches."""
    keys, _ = keys_in(reader.lines(COMPANY))
    for job, size in reader.sizes().items():
        if job != COMPANY:
            covered = check_chain(str(job), reader.lines(job), keys).covered
            yield ROOTED.format(job=job, covered=covered, size=size)


def _key(reader: Reader, settings: Settings) -> Finding:
    """Check that the key beside the record is the one that the record names last."""
    name = "the key beside the record"
    company = CompanySeals()
    company.follow(reader)
    try:
        found = read_key(settings.key_file, settings.data)
    except StoreError as error:
        return Finding(name, [error.what])
    if found is None or not company.public:
        text = NO_KEY_FILE if found is None else NO_KEY_NAMED
        return Finding(name, [], [text.format(path=settings.key_file)])
    is_ours = found.public.hex() == company.public
    return Finding(name, [] if is_ours else [OTHER_KEY_FILE.format(path=settings.key_file)])


def _seen(reader: Reader, settings: Settings) -> Finding:
    """Check that the record is not behind what was noted beside the key."""
    name = "the last checkpoint and the last signed head that were seen"
    note = read_note(settings.head_file)
    wrong = [f"job {job}, entry {seq}" for job, seq in missing(settings.seen_file, reader)]
    if behind_note(note, reader):
        wrong.append(BEHIND_NOTE.format(path=settings.head_file))
    lacks = [] if is_there(settings.seen_file) else [NOT_SEEN.format(path=settings.seen_file)]
    lacks += [] if note else [NOT_SEEN.format(path=settings.head_file)]
    return Finding(name, wrong, lacks)


def check_files(reader: Reader) -> Finding:
    """Check that every file that an entry names is here as received, or was erased by an entry."""
    wrong, erased = [], erased_marks(reader)
    for job in reader.jobs():
        for file in evidence_of(reader.entries(job), reader.folder, erased):
            if file.is_wrong:
                text = FILE_MISSING if file.state == "missing" else FILE_CHANGED
                wrong.append(text.format(job=job, seq=file.seq, kind=file.kind, mark=file.sha256))
    return Finding("every file as received", wrong)


def json_text(result: Result) -> str:
    """Return a result for programs: its code, and each check with its problems."""
    checks = [
        {"check": one.name, "holds": one.state == "HOLDS", "wrong": one.wrong,
         "not_there": list(one.lacks)}
        for one in result.checks
    ]  # fmt: skip
    found: dict[str, Any] = {"what": result.what, "code": result.code, "checks": checks}
    if result.refused:
        found["refused"] = result.refused
    return json.dumps({**found, **(result.facts or {})}, indent=2, ensure_ascii=True)

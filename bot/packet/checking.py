"""Checks a packet or a whole record, for people and for programs.

Exit codes: 0 everything is intact, 1 something is wrong, 2 it cannot be checked.
"""

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from bot.desk.outgoing import is_line
from bot.machine.settings import Settings
from bot.packet.evidence_files import evidence_of
from bot.packet.reading import NoPacketError, key_of, opened
from bot.packet.verify import FAILED, NO_PACKET, PASSED, Finding, check, finding
from bot.record.arithmetic import fingerprint
from bot.record.checkpoints import CompanySeals
from bot.record.errors import StoreError
from bot.record.heads import SignedHead, read_note
from bot.record.keeping import erased_marks, gone_values
from bot.record.keys import read_key
from bot.record.reach import check_head
from bot.record.reader import Reader, open_reader
from bot.record.rows import COMPANY
from bot.record.seals import check_chain, check_record, keys_in, replaced_keys
from bot.record.seen import behind_note, is_there, missing
from flows.texts.visible import visible

NO_ROOT = "no root is signed yet: the first pause or end of a job signs one"
ROOTED = "job {job}: the last signed root is over its first {covered} of {size} entries"
NO_KEY_FILE = "there is no key at {path}"
NO_KEY_NAMED = "the record names no key yet"
OTHER_KEY_FILE = "{path} is another key than the record names last: it was replaced"
BEHIND_NOTE = "the record is behind the head noted in {path}, or another than it"
NOT_SEEN = "there is no readable note at {path}"
BAD_ROW = "{table}: row {number} {name}"
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
        checks = [_finding("every chain, and every personal value", _chains(reader))]
        if not checks[0].wrong:
            checks += _bound(reader, settings)
        checks += [_seen(reader, settings), check_files(reader), _waiting(reader)]
        heads = reader.heads()
        head = reader.signed_head()
    facts = {
        "chains": len(heads),
        "entries": sum(head.seq + 1 for head in heads.values()),
        "head": 0 if head is None else head.number,
    }
    return Result("record", tuple(checks), facts=facts)


def _finding(name: str, wrong: Iterable[str], lacks: Iterable[str] = ()) -> Finding:
    """Return what a check finds; what the database refuses is a problem too."""
    return finding(name, _or_refusal(wrong), _or_refusal(lacks))


def _or_refusal(sentences: Iterable[str]) -> Iterator[str]:
    try:
        yield from sentences
    except StoreError as error:
        yield error.what


def _chains(reader: Reader) -> Iterator[str]:
    """Yield what is wrong with the chains and the personal values."""
    for bad in reader.verify():
        yield f"job {bad.job}, entry {bad.seq}: {bad.what}"


def _bound(reader: Reader, settings: Settings) -> Iterator[Finding]:
    """Check what binds intact chains: erasures, roots, the signed head, the key."""
    gone = (f"job {bad.job}, entry {bad.seq}: {bad.what}" for bad in gone_values(reader))
    yield _finding("every personal value that is gone was erased by an entry", gone)
    wrong = (f"job {bad.job}: {bad.what}" for bad in check_record(reader))
    none = [*([] if _has_roots(reader) else [NO_ROOT]), *replaced_keys(reader.lines(COMPANY))]
    yield _finding("every signed root", wrong, none)
    reach = check_head(reader)
    behind = [f"job {bad.job}: {bad.what}" for bad in reach.problems]
    if behind:
        behind += list(_rooted(reader))
    yield _finding("the signed head", behind, reach.lacks)
    yield _key(reader, settings)


def _waiting(reader: Reader) -> Finding:
    """Check that every message, reply and timer that waits can be read."""
    wrong = (BAD_ROW.format(table=row.table, number=row.number, name=row.name).rstrip()
             for row in reader.unreadable(is_line))  # fmt: skip
    return _finding("every message, reply and timer that waits", wrong)


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
    lacks = [] if is_there(settings.seen_file) else [NOT_SEEN.format(path=settings.seen_file)]
    lacks += [] if note else [NOT_SEEN.format(path=settings.head_file)]
    return _finding(name, _behind(reader, settings, note), lacks)


def _behind(reader: Reader, settings: Settings, note: SignedHead | None) -> Iterator[str]:
    for job, seq in missing(settings.seen_file, reader):
        yield f"job {job}, entry {seq}"
    if behind_note(note, reader):
        yield BEHIND_NOTE.format(path=settings.head_file)


def check_files(reader: Reader) -> Finding:
    """Check that every file that an entry names is here as received, or was erased by an entry."""
    return _finding("every file as received", _bad_files(reader))


def _bad_files(reader: Reader) -> Iterator[str]:
    for job in reader.jobs():
        entries = [one for one in reader.each_entry(job) if not isinstance(one, StoreError)]
        for file in evidence_of(entries, reader.folder, erased_marks(reader, job)):
            if file.is_wrong:
                text = FILE_MISSING if file.state == "missing" else FILE_CHANGED
                yield text.format(job=job, seq=file.seq, kind=file.kind, mark=file.sha256)


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

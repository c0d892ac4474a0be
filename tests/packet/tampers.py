"""Every tampering we know with a record and with a packet, and who notices: a table.

`python -m tests.packet.tampers` runs all of it and prints the table; the tests run a sample.
A tampering is done with what its doer has: the files alone, the files and the manifests made
again, a key of their own, or the company's key.
"""

import hashlib
import json
import logging
import random
import shutil
import sqlite3
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

from bot.commands.bootstrap import book_for, open_desk
from bot.commands.proving import make_packet
from bot.machine.settings import Settings
from bot.packet.bag import allowed_signers
from bot.packet.checking import check_whole
from bot.packet.reading import NoPacketError
from bot.packet.verify import check, check_receipt
from bot.record.arithmetic import fingerprint
from bot.record.canonical import canonical
from bot.record.errors import StoreError
from bot.record.keys import public_pem, scripted_signer, ssh_line
from bot.record.reader import open_reader
from bot.record.rows import Batch, NewEntry
from bot.record.schema import FILE_NAME
from bot.record.seen import remember
from tests.bot.turns import NOW
from tests.packet.packets import (
    CHECKS,
    carried,
    caught_by,
    packed,
    redone,
    unpacked,
    with_key,
    written,
)
from tests.packet.record_tampers import record_tampers
from tests.packet.tampering import ENTRY_CHANGES, Tamper, add_to, flip, relinked

OURS = fingerprint(scripted_signer("1").public)


# A packet.


def another_key(top: Path) -> None:
    """Sign with a key of one's own, put in the place of the company's."""
    public, proof = scripted_signer("2").public, top / "data/proof"
    (proof / "public-key.pem").write_text(public_pem(public))
    (proof / "key.pub").write_text(f"{ssh_line(public)} rollproof\n")
    (proof / "allowed-signers.txt").write_text(allowed_signers(public))
    derived_again(top, "2")
    redone(top, sign="2")


def derived_again(top: Path, seed: str) -> None:
    """Sign the list of the files belong to these entries again, as the files are now."""
    path, signer = top / "data/proof/files.json", scripted_signer(seed)
    if not path.is_file():
        return
    try:
        said = json.loads(path.read_text("utf-8"))
    except ValueError:
        return
    files = {name: top / "data" / name for name in said["files"]}
    said["files"] = {name: hashlib.sha256(file.read_bytes()).hexdigest()
                     for name, file in files.items() if file.is_file()}  # fmt: skip
    said = {name: said[name] for name in ("what", "job", "size", "root", "files")}
    signature = signer.sign(canonical(said)).hex()
    path.write_bytes(
        canonical({**said, "key": signer.public.hex(), "signature": signature}) + b"\n"
    )


LEVELS: dict[str, Callable[[Path], None]] = {
    "the files": lambda top: None,
    "manifests made again": redone,
    "another key": another_key,
    "the company's key": lambda top: redone(top, sign="1"),
}
"""What else is done so that it is not noticed."""

DONE_TO_A_FILE: dict[str, Callable[[Path], None]] = {
    "flipped": flip,
    "longer": add_to,
    "gone": lambda path: path.unlink(),
}


def packet_tampers(top: Path) -> Iterator[Tamper]:
    """Yield every tampering with each file of a packet, at each level."""
    names = sorted(p.relative_to(top).as_posix() for p in top.rglob("*") if p.is_file())
    for has, after in LEVELS.items():
        for what, do in DONE_TO_A_FILE.items():
            for name in names:
                if name.startswith("data/") or has == "the files":
                    yield _on_file(name, what, has, do, after)
        yield Tamper("a file added", has, _then(added, after))
        yield Tamper("two photos swapped", has, _then(photos_swapped, after))
        for number, change in enumerate(ENTRY_CHANGES):
            yield Tamper(f"entries: {change.__name__}", has, _then(_relinked(number), after))


def _on_file(
    name: str, what: str, has: str, do: Callable[[Path], None], after: Callable[[Path], None]
) -> Tamper:
    return Tamper(f"{name} {what}", has, _then(lambda top: do(top / name), after))


def _then(do: Callable[[Path], None], after: Callable[[Path], None]) -> Callable[[Path], None]:
    def both(top: Path) -> None:
        do(top)
        after(top)

    return both


def added(top: Path) -> None:
    (top / "data/photos/photo-099.jpg").write_bytes(b"\xff\xd8\xff added")


def photos_swapped(top: Path) -> None:
    one, two = sorted((top / "data/photos").iterdir())[:2]
    first, second = one.read_bytes(), two.read_bytes()
    one.write_bytes(second)
    two.write_bytes(first)


def _relinked(number: int) -> Callable[[Path], None]:
    def do(top: Path) -> None:
        path = top / "data/entries.jsonl"
        lines = ENTRY_CHANGES[number](path.read_text("utf-8").splitlines())
        path.write_text("".join(f"{line}\n" for line in relinked(lines)), "utf-8")

    return do


def noticed_in_packet(top: Path) -> set[str]:
    """Return the checks of `verify.py` that a packet fails."""
    try:
        return {one.name for one in check(top, known=OURS) if one.wrong}
    except NoPacketError:
        return {"refused"}


def noticed_in_record(data: Path) -> set[str]:
    """Return the checks of `verify` that a record fails or lacks, and whether the bot starts."""
    found: set[str] = set()
    try:
        result = check_whole(Settings(data))
        found |= {one.name for one in result.checks if one.wrong}
        found |= {f"not there: {one.name}" for one in result.checks if one.lacks}
    except StoreError:
        found.add("refused")
    try:
        _, store = open_desk(Settings(data), book_for(Settings(data)), "lines")
        store.close()
    except StoreError:
        found.add("the bot's start")
    return found


VERIFY, PACKET, OWN, SSH, CODE, START = (
    "verify", "packet", "verify.py", "openssl, ssh-keygen", "a code in a chat", "the bot's start",
)  # fmt: skip
WHO = (VERIFY, PACKET, OWN, SSH, CODE, START)
"""Who may notice: the command; making a packet; its own checker, told the fingerprint; other
programs on it; whoever kept the code of a pause; the bot."""


def codes_of(data: Path) -> list[tuple[str, int, str]]:
    """Return the codes that were shown in chats: job, entries, root."""
    with open_reader(data) as reader:
        return [(entry["job"], entry["body"]["size"], entry["body"]["root"])
                for entry in reader.entries(1) if entry["kind"] == "checkpoint"]  # fmt: skip


def is_other(data: Path, codes: list[tuple[str, int, str]]) -> bool:
    """Say whether a record is another than the codes were given for."""
    with closing(sqlite3.connect(data / FILE_NAME)) as db:
        rows = db.execute("SELECT line FROM journal WHERE job = 1 ORDER BY seq").fetchall()
    lines = [str(line) for (line,) in rows]
    receipts = (f"job {job} entries {size} root {root}" for job, size, root in codes)
    return any(list(check_receipt(lines, receipt)) for receipt in receipts)


def who_notices(data: Path, before: set[str], codes: list[tuple[str, int, str]]) -> set[str]:
    """Return who notices that a record was tampered with."""
    found, out = set[str](), data.parent.with_name("job-1.zip")
    try:
        found |= {CODE} if is_other(data, codes) else set()
    except (sqlite3.Error, ValueError, KeyError):
        found.add(CODE)
    try:
        sealed = make_packet(Settings(data), 1, out, max)
        found |= {PACKET} if sealed.wrong else set()
        found |= {OWN} if any(one.wrong for one in check(out, known=OURS)) else set()
        top = unpacked(out, data.parent.with_name("unpacked"))
        found |= {SSH} if caught_by(top, ("openssl", "ssh-keygen")) else set()
    except StoreError:
        found |= {PACKET}
    # The bot's start comes last: it may write.
    mine = noticed_in_record(data) - before
    return found | ({START} & mine) | ({VERIFY} if mine - {START} else set())


def made(folder: Path) -> tuple[Path, Path]:
    """Return a record with its key and notes, and its unpacked packet."""
    data = folder / "record" / "data"
    data.parent.mkdir()
    carried(data, "truck_moved_and_changed")
    with_key(data)
    shutil.copyfile(data / FILE_NAME, data.with_name("before.db"))
    with written(data) as store:
        store.commit(Batch(NOW, "UTC", entries=(NewEntry(1, "told", {"what": "x"}, by="bot"),)))
        remember(Settings(data).seen_file, store, 1)
    return data, unpacked(packed(data, folder / "job-1.zip"), folder / "packet")


def record_copy(data: Path, folder: Path) -> Path:
    """Copy a record with what stands beside it."""
    shutil.copytree(data.parent, folder)
    return folder / "data"


def flipped(data: Path, seed: int) -> None:
    """Flip one bit of the database."""
    chance, path = random.Random(seed), data / FILE_NAME  # noqa: S311  not a secret
    content = bytearray(path.read_bytes())
    content[chance.randrange(len(content))] ^= 1 << chance.randrange(8)
    path.write_bytes(content)


def bound(data: Path) -> object:
    """Return everything of a record that is evidence; None if it cannot be read."""
    try:
        with closing(sqlite3.connect(data / FILE_NAME)) as db:
            return [db.execute(f"SELECT * FROM {table} ORDER BY 1, 2").fetchall()  # noqa: S608  fixed
                    for table in ("journal", "private")]  # fmt: skip
    except sqlite3.Error:
        return None


def main() -> None:
    """Run every tampering and print who notices."""
    logging.disable()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        data, top = made(folder)
        _packets(folder, top)
        _records(folder, data)
        _flips(folder, data)


def _packets(folder: Path, top: Path) -> None:
    """Tamper with a packet, and with its customer's reader in mind: what each program says."""
    tampers = list(packet_tampers(top))
    say(f"packet: {len(tampers)} tamperings; * marks what only every fifth was tried on\n")
    counts: dict[str, Counter[str]] = {has: Counter() for has in LEVELS}
    for number, tamper in enumerate(tampers):
        copy = Path(shutil.copytree(top, folder / "one" / top.name))
        tamper.do(copy)
        mine, count = noticed_in_packet(copy), counts[tamper.has]
        count.update({"all": 1, OWN: bool(mine)})
        if number % 5 == 0:
            count.update(["tried", *caught_by(copy, CHECKS[:-1])])
        if not mine:
            say(f"  noticed by none: {tamper.name} (done with {tamper.has})\n")
        shutil.rmtree(folder / "one")
    row("done with", "all", OWN, *(f"{check}*" for check in CHECKS[:-1]))
    for has, count in counts.items():
        others = (f"{count[check]} of {count['tried']}" for check in CHECKS[:-1])
        row(has, str(count["all"]), str(count[OWN]), *others)


def _records(folder: Path, data: Path) -> None:
    with closing(sqlite3.connect(data / FILE_NAME)) as db:
        sizes = dict(db.execute("SELECT job, max(seq) + 1 FROM journal GROUP BY job"))
    before = noticed_in_record(record_copy(data, folder / "whole" / "copy"))
    tampers, codes = list(record_tampers(sizes)), codes_of(data)
    say(f"\nrecord, without the key: {len(tampers)} tamperings; intact: {sorted(before)}\n")
    row("", *WHO)
    found: Counter[str] = Counter()
    for tamper in tampers:
        copy = record_copy(data, folder / "one" / "copy")
        tamper.do(copy)
        who = who_notices(copy, before, codes)
        found.update(who or {"nobody"})
        row(tamper.name, *("x" if one in who else "" for one in WHO))
        shutil.rmtree(folder / "one")
    row("noticed, of " + str(len(tampers)), *(str(found[one]) for one in WHO))
    say(f"noticed by nobody: {found['nobody']}\n")


def _flips(folder: Path, data: Path) -> None:
    before, flips = noticed_in_record(record_copy(data, folder / "two")), Counter[str]()
    for seed in range(200):
        copy = record_copy(data, folder / "one")
        flipped(copy, seed)
        kind = "evidence the same" if bound(copy) == bound(data) else "evidence changed"
        is_noticed = noticed_in_record(copy) - before
        flips[f"{kind}, {'noticed' if is_noticed else 'not noticed'}"] += 1
        shutil.rmtree(folder / "one")
    say("\n200 bits flipped in the database:\n")
    say("".join(f"  {kind}: {count}\n" for kind, count in flips.most_common()))


def row(name: str, *cells: str) -> None:
    """Print a row of a table."""
    say(f"  {name:<48}" + "".join(f"{cell:>{max(13, len(cell) + 2)}}" for cell in cells) + "\n")


def say(text: str) -> None:
    """Print a part of the report."""
    sys.stdout.write(text)
    sys.stdout.flush()


if __name__ == "__main__":
    main()

"""Every tampering we know with a record and with a packet, and who notices: a table.

`python -m tests.packet.tampers` runs all of it and prints the table; the tests run a sample.
A tampering is done with what its doer has: the files alone, the files and the manifests made
again, a key of their own, or the company's key.
"""

import hashlib
import json
import random
import shutil
import sqlite3
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from bot.commands.bootstrap import book_for, open_desk
from bot.machine.settings import Settings
from bot.packet.bag import allowed_signers
from bot.packet.checking import check_whole
from bot.packet.reading import NoPacketError
from bot.packet.verify import check
from bot.record.arithmetic import fingerprint
from bot.record.canonical import canonical
from bot.record.chain import link
from bot.record.errors import StoreError
from bot.record.keys import public_pem, scripted_signer, ssh_line
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

OURS = fingerprint(scripted_signer("1").public)


@dataclass(frozen=True)
class Tamper:
    """One tampering: its name, what its doer has, and how it is done to a copy."""

    name: str
    has: str
    do: Callable[[Path], None]


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


def flip(path: Path) -> None:
    """Change one bit in the middle of a file, so that text stays text."""
    content = bytearray(path.read_bytes())
    content[len(content) // 2] ^= 1
    path.write_bytes(content)


def add_to(path: Path) -> None:
    """Say something else at the end of a file: its last line again."""
    content = path.read_bytes()
    path.write_bytes(content + content.rstrip(b"\n").rpartition(b"\n")[2] + b"\n")


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


def fact_changed(lines: list[str]) -> list[str]:
    return [line.replace('"value":"breakdown"', '"value":"crash"') for line in lines]


def verdict_changed(lines: list[str]) -> list[str]:
    return [line.replace('"verdict":"go"', '"verdict":"no-go"') for line in lines]


def last_gone(lines: list[str]) -> list[str]:
    return lines[:-1]


def tail_gone(lines: list[str]) -> list[str]:
    return lines[: len(lines) // 2]


def one_gone(lines: list[str]) -> list[str]:
    return [*lines[:20], *lines[21:]]


def one_added(lines: list[str]) -> list[str]:
    return [*lines, lines[-1]]


def two_swapped(lines: list[str]) -> list[str]:
    return [*lines[:30], lines[31], lines[30], *lines[32:]]


def who_changed(lines: list[str]) -> list[str]:
    return [line.replace('"by":"p1"', '"by":"p2"') for line in lines]


def time_changed(lines: list[str]) -> list[str]:
    return [line.replace('"written":"2', '"written":"3') for line in lines]


def late_hidden(lines: list[str]) -> list[str]:
    return [line.replace('"late":false', '"late":true') for line in lines]


ENTRY_CHANGES = (fact_changed, verdict_changed, last_gone, tail_gone, one_gone, one_added,
                 two_swapped, who_changed, time_changed, late_hidden)  # fmt: skip


def _relinked(number: int) -> Callable[[Path], None]:
    def do(top: Path) -> None:
        path = top / "data/entries.jsonl"
        lines = ENTRY_CHANGES[number](path.read_text("utf-8").splitlines())
        path.write_text("".join(f"{line}\n" for line in relinked(lines)), "utf-8")

    return do


def relinked(lines: list[str]) -> list[str]:
    """Return lines as a chain of their own."""
    prev, made = "0" * 64, []
    for seq, text in enumerate(lines):
        entry = json.loads(text) | {"seq": seq}
        entry.pop("prev")
        line, prev = link(prev, entry)
        made.append(line)
    return made


def noticed_in_packet(top: Path) -> set[str]:
    """Return the checks of `verify.py` that a packet fails."""
    try:
        return {one.name for one in check(top, known=OURS) if one.wrong}
    except NoPacketError:
        return {"refused"}


# A record; without the company's key.


def sql(*statements: str) -> Callable[[Path], None]:
    """Return what runs statements on a record without its triggers."""

    def do(data: Path) -> None:
        with closing(sqlite3.connect(data / FILE_NAME)) as db, db:
            for (name,) in db.execute(
                "SELECT name FROM sqlite_master WHERE type='trigger'"
            ).fetchall():
                db.execute(f"DROP TRIGGER {name}")
            for statement in statements:
                db.execute(statement)

    return do


def chain_of(job: int, change: Callable[[list[str]], list[str]]) -> Callable[[Path], None]:
    """Return what puts changed lines into a chain, linked anew, with their digests."""

    def do(data: Path) -> None:
        sql()(data)
        with closing(sqlite3.connect(data / FILE_NAME)) as db, db:
            rows = db.execute("SELECT line FROM journal WHERE job = ? ORDER BY seq", [job])
            made = change([line for (line,) in rows.fetchall()])
            db.execute("DELETE FROM journal WHERE job = ?", [job])
            prev = "0" * 64
            for seq, text in enumerate(made):
                entry = json.loads(text) | {"seq": seq}
                entry.pop("prev")
                line, prev = link(prev, entry)
                db.execute("INSERT INTO journal VALUES (?, ?, ?, ?)", [job, seq, line, prev])

    return do


def at(seq: int, how: str) -> Callable[[list[str]], list[str]]:
    """Return a change to one entry: its speaker, its absence, or once more."""

    def change(lines: list[str]) -> list[str]:
        line = lines[seq]
        ways = {
            "changed": [line.replace('"zone":"', '"zone":"x')],
            "gone": [],
            "twice": [line, line],
        }
        return [*lines[:seq], *ways[how], *lines[seq + 1 :]]

    return change


def file_tamper(do: Callable[[Path], None]) -> Callable[[Path], None]:
    return lambda data: do(sorted((data / "files").iterdir())[0])


def emptied(data: Path) -> None:
    shutil.rmtree(data / "files")


def linked(path: Path) -> None:
    away = path.with_name("away")
    path.rename(away)
    path.symlink_to(away)


def key_swapped(data: Path) -> None:
    with_key(data, "2")


def rolled_back(data: Path) -> None:
    """Put the record back as it was before the last commit; its notes stay."""
    for name in (FILE_NAME, f"{FILE_NAME}-wal"):
        (data / name).unlink(missing_ok=True)
    shutil.copyfile(data.with_name("before.db"), data / FILE_NAME)


def notes_gone(data: Path) -> None:
    for path in (Settings(data).seen_file, Settings(data).head_file):
        path.unlink(missing_ok=True)


def signed_by_another(data: Path) -> None:
    """Begin the head again with a key of one's own."""
    sql("DELETE FROM signed_chains", "DELETE FROM signed_head")(data)
    with written(data, "2") as store:
        store.commit(Batch(NOW, "UTC", entries=(NewEntry(0, "speaks", {}, by="p1"),)))


def record_tampers(sizes: dict[int, int]) -> Iterator[Tamper]:
    """Yield every tampering with a record."""
    for job, size in sizes.items():
        for seq in sorted({0, 1, size // 4, size // 2, size - 20, size - 3, size - 1}):
            for how in ("changed", "gone", "twice") if 0 <= seq < size else ():
                yield Tamper(f"job {job} entry {seq} {how}", "", chain_of(job, at(seq, how)))
        for change in ENTRY_CHANGES if job else ():
            yield Tamper(f"job {job}: {change.__name__}", "", chain_of(job, change))
    yield from (Tamper(name, "", do) for name, do in RECORD.items())


RECORD: dict[str, Callable[[Path], None]] = {
    "a job taken away": sql("DELETE FROM journal WHERE job = 1", "DELETE FROM private"),
    "a line changed in place": sql("UPDATE journal SET line = replace(line, 'fact', 'fuct')"),
    "a digest changed": sql("UPDATE journal SET digest = 'ab' WHERE job = 1 AND seq = 9"),
    "a value changed": sql("UPDATE private SET value = '\"x\"'"),
    "a value's salt changed": sql("UPDATE private SET salt = 'ab'"),
    "a value taken away": sql("DELETE FROM private WHERE digest < '1'"),
    "every value taken away": sql("DELETE FROM private"),
    "a value added": sql("INSERT INTO private VALUES ('ab', 'cd', '1')"),
    "the head taken away": sql("DELETE FROM signed_head"),
    "the head's tables taken away": sql("DROP TABLE signed_head", "DROP TABLE signed_chains",
                                        "PRAGMA user_version = 2"),
    "the head as of before any": sql("UPDATE signed_head SET number = 0, signature = ''"),
    "the head's signature changed": sql("UPDATE signed_head SET signature = key || key"),
    "the head's number changed": sql("UPDATE signed_head SET number = number - 1"),
    "the head's chains taken away": sql("DELETE FROM signed_chains"),
    "the head's nodes changed": sql("UPDATE signed_chains SET nodes = replace(nodes, 'a', 'b')"),
    "the head begun again with another key": signed_by_another,
    "an older record in its place": rolled_back,
    "another key in its place": key_swapped,
    "the notes taken away": notes_gone,
    "a file flipped": file_tamper(flip),
    "a file longer": file_tamper(add_to),
    "a file gone": file_tamper(lambda path: path.unlink()),
    "a file linked": file_tamper(linked),
    "a file emptied": file_tamper(lambda path: path.write_bytes(b"")),
    "every file gone": emptied,
    "a message that waits is junk": sql(
        "INSERT INTO inbox (channel, chat, ext_id, body, body_digest, wall_ms, mono_ns, boot)"
        " VALUES ('lines', 'driver:sam', 'w1', '{', 'x', 1, '1', 'b')"),
}  # fmt: skip


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
    out = sys.stdout.write
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        data, top = made(folder)
        out("packet: tampering with each file and the entries; with what; noticed by; by none\n")
        tampers, none = list(packet_tampers(top)), []
        counts: dict[str, Counter[str]] = {has: Counter() for has in LEVELS}
        for number, tamper in enumerate(tampers):
            copy = Path(shutil.copytree(top, folder / "one" / top.name))
            tamper.do(copy)
            others = caught_by(copy) - {"verify.py"} if number % 5 == 0 else set()
            mine = noticed_in_packet(copy)
            counts[tamper.has].update(
                {"all": 1, "verify.py": bool(mine), **dict.fromkeys(others, 1)}
            )
            counts[tamper.has]["tried on the others"] += number % 5 == 0
            if not mine:
                none.append(f"{tamper.name} ({tamper.has})")
            shutil.rmtree(folder / "one")
        for has, count in counts.items():
            rest = ", ".join(f"{check} {count[check]}" for check in CHECKS[:-1])
            out(f"  with {has}: {count['all']} tried, verify.py notices {count['verify.py']};"
                f" of {count['tried on the others']}: {rest}\n")  # fmt: skip
        out("".join(f"    noticed by none: {one}\n" for one in none))
        _records(folder, data)


def _records(folder: Path, data: Path) -> None:
    out = sys.stdout.write
    with closing(sqlite3.connect(data / FILE_NAME)) as db:
        sizes = dict(db.execute("SELECT job, max(seq) + 1 FROM journal GROUP BY job"))
    found: Counter[str] = Counter()
    before = noticed_in_record(record_copy(data, folder / "whole"))
    tampers = list(record_tampers(sizes))
    out(f"record, without the key: {len(tampers)} tried; intact it lacks {sorted(before)}\n")
    for tamper in tampers:
        copy = record_copy(data, folder / "one")
        tamper.do(copy)
        mine = noticed_in_record(copy) - before
        found.update(mine)
        out(f"    {tamper.name}: {', '.join(sorted(mine)) or 'NOBODY'}\n")
        shutil.rmtree(folder / "one")
    out("".join(f"  {check}: {count}\n" for check, count in found.most_common()))
    flips: Counter[str] = Counter()
    for seed in range(200):
        copy = record_copy(data, folder / "one")
        flipped(copy, seed)
        kind = "noticed" if noticed_in_record(copy) - before else "not noticed"
        kind += ", evidence changed" if bound(copy) != bound(data) else ", evidence the same"
        flips[kind] += 1
        shutil.rmtree(folder / "one")
    out("".join(f"  200 bits flipped in the database: {kind}: {n}\n" for kind, n in flips.items()))


if __name__ == "__main__":
    main()

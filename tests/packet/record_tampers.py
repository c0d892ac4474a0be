"""Every tampering we know with a record; its doer has the database, and not the company's key."""

import hashlib
import json
import os
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

from bot.machine.settings import Settings
from bot.record.chain import link
from bot.record.checkpoints import CompanySeals, key_entry
from bot.record.keys import scripted_signer
from bot.record.rows import Batch, NewEntry
from bot.record.schema import FILE_NAME
from tests.bot.turns import NOW
from tests.packet.packets import (
    with_key,
    written,
)
from tests.packet.tampering import ENTRY_CHANGES, Tamper, add_to, flip


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


def before_last_checkpoint(lines: list[str]) -> list[str]:
    marks = [seq for seq, line in enumerate(lines) if '"kind":"checkpoint"' in line]
    return lines[: marks[-1]]


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


FIELDS: dict[str, tuple[str, str]] = {
    "what a fact says": ('"value":"breakdown"', '"value":"crash"'),
    "a verdict": ('"verdict":"go"', '"verdict":"no-go"'),
    "who said it": ('"by":"p1"', '"by":"p2"'),
    "who was at the vehicle": ('"vehicle":"p', '"vehicle":"q'),
    "when it was written": ('"written":"2', '"written":"3'),
    "the zone": ('"zone":"', '"zone":"x'),
    "the boot": ('"boot":"', '"boot":"x'),
    "the boot clock": ('"mono_ns":"', '"mono_ns":"1'),
    "that it was late": ('"late":false', '"late":true'),
    "its kind": ('"kind":"act"', '"kind":"acts"'),
    "an act": ('"act":"', '"act":"un'),
    "a photo's digest": ('"sha256":"', '"sha256":"0'),
    "a commitment": ('"commitment":"', '"commitment":"0'),
    "a checkpoint's root": ('"root":"', '"root":"0'),
    "a checkpoint's signature": ('"signature":"', '"signature":"0'),
    "its form": ('"v":1', '"v":2'),
}
"""What of an entry is changed, wherever it occurs: the old text and the new."""


def in_place(old: str, new: str, *, digests: bool) -> Callable[[Path], None]:
    """Return what changes a text in a job's entries, and if wanted their digests."""

    def do(data: Path) -> None:
        sql()(data)
        with closing(sqlite3.connect(data / FILE_NAME)) as db, db:
            rows = db.execute("SELECT seq, line FROM journal WHERE job = 1").fetchall()
            for seq, line in rows:
                if (made := line.replace(old, new)) != line:
                    db.execute(
                        "UPDATE journal SET line = ? WHERE job = 1 AND seq = ?", [made, seq]
                    )
                    if digests:
                        mark = hashlib.sha256(made.encode()).hexdigest()
                        db.execute("UPDATE journal SET digest = ? WHERE job = 1 AND seq = ?",
                                   [mark, seq])  # fmt: skip

    return do


def record_tampers(sizes: dict[int, int]) -> Iterator[Tamper]:
    """Yield every tampering with a record."""
    for job, size in sizes.items():
        for seq in sorted({0, 1, size // 4, size // 2, size - 20, size - 3, size - 1}):
            for how in ("changed", "gone", "twice") if 0 <= seq < size else ():
                yield Tamper(f"job {job} entry {seq} {how}", "", chain_of(job, at(seq, how)))
        for change in ENTRY_CHANGES if job else ():
            yield Tamper(f"job {job}: {change.__name__}", "", chain_of(job, change))
    for name, (old, new) in FIELDS.items():
        for how, digests in (("in place", False), ("in place, with its digest", True)):
            yield Tamper(f"{name}, {how}", "", in_place(old, new, digests=digests))
    yield from (Tamper(name, "", do) for name, do in RECORD.items())


def company_without(kind: str) -> Callable[[Path], None]:
    """Return what takes the company's entries of a kind away, and links the rest again."""
    return chain_of(0, lambda lines: [one for one in lines if f'"kind":"{kind}"' not in one])


def company_with(kind: str, body: dict[str, object]) -> Callable[[Path], None]:
    """Return what adds an entry of the company's, linked to the last."""

    def change(lines: list[str]) -> list[str]:
        return [*lines, json.dumps({**json.loads(lines[-1]), "kind": kind, "body": body})]

    return chain_of(0, change)


def company_says(old: str, new: str) -> Callable[[Path], None]:
    return chain_of(0, lambda lines: [line.replace(old, new) for line in lines])


def erased_quietly(data: Path) -> None:
    """Take a value away, with an entry that says it was lawful, and no key."""
    with closing(sqlite3.connect(data / FILE_NAME)) as db:
        (mark,) = db.execute("SELECT min(digest) FROM private").fetchone()
    company_with("erased", {"job": "1", "what": "values", "count": 1, "marks": [mark]})(data)
    sql(f"DELETE FROM private WHERE digest = '{mark}'")(data)  # noqa: S608  a digest


def values_exchanged(data: Path) -> None:
    """Exchange two personal values with their salts."""
    sql()(data)
    with closing(sqlite3.connect(data / FILE_NAME)) as db, db:
        one, two = db.execute("SELECT * FROM private ORDER BY digest LIMIT 2").fetchall()
        for (mark, *_), (_, salt, value) in ((one, two), (two, one)):
            db.execute("UPDATE private SET salt = ?, value = ? WHERE digest = ?",
                       [salt, value, mark])  # fmt: skip


def own_key_named(data: Path) -> None:
    """Name a key of one's own as the company's next, and sign the head with it."""
    with written(data, "2") as store:
        company = CompanySeals()
        company.follow(store)
        entry = key_entry(scripted_signer("2"), company.public, None)
        store.commit(Batch(NOW, "UTC", entries=(entry,)))


def job_added(data: Path) -> None:
    """Add a job that never was, its only entry well linked."""
    sql()(data)
    with closing(sqlite3.connect(data / FILE_NAME)) as db, db:
        (text,) = db.execute("SELECT line FROM journal WHERE job = 1 AND seq = 0").fetchone()
        entry = json.loads(text) | {"job": "2"}
        entry.pop("prev")
        line, mark = link("0" * 64, entry)
        db.execute("INSERT INTO journal VALUES (2, 0, ?, ?)", [line, mark])
        db.execute("INSERT OR IGNORE INTO jobs VALUES (2, 'open')")


def noted(name: str, content: bytes | None) -> Callable[[Path], None]:
    """Return what puts something in the place of a note or key beside a record; None takes it."""

    def do(data: Path) -> None:
        path: Path = getattr(Settings(data), name)
        path.unlink(missing_ok=True)
        if content is not None:
            path.write_bytes(content)
            path.chmod(0o600)

    return do


def key_readable(data: Path) -> None:
    Settings(data).key_file.chmod(0o644)


def files_swapped(data: Path) -> None:
    one, two = sorted(path for path in (data / "files").iterdir() if not path.suffix)[:2]
    first, second = one.read_bytes(), two.read_bytes()
    one.write_bytes(second)
    two.write_bytes(first)


def on_drawing(do: Callable[[Path], None]) -> Callable[[Path], None]:
    return lambda data: do(min((data / "files").glob("*.svg")))


def piped(path: Path) -> None:
    path.unlink()
    os.mkfifo(path)


def folder_there(path: Path) -> None:
    path.unlink()
    path.mkdir()


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
    "two files exchanged": files_swapped,
    "a file cut short": file_tamper(lambda path: path.write_bytes(path.read_bytes()[:100])),
    "a pipe in a file's place": file_tamper(piped),
    "a folder in a file's place": file_tamper(folder_there),
    "a file renamed": file_tamper(lambda path: path.rename(path.with_name("a" * 64))),
    "a drawing changed": on_drawing(lambda path: path.write_bytes(b"<svg/>")),
    "a drawing gone": on_drawing(lambda path: path.unlink()),
    "a drawing linked": on_drawing(linked),
    "two values exchanged": values_exchanged,
    "a value given again": sql("INSERT INTO private SELECT 'f' || substr(digest, 2), salt, value"
                               " FROM private LIMIT 1"),
    "a value no longer readable": sql("UPDATE private SET value = '{' WHERE digest ="
                                      " (SELECT min(digest) FROM private)"),
    "a value erased, with an entry without the key": erased_quietly,
    "a person's role raised": company_says('"role":"driver"', '"role":"owner"'),
    "a person taken away": company_without("enrolled"),
    "a person added": company_with("enrolled", {"person": "p9", "role": "owner"}),
    "the key's entry taken away": company_without("key"),
    "the key's entry changed": company_says('"fingerprint":"SHA256:', '"fingerprint":"SHA256:x'),
    "a key of one's own named": own_key_named,
    "the roots over all jobs taken away": company_without("all_jobs"),
    "a root over all jobs changed": company_says('"jobs":1', '"jobs":2'),
    "a hold forged": company_with("hold", {"job": "1", "event": "released", "why": "x"}),
    "an erasure forged": company_with("erased", {"job": "1", "what": "files", "count": 0,
                                                 "marks": []}),
    "a beginning of the head forged": company_with("bound", {"why": "begun", "number": 1}),
    "the company's entries all gone": chain_of(0, lambda lines: []),
    "a job added": job_added,
    "a job's entries all gone": chain_of(1, lambda lines: []),
    "a job's entries in another order": chain_of(1, lambda lines: lines[::-1]),
    "the first entry twice, the last one gone": chain_of(1, lambda lines: [lines[0], *lines[:-1]]),
    "every checkpoint gone": chain_of(
        1, lambda lines: [one for one in lines if '"kind":"checkpoint"' not in one]),
    "the last checkpoint gone, and all behind it": chain_of(1, before_last_checkpoint),
    "the head's root changed": sql("UPDATE signed_head SET root = key"),
    "the head's key changed": sql("UPDATE signed_head SET key = root"),
    "the head's number raised": sql("UPDATE signed_head SET number = number + 1"),
    "the head over fewer chains": sql("UPDATE signed_head SET chains = chains - 1"),
    "the head's tree of a job gone": sql("DELETE FROM signed_chains WHERE job = 1"),
    "the head's tree of another size": sql("UPDATE signed_chains SET size = size + 2"),
    "the head's tree unreadable": sql("UPDATE signed_chains SET nodes = 'x'"),
    "the note of the checkpoint gone": noted("seen_file", None),
    "the note of the checkpoint junk": noted("seen_file", b"{"),
    "the note of the checkpoint another": noted(
        "seen_file", b'{"1":{"head":"ab","seq":3}}'),
    "the note of the head gone": noted("head_file", None),
    "the note of the head junk": noted("head_file", b"\0" * 1024),
    "the key gone": noted("key_file", None),
    "the key junk": noted("key_file", b"junk"),
    "the key readable by others": key_readable,
    "a timer's payload junk": sql(
        "INSERT INTO timers VALUES (1, 'x', 1, '1', 'b', 1, '{')"),
    "a reply that waits is junk": sql(
        "INSERT INTO outbox (channel, chat, seq, body) VALUES ('lines', 'driver:sam', 9999, '7')"),
    "a message that waits is junk": sql(
        "INSERT INTO inbox (channel, chat, ext_id, body, body_digest, wall_ms, mono_ns, boot)"
        " VALUES ('lines', 'driver:sam', 'w1', '{', 'x', 1, '1', 'b')"),
}  # fmt: skip

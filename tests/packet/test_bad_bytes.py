"""Bad bytes get words: what is wrong with a packet or a record is named, and nothing raises."""

import ast
import hashlib
import json
import os
import random
import resource
import shutil
import sqlite3
import subprocess
import sys
import time
import zipfile
from collections.abc import Iterable, Iterator
from contextlib import closing
from pathlib import Path

import pytest

from bot.commands.bootstrap import book_for, open_desk, scripted
from bot.commands.cli import main
from bot.commands.proving import make_customer_copy, make_packet, rotate_key
from bot.machine.settings import Settings
from bot.packet import verify
from bot.packet.build import CHECKERS
from bot.packet.checking import check_packet, check_whole
from bot.packet.reading import LARGEST_FILE, MOST_VALUES
from bot.packet.verify import MOST_MARKS, MOST_TOLD, statement
from bot.record.arithmetic import Tree, leaf_hash
from bot.record.chain import link
from bot.record.checkpoints import CompanySeals, key_entry
from bot.record.copies import back_up
from bot.record.errors import StoreError
from bot.record.keys import make_key, read_key, scripted_signer
from bot.record.rows import Batch, NewEntry
from bot.record.schema import FILE_NAME
from bot.record.store import Store
from tests.bot.turns import NOW
from tests.packet.packets import ALONE, carried, packed, redone, unpacked, with_key, written
from tests.packet.record_tampers import sql

NASTY = "\x1b[2J\r\u202e\u200b\x9b\nHOLDS  every file is listed and unchanged"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("record")
    carried(folder / "data", "truck_moved_and_changed", photos=2)
    with_key(folder / "data")
    packed(folder / "data", folder / "job-1.zip")
    return folder


@pytest.fixture
def packet(made: Path) -> Path:
    return made / "job-1.zip"


@pytest.fixture
def top(packet: Path, tmp_path: Path) -> Path:
    return unpacked(packet, tmp_path / "out")


@pytest.fixture
def data(made: Path, tmp_path: Path) -> Path:
    shutil.copytree(made, tmp_path / "record")
    return tmp_path / "record" / "data"


def failing(path: Path) -> dict[str, list[str]]:
    return {one.name: one.wrong for one in check_packet(path).checks if one.wrong}


def states(path: Path) -> dict[str, str]:
    return {one.name: one.state for one in check_packet(path).checks}


def checks_of(data: Path) -> dict[str, list[str]]:
    return {one.name: one.wrong for one in check_whole(Settings(data)).checks if one.wrong}


# A packet.


def test_a_flipped_byte_in_a_zip_is_named_with_its_file(packet: Path, tmp_path: Path) -> None:
    with zipfile.ZipFile(packet) as found:
        info = found.getinfo("job-1/data/photos/photo-001.jpg")
    content = bytearray(packet.read_bytes())
    content[info.header_offset + 200] ^= 0x40
    (tmp_path / "bad.zip").write_bytes(content)
    wrong = failing(tmp_path / "bad.zip")
    assert wrong["every file is listed and unchanged"] == ["data/photos/photo-001.jpg was changed"]
    assert "each file as received" in wrong
    assert states(tmp_path / "bad.zip")["the signed head reaches every entry"] == "HOLDS"


def test_a_flipped_byte_in_the_entries_leaves_the_other_checks(top: Path) -> None:
    path = top / "data/entries.jsonl"
    lines = path.read_bytes().split(b"\n")
    lines[5] = b"\xff" + lines[5][1:]
    path.write_bytes(b"\n".join(lines))
    found = states(top)
    assert found["the entries can be read"] == "FAILS"
    assert found["the signature over the manifest"] == "HOLDS"
    assert found["the company's key"] == "HOLDS"
    lines[5] = b"{" + lines[5][1:].replace(b":", b";", 1)
    path.write_bytes(b"\n".join(lines))
    wrong = failing(top)["each entry follows from the entry before it"]
    assert len(wrong) == 1
    assert wrong[0].startswith("entry 5 cannot be read")


PROOFS = ("proof/head.json", "proof/files.json", "proof/keys.jsonl", "proof/values.jsonl",
          "proof/company.jsonl", "proof/all-jobs.jsonl", "proof/public-key.pem", "proof/key.pub",
          "process/clock.csv", "process/people.csv", "entries.csv", "entries.jsonl")  # fmt: skip


@pytest.mark.parametrize("content", [b"", b"{}\n", b"[]\n", b"\xff\xfe"])
@pytest.mark.parametrize("name", PROOFS)
def test_an_empty_or_odd_proof_is_named_and_the_rest_is_checked(
    top: Path, name: str, content: bytes
) -> None:
    (top / "data" / name).write_bytes(content)
    redone(top, sign="1")
    found = check_packet(top)
    assert found.code == 1, "the key's owner signed it, and it is wrong"
    assert {one.name for one in found.checks if one.wrong} - {"the signature over the manifest"}
    assert found.checks[0].state == "HOLDS"
    assert len(found.checks) >= 15


def test_a_hostile_packet_shows_nothing_but_its_own_words(
    top: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    keys, values = top / "data/proof/keys.jsonl", top / "data/proof/values.jsonl"
    entry = json.loads(keys.read_text())
    entry["body"]["fingerprint"] = NASTY
    keys.write_text(
        json.dumps(entry, sort_keys=True, separators=(",", ":"), ensure_ascii=False) + "\n"
    )
    lines = values.read_text().splitlines()
    values.write_text("".join(f"{line}\n" for line in [*lines, json.dumps({NASTY: NASTY})]))
    manifest = top / "manifest-sha256.txt"
    manifest.write_text(manifest.read_text() + NASTY + "\n")
    for run in (lambda: verify.main([str(top)]), lambda: main(["verify", str(top)]),
                lambda: main(["verify", str(top), "--json"]), lambda: main(["verify", NASTY]),
                lambda: verify.main([NASTY, "--receipt", NASTY])):  # fmt: skip
        assert run() in {1, 2}
        out, err = capsys.readouterr()
        assert err == ""
        assert not set(out) & set("\x1b\r\u202e\u200b\x9b")
        assert "HOLDS  every file is listed and unchanged" not in out.split("\n")


FUZZED = 25
"""How many changed packets and records a run of the tests takes."""


def shaken(content: bytes, chance: random.Random) -> bytes:
    """Return bytes with one thing changed: a bit, a byte, a piece gone, doubled or put in."""
    found, at = bytearray(content), chance.randrange(max(1, len(content)))
    size = chance.randrange(1, 40)
    match chance.randrange(6):
        case 0:
            found[at : at + 1] = bytes([(*found[at : at + 1], 0)[0] ^ 1 << chance.randrange(8)])
        case 1:
            found[at : at + 1] = chance.randbytes(1)
        case 2:
            del found[at : at + size]
        case 3:
            found[at:at] = found[at : at + size]
        case 4:
            found[at:at] = chance.choice(
                [b"\n", b'"', b"{", b"[", b"null", b"1e9", b"\x00", b"\xff"]
            )
        case _:
            del found[at:]
    return bytes(found)


@pytest.mark.parametrize("seed", range(FUZZED))
def test_no_changed_packet_raises(
    packet: Path, tmp_path: Path, seed: int, capsys: pytest.CaptureFixture[str]
) -> None:
    """The zip itself shaken, and a file in it shaken and all of it signed again."""
    chance = random.Random(seed)  # noqa: S311  not a secret
    bad = tmp_path / "bad.zip"
    bad.write_bytes(shaken(packet.read_bytes(), chance))
    assert verify.main([str(bad)]) in {0, 1, 2}
    top = unpacked(packet, tmp_path / "out")
    path = chance.choice(sorted(one for one in top.rglob("*") if one.is_file()))
    before = path.read_bytes()
    path.write_bytes(shaken(before, chance))
    if path.is_relative_to(top / "data"):
        redone(top, sign="1")
    code = verify.main([str(top)])
    assert code in {1, 2} or path.read_bytes() == before or path.name == "bag-info.txt"
    assert check_packet(top).code == code
    assert "Traceback" not in "".join(capsys.readouterr())


def test_the_packets_own_program_names_a_bad_file_too(top: Path) -> None:
    (top / "data/proof/head.json").write_bytes(b"")
    (top / "data/entries.csv").write_bytes(b'"')
    done = subprocess.run(ALONE, cwd=top, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (1, "")
    assert "this cannot be checked: data/proof/head.json has 0 lines" in done.stdout


# What never ends, or is far too much.


def within(seconds: int, mb: int, *command: object, cwd: Path) -> tuple[int, str]:
    """Run a program within limits; return its status and what it says."""

    def limits() -> None:
        resource.setrlimit(resource.RLIMIT_AS, (mb << 20, mb << 20))
        resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds))

    done = subprocess.run(
        [str(word) for word in command], cwd=cwd, capture_output=True, text=True, check=False,
        preexec_fn=limits, timeout=60,
    )  # fmt: skip
    assert done.stderr == ""
    return done.returncode, done.stdout


def test_a_pipe_or_a_device_is_refused_at_once(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "endless").symlink_to("/dev/zero")
    for name in ("pipe", "endless"):
        result = check_packet(tmp_path / name)
        assert result.code == 2
        assert "is not a plain file" in result.refused


def test_a_pipe_or_a_device_beside_a_record_is_named(data: Path) -> None:
    chosen = Settings(data)
    for path in (
        chosen.seen_file,
        chosen.head_file,
        chosen.key_file,
        *list((data / "files").iterdir())[:1],
    ):
        path.unlink(missing_ok=True)
        os.mkfifo(path, 0o600)
    found = check_whole(chosen)
    told = {one.name: one.state for one in found.checks}
    assert told["every file as received"] == "FAILS"
    assert told["the key beside the record"] == "FAILS"
    assert told["the last checkpoint and the last signed head that were seen"] == "NOT THERE"
    with pytest.raises(StoreError):
        open_desk(chosen, book_for(chosen), "lines")


def test_an_absurd_file_is_refused_before_it_is_read(top: Path) -> None:
    with (top / "data/photos/photo-001.jpg").open("r+b") as file:
        file.truncate(LARGEST_FILE + 1)
    assert "allowed: 67108864" in check_packet(top).refused


def test_a_text_of_millions_of_values_is_named_and_not_read(top: Path) -> None:
    (top / "data/proof/values.jsonl").write_bytes(b"[],\n" * (MOST_VALUES // 2))
    started = time.process_time()
    assert "lists more than" in failing(top)["each personal value shown"][0]
    assert time.process_time() - started < 10


def forged(top: Path, count: int) -> None:
    """Give a packet that many checkpoints more, each signed with a key of the forger's own."""
    signer, path = scripted_signer("1"), top / "data/entries.jsonl"
    first = json.loads(path.read_text().splitlines()[0])
    tree, lines, prev = Tree(), list[str](), "0" * 64
    signature = "00" * 64
    for seq in range(count):
        root = tree.root().hex()
        if seq < MOST_MARKS:
            signature = signer.sign(statement("1", tree.size, root)).hex()
        body = {"size": seq, "root": root, "key": signer.public.hex(), "signature": signature}
        entry = {**first, "seq": seq, "kind": "checkpoint", "body": body}
        entry.pop("prev")
        line, prev = link(prev, entry)
        tree.add(leaf_hash(line.encode()))
        lines.append(line)
    path.write_text("".join(f"{line}\n" for line in lines))


def test_twenty_thousand_forged_checkpoints_are_refused_in_time(top: Path) -> None:
    forged(top, 20_000)
    redone(top, sign="1")
    code, out = within(10, 300, *ALONE, cwd=top)
    assert code == 1
    assert f"there are more than {MOST_MARKS} checkpoints" in out


def test_a_check_tells_no_more_than_some_of_its_problems(top: Path) -> None:
    (top / "manifest-sha256.txt").write_text("junk\n" * 5_000)
    assert len(failing(top)["every file is listed and unchanged"]) == MOST_TOLD


# A record.


def spoiled(data: Path, table: str, column: str, value: object, where: str = "1") -> None:
    sql()(data)
    with closing(sqlite3.connect(data / FILE_NAME)) as db, db:
        db.execute("PRAGMA foreign_keys = OFF")
        db.execute(f"UPDATE {table} SET {column} = ? WHERE {where}", [value])  # noqa: S608  fixed names


def waiting(data: Path) -> None:
    """Leave two messages, two replies and two timers in a record that wait."""
    sql("UPDATE chats SET next_seq = 9100 WHERE chat = 'driver:sam'")(data)
    with closing(sqlite3.connect(data / FILE_NAME)) as db, db:
        body = json.dumps({"text": "status"})
        for name, seq, timer in (("w1", 9001, "one"), ("w2", 9002, "two")):
            db.execute("INSERT INTO inbox (channel, chat, ext_id, body, body_digest, wall_ms,"
                       " mono_ns, boot) VALUES ('lines', 'driver:sam', ?, ?, 'x', 1, '1', 'b')",
                       [name, body])  # fmt: skip
            shown = "SELECT 'lines', 'driver:sam', ?, body FROM outbox LIMIT 1"
            db.execute(f"INSERT INTO outbox (channel, chat, seq, body) {shown}", [seq])
            db.execute("INSERT INTO timers VALUES (1, ?, 1, '99', 'b', 1, '{}')", [timer])


BAD_BODIES = ["", "{", "7", "[]", "null", '{"text"', b"\xff\xfe", '{"shown":5}']
WAITING = {"inbox": ("body", "ext_id = 'w1'", "inbox: row"),
           "outbox": ("body", "seq = 9001", "outbox: row"),
           "timers": ("payload", "name = 'one'", "timers: row 1 one")}  # fmt: skip


@pytest.mark.parametrize("body", BAD_BODIES)
@pytest.mark.parametrize("table", WAITING)
def test_bad_bytes_in_what_waits_are_named_and_the_rest_goes_on(
    data: Path, table: str, body: str | bytes
) -> None:
    column, where, says = WAITING[table]
    if body == '{"shown":5}' and table != "outbox":
        return
    waiting(data)
    spoiled(data, table, column, body, where)
    (wrong,) = checks_of(data)["every message, reply and timer that waits"]
    assert wrong.startswith(says)
    chosen = Settings(data)
    desk, store = open_desk(chosen, book_for(chosen), "lines", secrets=scripted("1"))
    with store:
        assert {"one", "two"} <= {one.name for one in store.timers()}
        told = desk.catch_up()
        assert told, "the other message is answered"
        left = {one.seq for one in store.pending()} & {9001, 9002}
        assert left == ({9002} if table == "outbox" else {9001, 9002})
        assert store.unfinished() == []
    assert "every message, reply and timer that waits" not in checks_of(data)


@pytest.mark.parametrize(
    "text", ["", "{", "7", "[]", '{"1":5}', '{"x":{}}', '{"1":{"seq":[]}}', "\0"]
)
def test_a_bad_note_of_the_last_checkpoint_is_not_there(data: Path, text: str) -> None:
    chosen = Settings(data)
    chosen.seen_file.write_text(text)
    chosen.head_file.write_text(text)
    seen = "the last checkpoint and the last signed head that were seen"
    (one,) = [one for one in check_whole(chosen).checks if one.name == seen]
    assert (one.state, len(one.lacks)) == ("NOT THERE", 2)
    _, store = open_desk(chosen, book_for(chosen), "lines")
    store.close()


@pytest.mark.parametrize("value", ["{", "", "7x", '"another"', b"\xff"])
def test_one_bad_private_value_is_named_and_the_rest_is_shown(
    data: Path, value: str | bytes, capsys: pytest.CaptureFixture[str]
) -> None:
    with closing(sqlite3.connect(data / FILE_NAME)) as db:
        (mark,) = db.execute("SELECT min(digest) FROM private").fetchone()
    spoiled(data, "private", "value", value, f"digest = '{mark}'")
    (wrong,) = checks_of(data)["every chain, and every personal value"]
    assert mark in wrong
    assert main(["trail", "1", "--data", str(data)]) == 0
    shown = capsys.readouterr().out
    assert "another" not in shown
    assert len(shown.splitlines()) > 50
    sealed = make_packet(Settings(data), 1, data.with_name("job-1.zip"), max, seed="1")
    assert sealed.wrong
    assert check_packet(data.with_name("job-1.zip")).code == 0


def test_a_bad_drawing_is_left_out_with_words(data: Path) -> None:
    drawing = min((data / "files").glob("*.svg"))
    drawing.write_bytes(b"<svg><broken")
    sealed = make_packet(Settings(data), 1, data.with_name("job-1.zip"), max, seed="1")
    assert "drawing, left out" in sealed.wrong[0]
    assert "every file as received" in checks_of(data)


@pytest.mark.parametrize("content", ["<svg><broken", "", "<svg>&x;</svg>"])
def test_a_drawing_that_cannot_be_shown_stops_no_page(data: Path, content: str) -> None:
    """It is as it was kept, by somebody who could write the record: its digest is right."""
    mark = hashlib.sha256(content.encode()).hexdigest()
    (data / "files" / f"{mark}.svg").write_text(content)
    with written(data) as store:
        body = next(e["body"] for e in store.entries(1) if e["kind"] == "concluded")
        entry = NewEntry(1, "concluded", {**body, "drawing": {"sha256": mark}}, by="p1")
        store.commit(Batch(NOW, "UTC", entries=(entry,)))
    sealed = make_packet(Settings(data), 1, data.with_name("job-1.zip"), max, seed="1")
    assert sealed.wrong == ()
    assert check_packet(data.with_name("job-1.zip")).code == 0


@pytest.mark.parametrize("seed", range(FUZZED))
def test_no_changed_record_raises(
    data: Path, seed: int, capsys: pytest.CaptureFixture[str]
) -> None:
    """A cell of any table shaken, or a bit of the file: every reading command has words for it."""
    chance, path = random.Random(1000 + seed), data / FILE_NAME  # noqa: S311  not a secret
    if seed % 5 == 0:
        content = bytearray(path.read_bytes())
        content[chance.randrange(len(content))] ^= 1 << chance.randrange(8)
        path.write_bytes(content)
    else:
        shake_row(data, chance)
    making = ["packet", "1", "--seed", "1", "--out", str(data.with_name("p.zip"))]
    for command in (["verify"], ["verify", "--json"], ["status"], ["trail", "1"], making):
        assert main([*command, "--data", str(data)]) in {0, 1, 2}, command
    assert "Traceback" not in "".join(capsys.readouterr())


TABLES = ("journal.line", "journal.digest", "private.value", "private.salt", "inbox.body",
          "outbox.body", "timers.payload", "timers.due_mono_ns", "signed_head.root",
          "signed_head.signature", "signed_chains.nodes", "chats.role", "jobs.state")  # fmt: skip


def shake_row(data: Path, chance: random.Random) -> None:
    sql("DROP INDEX journal_said", "DROP INDEX journal_known")(data)
    with closing(sqlite3.connect(data / FILE_NAME)) as db, db:
        db.execute("PRAGMA ignore_check_constraints = ON")
        table, column = chance.choice(TABLES).split(".")
        rows = db.execute(f"SELECT {column} FROM {table} ORDER BY 1").fetchall()  # noqa: S608  fixed
        (value,) = chance.choice(rows or [("",)])
        bad = shaken(str(value).encode(), chance)
        new: str | bytes = bad
        if chance.randrange(3):
            new = bad.decode("utf-8", "replace")
        db.execute(f"UPDATE {table} SET {column} = ? WHERE {column} = ?", [new, value])  # noqa: S608  fixed


def test_an_entry_of_another_form_is_named_and_the_other_jobs_are_shown(
    data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    spoiled(data, "journal", "line", '{"kind":"fact"}', "job = 1 AND seq = 9")
    assert main(["status", "--data", str(data)]) == 0
    assert "job 1: it cannot be shown. Entry 9 of job 1 cannot be read" in capsys.readouterr().out
    assert main(["trail", "1", "--data", str(data)]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[9].startswith("This entry cannot be shown.")
    assert not lines[10].startswith("This entry")


# Keys, copies, holds.


def test_a_kill_while_the_key_is_written_leaves_no_key_that_blocks(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "one.key"

    class KilledError(BaseException):
        pass

    def killed(_: int) -> None:
        raise KilledError

    monkeypatch.setattr("os.fsync", killed)
    with pytest.raises(KilledError):
        make_key(path)
    assert not path.exists()
    # A kill proper leaves what was written; it is none either, and is not in the way.
    path.with_name("one.key.partial").write_bytes(b"")
    monkeypatch.undo()
    assert read_key(path, tmp_path / "data") is None
    made = make_key(path)
    found = read_key(path, tmp_path / "data")
    assert found is not None
    assert found.public == made.public
    assert [one.name for one in tmp_path.iterdir()] == ["one.key"]


def test_a_copy_that_failed_leaves_nothing(data: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("shutil.copyfile", full)
    before = sorted(data.parent.iterdir())
    with pytest.raises(StoreError):
        back_up(data, data.with_name("copy"))
    assert sorted(data.parent.iterdir()) == before


def test_a_record_whose_lost_key_was_replaced_verifies_again(
    data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    chosen = Settings(data)
    chosen.key_file.unlink()
    assert main(["verify", "--data", str(data)]) == 0, "there is no key: not there"
    rotate_key(chosen, is_lost=True)
    capsys.readouterr()
    assert main(["verify", "--data", str(data)]) == 0
    out = capsys.readouterr().out
    assert "was replaced without the old key's signature: ask why" in out
    assert "NOT THERE  every signed root" in out
    # The stranger who has the database, and replaces the key with one of their own, is noticed.
    with written(data, "9") as store:
        strange(store)
    assert main(["verify", "--data", str(data)]) == 1


def strange(store: Store) -> None:
    company = CompanySeals()
    company.follow(store)
    entry = key_entry(scripted_signer("9"), company.public, None)
    store.commit(Batch(NOW, "UTC", entries=(entry,)))


@pytest.mark.parametrize("why", [[], ["--why", ""], ["--why", "  "]])
@pytest.mark.parametrize("what", ["--hold", "--release"])
def test_a_hold_and_its_end_need_a_reason(
    data: Path, what: str, why: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["keep", what, "1", *why, "--data", str(data)]) == 1
    assert "Give it with --why" in capsys.readouterr().err
    with closing(sqlite3.connect(data / FILE_NAME)) as db:
        assert not db.execute("SELECT 1 FROM journal WHERE line LIKE '%\"hold\"%'").fetchall()


def test_packets_are_for_their_owner_alone(data: Path) -> None:
    before = os.umask(0)
    try:
        for make in (make_packet, make_customer_copy):
            out = data.with_name(f"{make.__name__}.zip")
            out.write_bytes(b"there before")
            out.chmod(0o666)
            make(Settings(data), 1, out, max, seed="1")
            assert out.stat().st_mode & 0o777 == 0o600
    finally:
        os.umask(before)


# The Python that a stranger has.


SHIPPED = {name: Path(str(module.__file__)) for name, module in CHECKERS}
SINCE_3_9 = {
    "removeprefix", "removesuffix", "bit_count", "is_relative_to", "with_stem", "readlink",
    "hardlink_to", "randbytes", "lcm", "nextafter", "ulp", "pairwise", "batched", "cache",
    "zoneinfo", "tomllib", "graphlib", "file_digest", "to_thread", "add_note", "override",
    "Self", "ParamSpec", "TypeAlias", "StrEnum", "UTC",
}  # fmt: skip
"""Names of the standard library from Python 3.9 or later that could be used by mistake."""


@pytest.mark.parametrize("name", SHIPPED)
def test_the_checker_is_for_python_3_8(name: str) -> None:
    """Its grammar, its types at run time, and the names that it uses."""
    text = SHIPPED[name].read_text("utf-8")
    tree = ast.parse(text, feature_version=(3, 8))
    used = {node.attr for node in ast.walk(tree) if isinstance(node, ast.Attribute)}
    used |= {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)}
    used |= {word.arg or "" for word in ast.walk(tree) if isinstance(word, ast.keyword)}
    assert not used & (SINCE_3_9 | {"strict", "slots", "kw_only"})
    assert not [node for node in at_run_time(tree) if is_newer(node)]
    imported = {
        alias.name
        for node in ast.walk(tree)
        if isinstance(node, ast.Import)
        for alias in node.names
    } | {node.module for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    outside = {str(one).split(".")[0] for one in imported} - set(sys.stdlib_module_names)
    assert outside <= {"bot", "flows", *SHIPPED}


def at_run_time(node: ast.AST) -> Iterator[ast.AST]:
    """Yield what is evaluated in a node: no annotation, and nothing for type checkers only."""
    yield node
    inner: Iterable[ast.AST | None] = ast.iter_child_nodes(node)
    match node:
        case ast.AnnAssign():
            inner = [node.value]
        case ast.FunctionDef():
            inner = [*node.body, *node.args.defaults, *node.decorator_list]
        case ast.If(test=ast.Name(id="TYPE_CHECKING")):
            inner = node.orelse
        case ast.arg():
            inner = []
        case _:
            pass
    for one in inner:
        if one is not None:
            yield from at_run_time(one)


def is_newer(node: ast.AST) -> bool:
    """Say whether an expression needs Python 3.9: `list[int]`, a union or a merge by `|`."""
    if isinstance(node, ast.Subscript):
        return getattr(node.value, "id", "") in {
            "list",
            "dict",
            "set",
            "tuple",
            "type",
            "Iterator",
        }
    return isinstance(node, ast.BinOp) and isinstance(node.op, ast.BitOr) and not whole(node)


def whole(node: ast.BinOp) -> bool:
    """Say whether a `|` joins numbers: flags of the system."""
    return all(isinstance(one, ast.Attribute | ast.Call | ast.BinOp | ast.Constant)
               for one in (node.left, node.right))  # fmt: skip


def test_an_older_python_is_told_what_is_needed() -> None:
    text = SHIPPED["verify"].read_text("utf-8")
    gate = text.index("sys.version_info < (3, 8)")
    assert gate < text.index("from arithmetic import")
    assert "needs Python 3.8" in text

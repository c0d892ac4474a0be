"""The packet: its bytes, and every way to tamper with it, checked by other people's tools.

The checks are run as the read-me gives them: sha256sum, openssl, ssh-keygen, bagit, verify.py.
"""

import csv
import hashlib
import io
import json
import re
import shutil
import sqlite3
import subprocess
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
import rfc8785

from bot.commands import cli
from bot.packet.build import CHECKERS
from bot.packet.case import BROKEN, NO_JOB
from bot.packet.spreadsheet import cell
from bot.record.arithmetic import fingerprint, leaf_hash
from bot.record.canonical import canonical
from bot.record.chain import link
from bot.record.checkpoints import all_jobs_root, all_jobs_statement, checkpoint_statement, code_of
from bot.record.errors import StoreError
from bot.record.heads import Binder, live_tree, tree_over
from bot.record.keys import scripted_signer
from bot.record.merkle import root_of
from bot.record.private import random_salt
from bot.record.schema import FILE_NAME
from bot.record.store import open_store
from tests.packet.packets import ALONE, CHECKS, carried, caught_by, holds, packed, redone, unpacked
from tests.packet.stamps import answered, holds as stamp_holds, new_service, openssl


@pytest.fixture(scope="module")
def data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("record") / "data"
    carried(folder)
    return folder


@pytest.fixture(scope="module")
def packet(data: Path) -> Path:
    return packed(data, data.with_name("job-1.zip"))


@pytest.fixture
def top(packet: Path, tmp_path: Path) -> Path:
    return unpacked(packet, tmp_path / "unpacked")


def test_a_packet_can_be_written_into_a_folder(data: Path, packet: Path, tmp_path: Path) -> None:
    """A folder was refused as an unusable data folder."""
    given = ["--data", str(data), "--seed", "1", "--out", str(tmp_path)]
    assert cli.main(["packet", "1", *given]) == 0
    assert (tmp_path / "job-1.zip").read_bytes() == packet.read_bytes()


def test_two_builds_are_the_same_bytes(data: Path, packet: Path, tmp_path: Path) -> None:
    assert packed(data, tmp_path / "again.zip").read_bytes() == packet.read_bytes()


def test_every_check_in_the_read_me_passes(top: Path) -> None:
    assert caught_by(top) == set()
    text = (top / "data/00-READ-ME-FIRST.txt").read_text("utf-8")
    assert all(check in text for check in CHECKS)
    assert "{" not in text
    # Running the checks adds no file.
    assert holds("verify.py", top)


@pytest.mark.parametrize("part", sorted(f"{name}.py" for name, _ in CHECKERS if name != "verify"))
def test_the_checker_uses_the_packets_own_parts(top: Path, part: str) -> None:
    """It could fall back to an installed rollproof, so no test ever ran the packet's parts."""
    (top / "data" / part).unlink()
    _, out = verified(top)
    assert out == ""


def test_the_layout_is_that_of_earlier_packets(packet: Path) -> None:
    """A tool made for an old packet works with a new packet: files are added, none is renamed."""
    kept = Path(__file__).parent / "data/packet.zip"
    assert layout(packet) - layout(kept) == {f"job-1/data/{name}" for name in ADDED}
    assert layout(kept) <= layout(packet)


ADDED = ("bound.py", "outside.py", "remade.py", "visible.py",
         "proof/company.jsonl", "proof/files.json", "proof/head.json")  # fmt: skip


def layout(packet: Path) -> set[str]:
    with zipfile.ZipFile(packet) as found:
        return {re.sub(r"/card-.*", "/card", re.sub(r"-\d{3,}\.", "-N.", name))
                for name in found.namelist()}  # fmt: skip


def test_names_are_plain_and_files_are_stored(packet: Path) -> None:
    with zipfile.ZipFile(packet) as found:
        for info in found.infolist():
            name = info.filename.removeprefix("job-1/")
            assert name == "data/00-READ-ME-FIRST.txt" or re.fullmatch("[a-z0-9./-]+", name)
            assert info.date_time == (1980, 1, 1, 0, 0, 0)
            assert info.compress_type == zipfile.ZIP_STORED
        names = found.namelist()
    assert names == sorted(names, key=lambda name: ("/data/" not in name, name))


def test_photos_are_byte_for_byte_as_received(top: Path) -> None:
    photos = sorted((top / "data/photos").iterdir())
    assert [path.name for path in photos] == [f"photo-{n:03d}.jpg" for n in (1, 2, 3)]
    entries = (top / "data/entries.jsonl").read_text("utf-8")
    for path in photos:
        assert hashlib.sha256(path.read_bytes()).hexdigest() in entries


def test_a_missing_photo_is_named(data: Path, tmp_path: Path) -> None:
    copy = Path(shutil.copytree(data, tmp_path / "data"))
    gone = next(path for path in (copy / "files").iterdir() if path.suffix == "")
    gone.unlink()
    top = unpacked(packed(copy, tmp_path / "job-1.zip"), tmp_path / "out")
    assert gone.name in (top / "data/00-READ-ME-FIRST.txt").read_text("utf-8")
    assert len(list((top / "data/photos").iterdir())) == 2
    assert caught_by(top) == set()


def test_checklist_and_cards_have_the_digests_in_the_record(top: Path) -> None:
    made_with = json.loads((top / "data/process/versions.json").read_text("utf-8"))
    found = {hashlib.sha256(path.read_bytes()).hexdigest(): path.name
             for path in (top / "data/process").iterdir()}  # fmt: skip
    assert found[made_with["routine"]["sha256"]] == "checklist.txt"
    cards = {one["sha256"] for one in made_with["cards"].values()}
    assert cards <= set(found)


def test_there_is_a_form_for_each_rule_and_it_names_the_job(top: Path) -> None:
    blanks = {path.stem: path.read_text("utf-8") for path in (top / "data/certificates").iterdir()}
    assert set(blanks) == {"902-11", "902-13", "902-14", "claim"}
    assert all(text.startswith("BLANK. Counsel decides") for text in blanks.values())
    # 49 CFR 370.5(a) and 370.9: thirty days, a hundred and twenty, and sixty after.
    assert all(days in blanks["claim"] for days in ("30 days", "120 days", "60 days"))


def test_lines_are_canonical_by_another_library(top: Path) -> None:
    for line in (top / "data/entries.jsonl").read_bytes().splitlines():
        assert rfc8785.dumps(json.loads(line)) == line


def test_the_values_shown_match_their_commitments(top: Path) -> None:
    lines = (top / "data/proof/values.jsonl").read_text("utf-8").splitlines()
    assert len(lines) > 20
    for line in lines:
        one = json.loads(line)
        text = rfc8785.dumps({"salt": one["salt"], "value": one["value"]})
        assert hashlib.sha256(text).hexdigest() == one["commitment"]


# The tamper matrix.


def edit(path: Path, old: str, new: str) -> None:
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), "utf-8", newline="")


def one_byte(top: Path) -> None:
    photo = top / "data/photos/photo-001.jpg"
    content = bytearray(photo.read_bytes())
    content[-1] ^= 1
    photo.write_bytes(content)


def last_entry_deleted(top: Path) -> None:
    path = top / "data/entries.jsonl"
    path.write_text("".join(path.read_text("utf-8").splitlines(keepends=True)[:-1]), "utf-8")


def extra_file(top: Path) -> None:
    (top / "data/photos/photo-004.jpg").write_bytes(b"\xff\xd8\xff added")


def extra_file_redone(top: Path) -> None:
    extra_file(top)
    redone(top)


def photos_swapped(top: Path) -> None:
    one, two = (top / f"data/photos/photo-00{n}.jpg" for n in (1, 2))
    first, second = one.read_bytes(), two.read_bytes()
    one.write_bytes(second)
    two.write_bytes(first)


def view_edited(top: Path) -> None:
    edit(top / "data/entries.csv", "breakdown", "crash")
    redone(top)


def entry_edited(top: Path) -> None:
    edit(top / "data/entries.jsonl", '"value":"breakdown"', '"value":"crash"')
    redone(top)


def entry_edited_and_chain_redone(top: Path) -> None:
    relink(top, lambda text: text.replace('"value":"breakdown"', '"value":"crash"'))
    redone(top)


def signed_with_another_key(top: Path) -> None:
    entry_edited_and_chain_redone(top)
    redone(top, sign="2")


def named_by_no_root_over_all_jobs(top: Path) -> None:
    """Remake the entries, remove chain and checkpoints, sign with the real key."""
    relink(top, lambda text: text.replace('"kind":"checkpoint"', '"kind":"pause"'))
    redone(top, sign="1")


def root_over_all_jobs_edited(top: Path) -> None:
    edit(top / "data/proof/all-jobs.jsonl", '"size":', '"size":1')
    redone(top, sign="1")


def name_that_leads_out(top: Path) -> None:
    path = top / "manifest-sha256.txt"
    path.write_text(path.read_text("utf-8") + f"{'0' * 64}  data/../../outside.txt\n", "utf-8")


def relink(top: Path, change: Callable[[str], str]) -> None:
    path, prev, lines = top / "data/entries.jsonl", "0" * 64, []
    for text in path.read_text("utf-8").splitlines():
        entry = json.loads(change(text))
        entry.pop("prev")
        line, prev = link(prev, entry)
        lines.append(line)
    path.write_text("".join(f"{line}\n" for line in lines), "utf-8")


MATRIX = {
    one_byte: {"sha256sum", "bagit", "verify.py"},
    last_entry_deleted: {"sha256sum", "bagit", "verify.py"},
    extra_file: {"bagit", "verify.py"},
    extra_file_redone: {"openssl", "ssh-keygen", "verify.py"},
    photos_swapped: {"sha256sum", "bagit", "verify.py"},
    view_edited: {"openssl", "ssh-keygen", "verify.py"},
    entry_edited: {"openssl", "ssh-keygen", "verify.py"},
    entry_edited_and_chain_redone: {"openssl", "ssh-keygen", "verify.py"},
    signed_with_another_key: {"openssl", "ssh-keygen", "verify.py"},
    named_by_no_root_over_all_jobs: {"verify.py"},
    root_over_all_jobs_edited: {"verify.py"},
    name_that_leads_out: {"sha256sum", "openssl", "ssh-keygen", "bagit", "verify.py"},
}


@pytest.mark.parametrize("tamper", MATRIX, ids=lambda one: one.__name__)
def test_the_tamper_matrix(top: Path, tamper: Callable[[Path], None]) -> None:
    tamper(top)
    assert caught_by(top) == MATRIX[tamper]


# The owner's own rewrite, with the real key (T-06).


def rewrite_record(data: Path) -> None:
    """Rewrite a record as only its owner can, with matching chains, roots and signatures."""
    signer, heads = scripted_signer("1"), dict[int, tuple[int, str]]()
    conn = sqlite3.connect(data / FILE_NAME)
    for (name,) in conn.execute("SELECT name FROM sqlite_master WHERE type='trigger'").fetchall():
        conn.execute(f"DROP TRIGGER {name}")
    digests: list[str] = []
    for job in (1, 0):
        prev, made = "0" * 64, list[tuple[str, str]]()
        rows = conn.execute("SELECT line FROM journal WHERE job = ? ORDER BY seq", [job])
        for (text,) in rows.fetchall():
            entry = json.loads(text.replace('"value":"breakdown"', '"value":"crash"'))
            entry.pop("prev")
            body = entry["body"]
            if entry["kind"] == "checkpoint":
                root = root_of(leaf_hash(line.encode()) for line, _ in made)
                said = checkpoint_statement(1, len(made), root.hex())
            elif entry["kind"] == "all_jobs":
                for one in body["changed"]:
                    ours = digests if one["job"] == "1" else [digest for _, digest in made]
                    one["head"] = ours[one["size"] - 1]
                    heads[int(one["job"])] = (one["size"], one["head"])
                root = all_jobs_root(heads)
                said = all_jobs_statement(body["date"], body["jobs"], root.hex())
            if entry["kind"] in {"checkpoint", "all_jobs"}:
                body |= {"root": root.hex(), "code": code_of(root)}
                body["signature"] = signer.sign(said).hex()
            line, prev = link(prev, entry)
            made.append((line, prev))
        digests = [digest for _, digest in made]
        conn.execute("DELETE FROM journal WHERE job = ?", [job])
        places = [(job, n, *one) for n, one in enumerate(made)]
        conn.executemany("INSERT INTO journal VALUES (?, ?, ?, ?)", places)
    conn.commit()
    conn.close()
    sign_again(data)


def sign_again(data: Path) -> None:
    """Sign the head over a record as it is, as if nothing had been there before."""
    with open_store(data, salt=random_salt) as store, store._db.atomic():
        binder = Binder(scripted_signer("1"))
        binder._trees = {job: tree_over(store.lines(job)) for job in store.sizes()}
        binder._live = live_tree(binder._trees)
        binder._head = store.signed_head()
        binder._sign(store._db, set(binder._trees))


@pytest.fixture
def rewritten(data: Path, tmp_path: Path) -> Path:
    copy = Path(shutil.copytree(data, tmp_path / "rewritten"))
    rewrite_record(copy)
    return unpacked(packed(copy, tmp_path / "rewritten.zip"), tmp_path / "made-anew")


def verified(top: Path, *arguments: str) -> tuple[int, str]:
    done = subprocess.run(
        [*ALONE, *arguments],
        cwd=top, capture_output=True, text=True, check=False,
    )  # fmt: skip
    return done.returncode, done.stdout


def test_a_rewrite_by_the_owner_passes_the_packets_checks(rewritten: Path, top: Path) -> None:
    changed = (rewritten / "data/entries.jsonl").read_text("utf-8")
    assert '"value":"crash"' in changed
    assert changed != (top / "data/entries.jsonl").read_text("utf-8")
    assert caught_by(rewritten) == set()
    text = " ".join((rewritten / "data/00-READ-ME-FIRST.txt").read_text("utf-8").split())
    assert "nobody with both the database and the key rewrote the whole record" in text


def test_a_rewrite_by_the_owner_is_caught_by_a_kept_receipt(rewritten: Path, top: Path) -> None:
    receipt = (top / "data/receipt.txt").read_text("utf-8").strip()
    assert verified(top, "--receipt", receipt)[0] == 0
    code, out = verified(rewritten, "--receipt", receipt)
    assert code == 1
    assert "not the record that the receipt was given for" in out
    # The short code of any earlier pause catches it as well.
    pause = next(
        json.loads(line)
        for line in (top / "data/entries.jsonl").read_text("utf-8").splitlines()
        if '"kind":"checkpoint"' in line
    )
    short = f"job 1 entries {pause['body']['size']} root {pause['body']['code']}"
    assert verified(top, "--receipt", short)[0] == 0
    assert verified(rewritten, "--receipt", short)[0] == 1


@pytest.fixture(scope="module")
def stamper(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return new_service(tmp_path_factory.mktemp("stamper"))


def test_a_rewrite_by_the_owner_is_caught_by_an_earlier_time_stamp(
    rewritten: Path, top: Path, stamper: Path
) -> None:
    manifest = "manifest-sha256.txt"
    token = top / f"{manifest}.tsr"
    query = ["ts", "-query", "-data", top / manifest, "-sha256", "-cert", "-out", "q.tsq"]
    assert openssl(stamper, *query) == 0
    token.write_bytes(answered(stamper, (stamper / "q.tsq").read_bytes()))
    assert stamp_holds(stamper, top / manifest, token)
    assert not stamp_holds(stamper, rewritten / manifest, token)
    assert caught_by(top) == set(), "a stamp beside the manifest disturbs no check"


def test_a_known_fingerprint_catches_another_key(top: Path) -> None:
    ours = scripted_signer("1").public
    assert verified(top, "--key", fingerprint(ours))[0] == 0
    code, out = verified(top, "--key", fingerprint(scripted_signer("2").public))
    assert code == 1
    assert "was signed with" in out


# Refusals.


def test_a_job_that_does_not_exist_has_no_packet(data: Path, tmp_path: Path) -> None:
    with pytest.raises(StoreError) as refused:
        packed(data, tmp_path / "job-9.zip", 9)
    assert refused.value.words is NO_JOB
    assert list(tmp_path.iterdir()) == []


def test_a_damaged_record_has_no_packet(data: Path, tmp_path: Path) -> None:
    copy = Path(shutil.copytree(data, tmp_path / "data"))
    conn = sqlite3.connect(copy / FILE_NAME)
    conn.execute("DROP TRIGGER journal_no_update")
    conn.execute("UPDATE journal SET line = replace(line, 'breakdown', 'crash') WHERE job = 1")
    conn.commit()
    conn.close()
    with pytest.raises(StoreError) as refused:
        packed(copy, tmp_path / "job-1.zip")
    assert refused.value.words is BROKEN
    assert not (tmp_path / "job-1.zip").exists()


# The view for spreadsheets (T-19).

PAYLOADS = (
    "=1+1", "+1", "-1+cmd|' /C calc'!A0", "@SUM(A1)", "\t=1", "\r=1", "\n=1", "\uff1d1+1",
    "\uff20x", "a;=1", "a; +1", 'a;"-1', "a;;@x", "a\n=1", "a\r\n;=1", "a\t=1", "a|=1", " =1",
)  # fmt: skip


@pytest.mark.parametrize("payload", PAYLOADS)
def test_no_cell_is_a_formula(payload: str) -> None:
    """Whatever sign a program splits cells and rows at, the comma aside, which is quoted."""
    for part in re.split(r"[;|\t\r\n]", cell(payload)):
        assert part.strip(' "')[:1] not in set("=+-@\uff1d\uff0b\uff0d\uff20")


def test_the_view_reads_back_as_it_was_written(top: Path) -> None:
    text = (top / "data/entries.csv").read_bytes().decode("utf-8")
    head, *rows = csv.reader(io.StringIO(text, newline=""), strict=True)
    lines = (top / "data/entries.jsonl").read_text("utf-8").splitlines()
    assert len(rows) == len(lines)
    for row, line in zip(rows, lines, strict=True):
        one = dict(zip(head, row, strict=True))
        assert one["entry"] == str(json.loads(line)["seq"])
        assert one["fields (JSON)"].encode() == canonical(json.loads(line)["body"])
        assert one["SHA-256 of the entry"] == hashlib.sha256(line.encode()).hexdigest()
        assert not [value for value in row if value[:1] in set("=+@\t\r\n")]

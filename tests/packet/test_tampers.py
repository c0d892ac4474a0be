"""Each check has a planted failure, and a sample of the table of tamperings is noticed.

All of it: `python -m tests.packet.tampers`.
"""

import json
import random
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from bot.machine.settings import Settings
from bot.packet.checking import check_whole
from bot.packet.verify import check, check_ended
from bot.record.heads import Binder
from bot.record.keys import scripted_signer
from bot.record.schema import FILE_NAME
from bot.record.store import open_store
from tests.bot.turns import SALT, first_turn
from tests.packet.packets import redone
from tests.packet.record_tampers import RECORD, at, chain_of, record_tampers
from tests.packet.tampering import Tamper, flip, one_added, relinked
from tests.packet.tampers import (
    LEVELS,
    OURS,
    derived_again,
    made,
    noticed_in_packet,
    noticed_in_record,
    packet_tampers,
    photos_swapped,
    record_copy,
)


@pytest.fixture(scope="module")
def both(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    return made(tmp_path_factory.mktemp("both"))


@pytest.fixture
def top(both: tuple[Path, Path], tmp_path: Path) -> Path:
    return Path(shutil.copytree(both[1], tmp_path / both[1].name))


@pytest.fixture
def data(both: tuple[Path, Path], tmp_path: Path) -> Path:
    return record_copy(both[0], tmp_path / "record")


def edited(name: str, old: str, new: str) -> Callable[[Path], None]:
    def do(top: Path) -> None:
        text = (top / name).read_bytes().decode()
        assert old in text
        (top / name).write_bytes(text.replace(old, new, 1).encode())

    return do


def flipped(name: str) -> Callable[[Path], None]:
    return lambda top: flip(top / name)


def junk_stamp(top: Path) -> None:
    """Junk with the right digest in it passed."""
    manifest = (top / "tagmanifest-sha256.txt").read_text().split("\n")
    digest = next(line[:64] for line in manifest if line.endswith("manifest-sha256.txt"))
    (top / "manifest-sha256.txt.tsr").write_bytes(b"junk " + bytes.fromhex(digest) + b" junk")


def entry_added(top: Path) -> None:
    path = top / "data/entries.jsonl"
    lines = one_added(path.read_text("utf-8").splitlines())
    path.write_text("".join(f"{line}\n" for line in relinked(lines)), "utf-8")


def digest_changed(top: Path) -> None:
    path = top / "data/entries.csv"
    text = path.read_bytes().decode().removesuffix("\r\n")
    path.write_bytes(f"{text[:-1]}{'1' if text.endswith('0') else '0'}\r\n".encode())


def gone(name: str) -> Callable[[Path], None]:
    return lambda top: (top / name).unlink()


def drawing_gone(top: Path) -> None:
    min((top / "data/drawings").iterdir()).unlink()


SEEN = "the last checkpoint and the last signed head that were seen"
FILES, KEY = "the files", "the company's key"
RECEIPT = "job 1 entries 1 root 0123456789abcdef"
"""Of another record."""


def checkpoint_changed(top: Path) -> None:
    """Another signature under a root; everything after it is linked again."""
    path = top / "data/entries.jsonl"
    lines = [json.loads(line) for line in path.read_text("utf-8").splitlines()]
    mark = next(entry for entry in lines if entry["kind"] == "checkpoint")
    mark["body"]["signature"] = "00" * 64
    texts = relinked([json.dumps(entry) for entry in lines])
    path.write_text("".join(f"{line}\n" for line in texts), "utf-8")


def fact_after_the_end(top: Path) -> None:
    path = top / "data/entries.jsonl"
    lines = path.read_text("utf-8").splitlines()
    ended = {**json.loads(lines[-1]), "kind": "ended", "body": {}}
    fact = {**json.loads(lines[-1]), "kind": "fact", "body": {}}
    texts = relinked([*lines, json.dumps(ended), json.dumps(fact)])
    path.write_text("".join(f"{line}\n" for line in texts), "utf-8")


PLANTED: tuple[tuple[str, str, Callable[[Path], None]], ...] = (
    ("every file is listed and unchanged", FILES, flipped("data/summary.pdf")),
    ("every file is listed and unchanged", FILES, gone("tagmanifest-sha256.txt")),
    ("the signature over the manifest", FILES, flipped("manifest-sha256.txt.ed25519")),
    ("the signature over the manifest", FILES, flipped("manifest-sha256.txt.sig")),
    ("the signature over the manifest", FILES, gone("manifest-sha256.txt.sig")),
    ("the signature over the manifest", KEY, edited("data/proof/key.pub", "AAAAC3", "AAAAC4")),
    ("the fingerprint you had before", "another key", lambda top: None),
    ("a time stamp", FILES, junk_stamp),
    ("each entry follows from the entry before it", KEY,
     edited("data/entries.jsonl", '"value":"breakdown"', '"value":"crash"')),
    ("each checkpoint", KEY, checkpoint_changed),
    ("nothing was added after the job's end", KEY, fact_after_the_end),
    ("the receipt", FILES, lambda top: None),
    ("the newest root over all jobs", KEY,
     edited("data/proof/all-jobs.jsonl", '"size":', '"size":1')),
    ("the company's key", KEY, edited("data/proof/keys.jsonl", '"SHA256:', '"SHA256:x')),
    ("the signed head reaches every entry", KEY, entry_added),
    ("the signed head reaches every entry", KEY, edited("data/proof/head.json", '":', '": ')),
    ("the signed head reaches every entry", KEY, gone("data/proof/head.json")),
    ("the signed head reaches every entry", KEY,
     edited("data/proof/company.jsonl", '"role":"driver"', '"role":"owner"')),
    ("each personal value shown", KEY, edited("data/proof/values.jsonl", '"sam"', '"lou"')),
    ("the view for spreadsheets", KEY, digest_changed),
    ("each file as received", KEY, photos_swapped),
    ("each file as received", KEY, flipped("data/photos/photo-001.jpg")),
    ("the tables, made again", KEY, edited("data/entries.csv", ",sam,", ",lou,")),
    ("the tables, made again", KEY, edited("data/process/people.csv", ",sam", ",lou")),
    ("the tables, made again", KEY, edited("data/process/clock.csv", ",0,", ",60000,")),
    ("checklist, cards and receipt", KEY, flipped("data/process/checklist.txt")),
    ("checklist, cards and receipt", KEY, flipped("data/process/card-company.json")),
    ("checklist, cards and receipt", KEY, edited("data/receipt.txt", "root ", "root 0")),
    ("the files belong to these entries", KEY, flipped("data/summary.pdf")),
    ("the files belong to these entries", KEY, flipped("data/proof/files.json")),
    ("the files belong to these entries", KEY, gone("data/proof/files.json")),
    ("the files belong to these entries", KEY, gone("data/photos/photo-002.jpg")),
    ("the files belong to these entries", KEY, drawing_gone),
)  # fmt: skip


@pytest.mark.parametrize(("name", "has", "do"), PLANTED)
def test_each_check_of_a_packet_has_a_planted_failure(
    top: Path, name: str, has: str, do: Callable[[Path], None]
) -> None:
    do(top)
    LEVELS[has](top)
    assert name in {one.name for one in check(top, RECEIPT, OURS) if one.wrong}


def test_a_tampering_with_the_key_is_noticed_by_what_it_is(top: Path) -> None:
    """Every check that a whole packet has is in the table of planted failures."""
    there = {one.name for one in check(top, RECEIPT, OURS)}
    assert there == {name for name, _, _ in PLANTED}
    redone(top, sign="1")
    assert noticed_in_packet(top) == set(), "nothing changed"


def test_a_fact_after_the_end_is_no_part_of_a_job() -> None:
    kinds = ("opened", "fact", "ended", "heard", "checkpoint", "fact")
    lines = [json.dumps({"kind": kind}, separators=(",", ":")) for kind in kinds]
    assert list(check_ended(lines[:-1])) == []
    assert list(check_ended(lines)) == ["entry 5 (fact) was added after the job had ended"]


def test_what_the_keys_owner_can_still_do_is_in_the_read_me(top: Path) -> None:
    """The summary, signed again with its list: nobody notices, and the read-me says so."""
    flip(top / "data/summary.pdf")
    derived_again(top, "1")
    redone(top, sign="1")
    assert noticed_in_packet(top) == set()
    text = " ".join((top / "data/00-READ-ME-FIRST.txt").read_text("utf-8").split())
    assert "With the key and this packet: change summary.pdf" in text
    assert "none that we know" not in text


RECORD_PLANTED: tuple[tuple[str, str | Tamper], ...] = (
    ("every chain, and every personal value", "a line changed in place"),
    ("every chain, and every personal value", "a value changed"),
    ("every personal value that is gone was erased by an entry", "a value taken away"),
    ("every signed root", Tamper("", "", chain_of(1, at(3, "changed")))),
    ("the signed head", Tamper("", "", chain_of(1, at(-1, "changed")))),
    ("the signed head", Tamper("", "", chain_of(0, at(-1, "gone")))),
    ("the signed head", "the head taken away"),
    ("the key beside the record", "another key in its place"),
    (
        SEEN,
        "an older record in its place",
    ),
    (
        SEEN,
        "the head's tables taken away",
    ),
    ("every file as received", "a file flipped"),
    ("every message, reply and timer that waits", "a message that waits is junk"),
)


@pytest.mark.parametrize(("name", "how"), RECORD_PLANTED)
def test_each_check_of_a_record_has_a_planted_failure(
    data: Path, name: str, how: str | Tamper
) -> None:
    assert not [one.name for one in check_whole(Settings(data)).checks if one.wrong]
    do = RECORD[how] if isinstance(how, str) else how.do
    do(data)
    assert name in noticed_in_record(data)


def test_every_check_of_a_record_is_in_the_table(data: Path) -> None:
    there = {one.name for one in check_whole(Settings(data)).checks}
    assert there == {name for name, _ in RECORD_PLANTED}


def test_a_check_with_nothing_behind_it_does_not_hold(tmp_path: Path) -> None:
    """A record without roots, notes or key: each said that it holds."""
    with open_store(tmp_path / "data", salt=SALT) as store:
        store.bind(Binder(scripted_signer("1")))
        store.commit(first_turn())
    states = {one.name: one.state for one in check_whole(Settings(tmp_path / "data")).checks}
    absent = {name for name, state in states.items() if state == "NOT THERE"}
    assert absent == {"every signed root", "the key beside the record",
                      SEEN}  # fmt: skip
    assert states["the signed head"] == "HOLDS"


SAMPLE = 6
"""How many of each table a run of the tests takes: `python -m tests.packet.tampers` takes all."""


def test_a_sample_of_the_tamperings_with_a_packet_is_noticed(
    both: tuple[Path, Path], tmp_path: Path
) -> None:
    table = list(packet_tampers(both[1]))
    for tamper in random.Random(1).sample(table, SAMPLE):  # noqa: S311  not a secret
        copy = Path(shutil.copytree(both[1], tmp_path / "one"))
        tamper.do(copy)
        assert noticed_in_packet(copy), f"{tamper.name}, with {tamper.has}"
        shutil.rmtree(copy)


def test_a_sample_of_the_tamperings_with_a_record_is_noticed(
    both: tuple[Path, Path], tmp_path: Path
) -> None:
    with closing(sqlite3.connect(both[0] / FILE_NAME)) as db:
        sizes = dict(db.execute("SELECT job, max(seq) + 1 FROM journal GROUP BY job"))
    before = noticed_in_record(record_copy(both[0], tmp_path / "before"))
    table = list(record_tampers(sizes))
    for tamper in random.Random(1).sample(table, SAMPLE):  # noqa: S311  not a secret
        copy = record_copy(both[0], tmp_path / "one")
        tamper.do(copy)
        assert noticed_in_record(copy) - before, tamper.name
        shutil.rmtree(tmp_path / "one")

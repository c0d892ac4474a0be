"""What was written before is written today, byte for byte, and reads and checks today.

`tests/conversations/records.json` holds a digest of every entry that each recorded conversation
makes, taken before the modules were put into rooms; the sentences stand in another file. A
change of what is recorded changes it on purpose, by `pytest --wording`, and is read in the diff.
`tests/packet/data` holds a record and its packet of that time.
"""

import hashlib
import json
import shutil
import sqlite3
import zipfile
from collections.abc import Mapping
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from bot.commands.bootstrap import book_for
from bot.commands.demo import names
from bot.desk.replaying import rebuilt
from bot.machine.settings import Settings
from bot.packet.process import opening
from bot.record.canonical import canonical
from bot.record.reader import open_reader
from bot.record.schema import FILE_NAME
from flows.job.state import Job
from flows.routine.carry import CARRY
from tests.bot.played import played
from tests.packet.packets import CHECKS, holds, packed, unpacked

RECORDS = Path(__file__).parent.parent / "conversations" / "records.json"
KEPT = Path(__file__).parent.parent / "packet" / "data"
ROUTINE = "f917fd413fdabfbbafd8629c699bdb38358c3f4549e0ab323826fa093a3574f0"
"""The digest that the routine had then: checkpoints and seals are made over it too."""


FOLLOWS = frozenset({"prev", "drawing", "head", "root", "code", "signature"})
"""Digests, and codes made of them: of the entry before, a drawing with its words, a checkpoint."""


def bare(value: Any) -> Any:
    """Return an entry without the digests that follow from a text: a drawing's, the routine's.

    With them go all that are made of the lines themselves.
    """
    if isinstance(value, list):
        return [bare(one) for one in value]
    if not isinstance(value, dict):
        return value
    kept = {name: bare(one) for name, one in value.items() if name not in FOLLOWS}
    if "routine" in kept:
        kept["routine"] = {**kept["routine"], "sha256": "-"}
    return kept


def digest(entries: Mapping[int, list[dict[str, Any]]]) -> str:
    """Return one digest of every chain, the company's first."""
    found = hashlib.sha256()
    for job in sorted(entries):
        for entry in entries[job]:
            found.update(canonical(bare(entry)) + b"\n")
    return found.hexdigest()


@pytest.mark.parametrize("name", names())
def test_the_entries_are_the_same(name: str, request: pytest.FixtureRequest) -> None:
    made = digest(played(name).entries)
    kept = json.loads(RECORDS.read_text("utf-8")) if RECORDS.exists() else {}
    if request.config.getoption("--wording"):
        kept[name] = made
        RECORDS.write_text(json.dumps(kept, indent=1, sort_keys=True) + "\n", "utf-8")
    assert kept[name] == made


def test_every_conversation_has_its_digest() -> None:
    assert sorted(json.loads(RECORDS.read_text("utf-8"))) == names()


@pytest.fixture
def record(tmp_path: Path) -> Path:
    folder = tmp_path / "record"
    with zipfile.ZipFile(KEPT / "record.zip") as kept:
        kept.extractall(folder)
    folder.chmod(0o700)
    for path in folder.iterdir():
        path.chmod(0o700 if path.is_dir() else 0o600)
    return folder


def test_an_old_record_verifies_and_folds(record: Path) -> None:
    with open_reader(record) as reader:
        assert reader.verify() == []
        job = rebuilt(Job(1, book_for(Settings(record))), reader.entries(1))
    assert job.ended is not None
    assert job.value("card") == "harrow"


def test_the_packet_of_an_old_record_has_its_checklist(record: Path, tmp_path: Path) -> None:
    with open_reader(record) as reader:
        digest = opening(list(reader.entries(1)))["routine"]["sha256"]
    assert digest == ROUTINE != CARRY.digest
    top = unpacked(packed(record, tmp_path / "packet.zip"), tmp_path / "unpacked")
    checklist = (top / "data" / "process" / "checklist.txt").read_bytes()
    assert hashlib.sha256(checklist).hexdigest() == digest
    said = json.loads((top / "data" / "process" / "versions.json").read_text("utf-8"))
    assert said["routine_text_at_hand"] is True


def test_a_changed_old_record_does_not(record: Path) -> None:
    with closing(sqlite3.connect(record / FILE_NAME)) as db, db:
        db.execute("DROP TRIGGER journal_no_update")
        change = """UPDATE journal SET line = replace(line, '"harrow"', '"heron"')"""
        assert db.execute(change + """ WHERE line LIKE '%"harrow"%'""").rowcount
    with open_reader(record) as reader:
        assert reader.verify() != []


@pytest.mark.parametrize("check", CHECKS)
def test_an_old_packet_verifies(check: str, tmp_path: Path) -> None:
    packet = shutil.copy(KEPT / "packet.zip", tmp_path)
    assert holds(check, unpacked(Path(packet), tmp_path / "unpacked"))

"""The tables refuse changes, and changes to the file itself are noticed."""

import sqlite3
from dataclasses import replace
from pathlib import Path

import pytest

from bot.record.chain import Problem, commitment, digest
from bot.record.reader import NOT_COMMITTED, UNCLAIMED, open_reader
from bot.record.rows import Head
from bot.record.store import open_store
from tests.bot.turns import SALT, dump, first_turn, second_turn, tampered


@pytest.mark.parametrize(
    ("sql", "why"),
    [
        ("UPDATE journal SET line = '{}' WHERE job = 1 AND seq = 0", "never changed"),
        ("UPDATE OR REPLACE journal SET seq = 9 WHERE job = 1", "never changed"),
        ("DELETE FROM journal WHERE job = 1", "never deleted"),
        ("DELETE FROM journal", "never deleted"),
        ("INSERT INTO journal VALUES (1, 0, '', '')", "out of sequence"),
        ("INSERT OR REPLACE INTO journal VALUES (1, 0, '', '')", "out of sequence"),
        ("INSERT OR IGNORE INTO journal VALUES (1, 0, '', '')", "out of sequence"),
        ("INSERT INTO journal VALUES (1, 2, '', '')", "out of sequence"),
        ("INSERT INTO journal VALUES (1, -1, '', '')", "out of sequence"),
        ("INSERT INTO journal VALUES (2, 1, '', '')", "out of sequence"),
        ("INSERT INTO journal VALUES (1, 'x', '', '')", "out of sequence"),
        ("INSERT INTO journal VALUES (3, 0, '', '')", "leaves a gap"),
    ],
)
def test_the_tables_themselves_refuse(tmp_path: Path, sql: str, why: str) -> None:
    with open_store(tmp_path, salt=SALT) as store:
        store.commit(first_turn())
        path = store._path
    before = dump(path)
    conn = sqlite3.connect(path)
    with pytest.raises(sqlite3.IntegrityError, match=why):
        conn.execute(sql)
    conn.commit()
    conn.close()
    assert dump(path) == before


@pytest.fixture
def written(tmp_path: Path) -> Path:
    with open_store(tmp_path, salt=SALT) as store:
        store.commit(first_turn())
        store.commit(replace(second_turn(0), inbox_id=None))
    return tmp_path


def checked(folder: Path, seen: dict[int, Head] | None = None) -> list[tuple[str | None, int]]:
    with open_reader(folder) as reader:
        return [(problem.job, problem.seq) for problem in reader.verify(seen)]


def head(folder: Path, job: int) -> Head:
    with open_reader(folder) as reader:
        found = reader.head(job)
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("sql", "place"),
    [
        ("UPDATE journal SET line = replace(line, 'parked', 'rolled') WHERE job = 1", ("1", 2)),
        ("UPDATE journal SET line = '' WHERE job = 0", ("0", 0)),
        ("UPDATE journal SET digest = 'ab' WHERE job = 1 AND seq = 1", ("1", 1)),
        ("DELETE FROM journal WHERE job = 1 AND seq = 1", ("1", 1)),
        ("UPDATE journal SET job = 3 WHERE job = 2", ("3", 0)),
    ],
)
def test_verify_names_the_tampered_entry(written: Path, sql: str, place: tuple[str, int]) -> None:
    assert checked(written) == []
    tampered(written, sql)
    assert place in checked(written)
    assert len([problem for problem in checked(written) if problem[0] is not None]) == 1


def test_verify_names_a_replaced_personal_value(written: Path) -> None:
    tampered(written, """UPDATE private SET value = '"XYZ 999"' WHERE value = '"ABC 123"'""")
    mark = commitment(SALT(1, 1, 1), "ABC 123")
    with open_reader(written) as reader:
        assert reader.verify() == [Problem("1", 1, NOT_COMMITTED.format(seq=1, digest=mark))]


def test_verify_names_a_personal_value_that_no_entry_knows(written: Path) -> None:
    tampered(written, "INSERT INTO private VALUES ('ab', '00', '1')")
    with open_reader(written) as reader:
        assert reader.verify() == [Problem(None, -1, UNCLAIMED.format(digest="ab"))]


def test_only_an_earlier_head_shows_a_lost_tail(written: Path) -> None:
    seen = {1: head(written, 1)}
    assert checked(written, seen) == []
    tampered(written, "DELETE FROM journal WHERE job = 1 AND seq = 2")
    assert checked(written) == []
    assert checked(written, seen) == [("1", 2)]


def test_only_an_earlier_head_shows_a_lost_job(written: Path) -> None:
    seen = {2: head(written, 2)}
    tampered(written, "DELETE FROM journal WHERE job = 2")
    assert checked(written) == []
    assert checked(written, seen) == [("2", 0)]


def test_only_an_earlier_head_shows_a_completely_rewritten_job(written: Path) -> None:
    seen = {2: head(written, 2)}
    with open_reader(written) as reader:
        forged = reader.lines(2)[0].replace("opened", "closed")
    mark = digest(forged.encode())
    tampered(written, f"UPDATE journal SET line = '{forged}', digest = '{mark}' WHERE job = 2")  # noqa: S608
    assert checked(written) == []
    assert checked(written, seen) == [("2", 0)]

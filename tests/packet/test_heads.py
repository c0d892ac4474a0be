"""The signed head: what is written behind the last pause cannot be changed without the key.

Every tampering is done in the file itself, with its triggers gone and its chains made again, as
somebody can who has the data folder and not the key.
"""

import json
import shutil
import sqlite3
from dataclasses import replace
from itertools import chain
from pathlib import Path

import pytest

from bot.commands.bootstrap import book_for, open_desk
from bot.commands.cli import main
from bot.commands.demo import Player, conversation, parse
from bot.machine.settings import Settings
from bot.packet.checking import check_whole
from bot.record import reach
from bot.record.chain import link
from bot.record.entry import AFTER_END
from bot.record.errors import JOB_OVER, StoreError
from bot.record.heads import (
    SLOT,
    Binder,
    SignedHead,
    head_statement,
    live_tree,
    read_note,
    tree_over,
    write_note,
)
from bot.record.keys import NO_KEY, OTHER_KEY, scripted_signer
from bot.record.private import random_salt
from bot.record.reader import open_reader
from bot.record.rows import Batch, NewEntry
from bot.record.schema import FILE_NAME, MIGRATIONS
from bot.record.seen import BEHIND_HEAD
from bot.record.store import open_store
from tests.bot.scripted import Script, play
from tests.bot.turns import NOW, SALT, dump, first_turn, second_turn
from tests.packet.packets import carried, with_key, written

OWN = scripted_signer("1")


def talked(folder: Path) -> None:
    """Play a job whose last figure stands many entries behind its last pause."""
    player = Player(folder)
    for step in [one for one in parse(conversation("truck_moved_and_changed")) if one.kind != "="]:
        player.step(step)
    player.close()


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("played") / "data"
    talked(folder)
    with_key(folder)
    return folder


@pytest.fixture
def data(played: Path, tmp_path: Path) -> Path:
    for name in ("data.key", "data.head", "data.seen"):
        if played.with_name(name).exists():
            shutil.copy(played.with_name(name), tmp_path)
    return Path(shutil.copytree(played, tmp_path / "data"))


def wrong(data: Path, name: str = "the signed head") -> list[str]:
    found = {check.name: check for check in check_whole(Settings(data)).checks}
    return found[name].wrong


def lines(data: Path, job: int = 1) -> list[str]:
    with open_reader(data) as reader:
        return reader.lines(job)


def rewrite(data: Path, job: int, texts: list[str], *statements: str) -> None:
    """Put other lines into a chain, linked anew; then run statements."""
    conn = sqlite3.connect(data / FILE_NAME)
    for (name,) in conn.execute("SELECT name FROM sqlite_master WHERE type='trigger'").fetchall():
        conn.execute(f"DROP TRIGGER {name}")
    conn.execute("DELETE FROM journal WHERE job = ?", [job])
    prev = "0" * 64
    for seq, text in enumerate(texts):
        entry = json.loads(text)
        entry.pop("prev")
        line, prev = link(prev, entry | {"seq": seq})
        conn.execute("INSERT INTO journal VALUES (?, ?, ?, ?)", (job, seq, line, prev))
    for statement in statements:
        conn.execute(statement)
    conn.commit()
    conn.close()


def test_a_record_says_how_far_its_signature_reaches(
    data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["verify", "--data", str(data)]) == 0
    out = capsys.readouterr().out
    assert "HOLDS  the signed head" in out
    with open_reader(data) as reader:
        found = reach.check_head(reader)
        assert found.covered == reader.sizes()
        assert f"Signed head: number {found.number}." in out


def test_an_entry_behind_the_last_root_cannot_be_changed_without_the_key(data: Path) -> None:
    """What was close became a go, and passed every check."""
    before = lines(data)
    last = max(seq for seq, line in enumerate(before) if '"kind":"concluded"' in line)
    rooted = max(seq for seq, line in enumerate(before) if '"kind":"checkpoint"' in line)
    assert last > rooted, "behind the last signed root"
    changed = before[last].replace('"verdict":"close"', '"verdict":"go"')
    changed = changed.replace('"governing_margin_lb":46', '"governing_margin_lb":900')
    assert '"verdict":"go"' in changed
    assert '"governing_margin_lb":900' in changed
    rewrite(data, 1, [*before[:last], changed, *before[last + 1 :]])
    found = wrong(data)
    assert f"job 1: {reach.CHANGED}" in found
    assert any("the last signed root is over its first" in line for line in found)
    assert main(["packet", "1", "--data", str(data), "--out", str(data.with_name("p.zip"))]) == 1


def test_an_entry_behind_the_last_root_cannot_be_added_without_the_key(data: Path) -> None:
    before = lines(data)
    rewrite(data, 1, [*before, before[-1]])
    size = len(before)
    assert f"job 1: {reach.BEHIND.format(first=size, last=size)}" in wrong(data)
    # Nor does the next honest commit bring it under the key.
    go_on(data)
    assert wrong(data)


def test_the_last_entries_cannot_be_taken_away_without_the_key(data: Path) -> None:
    before = lines(data)
    rewrite(data, 1, before[:-3])
    with open_reader(data) as reader:
        assert reader.verify() == []
    assert f"job 1: {reach.SHORT.format(size=len(before), found=len(before) - 3)}" in wrong(data)


@pytest.mark.parametrize(
    ("statement", "why"),
    [
        ("DELETE FROM signed_head", reach.GONE),
        ("UPDATE signed_head SET number = number + 1", reach.UNSIGNED),
        ("UPDATE signed_head SET signature = 'none'", reach.UNSIGNED),
        ("UPDATE signed_head SET root = signature", reach.UNSIGNED),
        ("DELETE FROM signed_chains WHERE job = 1", reach.OTHER_ROOT),
        ("UPDATE signed_chains SET nodes = substr(nodes, 3)", reach.UNREADABLE),
        ("UPDATE signed_chains SET size = size - 1", reach.UNREADABLE),
    ],
)
def test_the_head_itself_cannot_be_changed(data: Path, statement: str, why: str) -> None:
    rewrite(data, 1, lines(data), statement)
    assert any(why in one for one in wrong(data))


def forged(data: Path, seed: str) -> None:
    """Sign the record as it is now with a key."""
    rewrite(data, 1, lines(data), "DELETE FROM signed_head", "DELETE FROM signed_chains",
            "INSERT INTO signed_head VALUES (1, 0, 0, '', '', '')")  # fmt: skip
    with open_store(data, salt=random_salt) as store:
        store.bind(Binder(scripted_signer(seed)))
        store.commit(Batch(NOW, "UTC", entries=(NewEntry(0, "speaks", {}, by="p1"),)))


def test_a_head_signed_with_a_strangers_key_is_told(data: Path) -> None:
    forged(data, "2")
    assert any(reach.OTHER_KEY in one for one in wrong(data))


def test_a_head_that_begins_again_is_told(data: Path) -> None:
    """An entry says so, and the root over all jobs before it says that there was a head."""
    forged(data, "1")
    assert any(one.endswith("there was one before it: ask why.") for one in wrong(data))


def go_on(data: Path) -> None:
    desk, store = open_desk(Settings(data), book_for(Settings(data)), "lines")
    with store:
        desk.welcome_back(NOW)
        store.commit(Batch(NOW, "UTC", entries=(NewEntry(1, "told", {"what": "x"}, by="bot"),)))


def test_a_broken_head_stops_nobody_at_the_scene_and_is_told_for_good(data: Path) -> None:
    rewrite(data, 1, lines(data), "UPDATE signed_head SET signature = 'none'")
    go_on(data)
    found = [json.loads(line) for line in lines(data, 0)]
    bound = [entry for entry in found if entry["kind"] == "bound"]
    assert [entry["body"]["why"] for entry in bound] == ["broken"]
    said = reach.BROKEN_AT.format(seq=bound[0]["seq"])
    go_on(data)
    assert f"job 0: {said}" in wrong(data)


# A job that has ended.


def test_a_job_that_has_ended_takes_no_more_facts(tmp_path: Path) -> None:
    with open_store(tmp_path / "data", salt=SALT) as store:
        store.commit(replace(first_turn(), states=((1, "closed"),)))
        with pytest.raises(StoreError) as refused:
            store.commit(Batch(NOW, "UTC", entries=(NewEntry(1, "fact", {}, by="p1"),)))
        assert refused.value.words is JOB_OVER
        named = tuple(
            NewEntry(1, kind, {}, by="p1") for kind in sorted(AFTER_END - {"checkpoint"})
        )
        store.commit(Batch(NOW, "UTC", entries=named))


def test_what_is_added_to_a_job_that_has_ended_is_told_whoever_signed_it(tmp_path: Path) -> None:
    """With the key, so that every root and the head are right."""
    data = tmp_path / "data"
    carried(data, "plain_carry", photos=0)
    late = lines(data)[-2]
    assert json.loads(late)["kind"] == "ended"
    with written(data) as store:
        conn = store._db.conn
        conn.execute("UPDATE jobs SET state = 'open'")
        conn.commit()
        store.commit(Batch(NOW, "UTC", entries=(NewEntry(1, "fact", {"name": "x"}, by="p1"),)))
        conn.execute("UPDATE jobs SET state = 'closed'")
        conn.commit()
    assert any("after the job had ended" in one for one in wrong(data, "every signed root"))
    assert wrong(data) == []


# The note beside the key.


def test_the_note_beside_the_key_notices_an_older_record(data: Path, tmp_path: Path) -> None:
    older = Path(shutil.copytree(data, tmp_path / "older"))
    go_on(data)
    note = read_note(Settings(data).head_file)
    with open_reader(data) as reader:
        assert note == reader.signed_head()
    shutil.rmtree(data)
    shutil.copytree(older, data)
    Settings(data).seen_file.unlink(missing_ok=True)
    assert wrong(data, "the last checkpoint and the last signed head that were seen")
    with pytest.raises(StoreError) as refused:
        go_on(data)
    assert refused.value.words is BEHIND_HEAD


@pytest.mark.parametrize("lost", [1, 2])
def test_a_note_behind_the_record_is_no_tampering(data: Path, lost: int) -> None:
    """A loss of power takes notes back, which nobody waits for, and never the record."""
    go_on(data)
    for _ in range(lost):
        kept = Settings(data).head_file.read_bytes()
        go_on(data)
    Settings(data).head_file.write_bytes(kept)
    assert wrong(data, "the last checkpoint and the last signed head that were seen") == []
    go_on(data)


def head(number: int) -> SignedHead:
    signature = OWN.sign(head_statement(number, 1, "ab")).hex()
    return SignedHead(number, 1, "ab", OWN.public.hex(), signature)


@pytest.mark.parametrize("cut", [0, 1, 100, 200])
def test_a_note_cut_off_while_written_leaves_the_one_before(tmp_path: Path, cut: int) -> None:
    path = tmp_path / "one.head"
    write_note(path, head(1))
    write_note(path, head(2))
    whole = path.read_bytes()
    path.write_bytes(whole[: SLOT + cut] + bytes(SLOT - cut))
    assert read_note(path) == head(2)
    path.write_bytes(whole[:cut] + bytes(SLOT - cut) + whole[SLOT:])
    assert read_note(path) == head(1)


@pytest.mark.parametrize("text", [b"", b"{}", b"[" * 5000, b'{"number":9}', b"\xff" * 2000])
def test_a_note_that_is_none_is_not_there_and_does_not_hold(data: Path, text: bytes) -> None:
    Settings(data).head_file.write_bytes(text)
    Settings(data).seen_file.unlink(missing_ok=True)
    found = {check.name: check for check in check_whole(Settings(data)).checks}
    seen = found["the last checkpoint and the last signed head that were seen"]
    assert seen.state == "NOT THERE"
    assert len(seen.lacks) == 2


# In the transaction.


def test_a_commit_that_fails_moves_no_head(tmp_path: Path) -> None:
    with open_store(tmp_path / "data", salt=SALT) as store:
        store.bind(Binder(OWN))
        inbox_id = store.receive("lines", "driver:sam", "m1", {"text": "yes"}, NOW).id
        store.commit(first_turn())
        before = store.signed_head()
        with pytest.raises(StoreError):
            store.commit(Batch(NOW, "UTC", entries=(NewEntry(1, "fact", {}, by="p1", seq=9),)))
        with pytest.raises(RuntimeError):
            store.commit(Batch(NOW, "UTC", entries=(NewEntry(1, "fact", {}, by="p1"),),
                               sealing=planted))  # fmt: skip
        assert store.signed_head() == before
        store.commit(second_turn(inbox_id))
        after = store.signed_head()
        assert before is not None
        assert after is not None
        assert after.number == before.number + 1
        assert reach.check_head(store).problems == ()
        assert reach.check_head(store).covered == store.sizes()


def planted(_: object):  # noqa: ANN201
    raise RuntimeError("planted")


def test_a_head_is_the_same_whether_it_grew_or_was_made_at_once(data: Path) -> None:
    with open_reader(data) as reader:
        found = reader.signed_head()
        trees = {job: tree_over(reader.lines(job)) for job in reader.sizes()}
    assert found is not None
    assert live_tree(trees).root().hex() == found.root


# From before.


def test_a_record_from_before_begins_its_head_and_says_since_when(tmp_path: Path) -> None:
    with open_store(tmp_path / "now", salt=SALT) as store:
        store.commit(first_turn())
        rows = dump(store._path)
    (tmp_path / "data").mkdir()
    old = sqlite3.connect(tmp_path / "data" / FILE_NAME)
    for statement in chain(*MIGRATIONS[:2]):
        old.execute(statement)
    old.execute("PRAGMA user_version = 2")
    old.executemany("INSERT INTO journal VALUES (?, ?, ?, ?)", rows["journal"])
    old.commit()
    old.close()
    with open_reader(tmp_path / "data") as reader:
        assert reach.check_head(reader).lacks == (reach.NO_HEADS,)
    with open_store(tmp_path / "data", salt=SALT) as store:
        assert reach.check_head(store).lacks == (reach.NOT_BEGUN,)
        store.bind(Binder(OWN))
        store.commit(Batch(NOW, "UTC", entries=(NewEntry(1, "fact", {}, by="p1"),)))
        found = reach.check_head(store)
        assert found.problems == ()
        assert found.covered == store.sizes()
        (said,) = found.lacks
        assert said.startswith("Entries before entry 1 of job 0 (")


# The key.


def test_a_rotation_before_the_first_pause_names_both_keys(tmp_path: Path) -> None:
    """The first key had signed heads, and no entry named it yet."""
    data = tmp_path / "data"
    play(data, Script().say("new job breakdown", "mile 4"))
    assert '"kind":"key"' not in "".join(lines(data, 0))
    assert main(["key", "rotate", "--data", str(data)]) == 0
    assert check_whole(Settings(data)).code == 0
    events = [
        json.loads(line)["body"]["event"] for line in lines(data, 0) if '"kind":"key"' in line
    ]
    assert events == ["created", "rotated"]


def test_a_key_lost_before_the_first_pause_is_not_replaced_without_a_word(tmp_path: Path) -> None:
    data = tmp_path / "data"
    play(data, Script().say("new job breakdown", "mile 4"))
    Settings(data).key_file.unlink()
    with pytest.raises(StoreError) as refused:
        go_on(data)
    assert refused.value.words is NO_KEY


def test_another_key_in_the_place_of_the_records_is_refused(data: Path) -> None:
    """It became the record's key without a word."""
    with_key(data, "2")
    with pytest.raises(StoreError) as refused:
        go_on(data)
    assert refused.value.words is OTHER_KEY
    assert wrong(data, "the key beside the record")


def test_a_rotation_cut_off_behind_its_entry_is_finished_at_the_next_start(data: Path) -> None:
    chosen = Settings(data)
    assert main(["key", "rotate", "--data", str(data)]) == 0
    new = chosen.key_file.read_bytes()
    chosen.key_file.replace(chosen.key_file.with_name("data.key.new"))
    chosen.key_file.with_name("data.key.before").replace(chosen.key_file)
    go_on(data)
    assert chosen.key_file.read_bytes() == new
    assert check_whole(chosen).code == 0

"""Checkpoints in the record: when they are made, the tampering they catch, who sees them."""

import json
import logging
import shutil
import sqlite3
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from bot.commands.bootstrap import book_for, open_desk
from bot.commands.demo import Player, conversation, parse
from bot.commands.proving import rotate_key
from bot.machine.settings import Settings
from bot.record.arithmetic import leaf_hash
from bot.record.chain import link
from bot.record.checkpoints import checkpoint_statement, code_of
from bot.record.errors import StoreError
from bot.record.keys import NO_KEY, is_signed, make_key, read_key, scripted_signer
from bot.record.merkle import root_of
from bot.record.private import random_salt
from bot.record.reader import Reader, open_reader
from bot.record.rows import Batch, NewEntry
from bot.record.schema import FILE_NAME
from bot.record.seals import (
    BROKEN_KEYS,
    GAP,
    LOST,
    REPLACED_KEY,
    UNKNOWN_KEY,
    WRONG_ROOT,
    WRONG_SIGNATURE,
    check_record,
    replaced_keys,
)
from bot.record.seen import BEHIND
from bot.record.store import open_store
from tests.bot.scripted import TO_CLOSE, TO_NEUTRAL, Script, play


def talked(folder: Path, name: str = "plain_carry") -> Player:
    player = Player(folder)
    for step in parse("@dispatcher:ann> status\n" + conversation(name)):
        if step.kind != "=":
            player.step(step)
    return player


@pytest.fixture(scope="module")
def carried(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("carried") / "data"
    talked(folder).close()
    return folder


@pytest.fixture
def record(carried: Path, tmp_path: Path) -> Path:
    shutil.copytree(carried, tmp_path / "data")
    return tmp_path / "data"


def kinds(folder: Path, job: int) -> list[str]:
    with open_reader(folder) as reader:
        return [entry["kind"] for entry in reader.entries(job)]


def problems(folder: Path) -> list[str]:
    with open_reader(folder) as reader:
        return [one.what for one in (*reader.verify(), *check_record(reader))]


def test_a_checkpoint_follows_each_pause_and_the_end(record: Path) -> None:
    with open_reader(record) as reader:
        entries = reader.entries(1)
        lines = [line.encode() for line in reader.lines(1)]
    marks = [entry for entry in entries if entry["kind"] == "checkpoint"]
    # The handover to the driver, each "go" of a pause, and the end.
    pauses = ("handover", "neutral_cleared", "winch_moves", "departs", "neutral_cleared",
              "pays_out", "ended")  # fmt: skip
    for pause, mark in zip(pauses, marks, strict=True):
        turn = entries[mark["seq"] - 3 : mark["seq"]]
        assert pause in {one for e in turn for one in (e["kind"], e["body"].get("act"))}
    assert entries[-1] is marks[-1]
    public = scripted_signer("1").public
    for mark in marks:
        body, seq = mark["body"], mark["seq"]
        root = root_of(leaf_hash(line) for line in lines[:seq])
        assert (body["size"], body["root"], body["code"]) == (seq, root.hex(), code_of(root))
        text = checkpoint_statement(1, seq, body["root"])
        assert (
            text
            == (
                f'{{"job":"1","root":"{root.hex()}","size":{seq},"what":"rollproof checkpoint 1"}}'
            ).encode()
        )
        assert is_signed(public, text, bytes.fromhex(body["signature"]))
    assert problems(record) == []


def test_driver_and_dispatcher_see_the_codes_and_hear_nothing(tmp_path: Path) -> None:
    player = talked(tmp_path / "data")
    try:
        codes = [e["body"]["code"] for e in player.store.entries(1) if e["kind"] == "checkpoint"]
        lines = [
            player.store.reply(chat, seq).body  # type: ignore[union-attr]
            for chat, count in ((c.chat, c.next_seq) for c in player.store.chats())
            for seq in range(1, count)
        ]
        for code in codes:
            told = [line for line in lines if code in line["shown"]]
            assert told, "the driver sees each"
            assert not any(code in line["spoken"] for line in told)
        assert len([line for line in lines if codes[-1] in line["shown"]]) == 2, (
            "the desk the last"
        )
        whole = [e["body"]["code"] for e in player.store.entries(0) if e["kind"] == "all_jobs"]
        assert len(whole) == 2, "the first of the day, and the end of the job"
        for code in whole:
            assert len([line for line in lines if code in line["shown"]]) == 1
    finally:
        player.close()


def test_no_code_stands_between_a_go_and_its_instruction_and_a_desk_gets_few(
    tmp_path: Path,
) -> None:
    player = Player(tmp_path / "data")
    try:
        said: list[tuple[str, str]] = []
        for step in parse(conversation("plain_carry")):
            replies = [] if step.kind == "=" else player.step(step)
            said += [(one.chat, one.body["shown"]) for one in replies if one.body["shown"]]
            drivers = [one.body for one in replies if one.chat == "driver:sam"]
            asked = [place for place, body in enumerate(drivers) if "ask" in body]
            coded = [place for place, body in enumerate(drivers) if "Record code" in body["shown"]]
            assert all(place >= asked[-1] for place in coded if asked)
    finally:
        player.close()
    alone = [
        text for chat, text in said if chat == "driver:sam" and text.startswith("Record code")
    ]
    assert alone == []
    desk = [text for chat, text in said if chat == "dispatcher:ann"]
    assert 0 < sum("Record code of job" in text for text in desk) <= 2


def test_a_hold_and_a_handover_are_pauses(tmp_path: Path) -> None:
    talked(tmp_path / "data", "hold_and_resume").close()
    found = kinds(tmp_path / "data", 1)
    assert "held" in found
    assert "checkpoint" in found[found.index("held") :][:4]


# Tampering: directly in the file, without its triggers, as its owner can.


def rewritten(folder: Path, lines: dict[int, list[str]]) -> None:
    """Rewrite complete chains, with matching digests."""
    conn = sqlite3.connect(folder / FILE_NAME)
    for (name,) in conn.execute("SELECT name FROM sqlite_master WHERE type='trigger'").fetchall():
        conn.execute(f"DROP TRIGGER {name}")
    for job, chain in lines.items():
        conn.execute("DELETE FROM journal WHERE job = ?", (job,))
        prev = "0" * 64
        for seq, text in enumerate(chain):
            entry = json.loads(text)
            entry.pop("prev")
            line, prev = link(prev, entry | {"seq": seq})
            conn.execute("INSERT INTO journal VALUES (?, ?, ?, ?)", (job, seq, line, prev))
    conn.commit()
    conn.close()


def chain(folder: Path, job: int) -> list[str]:
    with open_reader(folder) as reader:
        return reader.lines(job)


def has(found: list[str], words: str) -> bool:
    start = words.split("{", maxsplit=1)[0]
    return any(one.startswith(start) for one in found)


def test_an_entry_edited_with_its_chain_redone_is_caught(record: Path) -> None:
    lines = chain(record, 1)
    edited = [line.replace('"value":"breakdown"', '"value":"crash"') for line in lines]
    assert edited != lines
    rewritten(record, {1: edited})
    found = problems(record)
    assert has(found, WRONG_ROOT)
    assert has(found, LOST.replace("{job}", "1"))


def test_a_missing_tail_is_caught(record: Path) -> None:
    rewritten(record, {1: chain(record, 1)[:-5]})
    assert has(problems(record), LOST.replace("{job}", "1"))


def test_a_checkpoint_with_another_signature_is_caught(record: Path) -> None:
    lines = chain(record, 1)
    last = json.loads(lines[-1])
    forged = scripted_signer("2")
    text = checkpoint_statement(1, last["seq"], last["body"]["root"])
    last["body"]["signature"] = forged.sign(text).hex()
    rewritten(record, {1: [*lines[:-1], json.dumps(last)]})
    assert has(problems(record), WRONG_SIGNATURE.replace("{seq}", str(last["seq"])))
    last["body"]["key"] = forged.public.hex()
    rewritten(record, {1: [*lines[:-1], json.dumps(last)]})
    assert UNKNOWN_KEY.format(seq=last["seq"]) in problems(record)


def test_a_missing_job_is_caught(tmp_path: Path) -> None:
    folder = tmp_path / "data"
    player = talked(folder)
    for step in parse("@driver:lee> new job crash\n@driver:lee> mile 9\n@driver:lee> hold"):
        player.step(step)
    # The next day's first pause covers it.
    for step in parse("~ 24h\n@driver:mia> new job crash\n@driver:mia> hold"):
        player.step(step)
    player.close()
    assert problems(folder) == []
    conn = sqlite3.connect(folder / FILE_NAME)
    conn.execute("DROP TRIGGER journal_no_delete")
    conn.execute("DELETE FROM journal WHERE job = 2")
    conn.execute("DELETE FROM private")
    conn.commit()
    conn.close()
    assert has(problems(folder), LOST.replace("{job}", "2"))
    # Nor can its line be removed from the root over all jobs.
    lines = []
    for line in chain(folder, 0):
        entry = json.loads(line)
        if entry["kind"] == "all_jobs":
            body = entry["body"]
            body["changed"] = [one for one in body["changed"] if one["job"] != "2"]
        lines.append(json.dumps(entry))
    rewritten(folder, {0: lines})
    found = problems(folder)
    assert any(one.endswith(GAP.split("over ")[1].split("{jobs}")[1]) for one in found)
    assert any(WRONG_ROOT.split("{seq}")[1] in one for one in found)


# Keys


@pytest.fixture
def own(tmp_path: Path) -> Settings:
    """A record signed with the key file next to it."""
    chosen = Settings(tmp_path / "data")
    carry(chosen)
    return chosen


def carry(chosen: Settings) -> None:
    desk, store = open_desk(chosen, book_for(chosen), "lines")
    with store:
        player = Player.__new__(Player)
        play_on(player, desk, store, chosen)


def play_on(player: Player, desk: object, store: object, chosen: Settings) -> None:
    other = Player(chosen.data.with_name("clock"))
    other.close()
    player.__dict__ |= other.__dict__ | {"desk": desk, "store": store}
    player._said = len(store.chats()) * 10_000  # type: ignore[attr-defined]
    for step in parse("> new job breakdown\n> mile 12\n> hold\n> go on"):
        player.step(step)


def test_the_first_key_is_made_and_its_fingerprint_shown(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    chosen = Settings(tmp_path / "data")
    with caplog.at_level(logging.WARNING):
        carry(chosen)
    made = read_key(tmp_path / "data.key", chosen.data)
    assert made is not None
    (company,) = [e for e in entries_of(chosen) if e["kind"] == "key"]
    assert company["body"]["event"] == "created"
    assert company["body"]["public"] == made.public.hex()
    assert company["body"]["fingerprint"] in caplog.text
    assert problems(chosen.data) == []


def entries_of(chosen: Settings) -> list[dict[str, object]]:
    with open_reader(chosen.data) as reader:
        return reader.entries(0)


def test_a_rotation_is_signed_by_both_keys_and_later_entries_by_the_new(own: Settings) -> None:
    old = read_key(own.key_file, own.data)
    new = rotate_key(own, is_lost=False)
    assert old is not None
    assert new.public != old.public
    carry(own)
    keys = [e["body"] for e in entries_of(own) if e["kind"] == "key"]
    assert [one["event"] for one in keys] == ["created", "rotated"]  # type: ignore[index]
    assert problems(own.data) == []
    assert read_key(own.key_file.with_name("data.key.before"), own.data) is not None
    # Without the old signature, or with another, it is not valid.
    lines = chain(own.data, 0)
    for forged in ("", scripted_signer("9").sign(b"").hex()):
        changed = []
        for line in lines:
            entry = json.loads(line)
            if entry["body"].get("event") == "rotated":
                entry["body"]["signature_before"] = forged
            changed.append(json.dumps(entry))
        rewritten(own.data, {0: changed})
        assert has(problems(own.data), BROKEN_KEYS)


def test_a_lost_key_is_refused_until_it_is_said_to_be_lost(own: Settings) -> None:
    own.key_file.unlink()
    for command in (carry, lambda chosen: rotate_key(chosen, is_lost=False)):
        with pytest.raises(StoreError) as refused:
            command(own)
        assert refused.value.words is NO_KEY
    rotate_key(own, is_lost=True)
    carry(own)
    # It is told, and it is no failure: it may be honest.
    assert problems(own.data) == []
    assert has(list(replaced_keys(chain(own.data, 0))), REPLACED_KEY)


def test_an_interrupted_rotation_is_finished(own: Settings) -> None:
    coming = make_key(own.key_file.with_name("data.key.new"))
    new = rotate_key(own, is_lost=False)
    assert new.public == coming.public
    # Interrupted after its entry: only the files are left to move.
    own.key_file.replace(own.key_file.with_name("data.key.new"))
    own.key_file.with_name("data.key.before").replace(own.key_file)
    assert rotate_key(own, is_lost=False).public == coming.public
    assert [e["kind"] for e in entries_of(own)].count("key") == 2
    assert problems(own.data) == []


# T-26: an older record in place of a newer one.


def test_an_older_record_is_noticed_and_can_only_be_read(own: Settings, tmp_path: Path) -> None:
    shutil.copytree(own.data, tmp_path / "backup")
    carry(own)
    shutil.rmtree(own.data)
    shutil.copytree(tmp_path / "backup", own.data)
    with pytest.raises(StoreError) as refused:
        carry(own)
    assert refused.value.words is BEHIND
    assert "entry 19 of job 1 is missing" in refused.value.what
    assert problems(own.data) == []
    with pytest.raises(StoreError):
        rotate_key(own, is_lost=False)


def test_a_truncated_seen_file_is_ignored(own: Settings) -> None:
    own.seen_file.write_bytes(b'{"0":{"se')
    carry(own)
    assert problems(own.data) == []


def test_each_entry_is_written_before_the_next_is_made(tmp_path: Path) -> None:
    """The store's part of sealing: making an entry can use the lines before it."""
    seen: list[int] = []
    moment = Player(tmp_path / "clock").at

    def sealing(reader: Reader) -> Iterator[NewEntry]:
        for number in range(3):
            seen.append(len(reader.lines(1)))
            yield NewEntry(1, "checkpoint", {"n": number}, by="bot")

    with open_store(tmp_path / "data", salt=random_salt) as store:
        first = NewEntry(1, "opened", {}, by="p1")
        store.commit(Batch(moment, "UTC", entries=(first,), sealing=sealing))
        assert seen == [1, 2, 3]

        def failing(reader: Reader) -> Iterator[NewEntry]:
            yield NewEntry(1, "checkpoint", {"n": 9}, by="bot")
            raise RuntimeError("planted")

        with pytest.raises(RuntimeError, match="planted"):
            store.commit(replace(Batch(moment, "UTC"), sealing=failing))
        assert len(store.lines(1)) == 4


def test_a_job_by_lines_is_sealed(tmp_path: Path) -> None:
    play(tmp_path, Script().say(*TO_NEUTRAL, "neutral now", *TO_CLOSE))
    assert kinds(tmp_path, 1).count("checkpoint") >= 2
    assert problems(tmp_path) == []

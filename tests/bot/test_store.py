"""The store: each message once, a turn completely or not at all, replies and timers kept."""

import json
import sqlite3
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from bot.record import errors
from bot.record.chain import commitment
from bot.record.errors import AlreadyDoneError, DuplicateIdError
from bot.record.rows import Batch, Moment
from bot.record.schema import FILE_NAME
from bot.record.store import Store, open_store
from tests.bot.turns import (
    DEE,
    NOW,
    SALT,
    SAM,
    ZONE,
    Hidden,
    dump,
    fact,
    first_turn,
    refusal,
    said,
    second_turn,
    timer,
)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with open_store(tmp_path / "data", salt=SALT) as opened:
        yield opened


def test_a_message_is_received_once(store: Store) -> None:
    first = store.receive("lines", "driver:sam", "m1", {"text": "ja", "lat": 39.7}, NOW)
    again = store.receive("lines", "driver:sam", "m1", {"lat": 39.7, "text": "ja"}, NOW)
    assert (first.fresh, again.fresh) == (True, False)
    assert first.id == again.id
    message = store.message(first.id)
    assert message is not None
    assert (message.body, message.moment, message.state) == (
        {"text": "ja", "lat": 39.7},
        NOW,
        "new",
    )


def test_the_same_id_with_another_body_refuses(store: Store) -> None:
    store.receive("lines", "driver:sam", "m1", {"text": "yes"}, NOW)
    with pytest.raises(DuplicateIdError) as caught:
        store.receive("lines", "driver:sam", "m1", {"text": "no"}, NOW)
    assert caught.value.value == "m1"
    assert [message.body for message in store.unfinished()] == [{"text": "yes"}]


def test_the_same_id_in_another_chat_or_channel_is_another_message(store: Store) -> None:
    places = [("lines", "driver:sam"), ("lines", "driver:joe"), ("talk", "driver:sam")]
    found = [store.receive(*place, "m1", {"text": place[0]}, NOW) for place in places]
    assert all(received.fresh for received in found)
    assert [message.id for message in store.unfinished()] == [received.id for received in found]


def test_a_repeat_of_a_settled_message_finds_its_replies(store: Store) -> None:
    first = store.receive("lines", "driver:sam", "m1", {"text": "new job"}, NOW)
    replies = store.commit(first_turn(first.id))
    again = store.receive("lines", "driver:sam", "m1", {"text": "new job"}, NOW)
    assert (again.id, again.fresh) == (first.id, False)
    assert store.outbox_for(again.id) == replies
    assert store.unfinished() == []


def test_a_turn_writes_all_its_parts(store: Store) -> None:
    store.commit(first_turn())
    inbox_id = store.receive("lines", "driver:sam", "m2", {"text": "done"}, NOW).id
    replies = store.commit(second_turn(inbox_id))
    assert [(reply.chat, reply.seq, reply.body["spoken"]) for reply in replies] == [
        ("driver:sam", 2, "One."),
        ("dispatcher:dee", 1, "Two."),
        ("driver:sam", 3, "Three."),
    ]
    assert store.outbox_for(inbox_id) == replies
    assert [entry["body"]["text"] for entry in store.entries(1)] == ["opened", "place", "parked"]
    assert [entry["seq"] for entry in store.entries(1, start=1)] == [1, 2]
    assert {job: head.seq for job, head in store.heads().items()} == {0: 0, 1: 2, 2: 0}
    assert store.head(1) == store.heads()[1]
    assert store.head(3) is None
    assert store.jobs() == {1: "closed", 2: "open"}
    assert store.next_job() == 3
    assert store.timers() == [timer("chock", 30), timer("window", 120)]
    assert store.timers(2) == []
    assert store.chats() == [replace(DEE, next_seq=2), replace(SAM, focus_job=2, next_seq=4)]
    assert store.chat("driver:sam") == replace(SAM, focus_job=2, next_seq=4)
    assert store.chat("driver:joe") is None
    assert store.verify() == []


def test_a_settled_message_cannot_be_settled_again(store: Store) -> None:
    inbox_id = store.receive("lines", "driver:sam", "m1", {"text": "new job"}, NOW).id
    store.commit(first_turn(inbox_id))
    before = dump(store._path)
    with pytest.raises(AlreadyDoneError):
        store.commit(second_turn(inbox_id))
    assert dump(store._path) == before


def test_an_unusable_message_is_set_apart_with_the_reason(store: Store) -> None:
    inbox_id = store.receive("lines", "driver:sam", "m1", {"text": "?"}, NOW).id
    store.commit(Batch(NOW, ZONE, inbox_id, fault="no such choice"))
    message = store.message(inbox_id)
    assert message is not None
    assert (message.state, message.error) == ("quarantined", "no such choice")
    assert store.unfinished() == []
    with pytest.raises(AlreadyDoneError, match="quarantined"):
        store.commit(Batch(NOW, ZONE, inbox_id))


def test_personal_values_are_kept_outside_the_entry(store: Store) -> None:
    store.commit(first_turn())
    store.commit(replace(second_turn(0), inbox_id=None))
    # Index 0 is "place", 1 is "plate": keys in sorted order.
    mark = commitment(SALT(1, 1, 1), "ABC 123")
    assert store.entries(1)[1]["body"]["plate"] == {"commitment": mark, "value": "ABC 123"}
    assert "ABC 123" not in "".join(store.lines(1))
    assert json.loads(store.lines(1)[1])["body"]["plate"] == {"commitment": mark}


def test_an_erased_value_leaves_the_disk_and_the_chain_stays_intact(store: Store) -> None:
    store.commit(first_turn())
    store.commit(replace(second_turn(0), inbox_id=None))
    mark = commitment(SALT(1, 1, 1), "ABC 123")
    store.erase([mark])
    assert store.entries(1)[1]["body"]["plate"] == {
        "commitment": mark,
        "value": None,
        "erased": True,
    }
    assert store.entries(1)[1]["body"]["place"]["value"] == {"lat": 39_740_000}
    assert store.verify() == []
    files = [file for file in store._path.parent.iterdir() if file.name.startswith(FILE_NAME)]
    assert len(files) == 3
    assert not any(b"ABC 123" in file.read_bytes() for file in files)


def test_erasing_reports_a_reader_that_keeps_the_log(store: Store) -> None:
    store.commit(first_turn())
    store.commit(replace(second_turn(0), inbox_id=None))
    store._db.execute("PRAGMA busy_timeout = 0")
    mark = commitment(SALT(1, 1, 1), "ABC 123")
    reader = sqlite3.connect(store._path)
    reader.execute("BEGIN")
    reader.execute("SELECT count(*) FROM journal").fetchone()
    assert refusal(lambda: store.erase([mark])).words is errors.NOT_SCRUBBED
    reader.close()
    store.erase([mark])
    assert b"ABC 123" not in store._path.read_bytes()


@pytest.mark.parametrize(
    ("batch", "words"),
    [
        (Batch(NOW, ZONE, 99), errors.UNKNOWN_MESSAGE),
        (Batch(NOW, ZONE, entries=(replace(fact(1), seq=3),)), errors.NOT_NEXT),
        (Batch(NOW, ZONE, entries=(fact(3),)), errors.REFUSED),
        (Batch(NOW, ZONE, entries=(fact(-1),)), errors.REFUSED),
        (Batch(NOW, ZONE, entries=(fact(1, kg=1.5),)), errors.FLOAT),
        (Batch(NOW, ZONE, entries=(fact(1, ns=2**53),)), errors.BIG_INTEGER),
        (Batch(NOW, ZONE, entries=(fact(1, plate={"commitment": "ab"}),)), errors.RESERVED_KEY),
        (Batch(NOW, ZONE, replies=(said("driver:joe", "Hello."),)), errors.UNKNOWN_CHAT),
        (Batch(NOW, ZONE, chats=(replace(SAM, focus_job=7),)), errors.REFUSED),
    ],
)
def test_a_bad_part_makes_the_whole_turn_fail(store: Store, batch: Batch, words: object) -> None:
    store.commit(first_turn())
    before = dump(store._path)
    good = Batch(
        NOW,
        ZONE,
        entries=(fact(1, "kept out", plate=Hidden("ABC 123")),),
        timers=(timer("kept out", 1),),
    )
    mixed = replace(
        batch, entries=good.entries + batch.entries, timers=good.timers, dropped=((1, "window"),)
    )
    assert refusal(lambda: store.commit(mixed)).words is words
    assert dump(store._path) == before
    store.commit(good)


def test_an_entry_can_require_its_number(store: Store) -> None:
    store.commit(first_turn())
    entries = (replace(fact(1), seq=1), replace(fact(1), seq=2))
    store.commit(Batch(NOW, ZONE, entries=entries))
    assert [entry["seq"] for entry in store.entries(1)] == [0, 1, 2]


def test_job_numbers_start_at_1_whatever_is_in_the_company_chain(store: Store) -> None:
    assert store.next_job() == 1
    store.commit(Batch(NOW, ZONE, entries=(fact(0), fact(0))))
    assert (store.next_job(), store.jobs()) == (1, {})


def test_sent_and_parked_replies_are_pending_no_more(store: Store) -> None:
    store.commit(first_turn())
    store.commit(replace(second_turn(0), inbox_id=None))
    ids = [reply.id for reply in store.pending()]
    assert len(ids) == 4
    store.mark_sent(ids[:2])
    store.mark_parked([ids[1], ids[2]])
    assert [reply.id for reply in store.pending()] == ids[3:]
    states = [row[6] for row in dump(store._path)["outbox"]]
    assert states == ["sent", "sent", "parked", "pending"]


def test_timers_are_due_by_elapsed_time_or_after_a_boot(store: Store) -> None:
    timers = (
        timer("late", 10),
        timer("more late", 9),
        timer("due", 60),
        timer("ahead", 61),
        timer("far", 10_000),
        timer("other boot", 99_999, boot="b0"),
    )
    store.commit(Batch(NOW, ZONE, entries=(fact(1),), timers=timers))

    def due(moment: Moment) -> list[str]:
        return [found.name for found in store.due_timers(moment)]

    assert due(Moment(0, 60 * 10**9, "b1")) == ["other boot", "more late", "late", "due"]
    # The wall clock jumps by a year: nothing changes.
    assert due(Moment(31_536_000_000, 60 * 10**9, "b1")) == [
        "other boot",
        "more late",
        "late",
        "due",
    ]
    assert due(Moment(0, 0, "b1")) == ["other boot"]
    assert len(due(Moment(0, 0, "b2"))) == 6


def test_a_timer_set_again_replaces_the_old_one(store: Store) -> None:
    store.commit(Batch(NOW, ZONE, entries=(fact(1),), timers=(timer("window", 60),)))
    later = replace(timer("window", 90), generation=2)
    store.commit(Batch(NOW, ZONE, timers=(later,), dropped=((1, "window"),)))
    assert store.timers() == [later]

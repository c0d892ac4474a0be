"""Retention: times, holds, erasure that leaves the chain intact, copying and restoring."""

import shutil
import sqlite3
from datetime import UTC, datetime
from pathlib import Path

import pytest

from bot.commands.cli import main
from bot.commands.proving import make_packet, restore
from bot.machine.settings import Settings
from bot.record.copies import BAD_COPY, IN_THE_WAY, THERE, back_up
from bot.record.errors import StoreError
from bot.record.keeping import DAY_MS, Expired, Hold, erase, expired, hold
from bot.record.reader import open_reader
from bot.record.rows import Batch, NewEntry
from bot.record.schema import FILE_NAME
from bot.record.seals import check_record
from bot.record.seen import BEHIND, remember
from flows.job.events import Moment
from tests.packet.packets import carried, caught_by, unpacked, with_key, written

ZONE = "America/Denver"


@pytest.fixture(scope="module")
def ended(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("ended") / "data"
    carried(folder, "plain_carry", photos=2)
    return folder


@pytest.fixture
def data(ended: Path, tmp_path: Path) -> Path:
    copy = Path(shutil.copytree(ended, tmp_path / "data"))
    with_key(copy)
    return copy


def last_ms(data: Path) -> int:
    with open_reader(data) as reader:
        written = reader.entries(1)[-1]["times"]["written"]
    return int(datetime.fromisoformat(written).astimezone(UTC).timestamp() * 1000)


def due(data: Path, days: int) -> dict[str, Expired]:
    with open_reader(data) as reader:
        return {one.what: one for one in expired(reader, last_ms(data) + days * DAY_MS)}


def at(data: Path, days: int) -> Moment:
    return Moment(last_ms(data) + days * DAY_MS, 1, "later")


def holds_in_itself(data: Path) -> bool:
    with open_reader(data) as reader:
        return [*reader.verify(), *check_record(reader)] == []


@pytest.mark.parametrize(
    ("days", "what"),
    [
        (0, set()),
        (364, set()),
        (366, {"places", "messages"}),
        (4 * 365, {"places", "messages"}),
        (4 * 365 + 1, {"places", "messages", "values", "files"}),
    ],
)
def test_each_kind_of_data_has_its_time(data: Path, days: int, what: set[str]) -> None:
    assert set(due(data, days)) == what


def test_an_open_job_keeps_everything(tmp_path: Path) -> None:
    carried(tmp_path / "data", "hold_and_resume", photos=1)
    assert set(due(tmp_path / "data", 9_999)) == {"messages"}


def test_a_hold_stops_all_erasure_and_is_recorded(data: Path) -> None:
    with written(data) as store:
        hold(store, Hold(1, "letter of an insurer"), at(data, 1), ZONE)
    assert due(data, 9_999) == {}
    with written(data) as store:
        hold(store, Hold(1, "settled", is_set=False), at(data, 2), ZONE)
        with pytest.raises(StoreError):
            hold(store, Hold(9, "no such job"), at(data, 2), ZONE)
    assert set(due(data, 9_999)) == {"places", "messages", "values", "files"}
    with open_reader(data) as reader:
        said = [e["body"] for e in reader.entries(0) if e["kind"] == "hold"]
    assert [(one["event"], one["why"]["value"]) for one in said] == [
        ("set", "letter of an insurer"), ("released", "settled"),
    ]  # fmt: skip
    assert holds_in_itself(data)


def words_on_disk(data: Path, word: str) -> bool:
    return any(word.encode() in path.read_bytes() for path in data.iterdir() if path.is_file())


def test_erased_values_leave_the_disk_and_the_chain_stays_intact(data: Path) -> None:
    assert words_on_disk(data, "northbound")
    with written(data) as store:
        store.mark_sent(reply.id for reply in store.pending())
        now = at(data, 4 * 365 + 1)
        found = list(expired(store, now.wall_ms))
        for one in found:
            erase(store, one, now, ZONE)
        assert list(expired(store, now.wall_ms)) == []
    assert holds_in_itself(data)
    assert not words_on_disk(data, "northbound")
    assert [path.suffix for path in (data / "files").iterdir()] == [".svg"]
    with open_reader(data) as reader:
        said = [e["body"] for e in reader.entries(0) if e["kind"] == "erased"]
        assert [one["what"] for one in said] == [one.what for one in found]
        assert reader.jobs() == {1: "closed"}
    # A packet of the rest says how much is gone.
    make_packet(Settings(data), 1, data.with_name("job-1.zip"), max, seed="1")
    top = unpacked(data.with_name("job-1.zip"), data.with_name("out"))
    text = (top / "data/00-READ-ME-FIRST.txt").read_text("utf-8")
    assert "personal values were lawfully erased" in text
    assert "entry" in text.split("missing here")[1]
    assert caught_by(top) == set()


def test_keep_shows_first_and_erases_only_on_request(
    data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # The recorded conversation is from 2026: by the machine's clock either nothing has expired
    # yet or everything has. In both cases nothing is erased without a request.
    before = (data / FILE_NAME).read_bytes()
    assert main(["keep", "--data", str(data)]) == 0
    assert (data / FILE_NAME).read_bytes() == before
    assert main(["keep", "--data", str(data), "--hold", "1", "--why", "letter"]) == 0
    assert main(["keep", "--data", str(data)]) == 0
    assert "on hold: job 1" in capsys.readouterr().out


# Copies


def test_a_copy_is_complete_while_the_record_is_written(data: Path, tmp_path: Path) -> None:
    with written(data) as store:
        hold(store, Hold(1, "in the middle"), at(data, 1), ZONE)
        back_up(data, tmp_path / "copy")
        hold(store, Hold(1, "after it", is_set=False), at(data, 2), ZONE)
    assert holds_in_itself(tmp_path / "copy")
    with open_reader(tmp_path / "copy") as reader:
        assert [e["kind"] for e in reader.entries(0)][-1] == "hold"
        assert reader.entries(0)[-1]["body"]["why"]["value"] == "in the middle"
    names = {path.name for path in (data / "files").iterdir()}
    assert {path.name for path in (tmp_path / "copy/files").iterdir()} == names


def test_a_copy_contains_no_key_and_no_token(data: Path, tmp_path: Path) -> None:
    (data / "token").write_text("1:secret")
    (data / "key").write_bytes(b"k" * 32)
    back_up(data, tmp_path / "copy")
    assert {path.name for path in (tmp_path / "copy").iterdir()} == {FILE_NAME, "files"}


def test_a_copy_never_overwrites_anything(data: Path, tmp_path: Path) -> None:
    (tmp_path / "copy").mkdir()
    with pytest.raises(StoreError) as refused:
        back_up(data, tmp_path / "copy")
    assert refused.value.words is IN_THE_WAY
    back_up(data, tmp_path / "other")
    with pytest.raises(StoreError) as refused:
        restore(Settings(data), tmp_path / "other")
    assert refused.value.words is THERE


def test_a_damaged_copy_is_not_restored(data: Path, tmp_path: Path) -> None:
    back_up(data, tmp_path / "copy")
    conn = sqlite3.connect(tmp_path / "copy" / FILE_NAME)
    conn.execute("DROP TRIGGER journal_no_update")
    conn.execute("UPDATE journal SET line = replace(line, 'breakdown', 'crash')")
    conn.commit()
    conn.close()
    with pytest.raises(StoreError) as refused:
        restore(Settings(tmp_path / "new"), tmp_path / "copy")
    assert refused.value.words is BAD_COPY
    assert not (tmp_path / "new").exists()


def test_an_older_copy_continues_only_with_the_loss_recorded(data: Path, tmp_path: Path) -> None:
    """T-26: the loss is noticed, reported and recorded; then the record continues."""
    chosen = Settings(data)
    back_up(data, tmp_path / "copy")
    with written(data) as store:
        hold(store, Hold(1, "after the copy"), at(data, 1), ZONE)
        remember(chosen.seen_file, store, 1)
    shutil.rmtree(data)
    shutil.copytree(tmp_path / "copy", data)
    assert main(["keep", "--data", str(data)]) == 1
    assert main(["status", "--data", str(data)]) == 0
    assert main(["verify", "--data", str(data)]) == 1
    shutil.rmtree(data)
    lost = restore(chosen, tmp_path / "copy")
    assert [job for job, _ in lost] == [0]
    with open_reader(data) as reader:
        last = reader.entries(0)[-1]
    assert (last["kind"], last["body"]["lost"][0]["job"]) == ("restored", "0")
    assert main(["keep", "--data", str(data)]) == 0
    assert holds_in_itself(data)
    assert BEHIND.what


def shared(data: Path) -> str:
    """Let a second job receive the same photo as the first, and return its digest."""
    with open_reader(data) as reader:
        photo = next(e["body"] for e in reader.entries(1) if e["kind"] == "media")
    media = {name: photo[name] for name in ("kind", "sha256", "size", "type") if name in photo}
    with written(data) as store:
        opened = [NewEntry(2, "opened", {}, by="p1"), NewEntry(2, "media", media, by="p1")]
        store.commit(Batch(at(data, 0), ZONE, entries=tuple(opened)))
    return str(photo["sha256"])


def closed(data: Path, days: int) -> None:
    with written(data) as store:
        entries = (NewEntry(2, "told", {"what": "x"}, by="bot"),)
        store.commit(Batch(at(data, days), ZONE, entries=entries, states=((2, "closed"),)))


def erase_all(data: Path, days: int) -> list[Expired]:
    with written(data) as store:
        found = list(expired(store, last_ms(data) + days * DAY_MS))
        for old in found:
            erase(store, old, at(data, days), ZONE)
    return [one for one in found if one.what == "files"]


def test_a_file_that_another_job_names_too_stays_until_that_expires(data: Path) -> None:
    mark = shared(data)
    path = data / "files" / mark
    # The other job is open: only what nobody else names is erased.
    assert [one.job for one in erase_all(data, 1500)] == [1]
    assert path.exists()
    assert main(["verify", "--data", str(data)]) == 0
    sealed = make_packet(Settings(data), 1, data.with_name("job-1.zip"), max, seed="1")
    assert sealed.wrong == ()
    assert caught_by(unpacked(data.with_name("job-1.zip"), data.with_name("one"))) == set()
    # It ended later than the first: the file goes with the last job that names it.
    closed(data, 1500)
    assert erase_all(data, 2900) == []
    assert path.exists()
    assert {one.job for one in erase_all(data, 3100)} == {1, 2}
    assert not path.exists()
    assert main(["verify", "--data", str(data)]) == 0


def test_a_file_that_only_the_other_job_erased_is_missing_and_not_erased(data: Path) -> None:
    mark = shared(data)
    with written(data) as store:
        erase(store, Expired(1, "files", (mark,)), at(data, 1500), ZONE)
    assert main(["verify", "--data", str(data)]) == 1

"""Time stamps (RFC 3161) from a service on loopback, checked with openssl as a stranger would."""

import hashlib
import json
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from bot.commands import cli
from bot.commands.proving import make_packet, packet_for_chat, stamp_newest
from bot.machine.settings import Settings
from bot.packet.case import NO_JOB
from bot.packet.verify import check
from bot.record import stamping
from bot.record.errors import StoreError
from bot.record.keys import make_key
from bot.record.stamping import LARGEST, NO_ANSWER, NO_ROOT, NO_SERVICE, NO_STAMP, time_of
from tests.packet.packets import carried, caught_by, redone, unpacked
from tests.packet.stamps import Serving, answered, holds, new_service, serving

MANIFEST = "manifest-sha256.txt"


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return new_service(tmp_path_factory.mktemp("service"))


@pytest.fixture
def running(service: Path) -> Iterator[Serving]:
    with serving(service) as found:
        yield found


@pytest.fixture
def chosen(tmp_path: Path, service: Path, running: Serving) -> Settings:
    data = tmp_path / "data"
    carried(data)
    return Settings(data, stamper=running.url, stamper_root=service / "tsa.crt")


def packed(chosen: Settings, out: Path) -> Path:
    make_packet(chosen, 1, out, max, seed="1")
    return out


def test_a_packet_is_stamped_and_two_builds_are_the_same_bytes(
    chosen: Settings, service: Path, running: Serving, tmp_path: Path
) -> None:
    one, other = packed(chosen, tmp_path / "one.zip"), packed(chosen, tmp_path / "other.zip")
    assert one.read_bytes() == other.read_bytes()
    assert running.asked == 1, "what was stamped keeps its first stamp"
    top = unpacked(one, tmp_path / "out")
    assert holds(service, top / MANIFEST, top / f"{MANIFEST}.tsr")
    made = time_of((top / f"{MANIFEST}.tsr").read_bytes())
    assert abs(datetime.now(UTC) - made) < timedelta(minutes=5)
    assert caught_by(top) == set()


def test_only_the_digest_leaves_the_machine(
    chosen: Settings, monkeypatch: pytest.MonkeyPatch, service: Path, tmp_path: Path
) -> None:
    sent: list[bytes] = []

    def post(_url: str, request: bytes) -> bytes:
        sent.append(request)
        return answered(service, request)

    monkeypatch.setattr("bot.commands.proving.posted", post)
    top = unpacked(packed(chosen, tmp_path / "one.zip"), tmp_path / "out")
    digest = hashlib.sha256((top / MANIFEST).read_bytes()).digest()
    assert digest in sent[0]
    assert len(sent[0]) < 100


def test_a_rewritten_packet_can_only_have_a_new_stamp(
    chosen: Settings, service: Path, tmp_path: Path
) -> None:
    top = unpacked(packed(chosen, tmp_path / "one.zip"), tmp_path / "out")
    (top / "data/receipt.txt").write_text("job 1 entries 3 root 00\n")
    redone(top, sign="1")
    assert not holds(service, top / MANIFEST, top / f"{MANIFEST}.tsr")
    assert caught_by(top) == {"verify.py"}, "the checker sees it too"
    wrong = next(one.wrong for one in check(top) if one.name == "a time stamp")
    assert wrong == ["the time stamp is for another manifest"]


def test_the_root_over_all_jobs_is_stamped_and_goes_into_the_packet(
    chosen: Settings, service: Path, running: Serving, tmp_path: Path
) -> None:
    made = stamp_newest(chosen)
    assert made is not None
    again = stamp_newest(chosen)
    assert again == made
    assert running.asked == 1
    top = unpacked(packed(chosen, tmp_path / "one.zip"), tmp_path / "out")
    name = top / f"data/proof/all-jobs-{made[0].seq:05d}"
    assert holds(service, name.with_suffix(".json"), name.with_suffix(".tsr"))
    said = json.loads(name.with_suffix(".json").read_bytes())
    newest = json.loads((top / "data/proof/all-jobs.jsonl").read_text().splitlines()[-1])
    assert said["root"] == newest["body"]["root"]
    assert caught_by(top) == set()


def test_a_silent_service_leaves_no_unfinished_packet(
    chosen: Settings, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def silent(_url: str, _request: bytes) -> bytes:
        raise TimeoutError("timed out")

    monkeypatch.setattr("bot.commands.proving.posted", silent)
    with pytest.raises(StoreError) as refused:
        packed(chosen, tmp_path / "one.zip")
    assert refused.value.words is NO_ANSWER
    assert "--no-stamp" in refused.value.todo
    assert not list(tmp_path.glob("one*"))


def test_in_a_chat_the_packet_comes_even_without_a_stamp(
    chosen: Settings, running: Serving, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    running.instead = b"down"
    make_key(chosen.key_file)
    packet_for_chat(chosen, 1, tmp_path / "one.zip")
    assert not (unpacked(tmp_path / "one.zip", tmp_path / "out") / f"{MANIFEST}.tsr").exists()
    assert "without a time stamp" in caplog.text
    with pytest.raises(StoreError) as refused:
        packet_for_chat(chosen, 99, tmp_path / "two.zip")
    assert refused.value.words is NO_JOB


@pytest.mark.parametrize("instead", [b"", b"no stamp", b"\x30\x03\x02\x01\x00", b"x" * LARGEST])
def test_an_answer_that_is_not_a_stamp_is_refused(
    chosen: Settings, running: Serving, tmp_path: Path, instead: bytes
) -> None:
    running.instead = instead
    with pytest.raises(StoreError) as refused:
        packed(chosen, tmp_path / "one.zip")
    assert refused.value.words is NO_STAMP
    assert not list(chosen.data.rglob("*.tsr")), "an invalid stamp is not kept"


def test_an_answer_of_another_type_or_without_end_is_refused(
    chosen: Settings, running: Serving, tmp_path: Path
) -> None:
    running.instead, running.kind = b"<html>", "text/html"
    with pytest.raises(StoreError, match="text/html"):
        packed(chosen, tmp_path / "one.zip")
    running.instead, running.kind = b"x" * (LARGEST + 1), "application/timestamp-reply"
    with pytest.raises(StoreError, match=f"more than {LARGEST} bytes"):
        packed(chosen, tmp_path / "one.zip")


def test_an_old_answer_and_another_services_answer_are_refused(
    chosen: Settings, service: Path, running: Serving, tmp_path: Path
) -> None:
    stamp_newest(chosen)
    running.instead = (service / "answer.tsr").read_bytes()
    with pytest.raises(StoreError) as refused:
        packed(chosen, tmp_path / "one.zip")
    assert refused.value.words is NO_STAMP
    other = new_service(tmp_path / "other")
    with serving(other) as theirs:
        stranger = Settings(chosen.data, stamper=theirs.url, stamper_root=chosen.stamper_root)
        with pytest.raises(StoreError) as refused:
            packed(stranger, tmp_path / "one.zip")
    assert refused.value.words is NO_STAMP


def test_an_invalid_address_is_reported(chosen: Settings, tmp_path: Path) -> None:
    odd = Settings(chosen.data, stamper="file:///etc/passwd", stamper_root=chosen.stamper_root)
    with pytest.raises(StoreError, match="neither https"):
        packed(odd, tmp_path / "one.zip")


def test_an_unreadable_certificate_is_reported(chosen: Settings, tmp_path: Path) -> None:
    (tmp_path / "no.crt").write_text("no certificate")
    for root in (None, tmp_path / "missing.crt", tmp_path / "no.crt"):
        odd = Settings(chosen.data, stamper=chosen.stamper, stamper_root=root)
        with pytest.raises(StoreError) as refused:
            packed(odd, tmp_path / "one.zip")
        assert refused.value.words is NO_ROOT


def test_the_commands_report_their_results(
    chosen: Settings,
    running: Serving,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    tmp_path: Path,
) -> None:
    data = ("--data", str(chosen.data))
    assert cli.main(["stamp", *data]) == 1
    assert NO_SERVICE.what.format(value="ROLLPROOF_STAMPER") in capsys.readouterr().err
    monkeypatch.setenv("ROLLPROOF_STAMPER", running.url)
    monkeypatch.setenv("ROLLPROOF_STAMPER_ROOT", str(chosen.stamper_root))
    assert cli.main(["stamp", *data]) == 0
    assert f"{datetime.now(UTC):%Y-%m-%d}" in capsys.readouterr().out
    running.instead = b"down"
    out = tmp_path / "job.zip"
    assert cli.main(["packet", "1", *data, "--out", str(out), "--seed", "1"]) == 1
    assert not out.exists()
    assert cli.main(["packet", "1", *data, "--out", str(out), "--seed", "1", "--no-stamp"]) == 0
    assert not (unpacked(out, tmp_path / "out") / f"{MANIFEST}.tsr").exists()


def test_a_missing_library_is_reported(chosen: Settings, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "rfc3161_client", None)
    with pytest.raises(StoreError) as refused:
        stamp_newest(chosen)
    assert refused.value.words is stamping.NO_LIBRARY

"""The chain: digests against FIPS 180-4 and coreutils, and every kind of tampering named."""

import hashlib
import json
import shutil
import subprocess
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest
from hypothesis import given, strategies as st

from bot.record import chain
from bot.record.canonical import canonical
from bot.record.chain import GENESIS, Problem, commitment, digest, link, verify_lines
from bot.record.entry import compose, is_late, utc
from bot.record.errors import RESERVED_KEY, CanonicalError
from bot.record.private import commitments, conceal, random_salt, reveal, seeded_salt
from bot.record.rows import Moment, NewEntry


@dataclass(frozen=True)
class Hidden:
    private_value: object


def chained(count: int, job: str = "7", text: str = "seen") -> list[str]:
    lines: list[str] = []
    prev = GENESIS
    for seq in range(count):
        line, prev = link(prev, {"job": job, "seq": seq, "body": {"text": f"{text} {seq}"}})
        lines.append(line)
    return lines


def digests(lines: list[str]) -> dict[int, str]:
    return {seq: digest(line.encode()) for seq, line in enumerate(lines)}


# FIPS 180-4 example messages for SHA-256 (NIST's published examples; the empty one from memory).
@pytest.mark.parametrize(
    ("message", "expected"),
    [
        (b"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
        (b"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
        (
            b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
        ),
    ],
)
def test_fips_180_4_messages(message: bytes, expected: str) -> None:
    assert digest(message) == expected


def test_a_commitment_is_the_digest_of_bytes_written_by_hand() -> None:
    by_hand = '{"salt":"5a","value":{"name":"Zoë","tel":["1","2"]}}'.encode()
    value = {"tel": ["1", "2"], "name": "Zoë"}
    assert commitment("5a", value) == hashlib.sha256(by_hand).hexdigest()


def test_coreutils_reads_the_chain(tmp_path: Path) -> None:
    tool = shutil.which("sha256sum")
    if tool is None:
        pytest.skip("no sha256sum on this machine")
    first, second = chained(2, text="ü")
    (tmp_path / "line").write_bytes(first.encode("utf-8"))
    run = subprocess.run([tool, tmp_path / "line"], capture_output=True, text=True, check=True)
    assert json.loads(second)["prev"] == run.stdout.split()[0]
    assert json.loads(first)["prev"] == "0" * 64


def test_a_sound_chain_has_no_problem() -> None:
    lines = chained(4)
    assert verify_lines([]) == []
    assert verify_lines(lines) == []
    assert verify_lines(lines, digests(lines), job="7") == []


@given(st.data())
def test_any_changed_character_is_named_at_its_entry(data: st.DataObject) -> None:
    lines = chained(3)
    known = digests(lines)
    seq = data.draw(st.integers(0, 2))
    at = data.draw(st.integers(0, len(lines[seq]) - 1))
    new = data.draw(st.characters(codec="utf-8").filter(lambda c: c != lines[seq][at]))
    lines[seq] = lines[seq][:at] + new + lines[seq][at + 1 :]
    assert [problem.seq for problem in verify_lines(lines, known, job="7")] == [seq]


def test_without_known_digests_a_change_shows_at_the_next_entry() -> None:
    lines = chained(4)
    lines[1] = lines[1].replace("seen 1", "seen 9")
    assert verify_lines(lines) == [Problem("7", 2, chain.UNLINKED.format(seq=2))]


def test_only_a_known_digest_shows_a_changed_last_entry() -> None:
    lines = chained(3)
    known = digests(lines)
    lines[2] = lines[2].replace("seen 2", "seen 9")
    assert verify_lines(lines) == []
    assert verify_lines(lines, {2: known[2]}) == [Problem("7", 2, chain.CHANGED.format(seq=2))]


def test_only_a_known_digest_shows_a_completely_rewritten_chain() -> None:
    lines, forged = chained(4), chained(4, text="said")
    assert verify_lines(forged) == []
    assert [problem.seq for problem in verify_lines(forged, {3: digests(lines)[3]})] == [3]


def test_only_a_known_digest_shows_a_lost_tail() -> None:
    lines = chained(4)
    assert verify_lines(lines[:2]) == []
    assert verify_lines(lines[:2], {3: digests(lines)[3]}) == [
        Problem("7", 3, chain.MISSING.format(seq=3))
    ]


@pytest.mark.parametrize(
    ("seq", "tamper", "what"),
    [
        (1, lambda lines: lines[:1] + lines[2:], chain.MISPLACED.format(found=2, seq=1)),
        (0, lambda lines: lines[1:], chain.MISPLACED.format(found=1, seq=0)),
        (
            1,
            lambda lines: [lines[0], lines[2], lines[1], lines[3]],
            chain.MISPLACED.format(found=2, seq=1),
        ),
        (2, lambda lines: lines[:2] + lines[1:], chain.MISPLACED.format(found=1, seq=2)),
        (
            2,
            lambda lines: [*lines[:2], chained(3, job="8")[2], lines[3]],
            chain.OTHER_JOB.format(seq=2, found="8", job="7"),
        ),
        (
            2,
            lambda lines: [*lines[:2], chained(3, text="said")[2], lines[3]],
            chain.UNLINKED.format(seq=2),
        ),
        (
            1,
            lambda lines: [lines[0], lines[1].replace(":", ": "), *lines[2:]],
            chain.NOT_CANONICAL.format(seq=1),
        ),
        (
            1,
            lambda lines: [lines[0], lines[1][:-1] + ',"seq":1}', *lines[2:]],
            "The key 'seq' is in the same object twice.",
        ),
        (
            3,
            lambda lines: [*lines[:3], lines[3].replace('"seq":3', '"seq":3.0')],
            "'3.0' is not an integer.",
        ),
        (
            1,
            lambda lines: [lines[0], lines[1].replace('"seq":1', '"seq":true'), *lines[2:]],
            chain.MISPLACED.format(found=True, seq=1),
        ),
        (
            0,
            lambda lines: [lines[0].replace("seen 0", "\\ud800"), *lines[1:]],
            chain.NOT_CANONICAL.format(seq=0),
        ),
    ],
)
def test_tampering_is_named(seq: int, tamper: Callable[[list[str]], list[str]], what: str) -> None:
    found = verify_lines(tamper(chained(4)), job="7")
    assert found == [Problem("7", seq, what)]


def test_order_is_checked_before_anything_is_hashed(monkeypatch: pytest.MonkeyPatch) -> None:
    lines = chained(3)[1:]

    def never(data: bytes) -> str:
        raise AssertionError(data)

    monkeypatch.setattr(chain, "digest", never)
    assert [problem.seq for problem in verify_lines(lines)] == [0]


def test_a_chain_of_another_job_is_named() -> None:
    assert verify_lines(chained(2), job="8") == [
        Problem("8", 0, chain.OTHER_JOB.format(seq=0, found="7", job="8"))
    ]


def test_the_form_of_an_entry_is_final() -> None:
    # Records are kept for years, so version 1 is spelled out by hand and must never change.
    new = NewEntry(
        1042, "fact", {"plate": None}, by="p3", vehicle="p1", claimed_ms=0, stamped_ms=1_000
    )
    moment = Moment(2_000, 9_007_199_254_740_993, "b1")
    line, _ = link(GENESIS, compose(new, 3, {"mass_kg": 1200}, moment, "America/Denver"))
    assert line == (
        '{"body":{"mass_kg":1200},"by":"p3","job":"1042","kind":"fact","late":false,'
        '"prev":"0000000000000000000000000000000000000000000000000000000000000000","seq":3,'
        '"times":{"boot":"b1","claimed":"1970-01-01T00:00:00.000Z","mono_ns":"9007199254740993",'
        '"stamped":"1970-01-01T00:00:01.000Z","written":"1970-01-01T00:00:02.000Z",'
        '"zone":"America/Denver"},"v":1,"vehicle":"p1"}'
    )


@pytest.mark.parametrize(
    ("claimed_ms", "stamped_ms", "late"),
    [
        (None, None, False),
        (None, 100_000, False),
        (None, 70_000, False),
        (None, 69_999, True),
        (None, 130_000, False),
        (None, 130_001, True),
        (70_000, 100_000, False),
        (69_999, 100_000, True),
    ],
)
def test_an_entry_more_than_30_s_from_its_times_is_late(
    claimed_ms: int | None, stamped_ms: int | None, *, late: bool
) -> None:
    # A message takes seconds at most; after 30 s the time was claimed, not witnessed (T-05).
    new = NewEntry(1, "fact", {}, by="p1", claimed_ms=claimed_ms, stamped_ms=stamped_ms)
    assert is_late(new, 100_000) is late


def test_times_keep_every_millisecond() -> None:
    # 2**31 s after 1970 is 2038-01-19T03:14:08Z (POSIX time, common knowledge).
    assert utc(2**31 * 1000 + 7) == "2038-01-19T03:14:08.007Z"


def test_personal_values_are_concealed_at_any_depth() -> None:
    body = {"who": [{"name": Hidden("Zoë"), "kg": 80}], "at": {"place": Hidden([1, 2])}}
    shown, kept = conceal(body, lambda index: f"salt{index}")
    # Keys in sorted order: "at" has index 0, "who" index 1.
    at, who = commitment("salt0", [1, 2]), commitment("salt1", "Zoë")
    assert shown == {
        "who": [{"name": {"commitment": who}, "kg": 80}],
        "at": {"place": {"commitment": at}},
    }
    assert list(commitments(shown)) == [at, who]
    assert "Zoë" not in canonical(shown).decode()
    values = {one.digest: (one.salt, json.loads(one.value)) for one in kept}
    assert reveal(shown, values.get)["who"][0]["name"] == {"commitment": who, "value": "Zoë"}
    assert reveal(shown, lambda _: None)["at"]["place"] == {
        "commitment": at,
        "value": None,
        "erased": True,
    }


def test_a_ready_made_commitment_is_refused() -> None:
    with pytest.raises(CanonicalError) as caught:
        conceal({"plate": {"commitment": "ab"}}, lambda index: "00")
    assert caught.value.words is RESERVED_KEY


def test_a_personal_value_that_an_entry_cannot_contain_is_refused() -> None:
    with pytest.raises(CanonicalError):
        conceal({"place": Hidden(39.74)}, lambda index: "00")


def test_random_salts_differ_and_have_128_bits() -> None:
    salts = {random_salt(1, 0, 0) for _ in range(100)}
    assert len(salts) == 100
    assert {len(bytes.fromhex(salt)) for salt in salts} == {16}


def test_seeded_salts_repeat_and_differ_by_position_and_seed() -> None:
    places = [(job, seq, index) for job in (1, 11) for seq in (1, 11) for index in (0, 1)]
    salts = [seeded_salt("1")(*place) for place in places]
    assert salts == [seeded_salt("1")(*place) for place in places]
    assert len(set(salts)) == len(places)
    assert seeded_salt("2")(1, 1, 0) not in salts

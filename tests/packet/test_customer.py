"""The customer's copy: no personal data, and a proof for each entry (T-29)."""

import json
import re
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from bot.commands.bootstrap import book_for
from bot.commands.demo import Player, conversation, parse
from bot.commands.proving import make_customer_copy
from bot.desk.inbound import Inbound
from bot.machine.settings import Settings
from bot.packet.case import read_case
from bot.packet.customer import NOT_SEALED
from bot.packet.customer_page import bare, page_for
from bot.packet.drawn import Drawn
from bot.record.arithmetic import is_included, leaf_hash
from bot.record.errors import StoreError
from bot.record.reader import open_reader
from tests.packet.packets import caught_by, redone, unpacked

PLACE = (39_739_236, -104_990_251, "by the blue barn")


@pytest.fixture(scope="module")
def data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("record") / "data"
    player = Player(folder)
    steps = parse("@dispatcher:ann> status\n" + conversation("plain_carry"))
    for number, step in enumerate(steps):
        if step.kind != "=":
            player.step(step)
        if number == 9:
            player.desk.take(Inbound("driver:sam", "place", place=PLACE), player.at)
    player.close()
    return folder


@pytest.fixture
def top(data: Path, tmp_path: Path) -> Path:
    make_customer_copy(Settings(data), 1, tmp_path / "copy.zip", max, seed="1")
    return unpacked(tmp_path / "copy.zip", tmp_path / "out")


def test_every_check_holds(top: Path) -> None:
    assert caught_by(top) == set()


def test_it_has_no_name_no_text_and_no_exact_position(data: Path, top: Path) -> None:
    with open_reader(data) as reader:
        marks = [one for line in (*reader.lines(0), *reader.lines(1)) for one in _marks(line)]
        values = [kept[1] for kept in map(reader.secret, marks) if kept is not None]
    texts = {str(value) for value in values if isinstance(value, str) and len(value) > 2}
    assert {"sam", "ann", "mile 12 northbound"} <= texts
    shown = "\n".join(
        path.read_text("utf-8")
        for path in sorted((top / "data").rglob("*"))
        if path.name in {"entries.jsonl", "entries.csv", "place.txt", "inclusion.json"}
    )
    for gone in ("sam", "ann", "mile 12", "northbound", "blue barn", "39739236", "39.739"):
        assert re.search(rf"\b{gone}\b", shown.lower()) is None, gone
    assert (top / "data/place.txt").read_text("utf-8") == "39.74, -104.99\n"
    assert not (top / "data/proof/values.jsonl").exists()


def test_the_page_tells_the_story_without_names_and_private_words(data: Path) -> None:
    with open_reader(data) as reader:
        case = read_case(reader, 1, book_for(Settings(data)))
    zone, left_out = ZoneInfo("America/Denver"), "(left out here)"
    page = page_for(Drawn(bare(case, len(case.lines)), zone, left_out), "")
    lines = [line for one in page["answers"] for line in one["lines"]]
    shown = " ".join([*page["story"], *lines]).lower()
    whole = page_for(Drawn(case, zone), "")
    told = " ".join(
        [*whole["story"], *(line for one in whole["answers"] for line in one["lines"])]
    )
    for private in ("sam", "ann", "mile 12", "county yard", "555 0142", "night desk", "the owner"):
        assert re.search(rf"\b{private}\b", told.lower())
        assert re.search(rf"\b{private}\b(?! be reached)", shown) is None, private
    assert "received by (left out here)" in shown
    assert "the driver looked for danger signs and reported none" in shown
    assert "a strap at each of the four wheels" in shown


def test_the_page_is_in_the_copy_and_says_nothing_that_the_copy_does_not_prove(top: Path) -> None:
    assert (top / "data/summary.pdf").read_bytes().startswith(b"%PDF-")
    shown = (top / "data/entries.jsonl").read_text("utf-8")
    kinds = {json.loads(line)["kind"] for line in shown.splitlines()}
    assert {"opened", "handover", "concluded", "window", "act", "fact", "ended"} <= kinds
    assert kinds.isdisjoint({"heard", "asked", "transcript", "pending", "place"})


def _marks(line: str) -> list[str]:
    from bot.record.private import commitments  # noqa: PLC0415

    return list(commitments(json.loads(line)["body"]))


def test_each_entry_shown_has_a_proof_and_is_as_recorded(data: Path, top: Path) -> None:
    with open_reader(data) as reader:
        lines = reader.lines(1)
    proof = json.loads((top / "data/proof/inclusion.json").read_text("utf-8"))
    shown = (top / "data/entries.jsonl").read_text("utf-8").splitlines()
    assert 30 < len(shown) < len(lines)
    for line in shown:
        seq = json.loads(line)["seq"]
        assert lines[seq] == line
        nodes = [bytes.fromhex(node) for node in proof["paths"][str(seq)]]
        root = bytes.fromhex(proof["root"])
        assert is_included(leaf_hash(line.encode()), seq, proof["size"], nodes, root)


def test_an_edited_entry_is_caught_even_if_everything_is_signed_again(top: Path) -> None:
    path = top / "data/entries.jsonl"
    text = path.read_text("utf-8")
    assert '"value":"breakdown"' in text
    path.write_text(text.replace('"value":"breakdown"', '"value":"crash"'), "utf-8")
    redone(top, sign="1")
    assert caught_by(top) == {"verify.py"}


def test_without_a_checkpoint_there_is_no_copy(tmp_path: Path) -> None:
    player = Player(tmp_path / "data")
    player.step(parse("> new job crash")[0])
    player.close()
    with pytest.raises(StoreError) as refused:
        make_customer_copy(Settings(tmp_path / "data"), 1, tmp_path / "copy.zip", max, seed="1")
    assert refused.value.words is NOT_SEALED

"""`rollproof cards check` and `cards show`: what is printed, and what the exit code says."""

import tomllib
from pathlib import Path

import pytest

import demo_data
from bot.commands.cli import main
from bot.commands.demo import Player, conversation, parse
from flows.cards.library import library_from
from flows.cards.page import page
from flows.texts import card_words
from tests.tidy.source import ROOT

LIBRARY = library_from(demo_data.card_files())


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name, text in demo_data.card_files().items():
        place = tmp_path / name
        place.parent.mkdir(exist_ok=True)
        place.write_text(text, "utf-8")
    return tmp_path


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    code = main(["cards", *arguments])
    printed = capsys.readouterr()
    return code, printed.out, printed.err


def test_a_whole_folder_is_ok(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys, "check", str(folder))
    assert (code, err) == (0, "")
    files = sorted(demo_data.card_files())
    assert out.splitlines() == [*(f"ok     {name}" for name in files), "18 files, all ok."]
    assert run(capsys, "check") == (code, out, err), "without a folder: the cards in use"


def test_everything_wrong_is_listed(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    truck = folder / "trucks" / "wren.toml"
    truck.write_text(truck.read_text("utf-8").replace("19500", '"19500"') + "paint = 1\n")
    (folder / "gear" / "axle_dollies.toml").write_bytes(b"\xff\xfe")
    (folder / "vehicle").mkdir()
    (folder / "vehicle" / "jay.toml").write_text("")
    code, out, err = run(capsys, "check", str(folder))
    assert (code, err) == (1, "")
    lines = out.splitlines()
    at = lines.index("wrong  trucks/wren.toml")
    assert [line.strip() for line in lines[at + 1 : at + 3]] == [
        "trucks/wren.toml: gvwr_lb is '19500'; allowed: whole pounds, 6000 to 80000.",
        "trucks/wren.toml: winch.paint is 1; allowed: one of the fields layers_lb, bare_drum_lb,"
        " drum_diameter_in, drum_width_in, rope_diameter_in, rope_length_ft,"
        " rope_strength_lb, speed_ft_min.",
    ]
    assert "wrong  vehicle/jay.toml" in lines, "a card in a folder of another name is no card"
    at = lines.index("wrong  gear/axle_dollies.toml")
    assert "the file is no UTF-8 text; allowed: TOML text in UTF-8." in lines[at + 1]
    assert lines[-1] == "19 files, 16 ok, 3 wrong. Correct each file and check again."


def test_a_mark_at_the_start_of_a_file_does_no_harm(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    company = folder / "company.toml"
    company.write_text(company.read_text("utf-8"), "utf-8-sig")
    assert run(capsys, "check", str(folder))[0] == 0


def test_a_folder_that_is_not_there_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = run(capsys, "check", str(tmp_path / "none"))
    assert (code, out) == (1, "")
    assert "the file is no folder; allowed: a folder with company.toml, vehicles, trucks" in err


def test_an_empty_folder_lacks_its_company(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, _ = run(capsys, "check", str(tmp_path))
    assert code == 1
    assert "company.toml: the file is missing; allowed: one file for the company." in out


def test_a_page_has_units_sources_and_ranks(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "show", "Fieldfare")
    assert code == 0
    lines = [line.strip() for line in out.splitlines()]
    for wanted in (
        "Fieldfare, vehicle card fieldfare",
        "Wheelbase: 121 in",
        "Weights (measured: wheel scales in the yard, 2026-02-20)",
        "Front axle: 3,280 lb",
        "Travel at most: 3/8 in",
        "Hold at most: 15 min",
        "Wait: 10 min",
        "Keep off (practice: two torn parts in the yard, 2025)",
        "Not on the card: split, posts outside.",
    ):
        assert wanted in lines


def test_nothing_to_keep_off_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    """An empty list is a statement too: somebody looked."""
    _, out, _ = run(capsys, "show", "mattock")
    lines = [line.strip() for line in out.splitlines()]
    at = lines.index("Keep off (practice: company practice, nothing known)")
    assert lines[at + 1] == "none"
    assert "Nose: none" in lines


@pytest.mark.parametrize("name", ["wren", "WREN", "axle dollies", "axle_dollies", "company"])
def test_a_card_is_shown_by_name_or_id(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "show", name)
    assert code == 0
    assert len(out.splitlines()) > 5


def test_a_card_that_nobody_has_is_told(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys, "show", "jay", "--cards", str(folder))
    assert (code, out) == (1, "")
    assert "there is no card called 'jay'; allowed: axle dollies" in err
    assert err.endswith("Name one of them.\n")


def test_every_card_of_the_demonstration_has_its_page() -> None:
    cards = [LIBRARY.company]
    for shelf in (LIBRARY.vehicles, LIBRARY.trucks, LIBRARY.gear):
        cards += shelf.values()
    text = "\n".join(map(page, cards))
    assert not set("{}") & set(text)
    assert "None" not in text


def test_every_field_has_a_label_and_every_label_a_field() -> None:
    table = (ROOT / "tests" / "flows" / "data" / "card_fields.csv").read_text("utf-8")
    named = {line.split(",")[1].rpartition(".")[2] for line in table.splitlines()[1:]}
    assert named - {"*", "sources"} | {"lengths"} == set(card_words()["labels"]) | {"rank"}


@pytest.mark.parametrize("arguments", [["--help"], ["check", "--help"], ["show", "--help"]])
def test_help_has_an_example(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["cards", *arguments])
    assert ended.value.code == 0
    assert "Example: rollproof cards" in capsys.readouterr().out


def test_cards_alone_is_misuse() -> None:
    with pytest.raises(SystemExit) as ended:
        main(["cards"])
    assert ended.value.code == 2


def test_a_draft_is_made_of_a_job_without_a_card(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    player = Player(tmp_path)
    for step in parse(conversation("loaded_without_a_card")):
        player.step(step)
    player.close()
    code, out, err = run(capsys, "draft", "1", "--data", str(tmp_path))
    assert (code, err) == (0, "")
    assert tomllib.loads(out)["weight_class"] == "suv_compact"
    code, out, err = run(capsys, "draft", "7", "--data", str(tmp_path))
    assert (code, out) == (1, "")
    assert "there is no job 7" in err

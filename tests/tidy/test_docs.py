"""The pages say what the program says."""

import re
import shutil
from pathlib import Path

import pytest

from flows.errors import FlowError
from tests.tidy import docs
from tests.tidy.source import ROOT

MOST_LINES = {"README.md": 250, "DEVELOPERS.md": 300}
ROOMS = sorted(
    path.parent for top in ("bot", "flows") for path in (ROOT / top).glob("*/__init__.py")
)


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """A folder with nothing in it but the pages."""
    for page in docs.PAGES:
        (tmp_path / page).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(ROOT / page, tmp_path / page)
    return tmp_path


def test_the_generated_parts_are_fresh(capsys: pytest.CaptureFixture[str]) -> None:
    assert docs.main(["--check"]) == 0, "run python -m tests.tidy.docs and read the change"
    assert capsys.readouterr().out.count("Checking ") == len(docs.PAGES)


def test_every_page_with_a_marker_is_generated() -> None:
    marked = {
        path.relative_to(ROOT).as_posix()
        for path in ROOT.rglob("*.md")
        if "[[[cog" in path.read_text("utf-8") and ".venv" not in path.parts
    }
    assert marked == set(docs.PAGES)


def test_a_stale_part_is_noticed_and_written_anew(
    copy: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    page = copy / "flows/rules/RULES.md"
    was = page.read_text("utf-8")
    page.write_text(was.replace("| S9 | ", "| S9 | Always "), "utf-8")
    assert docs.main(["--check"], copy) != 0
    assert "-| S9 | Always " in capsys.readouterr().out
    assert docs.main([], copy) == 0
    assert page.read_text("utf-8") == was
    assert docs.main(["--check"], copy) == 0


def test_a_marker_that_cannot_be_followed_is_told() -> None:
    with pytest.raises(FlowError, match="no span from 'never said' to 'close'"):
        docs.conversation("plain_carry", "never said", "close")
    with pytest.raises(FlowError, match="assigns no NOWHERE"):
        docs.source("flows/routine/sections/first.py", "NOWHERE")


@pytest.mark.parametrize("page", MOST_LINES)
def test_a_page_is_short(page: str) -> None:
    assert len((ROOT / page).read_text("utf-8").splitlines()) < MOST_LINES[page]


@pytest.mark.parametrize("room", ROOMS, ids=lambda room: room.relative_to(ROOT).as_posix())
def test_every_room_has_its_page(room: Path) -> None:
    lines = (room / "README.md").read_text("utf-8").splitlines()
    assert lines[0].startswith("# ")
    assert 10 < len(lines) < 100


PATH = re.compile(r"`((?:bot|flows|tests|demo_data)/[\w./]*)`")


def test_every_path_that_a_page_names_is_there() -> None:
    pages = [page for page in ROOT.rglob("*.md") if ".venv" not in page.parts]
    assert len(pages) > len(ROOMS)
    gone = [
        f"{page.relative_to(ROOT)}: {path}"
        for page in pages
        for path in PATH.findall(page.read_text("utf-8"))
        if not (ROOT / path).exists()
    ]
    assert not gone


def test_every_command_is_in_the_readme() -> None:
    # From the command line's own help, not from the function that makes the table.
    usage = re.findall(r"^\| `(\w+)` \|", (ROOT / "README.md").read_text("utf-8"), re.MULTILINE)
    assert {"talk", "lines", "demo", "explore", "status", "trail", "verify"} <= set(usage)


def test_every_excerpt_was_said() -> None:
    """A reader may type the words behind `>`: they are in the recorded conversation."""
    text = (ROOT / "README.md").read_text("utf-8")
    blocks = re.findall(r'conversation\("(\w+)".*?-->\n\n```text\n(.*?)```', text, re.DOTALL)
    assert len(blocks) >= 2
    for name, block in blocks:
        recorded = (ROOT / "tests" / "conversations" / f"{name}.txt").read_text("utf-8")
        said = [line for line in block.splitlines() if line.startswith("> ")]
        assert said
        assert all(line in recorded.splitlines() for line in said)

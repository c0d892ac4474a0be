"""README.md and DEVELOPERS.md say what the program says."""

import re
import shutil
from pathlib import Path

import pytest

from bot.commands import docs
from flows.errors import FlowError
from tests.tidy.source import ROOT


def test_the_generated_parts_are_fresh() -> None:
    assert list(docs.stale(ROOT)) == [], "run python -m bot.commands.docs and read the change"


def test_every_part_has_its_place() -> None:
    text = "".join((ROOT / name).read_text("utf-8") for name in docs.DOCUMENTS)
    assert set(re.findall(r"<!-- generated: (\w+)", text)) == set(docs.PARTS)


def test_what_was_changed_is_told_and_made_anew(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for name in docs.DOCUMENTS:
        shutil.copy(ROOT / name, tmp_path)
    page = tmp_path / "DEVELOPERS.md"
    monkeypatch.setattr(docs, "ROOT", tmp_path)
    assert docs.main([]) == 0
    was = page.read_text("utf-8")
    page.write_text(was.replace("| S9 | ", "| S9 | Always "), "utf-8")
    assert docs.main(["--check"]) == 1
    assert "-| S9 | Always " in capsys.readouterr().out
    assert docs.main([]) == 0
    assert page.read_text("utf-8") == was
    assert docs.main(["--check"]) == 0


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("<!-- generated: weather -->\n<!-- end -->", "nothing makes the part 'weather'"),
        ("<!-- generated: rules -->\n", "1 generated parts have no end"),
        ("<!-- generated: rules -->\n<!-- generated: acts -->\n<!-- end -->", "1 generated parts"),
        (
            "<!-- generated: conversation: plain_carry; never said; close -->\n<!-- end -->",
            "no span from 'never said' to 'close'",
        ),
        (
            "<!-- generated: source: flows/routine/sections/first.py; NOWHERE -->\n<!-- end -->",
            "assigns no NOWHERE",
        ),
    ],
)
def test_a_marker_that_cannot_be_followed_is_told(text: str, says: str) -> None:
    with pytest.raises(FlowError, match=says):
        docs.generated(text)


def test_every_command_is_in_the_readme() -> None:
    # From the command line's own help, not from what made the table.
    usage = re.findall(r"^\| `(\w+)` \|", (ROOT / "README.md").read_text("utf-8"), re.MULTILINE)
    assert {"talk", "lines", "demo", "explore", "status", "trail", "verify"} <= set(usage)


def test_every_excerpt_was_said() -> None:
    """A reader may type what stands behind `>`: it is in the recorded conversation."""
    text = (ROOT / "README.md").read_text("utf-8")
    blocks = re.findall(r"conversation: (\w+);[^\n]*-->\n\n```text\n(.*?)```", text, re.DOTALL)
    assert len(blocks) >= 2
    for name, block in blocks:
        recorded = (ROOT / "tests" / "conversations" / f"{name}.txt").read_text("utf-8")
        said = [line for line in block.splitlines() if line.startswith("> ")]
        assert said
        assert all(line in recorded.splitlines() for line in said)

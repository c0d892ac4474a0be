"""The tree that DEVELOPERS.md draws under "Layout" is the one on disk."""

from collections.abc import Iterator

import pytest

from tests.tidy.source import ROOT, kept_files

HEADING = "## Layout"
INDENT = 2


def drawn(text: str) -> Iterator[str]:
    """Yield the paths of the first fenced block after the heading; folders end in a slash."""
    _, _, after = text.partition(f"\n{HEADING}\n")
    block = after.split("```")[1].split("\n", maxsplit=1)[1] if "```" in after else ""
    above: list[str] = []
    for line in filter(str.strip, block.splitlines()):
        name = line.split()[0]
        depth = (len(line) - len(line.lstrip())) // INDENT
        above = [*above[:depth], name]
        yield "".join(above)


def on_disk() -> tuple[set[str], set[str]]:
    """Return every file at the top and every folder, and every file of the project."""
    files = {path.relative_to(ROOT) for path in kept_files()}
    folders = {f"{up.as_posix()}/" for path in files for up in path.parents if up.name}
    return folders | {p.as_posix() for p in files if not p.parent.name}, {
        path.as_posix() for path in files
    }


def test_the_tree_is_on_disk() -> None:
    named = set(drawn((ROOT / "DEVELOPERS.md").read_text("utf-8")))
    wanted, files = on_disk()
    assert named - wanted - files == set(), "named, and not on disk"
    assert wanted - named == set(), "on disk, and not named"


@pytest.mark.parametrize(
    ("text", "paths"),
    [
        ("# A\n\n## Layout\n\n```\nbot/   the shell\n  cli.py\nREADME.md\n```\n",
         ["bot/", "bot/cli.py", "README.md"]),
        ("# A\n\n## Other\n\n```\nbot/\n```\n", []),
    ],
)  # fmt: skip
def test_how_a_tree_is_read(text: str, paths: list[str]) -> None:
    assert list(drawn(text)) == paths

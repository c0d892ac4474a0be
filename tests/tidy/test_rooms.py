"""Who may import whom: the contracts in pyproject.toml, kept by the code, and noticed when not."""

import re
import shutil
import subprocess
import sys
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import grimp
import pytest

from tests.tidy.source import ROOT

PLANTED = (
    # A room that imports one above it.
    ("flows/rules", "flows.hearing.lexicon"),
    ("flows/job", "flows.turn.turning"),
    ("flows/routine", "flows.hearing.answers"),
    ("flows/hearing", "flows.telling.reply"),
    ("flows/hearing", "flows.turn.advance"),
    ("flows/telling", "flows.turn.advance"),
    ("flows/turn", "flows.explore.search"),
    ("flows/figures", "flows.cards.truck"),
    ("bot/record", "bot.packet.case"),
    ("bot/record", "bot.desk.desk"),
    ("bot/desk", "bot.channels.lines"),
    ("bot/machine", "bot.record.store"),
    # Two side by side.
    ("flows/rules", "flows.routine.items"),
    ("flows/routine", "flows.rules.safety"),
    ("flows/hearing", "flows.reckoning.lifts"),
    ("bot/packet", "bot.channels.lines"),
    ("bot/channels", "bot.packet.case"),
    # What one room may not know, though it lies lower.
    ("flows/rules", "flows.cards.truck"),
    ("bot/channels", "bot.record.keys"),
    # The core and the shell.
    ("flows/turn", "bot.machine.clock"),
)
"""Imports that no contract allows: the room, and what something in it would import."""


def linted(root: Path) -> tuple[int, str]:
    """Hold the contracts against a tree; return the exit code and what was printed."""
    code = "from importlinter.cli import lint_imports_command as lint; lint()"
    command = [sys.executable, "-c", code, "--no-cache"]
    done = subprocess.run(command, cwd=root, capture_output=True, text=True, check=False)
    return done.returncode, done.stdout


@pytest.fixture(scope="module")
def planted(tmp_path_factory: pytest.TempPathFactory) -> str:
    """What is printed of a copy in which every forbidden import is planted."""
    root = tmp_path_factory.mktemp("planted")
    shutil.copy(ROOT / "pyproject.toml", root)
    for top in ("bot", "flows"):
        shutil.copytree(ROOT / top, root / top, ignore=shutil.ignore_patterns("__pycache__"))
    for number, (room, name) in enumerate(PLANTED):
        (root / room / f"planted_{number}.py").write_text(f"import {name}\n", "utf-8")
    code, printed = linted(root)
    assert code == 1
    return printed


def test_every_room_keeps_its_place() -> None:
    code, printed = linted(ROOT)
    assert code == 0, printed
    assert re.search(r"Contracts: [1-9]\d* kept, 0 broken", printed)


@pytest.mark.parametrize("number", range(len(PLANTED)), ids=lambda n: "-".join(PLANTED[n]))
def test_a_planted_import_is_noticed(planted: str, number: int) -> None:
    room, name = PLANTED[number]
    assert f"{room.replace('/', '.')}.planted_{number} -> {name} " in planted


def test_a_room_that_has_no_place_is_noticed(tmp_path: Path) -> None:
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    for top in ("bot", "flows"):
        shutil.copytree(ROOT / top, tmp_path / top, ignore=shutil.ignore_patterns("__pycache__"))
    (tmp_path / "flows" / "attic.py").write_text("", "utf-8")
    code, printed = linted(tmp_path)
    assert code == 1
    assert "attic" in printed


def test_no_modules_import_each_other_in_a_circle() -> None:
    """At run time, that is: a type may be named by a module that it imports."""
    graph = grimp.build_graph("bot", "flows", exclude_type_checking_imports=True, cache_dir=None)
    imports = {one: graph.find_modules_directly_imported_by(one) for one in graph.modules}
    assert len(imports) > 250
    TopologicalSorter(imports).prepare()
    with pytest.raises(CycleError):
        TopologicalSorter({**imports, "flows.errors": {"bot.desk.desk"}}).prepare()

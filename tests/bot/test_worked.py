"""The page of worked formulas: every formula of the figures is on it, as its own words say it."""

import ast
import html
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from bot.commands import cli, worked
from bot.commands.worked import CHAPTERS, worked_page
from flows.errors import FlowError
from flows.figures import rigging, statics

ROOT = Path(__file__).parents[2]
FIGURES = ROOT / "flows" / "figures"
NO_FORMULAS = {
    "units": "the registry of units",
    "pages": "words of a page", "result_pages": "words of a page",
    "working": "tells which formulas led to a margin", "steps": "tells them one by one",
}  # fmt: skip


@pytest.fixture(scope="module")
def page() -> str:
    return worked_page()


def public_functions(module: str) -> Iterator[tuple[str, str]]:
    """What the source itself has: names and docstrings, also of public classes' members."""
    tree = ast.parse((FIGURES / f"{module}.py").read_text("utf-8"))
    for node in tree.body:
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            yield f"{module}.{node.name}", ast.get_docstring(node) or ""
        elif isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            for one in node.body:
                if isinstance(one, ast.FunctionDef) and not one.name.startswith("_"):
                    name = f"{module}.{node.name}.{one.name}"
                    yield name, ast.get_docstring(one) or ""


def test_every_module_of_the_figures_is_a_chapter_or_has_no_formulas() -> None:
    modules = {one.stem for one in FIGURES.glob("*.py")} - {"__init__"}
    assert set(CHAPTERS) | set(NO_FORMULAS) == modules
    assert not set(CHAPTERS) & set(NO_FORMULAS)


def test_each_public_formula_with_a_worked_example_is_on_it(page: str) -> None:
    wanted = {
        name for module in CHAPTERS for name, words in public_functions(module) if ">>>" in words
    }
    assert len(wanted) > 80
    assert wanted == set(re.findall(r'<section id="([\w.]+)">', page))


def test_no_formula_is_without_a_worked_example() -> None:
    """What is marked as a formula: an expression with an equals sign, a function or a root."""
    formula = re.compile(r"``[^`]*(?: = | x |/ |\^|cos\(|sin\()[^`]*``")
    bare = {
        name
        for module in CHAPTERS
        for name, words in public_functions(module)
        if formula.search(words) and ">>>" not in words
    }
    assert bare == set()


def test_an_example_stands_as_it_is_in_the_source(page: str) -> None:
    """Line by line, what is typed and what it gives, of one formula and of all of a chapter."""
    shown = html.unescape(page)
    words = statics.lift_capacity.__doc__ or ""
    assert "14,500 / 2 x 312 / 190 = 11,905 lb." in shown
    for module in ("rigging", "statics", "tiedowns"):
        for _, doc in public_functions(module):
            for line in doc.splitlines():
                if line.startswith((">>>", "...")):
                    assert line in shown
    assert "11905" in words
    assert "Source: moments about the rear axle; worked example of a trade article." in shown


def test_the_drawings_are_in_it_with_their_words(page: str) -> None:
    images = re.findall(r'<img alt="([^"]*)" src="data:image/svg\+xml;base64,', page)
    assert len(images) == sum(map(len, CHAPTERS.values())) == 6
    assert any("snatch block: 8,661 of 8,000 lb" in one.lower() for one in images)


def test_it_needs_nothing_from_outside_and_asks_for_caution(page: str) -> None:
    assert not re.search(r'(?:href|src)="(?!#|data:)', page)
    assert "<script" not in page
    assert "The maker&#x27;s guide" in page or "The maker's guide" in page


def test_an_example_that_is_wrong_stops_it(monkeypatch: pytest.MonkeyPatch) -> None:
    wrong = (rigging.sling_factor.__doc__ or "").replace("10000\n", "10001\n")
    monkeypatch.setattr(rigging.sling_factor, "__doc__", wrong)
    with pytest.raises(FlowError, match=r"the worked example of rigging.sling_factor gives"):
        worked_page()


def test_the_command_writes_it(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = tmp_path / "figures.html"
    assert cli.main(["figure", "page", "--out", str(file)]) == 0
    said = capsys.readouterr().out
    count = sum(len(worked.formulas(name)) for name in CHAPTERS)
    assert f"{count} worked formulas written to {file}" in said
    assert file.read_text("utf-8").startswith("<!doctype html>")
    assert cli.main(["figure", "page", "--out", str(tmp_path / "none" / "x.html")]) == 1
    assert "--out is" in capsys.readouterr().err

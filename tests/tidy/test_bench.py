"""The benchmarks are no tests, so that what they use is there is checked here."""

import ast
import importlib
from pathlib import Path

import pytest

FOLDER = Path(__file__).parents[1] / "bench"
FILES = sorted(FOLDER.glob("*.py"))


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_a_benchmark_finds_what_it_uses_of_its_neighbours(file: Path) -> None:
    tree = ast.parse(file.read_text("utf-8"))
    modules = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("tests.bench"):
            module = importlib.import_module(str(node.module))
            for alias in node.names:
                if node.module == "tests.bench":
                    modules[alias.name] = importlib.import_module(f"tests.bench.{alias.name}")
                else:
                    assert hasattr(module, alias.name), f"{node.module}.{alias.name}"
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            module_used = modules.get(node.value.id)
            assert module_used is None or hasattr(module_used, node.attr), ast.unparse(node)

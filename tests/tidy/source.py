"""The project's own source, read for the tests of its style."""

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from fnmatch import fnmatch
from functools import cache
from pathlib import Path
from typing import TypeGuard

ROOT = Path(__file__).parent.parent.parent
Function = ast.FunctionDef | ast.AsyncFunctionDef
Definition = Function | ast.ClassDef


@dataclass(frozen=True, eq=False)
class Module:
    """One file of Python: its dotted name, its place, its lines and its tree."""

    name: str
    path: Path
    lines: tuple[str, ...]
    tree: ast.Module

    def at(self, node: ast.AST) -> str:
        return f"{self.place}:{getattr(node, 'lineno', 1)}"

    @property
    def place(self) -> str:
        return self.path.relative_to(ROOT).as_posix()

    def functions(self) -> Iterator[Function]:
        for node in ast.walk(self.tree):
            if isinstance(node, Function):
                yield node


@cache
def modules(*tops: str) -> tuple[Module, ...]:
    """Return every module under some top-level folders, by name."""
    return tuple(_module(path) for top in tops for path in sorted((ROOT / top).rglob("*.py")))


def _module(path: Path) -> Module:
    text = path.read_text("utf-8")
    name = ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")
    return Module(name, path, tuple(text.splitlines()), ast.parse(text))


def length(function: Function) -> int:
    """Return how many lines a function has, without its decorators."""
    return (function.end_lineno or function.lineno) - function.lineno + 1


def decisions(function: Function) -> int:
    """Return how many decisions a function takes, with one for itself.

    Counted are branches, loops, handlers, each further term of a boolean expression, loops and
    conditions of comprehensions, and the cases of a match but the last that takes anything.
    What is defined within it counts by itself, lambdas excepted.
    """
    found = 1
    pending = list(ast.iter_child_nodes(function))
    while pending:
        node = pending.pop()
        if not isinstance(node, Definition):
            found += _decides(node)
            pending += ast.iter_child_nodes(node)
    return found


def _decides(node: ast.AST) -> int:
    match node:
        case (
            ast.If() | ast.IfExp() | ast.For() | ast.AsyncFor() | ast.While() | ast.ExceptHandler()
        ):
            return 1
        case ast.BoolOp():
            return len(node.values) - 1
        case ast.comprehension():
            return 1 + len(node.ifs)
        case ast.match_case(pattern=ast.MatchAs(pattern=None)):
            return 0
        case ast.match_case():
            return 1
    return 0


def is_type_checking(node: ast.AST) -> TypeGuard[ast.If]:
    return isinstance(node, ast.If) and ast.unparse(node.test).endswith("TYPE_CHECKING")


def imported(node: ast.AST) -> Iterator[str]:
    """Yield the dotted names that a statement imports."""
    if isinstance(node, ast.Import):
        yield from (alias.name for alias in node.names)
    elif isinstance(node, ast.ImportFrom):
        yield from (f"{node.module}.{alias.name}" for alias in node.names)


def imports(module: Module) -> Iterator[tuple[str, ast.AST]]:
    """Yield what a module imports when it runs, inside functions too, with where."""
    pending: list[ast.AST] = [module.tree]
    while pending:
        node = pending.pop()
        yield from ((name, node) for name in imported(node))
        pending += node.orelse if is_type_checking(node) else ast.iter_child_nodes(node)


NO_TEXT = (".ogg", ".zip")
"""How the name of a file ends that is not text."""


def kept_files() -> Iterator[Path]:
    """Yield every file of the project, which is all that `.gitignore` does not name."""
    ignored = [line.rstrip("/") for line in (ROOT / ".gitignore").read_text().split()]

    def walk(folder: Path) -> Iterator[Path]:
        for path in sorted(folder.iterdir()):
            if path.name == ".git" or any(fnmatch(path.name, one) for one in ignored):
                continue
            yield from walk(path) if path.is_dir() else [path]

    yield from walk(ROOT)


def kept_texts() -> Iterator[Path]:
    """Yield every text file of the project."""
    return (path for path in kept_files() if path.suffix not in NO_TEXT)

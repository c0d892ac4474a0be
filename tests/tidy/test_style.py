"""The style that the project asks of its own code, read from the code."""

import ast
import re
from collections.abc import Iterable, Iterator
from pathlib import Path
from statistics import median

import pytest

from tests.tidy.source import (
    ROOT,
    Definition,
    Function,
    Module,
    decisions,
    imports,
    kept_texts,
    length,
    modules,
)

MOST_FUNCTION_LINES = 60
MOST_FILE_LINES = 600
MOST_MEDIAN_LINES = 8
MOST_DECISIONS = 12
MANY_DECISIONS = 8
MOST_WITH_MANY = 40
"""So many functions may take more than MANY_DECISIONS."""

CODE = modules("bot", "flows")
FLOWS = modules("flows")


# Sizes


def test_no_function_is_long() -> None:
    long = [
        f"{module.at(function)} {function.name}: {length(function)} lines"
        for module in CODE
        for function in module.functions()
        if length(function) > MOST_FUNCTION_LINES
    ]
    assert not long, f"at most {MOST_FUNCTION_LINES} lines; split: {long}"


def test_no_file_is_long() -> None:
    long = {module.place: n for module in CODE if (n := len(module.lines)) > MOST_FILE_LINES}
    assert not long, f"at most {MOST_FILE_LINES} lines; split by what changes together: {long}"


def test_functions_are_short_as_a_rule() -> None:
    lengths = [length(function) for module in CODE for function in module.functions()]
    assert len(lengths) > 500, "the code was not found"
    assert median(lengths) <= MOST_MEDIAN_LINES


def of_decisions(more_than: int) -> list[str]:
    return [
        f"{module.at(function)} {function.name}: {found}"
        for module in CODE
        for function in module.functions()
        if (found := decisions(function)) > more_than
    ]


def test_no_function_takes_many_decisions() -> None:
    assert of_decisions(MOST_DECISIONS) == [], "give its conditions names, or make it a table"
    many = of_decisions(MANY_DECISIONS)
    assert len(many) <= MOST_WITH_MANY, many


DECIDING = """
def outer(a, b):
    for one in a:
        if one and b or not a:
            return [two for two in b if two]
    def inner():
        return 1 if a else 2
    try:
        pass
    except ValueError:
        while a:
            pass
    match b:
        case 1:
            return (lambda: a or b)
        case _:
            return None
"""


def test_decisions_are_counted_with_each_term_of_a_condition() -> None:
    outer, inner = (one for one in ast.walk(ast.parse(DECIDING)) if isinstance(one, Function))
    assert (decisions(outer), decisions(inner)) == (11, 2)


# Docstrings


def _is_private(name: str) -> bool:
    return name.startswith("_")


def _publics(module: Module) -> Iterator[tuple[str, ast.Module | Definition]]:
    """Yield what a reader of the module may use: itself, its names, and theirs."""
    yield module.name, module.tree
    pending: list[tuple[str, ast.stmt]] = [(module.name, node) for node in module.tree.body]
    while pending:
        owner, node = pending.pop()
        if not isinstance(node, Definition) or _is_private(node.name) or _overrides(node):
            continue
        yield f"{owner}.{node.name}", node
        if isinstance(node, ast.ClassDef):
            pending += [(f"{owner}.{node.name}", one) for one in node.body]


def _overrides(node: Definition) -> bool:
    """Say whether it is what another class, which has the docstring, says it is."""
    return any(ast.unparse(one) in {"override", "overload"} for one in node.decorator_list)


def test_all_that_is_public_has_a_docstring() -> None:
    bare = [
        name
        for module in CODE
        for name, node in _publics(module)
        if not (ast.get_docstring(node) or "").strip()
    ]
    assert not bare


# Exceptions from lint and types carry their reason

_NOQA = re.compile(r"#\s*noqa\b(?P<codes>:\s*[A-Z]+\d+(?:\s*,\s*[A-Z]+\d+)*)?(?P<reason>.*)")
_IGNORE = re.compile(r"#\s*type:\s*ignore\b(?P<codes>\[[\w\-, ]+\])?(?P<reason>.*)")
_WORDS = re.compile(r"[A-Za-z]{2,}\W+[A-Za-z]")


def _unreasoned(lines: tuple[str, ...]) -> Iterator[int]:
    for number, line in enumerate(lines, 1):
        for form in (_NOQA, _IGNORE):
            found = form.search(line)
            if found and not (found["codes"] and _WORDS.search(found["reason"])):
                yield number


@pytest.mark.parametrize(
    ("line", "is_fine"),
    [
        ("x = 1", True),
        ("import pint  # noqa: PLC0415  slow to import", True),
        ("import pint  # noqa: PLC0415", False),
        ("import pint  # noqa", False),
        ("x = f()  # type: ignore[arg-type]  # the stub is wrong", True),
        ("x = f()  # type: ignore[arg-type]", False),
        ("x = f()  # type: ignore", False),
    ],
)
def test_what_counts_as_a_reason(line: str, *, is_fine: bool) -> None:
    assert (list(_unreasoned((line,))) == []) is is_fine


def test_every_exception_has_a_reason() -> None:
    bare = [
        f"{module.place}:{number}: {module.lines[number - 1].strip()}"
        for module in CODE
        for number in _unreasoned(module.lines)
    ]
    assert not bare, "say why after the code"


# flows/ is pure

PURE = {
    "__future__", "bisect", "collections", "csv", "dataclasses", "datetime", "enum", "flows",
    "fractions", "functools", "hashlib", "importlib.resources", "io", "itertools", "json", "math",
    "operator", "pathlib.PurePosixPath", "pint", "pydantic", "re", "string", "tomllib", "types",
    "typing", "typing_extensions", "unicodedata",
}  # fmt: skip
"""All that flows/ may import. A module that reads a clock, a disk, chance, the environment or
the network is none of them; `datetime` and `importlib.resources` are looked at more closely."""

READERS = {"flows.texts", "flows.figures.classes", "flows.figures.tyres", "flows.routine.former"}
"""The modules that read packaged tables, once."""

_READING = {"read_text", "read_bytes", "write_text", "write_bytes", "open_text"}
_IMPURE_NAMES = {"open", "print", "input", "eval", "exec", "globals", "breakpoint", "__import__"}
_NOW = {"now", "today", "utcnow"}


def _is_pure_import(name: str) -> bool:
    return name in PURE or any(name.startswith(f"{one}.") for one in PURE)


def _impure(module: Module) -> Iterator[str]:
    for name, node in imports(module):
        if not _is_pure_import(name):
            yield f"{module.at(node)} imports {name}"
        if name.startswith("importlib") and module.name not in READERS:
            yield f"{module.at(node)} reads packaged tables; {sorted(READERS)} do"
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Global):
            yield f"{module.at(node)} changes a module's own variable"
        elif isinstance(node, ast.Call):
            yield from _impure_call(module, node)


def _impure_call(module: Module, node: ast.Call) -> Iterator[str]:
    called = node.func
    if isinstance(called, ast.Name) and called.id in _IMPURE_NAMES:
        yield f"{module.at(node)} calls {called.id}()"
    elif isinstance(called, ast.Attribute):
        if called.attr in _NOW:
            yield f"{module.at(node)} asks for the time; it arrives in an event"
        if called.attr in _READING and module.name not in READERS:
            yield f"{module.at(node)} calls .{called.attr}()"


def test_flows_is_pure() -> None:
    assert [what for module in FLOWS for what in _impure(module)] == []


@pytest.mark.parametrize(
    "text",
    [
        "import os",
        "from pathlib import Path",
        "def f():\n    import random",
        "from importlib.resources import files",
        "import datetime\ndatetime.datetime.now()",
        "open('cards.toml')",
        "x.read_text()",
        "def f():\n    global n\n    n = 1",
    ],
)
def test_what_is_not_pure_is_seen(text: str) -> None:
    module = Module("flows.planted", ROOT / "flows/planted.py", (), ast.parse(text))
    assert list(_impure(module))


# No sentence is assembled in code

SPEAKS = {"say", "answer_sender", "alarm", "Reply", "_say", "fill"}
"""What puts a message together; its words come from `flows/texts/`."""

FILLS = {
    "flows.telling.saying",
    "flows.telling.render",
    "flows.hearing.prompts",
    "flows.hearing.answers",
}
"""What fills placeholders: every word that it uses is in `flows/texts/` too."""

LOOKS_UP = {"get", "find", "partition", "replace", "startswith", "endswith", "removeprefix"}
"""What only looks for a text: it names a key, or what was heard."""

_TWO_WORDS = re.compile(r"[A-Za-z][,.;:]? +[A-Za-z]")


def _texts(node: ast.AST) -> Iterator[ast.Constant]:
    """Yield the texts in an expression; not what is only looked for, or said in an error."""
    if isinstance(node, ast.Compare | ast.Raise | ast.Subscript):
        return
    if isinstance(node, ast.Call) and _called(node) in LOOKS_UP:
        return
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node
    for child in ast.iter_child_nodes(node):
        if not (isinstance(child, ast.Expr) and isinstance(child.value, ast.Constant)):
            yield from _texts(child)


def _called(node: ast.Call) -> str:
    return node.func.attr if isinstance(node.func, ast.Attribute) else ast.unparse(node.func)


def _assembled(module: Module) -> Iterator[str]:
    calls = [node for node in ast.walk(module.tree) if isinstance(node, ast.Call)]
    speaking: list[ast.AST] = [node for node in calls if _called(node) in SPEAKS]
    if module.name in FILLS:
        speaking.append(module.tree)
    for node in speaking:
        for text in _texts(node):
            if _TWO_WORDS.search(str(text.value)):
                yield f"{module.at(text)} {text.value!r}"


def test_no_sentence_is_assembled_in_code() -> None:
    talking = [
        module
        for module in FLOWS
        if not module.name.startswith(("flows.explore", "tests.flows.lint"))
    ]
    found = sorted({what for module in talking for what in _assembled(module)})
    assert not found, "words that a person hears or sees stand in flows/texts/"


@pytest.mark.parametrize(
    ("text", "is_fine"),
    [
        ('t.say("resume")', True),
        ('t.say("echo", noted=f"{one}, {other}")', True),
        ('t.say("echo", noted="with the time")', False),
        ('t.answer_sender("echo", noted=f"{n} min at most")', False),
        ('Reply("driver", key, slots={"n": "parked at " + place})', False),
        ('t.say("echo", noted=job.margin.get("deck length"))', True),
        ('t.note("mark", why="not a message")', True),
    ],
)
def test_what_is_assembled_is_seen(text: str, *, is_fine: bool) -> None:
    module = Module("flows.planted", ROOT / "flows/planted.py", (), ast.parse(text))
    assert (list(_assembled(module)) == []) is is_fine


# Nothing that names one machine

_MACHINE = re.compile(
    r"/(?:work|root|home|Users|mnt|opt)/\w|(?:^|\W)pypi\b|pythonhosted|\blocalhost\b"
)


def _names_machines(lines: Iterable[str]) -> Iterator[int]:
    return (number for number, line in enumerate(lines, 1) if _MACHINE.search(line))


def test_no_file_names_a_machine() -> None:
    # This file says what may not be said.
    found = [
        f"{path.relative_to(ROOT)}:{number}"
        for path in kept_texts()
        if path != Path(__file__)
        for number in _names_machines(path.read_text("utf-8").splitlines())
    ]
    assert not found, "write it without a place of one machine or a host"


def test_what_names_a_machine_is_seen() -> None:
    lines = [
        "see " + "/ro" + "ot/notes",
        "--index-url https://pypi.example/simple",
        "#!/usr/bin/env bash",
    ]
    assert list(_names_machines(lines)) == [1, 2]

"""The generated parts of the pages: `python -m tests.tidy.docs` writes them, `--check` compares.

A page holds cog markers that call the functions of this module. Everything between the markers
is read from the literals that the program runs by, so it cannot say anything else.
"""

import argparse
import ast
import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from cogapp import Cog

from bot.channels.lines_out_form import schema
from bot.commands import cli
from bot.commands.demo import play
from flows.cards import Card, fields
from flows.cards.library import KINDS
from flows.errors import FlowError
from flows.job.acts import ACTS, Act
from flows.job.facts import FACTS, FactSpec
from flows.routine.carry import CARRY
from flows.routine.catalogue import CONDITIONS
from flows.routine.items import Gate, Item, Question, Section
from flows.rules.safety import NEVER_SKIPPED, RULES
from flows.texts import sentences
from tests.tidy.source import ROOT

PAGES = (
    "README.md",
    "DEVELOPERS.md",
    "bot/channels/LINES.md",
    "flows/cards/FIELDS.md",
    "flows/job/FACTS.md",
    "flows/routine/CONDITIONS.md",
    "flows/routine/ITEMS.md",
    "flows/rules/RULES.md",
)
"""Every page with a generated part, beside what it describes."""


# Tables of the literals


def sections() -> str:
    """Return every section with its contract and a table of its items, in order."""
    return "\n".join(_section(section) for section in CARRY.sections)


def _section(section: Section) -> str:
    title = sentences()["sections"].get(section.id, section.id)
    contract = (
        f"- wanted when: {section.applies.name}\n"
        f"- enters: {section.enters.name}\n"
        f"- leaves: {section.leaves.name}"
    )
    heads = ("item", "kind", "asks or has done", "wanted when", "acts", "marks")
    rows = table(heads, (_item(item) for item in section.items))
    return f"**{section.id}** ({title})\n\n{contract}\n\n{rows}"


def _item(item: Item) -> tuple[str, ...]:
    shown = str(sentences()["items"][item.id]["shown"]).splitlines()[0]
    kind = type(item).__name__
    fact = f" of {item.fact}" if isinstance(item, Question) else ""
    marks = [m for m in ("critical", "skippable", "deferrable") if getattr(item, m)]
    marks += ["do-confirm"] if isinstance(item, Gate) and item.acts else []
    return (item.id, kind + fact, shown, item.applies.name, _list(item.acts), _list(marks))


def rules() -> str:
    """Return the safety rules, in order."""
    return table(("rule", "title"), ((rule.id, rule.title) for rule in RULES))


def acts() -> str:
    """Return every act: what it sets, its opposite, and what it puts in doubt."""
    heads = ("act", "sets", "opposite", "puts in doubt", "skip")
    return table(heads, (_act(act) for act in ACTS.values()))


def _act(act: Act) -> tuple[str, ...]:
    doubts = [f"{variable}: {value}" for variable, value in act.resets]
    never = "never" if act.id in NEVER_SKIPPED else ""
    return (act.id, f"{act.variable}: {act.becomes}", act.opposite or "", _list(doubts), never)


def facts() -> str:
    """Return every fact: its values, and what "not sure" makes of it."""
    heads = ("fact", "kind", "values", "not sure", "marks", "asked again after")
    return table(heads, (_fact(name, fact) for name, fact in FACTS.items()))


def _fact(name: str, fact: FactSpec) -> tuple[str, ...]:
    unsure = fact.not_sure or ""
    marks = {"private": fact.private, "read back": fact.decides, "looks again": fact.looks_again}
    kept = [mark for mark, holds in marks.items() if holds]
    doubted = sorted(fact.doubted_by)
    return (name, fact.kind, _list(fact.values), unsure, _list(kept), _list(doubted))


def cards() -> str:
    """Return every field of every kind of card: whether it is required, and its allowed values."""
    heads = ("card", "field", "required", "allowed")
    return table(heads, (row for kind, model in KINDS.items() for row in _card(kind, model)))


def _card(kind: str, model: type[Card]) -> Iterator[tuple[str, ...]]:
    for path, is_required, allowed in fields(model):
        yield (kind, f"`{path}`", "yes" if is_required else "", allowed)


def conditions() -> str:
    """Return every condition: the facts it reads, and what it says."""
    heads = ("condition", "reads", "holds when")
    rows = ((name, _list(sorted(one.reads)), one.says) for name, one in CONDITIONS.items())
    return table(heads, rows)


def lines_in() -> str:
    """Return every field of a line in, from the model that reads it."""
    return _form(schema()["in"])


def lines_out() -> str:
    """Return every field of a line out, from the model that checks it."""
    return _form(schema()["out"])


def _form(form: Mapping[str, Any]) -> str:
    required = set(form.get("required", ()))
    rows = (
        (
            f"`{name}`",
            field.get("description", ""),
            "yes" if name in required else "",
            _allowed(field),
        )
        for name, field in form["properties"].items()
    )
    return table(("field", "what it is", "required", "allowed"), rows)


LIMITS = {
    "minLength": "at least {} characters",
    "maxLength": "at most {} characters",
    "minimum": "from {}",
    "maximum": "to {}",
    "pattern": "`{}`",
    "format": "{}",
}
"""How the limits of a JSON schema read."""


def _allowed(field: Mapping[str, Any]) -> str:
    """Return what a field of a JSON schema takes, in a few words."""
    if "anyOf" in field:
        kinds = [one for one in field["anyOf"] if one.get("type") != "null"]
        return " or ".join(dict.fromkeys(_allowed(one) for one in kinds))
    if "$ref" in field:
        return str(field["$ref"]).rpartition("/")[2]
    if "const" in field:
        return f"`{field['const']}`"
    if "enum" in field:
        return _list(f"`{one}`" for one in field["enum"])
    kind = str(field.get("type", "any"))
    kind += f" of {_allowed(field['items'])}" if "items" in field else ""
    limits = (words.format(field[name]) for name, words in LIMITS.items() if name in field)
    return ", ".join((kind, *limits))


def table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    r"""Return a table in Markdown.

    Examples
    --------
    >>> print(table(("a", "b"), [("1", "x|y")]), end="")
    <BLANKLINE>
    | a | b |
    |---|---|
    | 1 | x\|y |
    <BLANKLINE>
    """
    lines = [_row(heads), "|" + "---|" * len(heads), *(_row(row) for row in rows)]
    return "\n" + "\n".join(lines) + "\n\n"


def _row(cells: Iterable[str]) -> str:
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


def _list(words: Iterable[str]) -> str:
    return ", ".join(words)


# What a person sees


def conversation(name: str, first: str, last: str) -> str:
    """Return a span of a recorded conversation, as `rollproof demo` plays it.

    Parameters
    ----------
    name
        The conversation.
    first, last
        What the driver says first and last in the span.

    Raises
    ------
    FlowError
        If the driver does not say these two, in this order.
    """
    lines = [line for line in play(name) if not line.lstrip().startswith("[")]
    try:
        start = lines.index(f"> {first}")
        end = lines.index(f"> {last}", start)
    except ValueError:
        raise FlowError(
            f"conversation {name!r} has no span from {first!r} to {last!r}; allowed: two things "
            "the driver says in it. Correct the marker."
        ) from None
    replies = (n for n in range(end + 1, len(lines)) if not lines[n].startswith(" "))
    return "\n".join(("\n```text", *lines[start : next(replies, len(lines))], "```\n\n"))


def commands() -> str:
    """Return every command and what it does, from the command line itself."""
    rows = ((f"`{name}`", _does(name, one)) for name, one in _inner(cli.parser()).items())
    return table(("command", "what it does"), rows)


def _does(name: str, parser: argparse.ArgumentParser) -> str:
    """Return what a command does; of a family, what each of its commands does."""
    family = _inner(parser).items()
    if not family:
        return parser.description or ""
    return " ".join(f"`{name} {inner}`: {one.description}" for inner, one in family)


def _inner(parser: argparse.ArgumentParser) -> Mapping[str, argparse.ArgumentParser]:
    """Return the commands of a parser by name."""
    for action in parser._actions:  # argparse has no public way to list them
        if isinstance(action, argparse._SubParsersAction):  # its only name
            return action.choices
    return {}


def source(path: str, name: str) -> str:
    """Return a literal as its file has it.

    Parameters
    ----------
    path
        The file, from the checkout's root.
    name
        The name that is assigned there.

    Raises
    ------
    FlowError
        If nothing of that name is assigned in the file.
    """
    text = (ROOT / path).read_text("utf-8")
    for node in ast.parse(text).body:
        if isinstance(node, ast.Assign) and getattr(node.targets[0], "id", "") == name:
            return f"\n```python\n{ast.get_source_segment(text, node)}\n```\n\n"
    raise FlowError(f"{path} assigns no {name}; allowed: a name of that file. Correct the marker.")


def main(arguments: Sequence[str] | None = None, root: Path = ROOT) -> int:
    """Write the generated parts, or compare them; return 0 when all is well.

    Returns
    -------
    int
        What cog returns: 0, or 5 where a part is stale under ``--check``.
    """
    parser = argparse.ArgumentParser(
        prog="python -m tests.tidy.docs",
        description="Write the generated parts of the pages.",
        epilog="Example: python -m tests.tidy.docs --check",
    )
    parser.add_argument("--check", action="store_true", help="compare, change nothing")
    how = ["--check", "--diff"] if parser.parse_args(arguments).check else ["-r"]
    prologue = "import cog; from tests.tidy import docs"
    return int(Cog().main(["cog", *how, "-p", prologue, *(str(root / page) for page in PAGES)]))


if __name__ == "__main__":
    sys.exit(main())

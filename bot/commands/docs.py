"""The generated parts of README.md and DEVELOPERS.md: `python -m bot.commands.docs` writes them.

A generated part is between ``<!-- generated: NAME -->`` and ``<!-- end -->``. Everything
in it is read from the literals that the program runs by, so it cannot say anything else;
``--check`` compares, prints the difference and ends with 1.
"""

import argparse
import ast
import difflib
import re
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from pathlib import Path

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

CODE = Path(__file__).parents[2]
ROOT = CODE
DOCUMENTS = ("README.md", "DEVELOPERS.md")
_OPENS = "<!-- generated:"
_PART = re.compile(
    r"(?P<opens><!-- generated: (?P<name>\w+)(?:: (?P<of>[^\n]*?))? -->\n)"
    r"(?:(?!<!-- generated:).)*?(?P<closes><!-- end -->)",
    re.DOTALL,
)


def generated(text: str) -> str:
    r"""Return a document with every generated part made again.

    Parameters
    ----------
    text
        The document, with its markers; the text between them is replaced.

    Raises
    ------
    FlowError
        If nothing makes a part, it has no end, or a conversation lacks the lines that its marker
        names.

    Examples
    --------
    >>> new = generated("<!-- generated: rules -->\nstale\n<!-- end -->")
    >>> new.splitlines()[2]
    '| rule | title |'
    >>> generated(new) == new
    True
    """
    made, parts = _PART.subn(_made, text)
    if parts != text.count(_OPENS):
        raise FlowError(
            f"{text.count(_OPENS) - parts} generated parts have no end; allowed: "
            "<!-- generated: NAME --> alone on a line, and <!-- end --> after it. "
            "Complete the markers."
        )
    return made


def _made(part: re.Match[str]) -> str:
    make = PARTS.get(part["name"])
    if make is None:
        raise FlowError(
            f"nothing makes the part {part['name']!r}; allowed: {', '.join(sorted(PARTS))}. "
            "Correct the marker."
        )
    return f"{part['opens']}\n{make(part['of'] or '')}\n\n{part['closes']}"


# Tables of the literals


def sections(_of: str = "") -> str:
    """Return every section with its contract and a table of its items, in order."""
    return "\n\n".join(_section(section) for section in CARRY.sections)


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


def rules(_of: str = "") -> str:
    """Return the safety rules, in order."""
    return table(("rule", "title"), ((rule.id, rule.title) for rule in RULES))


def acts(_of: str = "") -> str:
    """Return every act: the state it sets, its opposite, and the states it puts in doubt."""
    heads = ("act", "sets", "opposite", "puts in doubt", "skip")
    return table(heads, (_act(act) for act in ACTS.values()))


def _act(act: Act) -> tuple[str, ...]:
    doubts = [f"{variable}: {value}" for variable, value in act.resets]
    never = "never" if act.id in NEVER_SKIPPED else ""
    return (act.id, f"{act.variable}: {act.becomes}", act.opposite or "", _list(doubts), never)


def facts(_of: str = "") -> str:
    """Return every fact: its values, and its value after "not sure"."""
    heads = ("fact", "kind", "values", "not sure", "marks", "asked again after")
    return table(heads, (_fact(name, fact) for name, fact in FACTS.items()))


def _fact(name: str, fact: FactSpec) -> tuple[str, ...]:
    unsure = fact.not_sure or ""
    marks = {"private": fact.private, "read back": fact.decides, "looks again": fact.looks_again}
    kept = [mark for mark, holds in marks.items() if holds]
    doubted = sorted(fact.doubted_by)
    return (name, fact.kind, _list(fact.values), unsure, _list(kept), _list(doubted))


def cards(_of: str = "") -> str:
    """Return every field of every kind of card: whether it is required, and allowed values."""
    heads = ("card", "field", "required", "what may stand in it")
    return table(heads, (row for kind, model in KINDS.items() for row in _card(kind, model)))


def _card(kind: str, model: type[Card]) -> Iterator[tuple[str, ...]]:
    for path, is_required, allowed in fields(model):
        yield (kind, f"`{path}`", "yes" if is_required else "", allowed)


def conditions(_of: str = "") -> str:
    """Return every condition: the facts it reads, and its meaning."""
    heads = ("condition", "reads", "holds when")
    return table(
        heads,
        ((n, _list(sorted(c.reads)), c.says) for n, c in CONDITIONS.items()),
    )


def table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    r"""Return a table in Markdown.

    Examples
    --------
    >>> print(table(("a", "b"), [("1", "x|y")]))
    | a | b |
    |---|---|
    | 1 | x\|y |
    """
    lines = [_row(heads), "|" + "---|" * len(heads), *(_row(row) for row in rows)]
    return "\n".join(lines)


def _row(cells: Iterable[str]) -> str:
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


def _list(words: Iterable[str]) -> str:
    return ", ".join(words)


# Conversations, commands and code


def conversation(of: str) -> str:
    """Return a span of a recorded conversation, as `rollproof demo` plays it.

    Parameters
    ----------
    of
        ``NAME; FIRST; LAST``: its name, and the driver's first and last words in the span.

    Raises
    ------
    FlowError
        If the driver does not say these words, in this order.
    """
    name, first, last = (part.strip() for part in of.split(";"))
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
    return "\n".join(("```text", *lines[start : next(replies, len(lines))], "```"))


def command_help(_of: str = "") -> str:
    """Return every command with its options and an example, from the command line itself."""
    parsers = dict(_parsers())
    heads = ("command", "what it does", "options", "example")
    rows = [
        (f"`{name}`", one.description or "", _list(_options(one)), _example(one))
        for name, one in parsers.items()
    ]
    said = {
        option: action.help or ""
        for one in parsers.values()
        for option, action in _options(one).items()
    }
    return table(heads, rows) + "\n\n" + table(("option", "what it is"), said.items())


def _parsers() -> Iterator[tuple[str, argparse.ArgumentParser]]:
    yield from _commands("", cli._parser())  # noqa: SLF001  the module makes it for itself


def _commands(
    of: str, parser: argparse.ArgumentParser
) -> Iterator[tuple[str, argparse.ArgumentParser]]:
    """Yield the commands of a parser; for a command that has commands itself, those."""
    inner = [
        action
        for action in parser._actions  # noqa: SLF001  argparse has no public way to list them
        if isinstance(action, argparse._SubParsersAction)  # noqa: SLF001  its only name
    ]
    if not inner:
        yield of, parser
    for action in inner:
        for name, one in action.choices.items():
            yield from _commands(f"{of} {name}".strip(), one)


def _options(parser: argparse.ArgumentParser) -> dict[str, argparse.Action]:
    """Return the options and arguments of a command, as a user writes them."""
    actions = parser._actions  # noqa: SLF001  argparse has no public way to list them
    return {_written(one): one for one in actions if one.dest != "help"}


def _written(action: argparse.Action) -> str:
    if not action.option_strings:
        return f"`{action.dest.upper()}`"
    choices = None if action.choices is None else "{" + ",".join(map(str, action.choices)) + "}"
    value = "" if action.nargs == 0 else f" {action.metavar or choices or action.dest.upper()}"
    return f"`{action.option_strings[-1]}{value}`"


def _example(parser: argparse.ArgumentParser) -> str:
    return f"`{(parser.epilog or '').removeprefix('Example: ')}`"


def source(of: str) -> str:
    """Return a literal as its file has it.

    Parameters
    ----------
    of
        ``FILE; NAME``: the file from the checkout's root, and a name assigned in it.

    Raises
    ------
    FlowError
        If the file assigns no such name.
    """
    path, name = (part.strip() for part in of.split(";"))
    text = (CODE / path).read_text("utf-8")
    for node in ast.parse(text).body:
        if isinstance(node, ast.Assign) and getattr(node.targets[0], "id", "") == name:
            return f"```python\n{ast.get_source_segment(text, node)}\n```"
    raise FlowError(f"{path} assigns no {name}; allowed: a name of that file. Correct the marker.")


PARTS: Mapping[str, Callable[[str], str]] = {
    "acts": acts,
    "cards": cards,
    "conditions": conditions,
    "conversation": conversation,
    "facts": facts,
    "help": command_help,
    "rules": rules,
    "sections": sections,
    "source": source,
}
"""The function that makes each part, by the name in its marker."""


def stale(root: Path) -> Iterator[str]:
    """Yield the differences between the documents in a folder and their generated text."""
    for name in DOCUMENTS:
        text = (root / name).read_text("utf-8")
        lines = (text.splitlines(), generated(text).splitlines())
        yield from difflib.unified_diff(*lines, name, f"{name} generated", lineterm="")


def main(arguments: Sequence[str] | None = None) -> int:
    """Write the generated parts, or compare them; return 0 if all is well, else 1."""
    parser = argparse.ArgumentParser(
        prog="python -m bot.commands.docs",
        description="Write the generated parts of README.md and DEVELOPERS.md.",
        epilog="Example: python -m bot.commands.docs --check",
    )
    parser.add_argument("--check", action="store_true", help="compare only; change nothing")
    is_check = parser.parse_args(arguments).check
    try:
        return _check(ROOT) if is_check else _write(ROOT)
    except (FlowError, FileNotFoundError) as error:
        sys.stderr.write(f"bot.commands.docs: {error}\n")
        return 1


def _check(root: Path) -> int:
    lines = list(stale(root))
    sys.stdout.writelines(f"{line}\n" for line in lines)
    return 1 if lines else 0


def _write(root: Path) -> int:
    for name in DOCUMENTS:
        path = root / name
        path.write_text(generated(path.read_text("utf-8")), "utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())

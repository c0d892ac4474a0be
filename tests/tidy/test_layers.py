"""Who may import whom: flows never bot, and inside flows only what lies lower."""

import ast
from collections.abc import Iterator

import pytest

from tests.tidy.source import ROOT, Module, imported, imports, modules

LAYERS = (
    {"errors", "entries", "events", "texts", "tables", "acts"},
    {"facts"},
    {"units", "measures", "conditions", "world", "ways", "waits"},
    {"securement"},
    {
        "figures",
        "intents",
        "predicates",
        "underway",
        "electrics",
        "waking",
        "items",
        "reading",
        "rules",
    },
    {"cards", "job", "sections", "catalogue", "claims"},
    {"routine", "lexicon", "answers", "windows", "conclude", "folding", "leftovers", "card_words"},
    {
        "placing",
        "labels",
        "lifts",
        "lift_words",
        "loaded",
        "supply",
        "matching",
        "hearable",
        "planning",
        "vins",
        "drafting",
    },
    {"enders", "notes", "standing", "amounts", "read_back", "pulled", "beforehand"},
    {"book", "turn", "prompts", "saying"},
    {"understand", "retimed"},
    {"render", "effects", "timers", "judging"},
    {"media", "sheet", "emergencies", "weighing", "unclear", "restarting"},
    {"aboard", "flood", "ticking", "words", "figuring"},
    {"lint", "exchanges"},
    {"hearing", "sheet_page"},
    {"taking"},
    {"voicing"},
    {"advance"},
    {"explore"},
)
"""The modules and packages of flows/, from low to high. Each imports only from lower layers,
a package from itself too: a section does not know how a job advances."""

JOURNAL_DOORS = {"errors", "media", "rows", "store"}
"""What a channel may know of the journal: the store, its rows, files, and what goes wrong."""

RANK = {name: rank for rank, layer in enumerate(LAYERS) for name in layer}
FLOWS = modules("flows")


def part(name: str) -> str:
    """Return which part of its top package a dotted name is in; empty for the top itself."""
    return name.split(".")[1] if "." in name else ""


def too_high(module: Module) -> Iterator[str]:
    mine = part(module.name)
    for name, node in imports(module):
        other = part(name) if name.startswith("flows.") else mine
        if other != mine and RANK[other] >= RANK.get(mine, -1):
            yield f"{module.at(node)} imports {name}, which is not lower than {mine}"


def test_every_part_of_flows_has_its_layer() -> None:
    on_disk = {part(module.name) for module in FLOWS} - {""}
    assert on_disk == set(RANK), "put it into LAYERS, above what it imports"


def test_flows_imports_only_what_lies_lower() -> None:
    assert [what for module in FLOWS for what in too_high(module)] == []


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("flows.routine.sections.planted", "from flows.turn.advance import advance"),
        ("flows.rules.safety", "from flows.routine.items import Item"),
        ("flows.cards.planted", "def f():\n    from flows.job.state import Job"),
    ],
)
def test_an_import_from_above_is_seen(name: str, text: str) -> None:
    path = ROOT / f"{name.replace('.', '/')}.py"
    assert list(too_high(Module(name, path, (), ast.parse(text))))


def test_flows_never_imports_bot() -> None:
    # Not even for a type: what flows/ returns is its own.
    found = [
        module.at(node)
        for module in FLOWS
        for node in ast.walk(module.tree)
        for name in imported(node)
        if name.split(".", maxsplit=1)[0] == "bot"
    ]
    assert found == []


def test_channels_know_only_the_journals_doors() -> None:
    found = [
        f"{module.at(node)} imports {name}"
        for module in modules("bot/channels")
        for name, node in imports(module)
        if name.startswith("bot.record.") and name.split(".")[2] not in JOURNAL_DOORS
    ]
    assert found == []


def test_only_the_command_line_imports_a_channel() -> None:
    # What is below the channels does not know which of them there are.
    found = [
        f"{module.at(node)} imports {name}"
        for module in modules("bot")
        if not part(module.name).startswith(("channels", "cli"))
        for name, node in imports(module)
        if name.startswith("bot.channels")
    ]
    assert found == []

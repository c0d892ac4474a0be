"""Every recorded conversation holds, and its record is whole, valid and safe."""

from pathlib import Path

import pytest

from bot.channels.lines import line_out
from bot.channels.lines_out_form import LineOut
from bot.commands.demo import Player, names, parse
from tests.bot.checks import Watch
from tests.bot.played import played

WORDING = Path(__file__).parent.parent / "conversations" / "wording"


@pytest.mark.parametrize("name", names())
def test_conversation(name: str) -> None:
    found = played(name)
    if found.failed is not None:
        raise found.failed
    assert found.verified == []
    assert found.unfinished == []
    assert found.rebuilt == found.jobs
    for ref in found.jobs:
        assert [e for e in found.entries[ref] if e["kind"] == "refused"] == []
    for reply in found.replies:
        LineOut.model_validate(line_out(reply, None, is_repeat=False))


@pytest.mark.parametrize("name", names())
def test_wording(name: str, request: pytest.FixtureRequest) -> None:
    """The wording is reviewed text: `pytest --wording` writes it anew, for reading in a diff."""
    said = "".join(
        f"{reply.chat} {reply.body['priority']}: {reply.body['spoken']}\n"
        for reply in played(name).replies
        if reply.body["spoken"]
    )
    path = WORDING / f"{name}.txt"
    if request.config.getoption("--wording"):
        path.parent.mkdir(exist_ok=True)
        path.write_text(said, "utf-8")
    assert path.read_text("utf-8") == said, "run pytest --wording and read the change"


def test_a_wrong_assertion_fails(tmp_path: Path) -> None:
    watch = Watch(Player(tmp_path))
    try:
        for step in parse("> new job breakdown\n= fact history breakdown"):
            watch.step(step)
        with pytest.raises(AssertionError, match="line 1: = fact history crash"):
            watch.step(parse("= fact history crash")[0])
    finally:
        watch.player.close()

"""Every recorded conversation holds, and its record is whole, valid and safe."""

from pathlib import Path

import pytest

from bot.channels.lines import line_out
from bot.channels.lines_out_form import LineOut
from bot.commands.demo import Player, conversation, names, parse
from bot.desk.replaying import rebuilt
from flows.job.state import Job
from tests.bot.checks import Watch

WORDING = Path(__file__).parent.parent / "conversations" / "wording"


def watched(name: str, folder: Path) -> Watch:
    watch = Watch(Player(folder))
    for step in parse(conversation(name)):
        watch.step(step)
    return watch


@pytest.mark.parametrize("name", names())
def test_conversation(name: str, tmp_path: Path) -> None:
    watch = watched(name, tmp_path)
    try:
        assert watch.player.store.verify() == []
        assert watch.player.store.unfinished() == []
        for ref in watch.player.store.jobs():
            entries = watch.player.store.entries(ref)
            assert rebuilt(Job(ref, watch.job.book), entries) == watch.player.desk.job(ref)
            assert [e for e in entries if e["kind"] == "refused"] == []
        for reply in watch.replies:
            LineOut.model_validate(line_out(reply, None, is_repeat=False))
    finally:
        watch.player.close()


@pytest.mark.parametrize("name", names())
def test_wording(name: str, tmp_path: Path, request: pytest.FixtureRequest) -> None:
    """The wording is reviewed text: `pytest --wording` writes it anew, for reading in a diff."""
    watch = watched(name, tmp_path)
    watch.player.close()
    said = "".join(
        f"{reply.chat} {reply.body['priority']}: {reply.body['spoken']}\n"
        for reply in watch.replies
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

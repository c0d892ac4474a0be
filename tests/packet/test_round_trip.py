"""Random jobs: the same job is built again from only the packet and its values."""

import json
import tempfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings, strategies as st

from bot.commands.bootstrap import book_for
from bot.commands.demo import DRIVER, Player, conversation, parse
from bot.desk.replaying import rebuilt
from bot.machine.settings import Settings
from bot.packet.checking import check_packet
from bot.record.private import reveal
from flows.job.state import Job
from tests.packet.packets import holds, packed, unpacked

SAID = sorted({
    step.text
    for name in ("plain_carry", "window_runs_out", "corrected_weight_no_go")
    for step in parse(conversation(name))
    if step.kind == ">" and not step.text.startswith(("new job", "job "))
})  # fmt: skip
STEPS = st.lists(
    st.one_of(
        st.tuples(st.just("say"), st.sampled_from(SAID)),
        st.tuples(st.just("say"), st.sampled_from(["hold", "back", "not sure", "go on", "smoke"])),
        st.tuples(st.just("say"), st.text(max_size=40)),
        st.tuples(st.just("wait"), st.sampled_from(["90s", "12m", "restart", "reboot"])),
    ),
    max_size=25,
)
STRAIGHT = st.integers(0, 40)


def played(folder: Path, straight: int, steps: list[tuple[str, str]]) -> Job:
    """Follow the routine for a while, then take random steps; return the desk's job."""
    player = Player(folder)
    said = [one for one in parse(conversation("window_runs_out")) if one.kind != "="]
    for step in said[: 2 + straight]:
        player.step(step)
    for kind, text in steps:
        if kind == "say":
            player._send(DRIVER, text=text)
        else:
            player.step(parse(f"~ {text}")[0])
    player._send(DRIVER, text="hold")
    job = player.desk.job(1)
    player.close()
    return job


def built_again(top: Path, data: Path) -> Job:
    rows = [json.loads(line) for line in _lines(top / "data/proof/values.jsonl")]
    values: dict[str, tuple[str, Any]] = {r["commitment"]: (r["salt"], r["value"]) for r in rows}
    entries = [json.loads(line) for line in _lines(top / "data/entries.jsonl")]
    shown = [{**entry, "body": reveal(entry["body"], values.get)} for entry in entries]
    return rebuilt(Job(1, book_for(Settings(data))), shown)


def _lines(path: Path) -> list[str]:
    return path.read_text("utf-8").split("\n")[:-1]


def goes_round(straight: int, steps: list[tuple[str, str]], *, by_its_own: bool) -> None:
    """Play, pack, check, build again; `by_its_own` checks with the packet's program as well."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        job = played(folder / "data", straight, steps)
        packet = packed(folder / "data", folder / "job-1.zip")
        result = check_packet(packet)
        assert result.code == 0, [one for one in result.checks if one[1]]
        top = unpacked(packet, folder / "out")
        assert not by_its_own or holds("verify.py", top)
        again = built_again(top, folder / "data")
        assert again.facts == job.facts
        assert again.acts == job.acts
        assert (again.window, again.margin, again.skips) == (job.window, job.margin, job.skips)
        assert (again.seq, again.done, again.ended) == (job.seq, job.done, job.ended)


@settings(max_examples=4, deadline=None, derandomize=True)
@given(STRAIGHT, STEPS)
def test_a_few_random_jobs_are_built_again(straight: int, steps: list[tuple[str, str]]) -> None:
    goes_round(straight, steps, by_its_own=True)


@pytest.mark.slow
@pytest.mark.timeout(7200)
@settings(max_examples=500, deadline=None)
@given(STRAIGHT, STEPS)
def test_five_hundred_random_jobs_are_built_again(
    straight: int, steps: list[tuple[str, str]]
) -> None:
    goes_round(straight, steps, by_its_own=False)

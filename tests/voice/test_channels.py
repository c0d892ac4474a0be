"""A clip by its path is an answer like any other: through lines, and the commands about voice."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from bot.commands import cli
from tests.bot.scripted import DRIVER, Script, entries, output

CLIPS = Path(__file__).parent / "clips"
UNSURE, YES = str(CLIPS / "t0347_syn_clean.ogg"), str(CLIPS / "t0343_syn_clean.ogg")


def test_a_clip_by_its_path_is_an_answer(tmp_path: Path) -> None:
    script = Script().say("new job breakdown", "mile 9").send(DRIVER, voice=UNSURE)
    lines = [json.loads(line) for line in output(tmp_path, script.lines).splitlines()]
    assert any("danger" in (line.get("facts") or {}) for line in lines)
    kinds = [entry["kind"] for entry in entries(tmp_path, 1)]
    assert kinds.index("received") < kinds.index("media") < kinds.index("transcript")
    found = next(entry for entry in entries(tmp_path, 1) if entry["kind"] == "transcript")
    assert found["by"] == "bot"
    assert set(found["body"]) >= {"text", "score", "engine", "version", "why"}


def test_the_same_clip_under_the_same_id_changes_nothing(tmp_path: Path) -> None:
    script = Script().say("new job breakdown", "mile 9").send(DRIVER, voice=UNSURE)
    again = [*script.lines, script.lines[-1]]
    lines = [json.loads(line) for line in output(tmp_path, again).splitlines()]
    assert lines[-1]["repeat"] is True
    kinds = [entry["kind"] for entry in entries(tmp_path, 1)]
    assert kinds.count("transcript") == 1


def test_two_runs_of_one_script_give_the_same_record(tmp_path: Path) -> None:
    script = Script().say("new job breakdown", "mile 9").send(DRIVER, voice=UNSURE)
    script.send(DRIVER, voice=YES)
    first, second = tmp_path / "one", tmp_path / "two"
    assert output(first, script.lines) == output(second, script.lines)
    assert entries(first, 1) == entries(second, 1)


def test_hear_shows_the_meaning_and_why(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["hear", UNSURE, "--question", "vehicle.drive"]) == 0
    shown = capsys.readouterr().out
    assert "I don't know" in shown
    assert "@unsure" in shown
    assert "of 100" in shown


@pytest.mark.parametrize(
    ("words", "status"),
    [
        (["hear", "nowhere.ogg", "--question", "weight"], 1),
        (["hear", UNSURE, "--question", "nothing.such"], 2),
        (["hear", __file__, "--question", "weight"], 1),
        (["voice", "measure", "nowhere"], 1),
    ],
)
def test_a_note_that_cannot_be_heard_is_explained_in_words(
    words: list[str], status: int, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main(words) == status
    told = capsys.readouterr().err
    assert told
    assert "Traceback" not in told


def test_a_manifest_that_cannot_be_used_is_told_by_its_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "manifest.csv").write_text("clip,question_kind,expected_value\na.ogg,colour,red\n")
    assert cli.main(["voice", "measure", str(tmp_path)]) == 1
    assert "line 2" in capsys.readouterr().err


def test_nothing_of_voice_is_loaded_before_it_is_needed() -> None:
    words = (
        "import sys, bot.commands.bootstrap, bot.channels.talk, bot.voice.speak\n"
        "print([m for m in ('onnxruntime', 'soundfile', 'hibari') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", words], capture_output=True, text=True,
                          check=True)  # fmt: skip
    assert done.stdout.strip() == "[]"

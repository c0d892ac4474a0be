"""A message stamped ahead, from anyone in the job, never makes the bot deaf to the driver."""

from datetime import timedelta
from pathlib import Path

import pytest

from tests.bot.scripted import DISPATCHER, DRIVER, TO_NEUTRAL, Line, Script, play, rfc3339

OWNER = "owner:kim"
AHEAD_S = 120
TO_WINCH = (*TO_NEUTRAL, "neutral now", "confirmed", "chocks out", "away", "go")
"""To the winch that pulls; "no, it never was on" then asks for it to stop."""


def ahead(script: Script, chat: str, text: str, *, is_received: bool) -> Script:
    """Add a message whose stamp is ahead of its receipt; of the receipt itself where none is."""
    script.send(chat, text=text, job="1" if chat != DRIVER else None)
    line = script.lines[-1]
    line.update(at=rfc3339(script.now + timedelta(seconds=AHEAD_S)))
    if is_received:
        line["received_at"] = rfc3339(script.now)
    if line["job"] is None:
        del line["job"]
    return script


def asked(turn: list[Line]) -> str:
    return str([line for line in turn if line["chat"] == DRIVER][-1].get("item", ""))


@pytest.mark.parametrize("is_received", [True, False], ids=["received now", "no receipt"])
@pytest.mark.parametrize("chat", [DISPATCHER, OWNER, DRIVER])
def test_free_words_after_every_question_still_count(
    chat: str, *, is_received: bool, tmp_path: Path
) -> None:
    script = Script().say(*TO_NEUTRAL[:3])
    ahead(script, chat, "status", is_received=is_received)
    script.say("behind", "secured", "warned", "chocked")
    found = [asked(turn) for turn in play(tmp_path, script)[-4:]]
    assert found == ["scene.truck", "scene.warn", "scene.chock", "scene.photos"]


@pytest.mark.parametrize("is_received", [True, False], ids=["received now", "no receipt"])
@pytest.mark.parametrize("chat", [DISPATCHER, DRIVER])
def test_stopped_counts_at_stop_the_winch(chat: str, *, is_received: bool, tmp_path: Path) -> None:
    script = Script().say(*TO_WINCH)
    ahead(script, chat, "status", is_received=is_received)
    script.say("the hook came off", "stopped")
    *_, off, stopped = play(tmp_path, script)
    assert asked(off) == "recover.stop"
    states = [turn[-1]["acts_now"] for turn in (off, stopped)]
    assert [("winch" in state) for state in states] == [True, False], "named while it moves"

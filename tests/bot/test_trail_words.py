"""A time line has words for everything: no id of ours, no missing number."""

import re
from pathlib import Path

import pytest

from bot.commands.bootstrap import book_for
from bot.commands.demo import Player, conversation, parse
from bot.desk.trail import trail_lines
from bot.machine.settings import Settings
from bot.record.reader import open_reader

RAW = re.compile(r"\bNone\b|\w_\w|\{|\}")
"""A value that is not there, an id with an underscore, a placeholder."""


def trails(data: Path, name: str) -> list[str]:
    player = Player(data)
    for step in parse(conversation(name)):
        player.step(step)
    player.close()
    book = book_for(Settings(data))
    with open_reader(data) as reader:
        return [line for ref in reader.jobs() for line in trail_lines(reader, book, ref)]


@pytest.mark.parametrize(
    ("name", "says"),
    [
        # No hold promised; a limit in inches; a reason of ours; alarms; a lift that is too weak.
        ("plain_words_no_card", "neutral window opened, no length promised"),
        ("a_card_among_many", "margin: no-go, deck length, 2 in over"),
        ("danger_and_nobody_comes", "ended: handed off, because nobody came to release it"),
        ("window_runs_out", "alarm: a fifteenth of the neutral window is left"),
        ("lift_is_a_no_go", "lift: no-go, dollies under the other axle, 1,256 lb over"),
    ],
)
def test_a_time_line_shows_no_id_and_no_missing_number(
    tmp_path: Path, name: str, says: str
) -> None:
    found = trails(tmp_path / "data", name)
    assert [line for line in found if RAW.search(line)] == []
    assert any(says in line for line in found)

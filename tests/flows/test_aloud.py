"""Twenty messages of every section, read aloud by a speech synthesiser: none takes too long.

Slow, and needs `espeak-ng` (apt-get install espeak-ng), which nothing else here does.
"""

import shutil
import subprocess
import wave
from functools import cache
from io import BytesIO

import pytest

from flows.routine.carry import CARRY
from flows.telling.render import render
from flows.telling.saying import section_now
from tests.flows.lint import TOKENS, most_tokens
from tests.flows.test_wording import conversations

WORDS_A_MINUTE = 150
# Spoken length: 16 tokens in 8 seconds at 150 words a minute; 20 tokens get as much more.
SECONDS = 8
EACH = 20
pytestmark = pytest.mark.slow


def seconds(text: str) -> float:
    """Return how long a text takes to say."""
    program = shutil.which("espeak-ng")
    assert program is not None, "install it: apt-get install espeak-ng"
    words = [program, "-v", "en-us", "-s", str(WORDS_A_MINUTE), "--stdout", text]
    said = subprocess.run(words, capture_output=True, check=True).stdout
    with wave.open(BytesIO(said)) as sound:
        # A stream has no length in its head: count what came.
        frames = len(sound.readframes(sound.getnframes())) // sound.getsampwidth()
        return frames / sound.getframerate()


@cache
def by_section() -> dict[str, dict[str, float]]:
    """Return what was said in each section, with the seconds it may take."""
    found: dict[str, dict[str, float]] = {section.id: {} for section in CARRY.sections}
    for reply in conversations():
        item = reply.job.book.routine.items.get(reply.item)
        of = section_now(reply.job) if item is None else CARRY.section_of[item.id].id
        found[of][render(reply).spoken] = SECONDS * most_tokens(reply) / TOKENS
    return found


@pytest.mark.parametrize("section", [one.id for one in CARRY.sections])
def test_twenty_messages_of_a_section_take_no_longer_than_they_may(section: str) -> None:
    said = by_section()[section]
    # The longest first: they are the ones that may be too long.
    longest = sorted(said, key=len, reverse=True)[:EACH]
    # Of a section that says fewer in all, every one.
    assert longest
    late = {text: round(seconds(text), 1) for text in longest if seconds(text) > said[text]}
    assert late == {}


def test_the_clock_of_this_test_is_right() -> None:
    """Eight words take several times as long as one, and neither takes no time."""
    assert 0.3 < seconds("one") < 1.5
    assert seconds("one two three four five six seven eight") > 3 * seconds("one")

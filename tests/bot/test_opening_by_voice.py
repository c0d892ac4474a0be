"""A job that a driver opens by voice: surely heard or not opened, and in the record as heard."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from bot.commands.demo import DRIVER, Player, conversation, parse
from bot.desk.inbound import Inbound
from bot.desk.opening import OPENING
from bot.record.media import keep_bytes
from flows.hearing.prompts import Prompt
from flows.job.events import Opinion, Spoken
from flows.routine.book import Book
from flows.texts import sentences
from flows.turn.voicing import CHECK, TAKE

SAYS = sentences()["says"]
Say = Callable[[Spoken], list[dict[str, Any]]]


class PlantedEars:
    """Hears what it is told to, and keeps under what it was asked to hear."""

    def __init__(self) -> None:
        self.says = Spoken()
        self.under: list[Prompt] = []

    def heard(self, path: Path, prompt: Prompt, _book: Book) -> Spoken:
        assert path.is_file()
        self.under.append(prompt)
        return self.says


@pytest.fixture
def player(tmp_path: Path) -> Player:
    return Player(tmp_path / "data")


@pytest.fixture
def ears(player: Player) -> PlantedEars:
    found = PlantedEars()
    player.desk.ears = found
    return found


@pytest.fixture
def say(player: Player, ears: PlantedEars) -> Say:
    def speak(spoken: Spoken, chat: str = DRIVER) -> list[dict[str, Any]]:
        ears.says = spoken
        number = len(ears.under)
        media = keep_bytes(player.store.folder, "voice", b"OggS\x00 note %d" % number)
        taken = player.desk.take(Inbound(chat, f"v{number}", media=media), player.at)
        return [reply.body for reply in taken.replies]

    return speak


def voiced(text: str, score: int, **more: Any) -> Spoken:
    return Spoken(text, score, "planted", "1", OPENING.key, **more)


@pytest.mark.parametrize("text", ["New job.", "open a job"])
def test_a_sure_new_job_opens_one_and_the_note_stands_in_its_record(
    player: Player, say: Say, ears: PlantedEars, text: str
) -> None:
    said = say(voiced(text, TAKE))
    assert ears.under == [OPENING]
    assert player.store.jobs() == {1: "open"}
    assert said[0]["shown"].startswith(SAYS["opened"]["shown"].partition("{")[0])
    kinds = [entry["kind"] for entry in player.store.entries(1)]
    assert kinds[0] == "opened"
    assert {"received", "media", "transcript"} <= set(kinds)
    assert kinds.index("media") < kinds.index("transcript")
    player.close()


def test_a_likely_new_job_opens_none_unless_a_second_opinion_agrees(
    player: Player, say: Say
) -> None:
    (told,) = say(voiced("New job.", TAKE - 1))
    assert told["spoken"] == SAYS["no_job"]["spoken"]
    assert player.store.jobs() == {}
    say(voiced("New job.", TAKE - 1, opinion=Opinion("New job.", "planted", "2", agrees=True)))
    assert player.store.jobs() == {1: "open"}
    # Words stand in the chain as commitments, those of the second opinion too.
    raw = "".join(player.store.lines(1))
    assert '"opinion":{"agrees":true' in raw
    assert "New job." not in raw
    (heard,) = (one["body"] for one in player.store.entries(1) if one["kind"] == "transcript")
    assert heard["opinion"]["text"]["value"] == heard["text"]["value"] == "New job."
    player.close()


def test_danger_by_voice_outside_a_job_gets_the_word_of_danger(player: Player, say: Say) -> None:
    (told,) = say(voiced("Smoke.", CHECK))
    assert told["spoken"] == SAYS["danger_outside"]["spoken"]
    player.close()


def test_within_an_open_job_the_words_open_no_other(
    player: Player, say: Say, ears: PlantedEars
) -> None:
    say(voiced("New job.", TAKE))
    say(voiced("New job.", TAKE))
    assert player.store.jobs() == {1: "open"}
    assert ears.under[-1].item is not None, "and it was heard under what the job asks"
    player.close()


def test_after_a_job_has_ended_the_next_is_opened_by_voice(player: Player, say: Say) -> None:
    for step in parse(conversation("plain_carry")):
        player.step(step)
    assert player.store.jobs()[1] == "closed"
    say(voiced("New job.", TAKE))
    assert player.store.jobs()[2] == "open"
    player.close()

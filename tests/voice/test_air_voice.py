"""Voice notes at the chat platform: kept as received, heard beside the loop, answered aloud."""

import asyncio
import io
import threading
from collections.abc import Awaitable, Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import soundfile

from flows.hearing.answers import NOTHING
from flows.hearing.prompts import Prompt, prompt_for
from flows.job.events import Spoken
from flows.routine.book import Book
from flows.texts import air_texts
from flows.turn.voicing import TAKE
from tests.standin.phones import Phones

CLIPS = Path(__file__).parent / "clips"
UNSURE = (CLIPS / "t0347_syn_clean.ogg").read_bytes()
NO = (CLIPS / "t0345_syn_clean.ogg").read_bytes()
SAM = "driver:sam"


def on_phones(folder: Path, play: Callable[[Phones], Awaitable[None]]) -> None:
    async def run() -> None:
        async with Phones(folder) as phones:
            phones.enrol(SAM)
            await phones.say(SAM, "new job breakdown")
            await phones.say(SAM, "mile 9")
            await play(phones)

    asyncio.run(run())


async def voice(phones: Phones, data: bytes) -> None:
    phones.platform.world.sends(phones.accounts[SAM], "voice", data)
    await phones.hears()


def of_kind(phones: Phones, kind: str) -> list[dict[str, Any]]:
    return [entry["body"] for entry in phones.entries(1) if entry["kind"] == kind]


def test_a_voice_note_answers_the_open_question_and_is_kept_as_received(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await voice(phones, UNSURE)
        kept = of_kind(phones, "media")[0]
        files = phones.store.folder / "files"
        assert (files / kept["sha256"]).read_bytes() == UNSURE
        found = of_kind(phones, "transcript")[0]
        assert found["text"]["value"].lower().startswith("i don't know")
        assert found["engine"] == "moonshine-tiny-en"
        assert 0 <= found["score"] <= 100
        # "I don't know" sends the driver to look again, as typed.
        assert phones.company.desk.job(1).looked("danger")

    on_phones(tmp_path, play)


def test_a_short_no_by_voice_does_not_say_that_there_is_no_danger(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await voice(phones, NO)
        assert phones.company.desk.job(1).value("danger") is None
        assert "nothing seen" in " ".join(phones.texts(SAM)[-2:]).lower()

    on_phones(tmp_path, play)


def test_a_note_that_is_no_sound_gets_a_sentence_and_is_kept(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await voice(phones, b"OggS\0 no sound in it")
        assert of_kind(phones, "transcript")[0]["why"] == "unreadable"
        assert of_kind(phones, "media")
        assert "type it" in " ".join(phones.texts(SAM)[-2:])
        await phones.say(SAM, "none")
        assert phones.company.desk.job(1).value("danger") == "none"

    on_phones(tmp_path, play)


class SlowEars:
    """Hears only once it is let to."""

    def __init__(self) -> None:
        self.may = threading.Event()

    def heard(self, path: Path, prompt: Prompt, _book: Book) -> Spoken:
        assert path.is_file()
        assert self.may.wait(30)
        return Spoken(why="empty", under=prompt.key)


class PlantedEars:
    """Hears the given words, and keeps the grammars it was asked with."""

    def __init__(self, says: Spoken) -> None:
        self.says = says
        self.prompt = Prompt(None, NOTHING)

    def heard(self, path: Path, prompt: Prompt, _book: Book) -> Spoken:
        assert path.is_file()
        self.prompt = prompt
        return replace(self.says, under=prompt.key)


def test_spoken_replies_are_turned_on_and_off_by_voice_where_it_was_surely_heard(
    tmp_path: Path,
) -> None:
    on, off = (air_texts()["speak"][one] for one in ("on", "off"))

    async def play(phones: Phones) -> None:
        asked = phones.company.desk.job(1).asked
        for text, score, wanted in (
            ("Speak to me.", TAKE - 1, []), ("Speak to me.", TAKE, [on]),
            ("Be quiet.", TAKE, [off]),
        ):  # fmt: skip
            ears = PlantedEars(Spoken(text, score, "planted", "1"))
            object.__setattr__(phones.company, "ears", ears)
            count = len(phones.texts(SAM))
            await voice(phones, UNSURE)
            said = phones.texts(SAM)[count:]
            assert [one for one in said if one in {on, off}] == wanted, said
            known = {phrase for phrase, _ in ears.prompt.answer.phrases}
            assert {("speak", "to", "me"), ("be", "quiet")} <= known
        assert phones.company.desk.job(1).value("danger") is None
        assert asked is not None
        assert prompt_for(phones.company.desk.job(1)).key == asked.item

    on_phones(tmp_path, play)


def test_danger_and_alarms_do_not_wait_behind_a_note(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        ears = SlowEars()
        object.__setattr__(phones.company, "ears", ears)
        phones.platform.world.sends(phones.accounts[SAM], "voice", UNSURE)
        await phones.service.poller.once()
        phones.platform.world.says(phones.accounts[SAM], "smoke")
        await phones.service.poller.once()
        await phones.service.lanes.idle()
        # The note is still being heard.
        assert phones.service.busy()
        assert phones.company.desk.job(1).acts["danger"] == "seen"
        ears.may.set()
        await phones.settled()
        assert of_kind(phones, "transcript")[0]["why"] == "empty"

    on_phones(tmp_path, play)


def test_replies_are_spoken_to_whoever_asks_and_no_more_after_be_quiet(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await phones.say(SAM, "speak")
        await phones.say(SAM, "status")
        notes = [one for one in phones.messages(SAM) if "voice" in one]
        assert notes
        file = phones.platform.world.files[notes[-1]["voice"]["file_id"]]
        samples, rate = soundfile.read(io.BytesIO(file.data))
        assert file.data.startswith(b"OggS")
        assert len(samples) > rate
        await phones.say(SAM, "be quiet")
        count = len([one for one in phones.messages(SAM) if "voice" in one])
        await phones.say(SAM, "status")
        assert len([one for one in phones.messages(SAM) if "voice" in one]) == count

    on_phones(tmp_path, play)

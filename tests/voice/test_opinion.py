"""A second opinion: when it is asked, its effect, and every way to have none."""

from pathlib import Path

import numpy as np
import pytest

from bot.commands.bootstrap import book_for
from bot.commands.doctor import examine
from bot.machine.settings import Settings
from bot.voice.ears import LazyEars, Second, load_opinion
from bot.voice.mel import filters, hertz, log_mel
from bot.voice.model import RATE, Floats
from bot.voice.opinion import NO_SPEECH, Written, is_wanted, with_opinion
from bot.voice.questions import Question, named
from bot.voice.recogniser import Guess, Signs
from bot.voice.score import Judged
from bot.voice.weights import NoEngineError
from bot.voice.whisper import LIBRARY, plain
from flows.hearing.prompts import prompt_for
from flows.job.events import Opinion, Spoken
from flows.routine.book import Book
from flows.texts import voice_texts
from flows.turn.voicing import CHECK, TAKE
from tests.flows.talker import TO_MARGIN, Talker
from tests.flows.test_voicing import at, voiced

CLIPS = Path(__file__).parent / "clips"
QUIET = np.zeros(RATE, np.float32)
SIGNS = Signs(-0.1, 0.0, 1.0, -0.1, 20.0, 5, 20.0)
FIRST = Spoken("Front-wheel drive.", TAKE - 1, "first", "1", "vehicle.drive")


class PlantedWriter:
    """Writes down the given words."""

    engine, version = "planted", "ab" * 32

    def __init__(self, *texts: str, no_speech: float = 0.0) -> None:
        self.says = Written(texts, no_speech)

    def write(self, sound: Floats) -> Written:
        assert len(sound)
        return self.says


class BrokenWriter(PlantedWriter):
    def write(self, sound: Floats) -> Written:
        raise RuntimeError("the network does not run")


@pytest.fixture(scope="module")
def book() -> Book:
    return book_for(Settings(Path("nowhere")))


@pytest.fixture(scope="module")
def drive(book: Book) -> Question:
    return named(book, "drive")


def guess(question: Question, text: str) -> Guess:
    return Guess(text, question.meant(text), text, SIGNS, (), 20.0)


# When it is asked, and its answer.


@pytest.mark.parametrize(
    ("heard", "wanted"),
    [
        (Judged("Rear.", CHECK - 1), False), (Judged("Rear.", CHECK), True),
        (Judged("Rear.", TAKE - 1), True), (Judged("Rear.", TAKE), False),
        (Judged("mile nine", 0, is_free=True), True), (Judged("", 0, is_free=True), False),
    ],
)  # fmt: skip
def test_it_is_asked_where_an_answer_would_be_read_back_and_for_free_words(
    *, heard: Judged, wanted: bool
) -> None:
    assert is_wanted(heard) == wanted


@pytest.mark.parametrize(
    ("texts", "agrees"),
    [
        (("front wheel drive",), "front wheel drive"), (("Front.",), "Front."),
        (("from we'll try", "front we'll try", "Front wheels.", "Front."), "Front wheels."),
        (("Rear-wheel drive.",), None), (("from we'll try",), None), (("",), None), ((), None),
    ],
)  # fmt: skip
def test_it_agrees_where_one_of_its_likely_texts_means_the_same(
    drive: Question, texts: tuple[str, ...], agrees: str | None
) -> None:
    writer = PlantedWriter(*texts)
    found = with_opinion(FIRST, drive, guess(drive, FIRST.text), writer.write(QUIET), writer)
    told = agrees or next(iter(texts), "")
    assert found.opinion == Opinion(told, "planted", "ab" * 32, agrees is not None)
    assert (found.text, found.score, found.engine) == (FIRST.text, FIRST.score, "first")


def test_free_words_are_its_own_and_the_first_words_are_kept_too(book: Book) -> None:
    question = named(book, "note")
    first = Spoken("battery is bed", 3, "first", "1", "open.place", is_free=True)
    writer = PlantedWriter("battery is dead")
    found = with_opinion(first, question, guess(question, ""), writer.write(QUIET), writer)
    assert (found.text, found.engine) == ("battery is dead", "planted")
    assert found.opinion == Opinion("battery is bed", "first", "1")
    silent = PlantedWriter("you", no_speech=NO_SPEECH)
    kept = with_opinion(first, question, guess(question, ""), silent.write(QUIET), silent)
    assert (kept.text, kept.engine) == ("battery is bed", "first")


# Its effect in the flows.


def both(talker: Talker, text: str, score: int, *, agrees: bool = True) -> None:
    voiced(talker, text, score, opinion=Opinion(text, "planted", "2", agrees))


@pytest.mark.parametrize(("score", "agrees", "taken"), [
    (TAKE - 1, True, True), (CHECK, True, True), (CHECK - 1, True, False),
    (TAKE - 1, False, False),
])  # fmt: skip
def test_an_answer_both_heard_is_taken_from_the_middle_on(
    *, score: int, agrees: bool, taken: bool
) -> None:
    talker = at(*TO_MARGIN[:8])
    assert prompt_for(talker.job).key == "scene.slope"
    both(talker, "Uphill.", score, agrees=agrees)
    assert (talker.job.value("slope") == "uphill") == taken


def test_a_critical_step_is_read_back_though_both_heard_it() -> None:
    talker = at(*TO_MARGIN[:3])
    step = prompt_for(talker.job)
    assert step.item is not None
    assert step.item.critical
    both(talker, step.answer.words[0], TAKE - 1)
    assert prompt_for(talker.job).pending == "heard"


def test_a_deciding_number_is_read_back_though_both_heard_it() -> None:
    talker = at(*TO_MARGIN, "wrong weight")
    both(talker, "Six thousand four hundred pounds.", TAKE - 1)
    assert talker.job.value("weight") != 6400
    assert prompt_for(talker.job).pending
    both(talker, "Affirmative.", TAKE - 1)
    assert talker.job.value("weight") != 6400, "nor is it taken by a yes that is not sure"


def test_that_it_does_not_start_is_said() -> None:
    talker = at(*TO_MARGIN[:8])
    said = voiced(talker, "Uphill.", TAKE - 1, opinion=Opinion(why="opinion_broken"))
    assert any("second listener won't start" in one for one in said)
    assert prompt_for(talker.job).pending == "heard"


# Loading it.


def loaded_by(writer: PlantedWriter, calls: list[Path]) -> Second:
    def load(folder: Path) -> PlantedWriter:
        calls.append(folder)
        return writer

    return Second(Path("network"), load)


def test_it_is_loaded_once_and_only_when_it_is_wanted(drive: Question) -> None:
    calls: list[Path] = []
    second = loaded_by(PlantedWriter("Front."), calls)
    assert calls == []
    for _ in range(2):
        found = second.on(FIRST, drive, guess(drive, FIRST.text), QUIET)
        assert found.opinion is not None
        assert found.opinion.agrees
    assert calls == [Path("network")]


def test_one_that_fails_is_told_once_and_asked_no_more(drive: Question) -> None:
    second = loaded_by(BrokenWriter(), [])
    found = [second.on(FIRST, drive, guess(drive, FIRST.text), QUIET) for _ in range(2)]
    assert found[0].opinion == Opinion(why="opinion_broken")
    assert found[1] == FIRST


def wrong_folder(folder: Path, what: str) -> str:
    """Make a folder with one fault; return the key of its sentence."""
    names = ("model.bin", "config.json", "vocabulary.json")
    for name in names:
        (folder / name).write_bytes(b"{}" if name.endswith("json") else b"no network in it")
    if what in names:
        (folder / what).unlink()
        return "opinion_missing"
    return "opinion_broken"


@pytest.mark.parametrize("what", ["model.bin", "config.json", "vocabulary.json", "wrong files"])
def test_a_wrong_folder_is_told_with_its_reason_and_the_first_ear_goes_on(
    tmp_path: Path, book: Book, what: str
) -> None:
    key = wrong_folder(tmp_path, what)
    with pytest.raises(NoEngineError) as told:
        load_opinion(tmp_path)
    assert told.value.key == key
    assert str(tmp_path) in told.value.value
    place = prompt_for(at("new job breakdown").job)
    assert place.answer.takes_note
    ears = LazyEars(opinion=tmp_path)
    found = [ears.heard(CLIPS / "t0383_syn_clean.ogg", place, book) for _ in range(2)]
    assert found[0].opinion == Opinion(why=key)
    assert found[1].opinion is None
    assert all(one.is_free and "shoulder" in one.text for one in found)


def test_a_folder_that_is_not_there_is_told_by_doctor(tmp_path: Path) -> None:
    data = tmp_path / "data"
    data.mkdir()
    found = list(examine(data, lambda: None, tmp_path / "gone"))
    said = voice_texts()["doctor"]["opinion_missing"]
    said = said.format(value=tmp_path / "gone" / "model.bin")
    assert said in [one.says for one in found if not one.is_well]


def test_without_the_library_there_is_none(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("bot.voice.whisper.find_spec", lambda _name: None)
    with pytest.raises(NoEngineError) as told:
        load_opinion(tmp_path)
    assert (told.value.key, told.value.value) == ("opinion_not_installed", LIBRARY)


# The network's input and output.


def test_the_mel_scale_is_slaneys() -> None:
    # M. Slaney, Auditory Toolbox, 1998: 200/3 Hz apart up to 1 kHz, then 27 to a factor of 6.4.
    assert hertz(np.array([3.0, 15.0, 42.0])).round(3).tolist() == [200.0, 1000.0, 6400.0]
    found = filters(80)
    assert found.shape == (80, 201)
    # Each channel has the area of one: constant energy a channel.
    areas = found.sum(axis=1) * RATE / 400
    assert areas[20:] == pytest.approx(np.ones(60), abs=0.1)


@pytest.mark.parametrize("tone_hz", [300.0, 1000.0, 3000.0])
def test_a_tone_is_loudest_in_the_channel_whose_middle_it_is_nearest(tone_hz: float) -> None:
    sound = np.sin(2 * np.pi * tone_hz * np.arange(RATE) / RATE).astype(np.float32)
    rows = log_mel(sound, 1.0)
    assert rows.shape == (80, 100)
    loudest = int(rows[:, 50].argmax())
    top = 15.0 + 27.0 * np.log(8.0) / np.log(6.4)
    middles = hertz(np.linspace(0.0, top, 82))[1:-1]
    assert abs(middles[loudest] - tone_hz) <= np.abs(middles - tone_hz).min() + 40.0
    # Radford et al. 2022: what is 80 dB below the loudest and less is cut off, 8 parts of 4.
    assert rows.max() - rows.min() <= 2.0 + 1e-6


def test_pieces_are_bytes_in_the_letters_of_the_published_code() -> None:
    # A space is U+0120 and a line's end U+010A there; the two bytes of an e with acute stand for
    # themselves.
    assert plain(["\u0120Front", "-", "wheel", "\u0120drive", "."]) == "Front-wheel drive."
    assert plain(["\u0120caf", "\u00c3\u00a9", "\u010a"]) == "café"

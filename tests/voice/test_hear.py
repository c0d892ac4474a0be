"""Hearing with the real recogniser: synthetic voices and noise, with their true texts."""

from pathlib import Path

import numpy as np
import pytest

from bot.commands.bootstrap import book_for
from bot.machine.settings import Settings
from bot.voice.ears import LazyEars, load
from bot.voice.measure import outcome, read_manifest, report, word_errors
from bot.voice.questions import named, of_prompt
from bot.voice.recogniser import Recogniser
from bot.voice.sound import RATE, decode
from bot.voice.weights import DIGESTS, NoEngineError, Weights, find_folder, read_weights
from flows.hearing.answers import NOTHING, answer_for
from flows.hearing.lexicon import lexicon_of
from flows.hearing.prompts import Prompt
from flows.job.state import Job
from flows.routine.book import Book
from flows.turn.voicing import CHECK

CLIPS = Path(__file__).parent / "clips"


@pytest.fixture(scope="module")
def book() -> Book:
    return book_for(Settings(Path("nowhere")))


@pytest.fixture(scope="module")
def recogniser() -> Recogniser:
    return load(read_weights())


@pytest.mark.parametrize("clip", [one for one in read_manifest(CLIPS) if one.kind != "note"],
                         ids=lambda one: one.path.stem)  # fmt: skip
def test_each_clip_is_heard_as_said_or_not_taken(
    clip: object, recogniser: Recogniser, book: Book
) -> None:
    from bot.voice.measure import Clip  # noqa: PLC0415  for its type

    assert isinstance(clip, Clip)
    found = outcome(clip, named(book, clip.kind), recogniser)
    if clip.expected == "OOG":
        assert found.band == "again"
    else:
        assert found.value == clip.expected
        assert found.band in {"take", "check"} or clip.noise == "0"


def test_a_note_is_written_down_whole(recogniser: Recogniser, book: Book) -> None:
    clip = next(one for one in read_manifest(CLIPS) if one.kind == "note")
    found = outcome(clip, named(book, "note"), recogniser)
    wrong, said = found.errors
    assert found.band == "note"
    assert said == 8
    assert wrong <= 2


def test_the_report_counts_the_clips_it_was_given(recogniser: Recogniser, book: Book) -> None:
    clips = [one for one in read_manifest(CLIPS) if one.kind == "yesno"]
    found = [outcome(one, named(book, one.kind), recogniser) for one in clips]
    lines = list(report(found, CLIPS, recogniser.engine, recogniser.version))
    clean = next(line.split() for line in lines if line.startswith("yesno") and "clean" in line)
    assert clean[:5] == ["yesno", "synth", "clean", "3", "100.0"]


def test_the_ears_hear_a_kept_file_under_its_question(book: Book) -> None:
    ears = LazyEars()
    heard = ears.heard(CLIPS / "t0347_syn_clean.ogg", Prompt(None, NOTHING), book)
    assert heard.text.lower().startswith("i don't know")
    assert heard.score >= CHECK
    assert heard.engine != "none"


@pytest.mark.parametrize("noise", sorted(CLIPS.glob("*_noise_*.ogg")), ids=lambda one: one.stem)
def test_noise_alone_is_no_draft_where_free_words_are_asked_for(noise: Path, book: Book) -> None:
    place = book.routine.items["open.place"]
    prompt = Prompt(place, answer_for(Job(0, book), place))
    assert prompt.answer.takes_note
    heard = LazyEars().heard(noise, prompt, book)
    assert (heard.text, heard.why) == ("", "empty")
    said = LazyEars().heard(CLIPS / "t0383_syn_clean.ogg", prompt, book)
    assert said.is_free
    assert "shoulder" in said.text


@pytest.mark.parametrize("data", [b"", b"PK\x03\x04 a zip", b"OggS\x00" + bytes(500)])
def test_the_ears_say_why_they_hear_nothing(data: bytes, book: Book, tmp_path: Path) -> None:
    path = tmp_path / "note"
    path.write_bytes(data)
    heard = LazyEars().heard(path, Prompt(None, NOTHING), book)
    assert heard.text == ""
    assert heard.why in {"empty", "unreadable"}


def planted(folder: Path) -> None:
    for name in DIGESTS:
        (folder / name).write_bytes((find_folder() / name).read_bytes())


def test_another_file_than_was_measured_is_no_engine(tmp_path: Path, book: Book) -> None:
    planted(tmp_path)
    name = "tokenizer.bin"
    data = bytearray((tmp_path / name).read_bytes())
    data[100] ^= 1
    (tmp_path / name).write_bytes(data)
    with pytest.raises(NoEngineError) as told:
        read_weights(tmp_path)
    assert (told.value.key, told.value.value) == ("different", name)
    ears = LazyEars(lambda: read_weights(tmp_path))
    heard = ears.heard(CLIPS / "t0343_syn_clean.ogg", Prompt(None, NOTHING), book)
    assert (heard.why, heard.engine) == ("no_engine", "none")


def test_a_missing_file_is_no_engine(tmp_path: Path) -> None:
    planted(tmp_path)
    (tmp_path / "encoder_model.ort").unlink()
    with pytest.raises(NoEngineError) as told:
        read_weights(tmp_path)
    assert told.value.key == "missing"


def test_files_that_do_not_run_here_are_no_engine(book: Book) -> None:
    ears = LazyEars(lambda: Weights(b"no", b"no", b"", "0"))
    heard = ears.heard(CLIPS / "t0343_syn_clean.ogg", Prompt(None, NOTHING), book)
    assert heard.why == "no_engine"


def test_words_heard_wrong_are_counted_as_left_out_put_in_or_changed() -> None:
    assert word_errors("one two three", "one three") == (1, 3)
    assert word_errors("one two three", "one two two three") == (1, 3)
    assert word_errors("one two three", "One, too, three.") == (1, 3)
    assert word_errors("one two", "") == (2, 2)


def test_every_question_of_the_routine_has_a_grammar(book: Book) -> None:
    job = Job(0, book)
    for item in book.routine.items.values():
        answer = answer_for(job, item)
        question = of_prompt(Prompt(item, answer), lexicon_of(book.library))
        for label in (label for _, label in answer.choices):
            assert question.meant(label) is not None, (item.id, label)


@pytest.mark.parametrize("seconds", [5.0, 9.5, 14.9])
def test_a_note_of_any_length_up_to_the_cap_is_heard(
    seconds: float, recogniser: Recogniser, book: Book
) -> None:
    said = decode((CLIPS / "t0370_syn_clean.ogg").read_bytes())
    sound = np.resize(said, int(seconds * RATE))
    guess = recogniser.hear(named(book, "weight"), sound)
    # The same weight, said again and again.
    assert "hundred" in guess.free.lower() or "100" in guess.free

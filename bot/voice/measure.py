"""How well a folder of clips is heard, by kind of question and noise."""

import csv
import time
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from statistics import median

from bot.voice.opinion import Writer, Written, agreeing, is_wanted
from bot.voice.questions import KINDS, Meaning, Question, named
from bot.voice.recogniser import Guess, Recogniser
from bot.voice.score import Judged, judge
from bot.voice.sound import SoundError, check_level, decode
from flows.routine.book import Book
from flows.texts import voice_texts
from flows.texts.plainness import words
from flows.turn.voicing import CHECK, TAKE

MANIFEST = "manifest.csv"
COLUMNS = ("clip", "question_kind", "expected_value")
"""Required columns of the manifest; noise, snr, source, spoken and speaker are optional."""
OTHER = "OOG"
"""The expected value of a clip that is no answer."""
NUMBERS = frozenset({"weight", "volts", "ago"})
"""Kinds whose numbers are always read back."""
_ALSO = {"fwd": "front", "rwd": "rear", "awd": "all", "4wd": "all"}


class ManifestError(Exception):
    """A manifest that cannot be used; says why and where."""


@dataclass(frozen=True, slots=True)
class Clip:
    """A line of a manifest."""

    path: Path
    kind: str
    expected: str
    noise: str
    source: str


@dataclass(frozen=True, slots=True)
class Outcome:
    """The result of a clip: its value, the words of a note, and the bot's decision."""

    clip: Clip
    value: str
    band: str
    seconds: float
    errors: tuple[int, int] = (0, 0)

    @property
    def is_right(self) -> bool:
        """Say whether the value is the one that was said."""
        return self.value == self.clip.expected


def read_manifest(folder: Path) -> list[Clip]:
    """Return the clips of a folder.

    Raises
    ------
    ManifestError
        If there is no manifest, or a line of it cannot be used.
    """
    texts, path = voice_texts()["measure"], folder / MANIFEST
    if not path.is_file():
        columns = ", ".join(COLUMNS)
        raise ManifestError(texts["no_manifest"].format(name=path, columns=columns))
    with path.open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    found: list[Clip] = []
    for line, row in enumerate(rows, 2):
        what = _wrong(row, folder)
        if what:
            raise ManifestError(texts["bad_row"].format(name=path, line=line, what=what))
        found.append(_clip(row, folder))
    return found


def _wrong(row: dict[str, str], folder: Path) -> str:
    missing = [name for name in COLUMNS if not row.get(name)]
    if missing:
        return f"no {missing[0]}"
    if row["question_kind"] not in KINDS:
        return f"question_kind is {row['question_kind']!r}; allowed: {', '.join(KINDS)}"
    return "" if (folder / row["clip"]).is_file() else f"no file {row['clip']!r}"


def _clip(row: dict[str, str], folder: Path) -> Clip:
    name, expected = row["clip"], row["expected_value"]
    source = "human" if "_hum_" in name else "synth" if "_syn_" in name else "other"
    return Clip(folder / name, row["question_kind"], _ALSO.get(expected, expected),
                row.get("snr") or "clean", source)  # fmt: skip


def outcomes(
    clips: Iterable[Clip], recogniser: Recogniser, book: Book, writer: Writer | None = None
) -> Iterator[Outcome]:
    """Yield the result of each clip, as the bot would hear it."""
    questions: dict[str, Question] = {}
    for clip in clips:
        question = questions.setdefault(clip.kind, named(book, clip.kind))
        yield outcome(clip, question, recogniser, writer)


def outcome(
    clip: Clip, question: Question, recogniser: Recogniser, writer: Writer | None = None
) -> Outcome:
    """Return the result of a clip."""
    start = time.perf_counter()
    try:
        sound = decode(clip.path.read_bytes())
        check_level(sound)
    except SoundError:
        return Outcome(clip, "", "again", time.perf_counter() - start)
    guess = recogniser.hear(question, sound)
    written = None
    if writer is not None and is_wanted(judge(question, guess)):
        written = writer.write(sound)
    value, band, text = banded(question, guess, written)
    spent = time.perf_counter() - start
    errors = word_errors(clip.expected, text) if clip.kind == "note" else (0, 0)
    return Outcome(clip, value, band, spent, errors)


def banded(
    question: Question, guess: Guess, written: Written | None = None
) -> tuple[str, str, str]:
    """Return the value, the bot's decision about it, and the text it is read from."""
    heard, meaning = judge(question, guess), guess.meaning
    if heard.is_free:
        text = _free_words(heard, written)
        return text, "note" if text else "again", text
    if meaning is None:
        return "", "again", heard.text
    if heard.score < CHECK:
        return meaning.value, "again", heard.text
    is_sure = heard.score >= TAKE or _is_agreed(question, guess, written)
    is_taken = is_sure and not _is_read_back(question, meaning)
    return meaning.value, "take" if is_taken else "check", heard.text


def _free_words(heard: Judged, written: Written | None) -> str:
    """Return free words: the second opinion's, if it has any."""
    return (written.words if written is not None else "") or heard.text


def _is_agreed(question: Question, guess: Guess, written: Written | None) -> bool:
    return written is not None and agreeing(question, guess, written) is not None


def _is_read_back(question: Question, meaning: Meaning) -> bool:
    """Say whether a value is read back however sure it is: several meanings, or a number."""
    is_number = question.name in NUMBERS and meaning.value != "0"
    return meaning.is_ambiguous or (is_number and not meaning.value.startswith("@"))


def word_errors(said: str, heard: str) -> tuple[int, int]:
    """Return the count of words that are wrong, missing or added, and of words said.

    The errors are the fewest single changes from one row of words to the other.

    Examples
    --------
    >>> word_errors("battery is dead", "The battery is bed.")
    (2, 3)
    """
    wanted, got = [[word.lower() for word in words(text)] for text in (said, heard)]
    row = list(range(len(got) + 1))
    for count, word in enumerate(wanted, 1):
        before, row[0] = row[0], count
        for index, other in enumerate(got, 1):
            kept = row[index]
            row[index] = min(row[index] + 1, row[index - 1] + 1, before + (word != other))
            before = kept
    return row[-1], len(wanted)


def report(found: list[Outcome], folder: Path, engine: str, version: str) -> Iterator[str]:
    """Yield the lines of a measurement."""
    texts = voice_texts()["measure"]
    yield texts["title"].format(clips=len(found), folder=folder, engine=engine, version=version)
    yield texts["head"].format(**texts["columns"])
    yield from _rows([outcome for outcome in found if outcome.clip.kind != "note"])
    yield texts["legend"]
    yield from _notes([outcome for outcome in found if outcome.clip.kind == "note"])
    spent = sorted(outcome.seconds for outcome in found) or [0.0]
    p95 = spent[int(0.95 * (len(spent) - 1))]
    yield texts["time"].format(median=median(spent), p95=p95, most=spent[-1])


def _notes(found: list[Outcome]) -> Iterator[str]:
    """Yield the rate of wrong words in notes that say something."""
    errors = [outcome.errors for outcome in found if outcome.clip.expected != OTHER]
    if errors:
        wrong, said = map(sum, zip(*errors, strict=True))
        text = voice_texts()["measure"]["notes"]
        yield text.format(clips=len(errors), errors=100 * wrong / (said or 1))


def _rows(found: list[Outcome]) -> Iterator[str]:
    groups: dict[tuple[str, str, str], list[Outcome]] = defaultdict(list)
    for result in found:
        clip = result.clip
        is_other = clip.expected == OTHER
        kind = OTHER if is_other else clip.kind
        groups[kind, clip.source, clip.noise].append(result)
        if not is_other:
            groups["all", clip.source, clip.noise].append(result)
    for (kind, source, noise), some in sorted(groups.items(), key=_order):
        yield _row(kind, source, noise, some)


def _order(item: tuple[tuple[str, str, str], list[Outcome]]) -> tuple[bool, str, str, int]:
    kind, source, noise = item[0]
    return kind != "all", kind, source, -int(noise) if noise.isdecimal() else -99


def _row(kind: str, source: str, noise: str, some: list[Outcome]) -> str:
    def part(is_right: bool | None, *bands: str) -> str:  # noqa: FBT001  a column's own name
        hits = [result for result in some if not bands or result.band in bands]
        hits = [result for result in hits if is_right is None or result.is_right == is_right]
        return f"{100 * len(hits) / len(some):.1f}"

    return str(voice_texts()["measure"]["head"]).format(
        kind=kind, source=source, noise=noise, clips=len(some), exact=part(True),
        taken=part(True, "take"), wrong=part(False, "take"), back=part(True, "check"),
        back_wrong=part(False, "check"), again=part(None, "again"),
    )  # fmt: skip

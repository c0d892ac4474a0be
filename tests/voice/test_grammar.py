"""The grammars: what they allow is understood like anything typed, and nothing else is allowed."""

import random
from collections.abc import Iterator
from pathlib import Path

import pytest

from bot.commands.bootstrap import book_for
from bot.machine.settings import Settings
from bot.voice.automaton import Automata, Automaton
from bot.voice.questions import named
from bot.voice.vocabulary import Branch
from flows.hearing.hearable import Again, Either, Row, Sayings, Shape, Text

BOOK = book_for(Settings(Path("nowhere")))
LETTERS: Branch = {letter: {None: number} for number, letter in enumerate(
    "\u2581abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789.,!-'/")}  # fmt: skip


def sentences(shape: Shape, chance: random.Random) -> str:
    """Return one sentence of a grammar, drawn by chance."""
    match shape:
        case Text(text):
            return text
        case Row(parts):
            return "".join(sentences(part, chance) for part in parts)
        case Either(of):
            return sentences(chance.choice(of), chance)
        case Again(part):
            return "".join(sentences(part, chance) for _ in range(chance.randint(1, 4)))
        case Sayings(of):
            return " ".join(map(written, chance.choice(sorted(of))))


def written(word: str) -> str:
    return "I" + word[1:] if word.split("'", maxsplit=1)[0] == "i" else word


def drawn(kind: str, count: int) -> Iterator[str]:
    chance = random.Random(kind)  # noqa: S311  the same sentences each time
    question = named(BOOK, kind)
    return (sentences(question.shape, chance) for _ in range(count))


@pytest.mark.parametrize("kind", ["yesno", "drive", "ago", "volts", "count", "digits", "command"])
def test_what_a_grammar_allows_is_understood(kind: str) -> None:
    question = named(BOOK, kind)
    lost = [text for text in drawn(kind, 400) if question.meant(text) is None]
    assert lost == []


def test_a_weight_that_a_grammar_allows_is_a_weight() -> None:
    question = named(BOOK, "weight")
    lost = [text for text in drawn("weight", 1500) if question.meant(text) is None]
    assert lost == []


@pytest.mark.parametrize("kind", ["yesno", "drive", "ago", "volts", "weight", "digits"])
def test_the_automaton_takes_what_the_grammar_allows(kind: str) -> None:
    automaton = Automaton(named(BOOK, kind).shape, LETTERS)
    refused = [text for text in drawn(kind, 200) if not automaton.accepts(text)]
    assert refused == []


@pytest.mark.parametrize(
    ("kind", "text"),
    [
        ("yesno", "Yes no"), ("yesno", "Yesterday"), ("drive", "Front wheel dr"), ("drive", ""),
        ("weight", "Five thousand bananas"), ("weight", "0"), ("weight", "Forty forty forty"),
        ("ago", "Ninety hours minutes"), ("volts", "Twelve point"), ("count", "100"),
        ("digits", "One two twelve"),
    ],
)  # fmt: skip
def test_the_automaton_refuses_what_is_no_answer(kind: str, text: str) -> None:
    assert not Automaton(named(BOOK, kind).shape, LETTERS).accepts(text)


@pytest.mark.parametrize(
    ("kind", "text", "value"),
    [
        # The forms are those that drivers were heard to use; the numbers are what they mean.
        ("weight", "Fifty-two ninety.", "5290"), ("weight", "Forty-six hundred.", "4600"),
        ("weight", "Forty two o seven.", "4207"), ("weight", "25,900 pounds.", "25900"),
        ("weight", "Twenty five nine hundred", "25900"), ("weight", "five two nine zero", "5290"),
        ("weight", "four and a half thousand", "4500"), ("weight", "52-90", "5290"),
        ("ago", "An hour and a half ago.", "90"), ("ago", "Just now.", "0"),
        ("ago", "half an hour ago", "30"), ("volts", "Twelve point six volts.", "12.6"),
        ("volts", "twelve six", "12.6"), ("drive", "Front-wheel drive.", "front"),
        ("count", "Eighty-seven.", "87"), ("digits", "One, five, two, one, three.", "15213"),
        ("yesno", "I don't know.", "@unsure"), ("command", "Go back.", "@undo"),
    ],
)  # fmt: skip
def test_spoken_forms_mean_what_they_mean(kind: str, text: str, value: str) -> None:
    question = named(BOOK, kind)
    assert Automaton(question.shape, LETTERS).accepts(text)
    meaning = question.meant(text)
    assert meaning is not None
    assert meaning.value == value


@pytest.mark.parametrize("kind", ["weight", "ago", "volts"])
def test_beside_a_number_stands_no_word_that_sounds_like_one(kind: str) -> None:
    automaton = Automaton(named(BOOK, kind).shape, LETTERS)
    assert not automaton.accepts("Skip")
    assert not automaton.accepts("Next")
    assert automaton.accepts("Stop")
    assert automaton.accepts("Go back")


def test_only_so_many_automata_are_kept() -> None:
    automata = Automata(LETTERS, most=2)
    shapes = [named(BOOK, kind).shape for kind in ("yesno", "drive", "count")]
    first = automata.of(shapes[0])
    assert automata.of(shapes[0]) is first
    for shape in shapes[1:]:
        automata.of(shape)
    assert automata.of(shapes[0]) is not first

"""The grammars: their texts are understood like typed text, and no others are allowed."""

import random
import re
from collections.abc import Iterator
from fractions import Fraction
from functools import partial
from pathlib import Path

import pytest

from bot.commands.bootstrap import book_for
from bot.machine.settings import Settings
from bot.voice.automaton import Automata, Automaton
from bot.voice.questions import named
from bot.voice.vocabulary import Branch
from flows.hearing import hearable
from flows.hearing.hearable import Again, Either, Row, Sayings, Shape, Text
from flows.measures import find_length, find_mass, find_minutes, find_volts

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


OF_ITEMS = ["scene.people", "cord.state", "attach.hook", "neutral.confirm"]
DRAWN = ["yesno", "drive", "ago", "volts", "count", "digits", "command", *OF_ITEMS]


@pytest.mark.parametrize("kind", DRAWN)
def test_every_text_a_grammar_allows_is_understood(kind: str) -> None:
    question = named(BOOK, kind)
    lost = [text for text in drawn(kind, 400) if question.meant(text) is None]
    assert lost == []


@pytest.mark.parametrize(
    ("item", "said"),
    [
        ("attach.tension", "line is tight"), ("attach.tension", "slack is out"),
        ("attach.hook", "hook is on"), ("scene.chock", "wheels are chocked"),
        ("neutral.away", "nobody in the path"), ("cord.out", "plug is out"),
        ("cord.state", "cord won't come out"), ("secure.left_front", "left front is strapped"),
        ("drop.off", "off the deck"), ("open.history", "rear ended"),
        ("access.key", "key is here"), ("vehicle.drive", "all wheel drive"), ("scene.people", "everyone is behind"),
    ],
)  # fmt: skip
def test_a_grammar_is_made_of_the_parts_and_states_that_are_asked_about(
    item: str, said: str
) -> None:
    question = named(BOOK, item)
    assert Automaton(question.shape, LETTERS).accepts(said)
    assert question.meant(said) is not None


def test_a_weight_that_a_grammar_allows_is_a_weight() -> None:
    question = named(BOOK, "weight")
    lost = [text for text in drawn("weight", 1500) if question.meant(text) is None]
    assert lost == []


@pytest.mark.parametrize("kind", ["yesno", "drive", "ago", "volts", "weight", "digits"])
def test_the_automaton_takes_every_text_of_the_grammar(kind: str) -> None:
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
def test_the_automaton_refuses_a_text_that_is_no_answer(kind: str, text: str) -> None:
    assert not Automaton(named(BOOK, kind).shape, LETTERS).accepts(text)


@pytest.mark.parametrize(
    ("kind", "text", "value"),
    [
        # Forms that drivers were heard to use, with their values.
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
def test_spoken_forms_have_their_meaning(kind: str, text: str, value: str) -> None:
    question = named(BOOK, kind)
    assert Automaton(question.shape, LETTERS).accepts(text)
    meaning = question.meant(text)
    assert meaning is not None
    assert meaning.value == value


# Every number that a grammar may write down stands for the value that is read

ONES = "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen"
TEENS = "fifteen sixteen seventeen eighteen nineteen"
TENS = "twenty thirty forty fifty sixty seventy eighty ninety"
SMALL = {word: n for n, word in enumerate(f"{ONES} {TEENS}".split())} | {"oh": 0, "o": 0}
SMALL |= {word: 10 * n for n, word in enumerate(TENS.split(), 2)}
SINGULAR = ["pound", "lb", "ton", "minute", "hour", "volt"]
UNITS = frozenset([*SINGULAR, *(f"{unit}s" for unit in SINGULAR), "foot", "feet"])


def rows(words: list[str]) -> list[str]:
    """Return digits as they are said together: "twenty five nine" is 25 and 9."""
    found: list[str] = []
    after_tens = False
    for word in words:
        said = int(word) if word.isdecimal() else SMALL[word]
        if after_tens and 0 < said < 10:
            found[-1] = found[-1][0] + str(said)
        else:
            found.append(word if word.isdecimal() else str(said))
        after_tens = not word.isdecimal() and said >= 20
    return found


def number(words: list[str]) -> Fraction:
    """Return the number that words mean, by a second grammar of English."""
    for name, size in (("thousand", 1000), ("hundred", 100)):
        if name in words:
            at = words.index(name)
            head, tail = words[:at], words[at + 1 :]
            rest = number(tail[tail[:1] == ["and"] :]) if tail else 0
            return number(head) * size + rest
    if words[-3:] == ["and", "a", "half"]:
        return number(words[:-3]) + Fraction(1, 2)
    if "point" in words:
        at = words.index("point")
        return number(words[:at]) + number(words[at + 1 :]) / 10
    if len(words) == 1 and "." in words[0]:
        return Fraction(words[0])
    return Fraction(1) if words in (["a"], ["an"]) else Fraction("".join(rows(words)))


def in_words(text: str) -> tuple[list[str], str]:
    """Return the words of a text, without marks and "ago", and the unit among them."""
    plain = re.sub(r"[-,]", " ", re.sub(r"(?<=\d),(?=\d)", "", text.lower()))
    words = [word for word in plain.split() if word != "ago"]
    unit = next((word.rstrip("s") for word in words if word in UNITS), "")
    return [word for word in words if word not in UNITS], unit


def pounds(text: str) -> int:
    words, unit = in_words(text)
    return int(number(words) * (2000 if unit == "ton" else 1))


def ago_min(text: str) -> int:
    words, unit = in_words(text)
    value = Fraction(1, 2) if words[0] == "half" else number(words)
    return int(value * (60 if unit == "hour" else 1))


def millivolts(text: str) -> int:
    words, _unit = in_words(text)
    said = rows(words) if "point" not in words and "." not in words[0] else []
    value = Fraction(".".join(said)) if len(said) == 2 else number(words)
    return int(value * 1000)


def feet(text: str) -> int:
    return int(number(in_words(text)[0]) * 12 * 64)


FORMS = {
    "mass": (hearable.mass, partial(find_mass, bare=True), pounds),
    "minutes": (hearable.minutes, partial(find_minutes, bare=True), ago_min),
    "volts": (hearable.volts, partial(find_volts, bare=True), millivolts),
    "feet": (hearable.feet, partial(find_length, bare=True, unit="ft"), feet),
}
MOST_READINGS = 3
"""A number may be ambiguous, "four thousand six" is; more readings would tell nothing."""


@pytest.mark.parametrize("kind", FORMS)
def test_a_number_is_read_as_its_value(kind: str) -> None:
    shape, find, stands_for = FORMS[kind]
    chance = random.Random(kind)  # noqa: S311  the same sentences each time
    for text in (sentences(shape(), chance) for _ in range(4000)):
        if text.lower() not in {"now", "just now"}:
            found = find(text)
            readings = () if found is None else found.readings
            assert stands_for(text) in {one.high for one in readings}, text
            assert len(readings) <= MOST_READINGS, text


def test_the_second_grammar_is_right() -> None:
    said = {"Fifty-two, ninety": 5290, "Twenty five nine hundred lbs": 25_900, "46 hundred": 4600,
            "a thousand and six": 1006, "forty two o seven": 4207, "four and a half tons": 9000,
            "five two nine zero": 5290, "four point six thousand": 4600}  # fmt: skip
    assert {text: pounds(text) for text in said} == said


@pytest.mark.parametrize("kind", ["weight", "ago", "volts"])
def test_no_word_next_to_a_number_sounds_like_one(kind: str) -> None:
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

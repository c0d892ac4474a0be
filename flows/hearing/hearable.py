"""The grammar of the answers to a question, which a recogniser is held to.

It is made from the answer itself: what it means by parts and states, in the plain words of the
lexicon; the idioms that count while the question is open, the words for a quantity, and the few
words that count at any time and are heard well. The text that was heard is then read like typed
text, so a sound never means more than its text would.

The words of numbers and units come from `flows/measures/words.py`, as the reader's do.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from flows.hearing.answers import Answer
from flows.hearing.framed import plainly_said
from flows.hearing.understand import understand
from flows.job.intents import Did, Give, Intent
from flows.measures.tokens import tokens
from flows.measures.words import (
    AND,
    AND_A_HALF,
    DIGITS,
    FEET,
    HALF,
    HOURS,
    HUNDRED_SAID,
    MINUTES,
    OHS,
    POINT_SAID,
    POUNDS,
    TEENS,
    TENS,
    THOUSAND_SAID,
    TONS,
    VOLTS,
)
from flows.texts import phrases

if TYPE_CHECKING:
    from flows.hearing.lexicon import Lexicon

Phrase = tuple[str, ...]
NAMES_CARD = frozenset({"card", "powertrain", "family"})
"""Facts that are asked for to find the card: its name answers them all."""


@dataclass(frozen=True, slots=True)
class Text:
    """A word or part of a word, letter by letter; a space is a space."""

    text: str


@dataclass(frozen=True, slots=True)
class Either:
    """Any one of several; with nothing among them it may be left out."""

    of: tuple["Shape", ...]


@dataclass(frozen=True, slots=True)
class Row:
    """One after the other."""

    parts: tuple["Shape", ...]


@dataclass(frozen=True, slots=True)
class Again:
    """The same, once or more often."""

    part: "Shape"


@dataclass(frozen=True, slots=True)
class Sayings:
    """Any one of many whole phrases."""

    of: frozenset[Phrase]


Shape = Text | Either | Row | Again | Sayings
NONE = Row(())
SPACE = Text(" ")


def _either(*of: Shape) -> Shape:
    return Either(of)


def _row(*parts: Shape) -> Shape:
    return Row(parts)


def _maybe(part: Shape) -> Shape:
    return Either((part, NONE))


def word_of(word: str) -> Shape:
    """Return a word as it is written inside a sentence or at its head."""
    written = {word, word[:1].upper() + word[1:]}
    if word.split("'", maxsplit=1)[0] == "i":
        written = {"I" + word[1:]}
    return Either(tuple(Text(one) for one in sorted(written)))


def _words(listed: str) -> Shape:
    return Either(tuple(word_of(one) for one in listed.split()))


_GAP = _either(SPACE, Text("-"))
_PAUSE = _either(SPACE, Text("-"), Text(", "))
_FIGURE = Either(tuple(Text(one) for one in "0123456789"))
_FIGURE_1 = Either(tuple(Text(one) for one in "123456789"))
_ZERO, _, _FROM_ONE = DIGITS.partition(" ")
_ONE_TO_9 = _words(_FROM_ONE)
_OH = _words(OHS)
_NOUGHT = _words(f"{_ZERO} {OHS}")
_DIGIT = _either(_ONE_TO_9, _NOUGHT)
_TEEN_OR_TENS = _either(_words(TEENS), _row(_words(TENS), _maybe(_row(_GAP, _ONE_TO_9))))
_TO_99 = _either(_ONE_TO_9, _TEEN_OR_TENS)
_AND = _maybe(_row(SPACE, Text(AND)))
_HUNDRED, _THOUSAND = _words(HUNDRED_SAID), _words(THOUSAND_SAID)
_POINT = _row(SPACE, Text(POINT_SAID), SPACE)
_AND_A_HALF = Text(f" {AND_A_HALF}")
_MINUTES, _MINUTE = map(Text, MINUTES.split())
_HOURS, _HOUR = map(Text, HOURS.split())
_AGO = _maybe(Text(" ago"))


def _hundreds(head: Shape) -> Shape:
    tail = _maybe(_row(_AND, SPACE, _TO_99))
    return _row(head, _GAP, _HUNDRED, tail)


def _written_mass() -> Shape:
    """Return a weight as recognisers write it: "4,600", "4600", "46 hundred", "52-90"."""
    two = _row(_FIGURE_1, _FIGURE)
    three = _row(_FIGURE, _FIGURE, _FIGURE)
    return _either(
        _row(_FIGURE_1, _maybe(_FIGURE), Text(","), three),
        _row(_FIGURE_1, _FIGURE, _FIGURE, _maybe(_row(_FIGURE, _maybe(_FIGURE)))),
        _row(two, _GAP, two),
        _row(two, _GAP, three),
        _row(_FIGURE_1, _GAP, two),
        _row(two, SPACE, _HUNDRED),
        _row(_FIGURE_1, _maybe(_FIGURE), SPACE, _THOUSAND),
    )


def _spoken_mass() -> Shape:
    """Return a weight in words: hundreds, thousands, trade pairs, digit by digit."""
    below = _either(
        _TO_99,
        _hundreds(_TO_99),
        _row(_TO_99, _PAUSE, _TEEN_OR_TENS),
        _row(_TEEN_OR_TENS, _GAP, _OH, _GAP, _ONE_TO_9),
        _row(_ONE_TO_9, _GAP, _OH, _GAP, _ONE_TO_9),
        _row(_words(TEENS + " " + TENS), _GAP, _hundreds(_ONE_TO_9)),
        _row(_TEEN_OR_TENS, _GAP, _hundreds(_ONE_TO_9)),
        _row(_TEEN_OR_TENS, _GAP, _ONE_TO_9, _GAP, _TEEN_OR_TENS),
    )
    head = _either(_TO_99, _hundreds(_ONE_TO_9), _words("a"))
    # Not "thousand, and six": the reader takes that for two numbers.
    joint = _either(NONE, Text(","), _row(SPACE, Text(AND)))
    rest = _row(joint, SPACE, _either(_hundreds(_ONE_TO_9), _TO_99))
    thousands = _row(head, _GAP, _THOUSAND, _maybe(rest))
    halves = _row(_TO_99, _AND_A_HALF, SPACE, Text(THOUSAND_SAID))
    points = _row(_TO_99, _POINT, _DIGIT, SPACE, Text(THOUSAND_SAID))
    # No commas: "nine, oh, seven" is a nine and a seven to the reader.
    first, digit = _row(_ONE_TO_9, _GAP), _row(_DIGIT, _GAP)
    by_digit = _row(first, digit, _maybe(digit), _maybe(digit), _DIGIT)
    return _either(below, thousands, halves, points, by_digit)


def mass() -> Shape:
    """Return the grammar of a weight; pounds need not be said."""
    unit = _maybe(_row(SPACE, _words(POUNDS)))
    tons = _row(_either(_TO_99, _FIGURE_1), _maybe(_AND_A_HALF), SPACE, _words(TONS))
    return _either(_row(_either(_written_mass(), _spoken_mass()), unit), tons)


def minutes() -> Shape:
    """Return the grammar of how long ago: minutes, hours, half an hour, just now."""
    count = _either(_row(_maybe(_FIGURE_1), _FIGURE), _TO_99)
    hours = _either(_ONE_TO_9, _FIGURE_1)
    an_hour = _row(_either(word_of("an"), hours), SPACE, _either(_HOURS, _HOUR))
    return _either(
        _row(count, SPACE, _either(_MINUTES, _MINUTE), _AGO),
        _row(an_hour, _maybe(_AND_A_HALF), _AGO),
        _row(hours, _AND_A_HALF, SPACE, _HOURS, _AGO),
        _row(word_of(HALF), Text(" an "), _HOUR, _AGO),
        _row(word_of("a"), SPACE, _MINUTE, _AGO),
        _row(word_of("just"), Text(" now")),
        word_of("now"),
    )


def volts() -> Shape:
    """Return the grammar of a voltage of a 12-volt system: "twelve point six", "12.6 volts".

    From 0 to 15.9 V: a 12-volt system shows no more, charging.
    """
    teens = " ".join(TEENS.split()[:6])
    whole = _either(_words(DIGITS), _words(teens))
    figures = _either(_FIGURE, *(Text(f"1{one}") for one in range(6)))
    said = _row(whole, _POINT, _DIGIT)
    silent = _row(_words(teens), _GAP, _ONE_TO_9)
    tens = _either(*(Text(f"1{one}") for one in range(6)))
    written = _either(
        _row(figures, _maybe(_row(Text("."), _FIGURE))),
        _row(tens, _GAP, _FIGURE_1),
    )
    unit = _maybe(_row(SPACE, _words(VOLTS)))
    return _row(_either(written, whole, said, silent), unit)


def count() -> Shape:
    """Return the grammar of a count, 0 to 99."""
    return _either(_row(_maybe(_FIGURE_1), _FIGURE), _TO_99, _words(_ZERO))


def feet() -> Shape:
    """Return the grammar of a distance in feet; the unit need not be said."""
    whole = _either(_row(_FIGURE_1, _FIGURE, _FIGURE), count(), _hundreds(_ONE_TO_9))
    return _row(whole, _maybe(_row(SPACE, _words(FEET))))


def digits() -> Shape:
    """Return the grammar of a row of digits, said one by one."""
    written = Again(_row(_FIGURE, _maybe(_either(Text("-"), Text(", "), SPACE))))
    said = _row(_DIGIT, _maybe(Again(_row(_either(SPACE, Text(", "), Text("-")), _DIGIT))))
    return _either(written, said)


def any_time(*, with_numbers: bool) -> frozenset[Phrase]:
    """Return the phrases for any time that are in every grammar, chosen by how they sound.

    Parameters
    ----------
    with_numbers
        A number is among the answers, so no short phrase that sounds like one is.
    """
    known = phrases()["heard"]
    listed = [*known["any_time"], *([] if with_numbers else known["no_number"])]
    return frozenset(tokens(one) for one in listed)


def sayings(answer: Answer, lexicon: "Lexicon | None") -> frozenset[Phrase]:
    """Return what answers a question: idioms, those for any time, plain words of the lexicon."""
    found = set(answer.by_phrase) | {tokens(label) for _, label in answer.choices}
    if lexicon is not None:
        found.update(_at_any_time(answer, lexicon))
        found.update(_plainly(answer, lexicon))
    return frozenset(phrase for phrase in found if phrase)


def _plainly(answer: Answer, lexicon: "Lexicon") -> Iterator[Phrase]:
    """Yield the plain words for what is asked for, of those that are read as they are meant."""
    for text, meant in plainly_said(answer):
        if understand(text, answer, lexicon) == meant:
            yield tokens(text)


def _at_any_time(answer: Answer, lexicon: "Lexicon") -> Iterator[Phrase]:
    """Yield the phrases for any time that give this fact, or tell an act that the step can be."""
    facts = {answer.fact} | ({"card"} if answer.fact in NAMES_CARD else set())
    acts = {one.act for one in answer.by_phrase.values() if isinstance(one, Did)}
    for rows in lexicon.anytime.values():
        yield from (phrase for phrase, intent in rows if _is_among(intent, facts, acts))


def _is_among(intent: Intent, facts: set[str], acts: set[str]) -> bool:
    if isinstance(intent, Give):
        return intent.fact in facts
    return isinstance(intent, Did) and intent.act in acts


@lru_cache(maxsize=256)
def shape_for(answer: Answer, lexicon: "Lexicon | None") -> Shape:
    """Return the grammar of everything that may be said while a question is open.

    For an answer in free words it holds the fixed phrases only: "go back", "say again".
    """
    numbers: list[Shape] = []
    if answer.takes_mass:
        numbers.append(mass())
    if answer.takes_time:
        numbers.append(minutes())
    if answer.takes_feet:
        numbers.append(feet())
    if answer.fact == "twelve_volt":
        numbers.append(volts())
    known = sayings(answer, lexicon) | any_time(with_numbers=bool(numbers))
    return Either((Sayings(known), *numbers))

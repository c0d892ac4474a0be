"""Read a number with its unit, smaller units after it, and the words that make it approximate."""

from typing import Final, NamedTuple

from flows.measures.numbers import read
from flows.measures.segments import Tokens, digit_atom, segment, starts_number, token_at
from flows.measures.units import FOREIGN, Dimension, Measure
from flows.measures.words import (
    APPROXIMATE,
    APPROXIMATE_LEAD,
    APPROXIMATE_TAIL,
    CLOSE_TO,
    NUMBER,
    OH,
    PAUSE,
    SOUNDS_LIKE_DIGIT,
    Atom,
    Value,
)

_TAIL_STARTS: Final = frozenset(words[0] for words in APPROXIMATE_TAIL)


class Amount(NamedTuple):
    """A number and its unit, if it has one.

    `rows` holds, for every size the unit may mean, the values in the declared unit; it is empty
    without a unit. `compound` says that a smaller unit was added.
    """

    atoms: list[Atom]
    measure: Measure | None
    rows: tuple[tuple[Value, ...], ...]
    stop: int
    compound: bool = False


class Addend(NamedTuple):
    """What is added to an amount: in the declared unit, or as a part of the amount's unit."""

    value: Value
    of_unit: bool
    stop: int


def after_tail(tokens: Tokens, place: int) -> int:
    """Return the place after "or so", "ish" and the like."""
    if token_at(tokens, place) in _TAIL_STARTS:
        for words in APPROXIMATE_TAIL:
            if tokens[place : place + len(words)] == words:
                return place + len(words)
    return place


def before_lead(tokens: Tokens, start: int) -> int:
    """Return where "a bit over", "about" and the like begin before a number, or its start."""
    place = start
    while place:
        word = tokens[place - 1]
        if word == "to" and token_at(tokens, place - 2) in CLOSE_TO:
            place -= 2
        elif word in APPROXIMATE:
            place -= 1
        else:
            break
    while 0 < place < start and tokens[place - 1] in APPROXIMATE_LEAD:
        place -= 1
    return place


def foreign(tokens: Tokens, place: int) -> bool:
    """Tell whether a number that ends before a token is of some other kind."""
    word = token_at(tokens, place)
    if word == "in":
        return place + 1 == len(tokens)
    if word == "of":
        return token_at(tokens, place + 2) in FOREIGN
    return word in FOREIGN


def unit_at(tokens: Tokens, place: int, dimension: Dimension) -> tuple[Measure, int] | None:
    """Return the measure said at a token and the place after it: "lb", "of an inch"."""
    word = token_at(tokens, place)
    if word == "of" and token_at(tokens, place + 1) in ("a", "an", "the"):
        place += 2
    elif word in ("a", "an"):
        place += 1
    word, follower = token_at(tokens, place), token_at(tokens, place + 1)
    measure = dimension.measures.get(f"{word} {follower}")
    if measure:
        return measure, place + 2
    measure = dimension.measures.get(word)
    if measure is None or follower in measure.never_before:
        return None
    return measure, place + 1


def label_before(tokens: Tokens, place: int, dimension: Dimension) -> Measure | None:
    """Return the measure written before a number: "kg: 2100"."""
    unit = place - 1 - (token_at(tokens, place - 1) == ",")
    before = token_at(tokens, unit - 1)
    if before in NUMBER or before in ("a", "an", "per") or before[:1].isdecimal():
        return None  # it is the unit of the number before it
    return dimension.measures.get(token_at(tokens, unit))


def _spelled(tokens: Tokens, place: int) -> tuple[list[Atom], int] | None:
    """Read digits said one at a time with pauses: "5, 2, 9, 0"."""
    atoms: list[Atom] = []
    while (digit := digit_atom(token_at(tokens, place))) is not None:
        atoms.append(digit)
        place += 1
        if token_at(tokens, place) not in PAUSE or not starts_number(tokens, place + 1):
            return (atoms, place) if len(atoms) > 2 else None
        place += 1
    return None


def _number(tokens: Tokens, place: int, dimension: Dimension) -> tuple[list[Atom], int] | None:
    """Return a number's atoms and the place after it."""
    if not starts_number(tokens, place):
        return _unit_alone(tokens, place, dimension)
    if dimension.bare.style != "plain" and token_at(tokens, place + 1) in PAUSE:
        spelled = _spelled(tokens, place)
        if spelled:
            return spelled
    atoms, stop = segment(tokens, place)
    word = token_at(tokens, stop)
    digit = 0 if word in OH else SOUNDS_LIKE_DIGIT.get(word)
    if digit is not None and unit_at(tokens, stop + 1, dimension):
        return [*atoms, digit], stop + 1
    return atoms, stop


def _unit_alone(tokens: Tokens, place: int, dimension: Dimension) -> tuple[list[Atom], int] | None:
    """Return one for "an" before a unit, and for "hour" alone in "hour ago"."""
    word = token_at(tokens, place)
    if word in ("a", "an") and unit_at(tokens, place + 1, dimension):
        return [1], place + 1
    if word in dimension.alone and token_at(tokens, place + 1) in ("ago", "and"):
        return [1], place
    return None


def _single(tokens: Tokens, place: int, dimension: Dimension) -> Amount | None:
    """Read one number and the unit right after it."""
    number = _number(tokens, place, dimension)
    if number is None:
        return None
    atoms, stop = number
    unit = unit_at(tokens, after_tail(tokens, stop), dimension)
    if unit is None:
        return Amount(atoms, None, (), stop)
    measure, stop = unit
    values = read(atoms, measure.style)
    rows = tuple(tuple(value * size for value in values) for size in measure.sizes)
    return Amount(atoms, measure, rows, stop)


def _unsaid(
    tokens: Tokens, held: Measure, more: Amount, joint: str, dimension: Dimension
) -> Addend | None:
    """Read a number without a unit after an amount: "and a half", "six" after feet."""
    values = read(more.atoms, "plain")
    if joint == "," or len(values) != 1 or foreign(tokens, more.stop):
        return None
    if values[0] < 1:
        return Addend(values[0], of_unit=True, stop=more.stop) if joint == "and" else None
    part, bound = dimension.parts.get(held.name, (None, 0))
    if part is None or values[0] >= bound:
        return None
    return Addend(values[0] * part.sizes[0], of_unit=False, stop=more.stop)


def _addend(tokens: Tokens, held: Amount, measure: Measure, dimension: Dimension) -> Addend | None:
    """Read what is added to an amount, in a smaller unit or as part of its own."""
    joint = token_at(tokens, held.stop)
    more = _single(tokens, held.stop + (joint in ("and", ",")), dimension)
    if more is None:
        return None
    if more.measure is None:
        return _unsaid(tokens, measure, more, joint, dimension)
    smaller = len(more.rows) == 1 and more.measure.sizes[0] < measure.sizes[0]
    if not smaller or len(more.rows[0]) != 1 or more.rows[0][0] >= 2 * measure.sizes[0]:
        return None  # "2087 kg (4600 lb)" is no sum
    return Addend(more.rows[0][0], of_unit=False, stop=more.stop)


def amount_at(tokens: Tokens, place: int, dimension: Dimension) -> Amount | None:
    """Read a number with its unit and what smaller units add to it: "13 ft 6 in"."""
    held = _single(tokens, place, dimension)
    while held and held.measure and held.rows[0]:
        addend = _addend(tokens, held, held.measure, dimension)
        if addend is None:
            break
        rows = tuple(
            tuple(value + addend.value * (size if addend.of_unit else 1) for value in row)
            for row, size in zip(held.rows, held.measure.sizes, strict=True)
        )
        held = Amount(held.atoms, held.measure, rows, addend.stop, compound=True)
        if addend.of_unit:
            break
    return held

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

    `rows` has the values in the declared unit, one row for every size the unit may mean; it is
    empty without a unit. `compound` is true if a smaller unit was added.
    """

    atoms: list[Atom]
    measure: Measure | None
    rows: tuple[tuple[Value, ...], ...]
    stop: int
    compound: bool = False


class Addend(NamedTuple):
    """An addition to an amount: in the declared unit, or as a part of the amount's unit."""

    value: Value
    of_unit: bool
    stop: int


def after_tail(tokens: Tokens, index: int) -> int:
    """Return the index after "or so", "ish" and the like."""
    if token_at(tokens, index) in _TAIL_STARTS:
        for words in APPROXIMATE_TAIL:
            if tokens[index : index + len(words)] == words:
                return index + len(words)
    return index


def before_lead(tokens: Tokens, start: int) -> int:
    """Return the index where "a bit over" and the like begin before a number, else its start."""
    index = start
    while index:
        word = tokens[index - 1]
        if word == "to" and token_at(tokens, index - 2) in CLOSE_TO:
            index -= 2
        elif word in APPROXIMATE:
            index -= 1
        else:
            break
    while 0 < index < start and tokens[index - 1] in APPROXIMATE_LEAD:
        index -= 1
    return index


def foreign(tokens: Tokens, index: int) -> bool:
    """Tell whether a number that ends before a token is some other kind of number."""
    word = token_at(tokens, index)
    if word == "in":
        return index + 1 == len(tokens)
    if word == "of":
        return token_at(tokens, index + 2) in FOREIGN
    return word in FOREIGN


def unit_at(tokens: Tokens, index: int, dimension: Dimension) -> tuple[Measure, int] | None:
    """Return the measure said at a token and the index after it: "lb", "of an inch"."""
    word = token_at(tokens, index)
    if word == "of" and token_at(tokens, index + 1) in ("a", "an", "the"):
        index += 2
    elif word in ("a", "an"):
        index += 1
    word, follower = token_at(tokens, index), token_at(tokens, index + 1)
    measure = dimension.measures.get(f"{word} {follower}")
    if measure:
        return measure, index + 2
    measure = dimension.measures.get(word)
    if measure is None or follower in measure.never_before:
        return None
    return measure, index + 1


def label_before(tokens: Tokens, index: int, dimension: Dimension) -> Measure | None:
    """Return the measure written before a number: "kg: 2100"."""
    unit = index - 1 - (token_at(tokens, index - 1) == ",")
    before = token_at(tokens, unit - 1)
    if before in NUMBER or before in ("a", "an", "per") or before[:1].isdecimal():
        return None  # it is the unit of the previous number
    return dimension.measures.get(token_at(tokens, unit))


def _spelled(tokens: Tokens, index: int) -> tuple[list[Atom], int] | None:
    """Read digits said one at a time with pauses: "5, 2, 9, 0"."""
    atoms: list[Atom] = []
    while (digit := digit_atom(token_at(tokens, index))) is not None:
        atoms.append(digit)
        index += 1
        if token_at(tokens, index) not in PAUSE or not starts_number(tokens, index + 1):
            return (atoms, index) if len(atoms) > 2 else None
        index += 1
    return None


def _number(tokens: Tokens, index: int, dimension: Dimension) -> tuple[list[Atom], int] | None:
    """Return a number's atoms and the index after it."""
    if not starts_number(tokens, index):
        return _unit_alone(tokens, index, dimension)
    if dimension.bare.style != "plain" and token_at(tokens, index + 1) in PAUSE:
        spelled = _spelled(tokens, index)
        if spelled:
            return spelled
    atoms, stop = segment(tokens, index)
    word = token_at(tokens, stop)
    digit = 0 if word in OH else SOUNDS_LIKE_DIGIT.get(word)
    if digit is not None and unit_at(tokens, stop + 1, dimension):
        return [*atoms, digit], stop + 1
    return atoms, stop


def _unit_alone(tokens: Tokens, index: int, dimension: Dimension) -> tuple[list[Atom], int] | None:
    """Return one for "an" before a unit, and for "hour" alone in "hour ago"."""
    word = token_at(tokens, index)
    if word in ("a", "an") and unit_at(tokens, index + 1, dimension):
        return [1], index + 1
    if word in dimension.alone and token_at(tokens, index + 1) in ("ago", "and"):
        return [1], index
    return None


def _single(tokens: Tokens, index: int, dimension: Dimension) -> Amount | None:
    """Read one number and the unit right after it."""
    number = _number(tokens, index, dimension)
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
    tokens: Tokens, measure: Measure, more: Amount, joint: str, dimension: Dimension
) -> Addend | None:
    """Read a number without a unit after an amount: "and a half", "six" after feet."""
    values = read(more.atoms, "plain")
    if joint == "," or len(values) != 1 or foreign(tokens, more.stop):
        return None
    if values[0] < 1:
        return Addend(values[0], of_unit=True, stop=more.stop) if joint == "and" else None
    part, bound = dimension.parts.get(measure.name, (None, 0))
    if part is None or values[0] >= bound:
        return None
    return Addend(values[0] * part.sizes[0], of_unit=False, stop=more.stop)


def _is_part_of(more: Amount, measure: Measure) -> bool:
    """Tell whether an amount has one value, in a smaller unit: "2087 kg (4600 lb)" is no sum."""
    if more.measure is None or [len(row) for row in more.rows] != [1]:
        return False
    return more.measure.sizes[0] < measure.sizes[0] and more.rows[0][0] < 2 * measure.sizes[0]


def _addend(tokens: Tokens, amount: Amount, dimension: Dimension) -> Addend | None:
    """Read an addition to an amount, in a smaller unit or as a part of its own unit."""
    if amount.measure is None or not amount.rows[0]:
        return None
    joint = token_at(tokens, amount.stop)
    more = _single(tokens, amount.stop + (joint in ("and", ",")), dimension)
    if more is None:
        return None
    if more.measure is None:
        return _unsaid(tokens, amount.measure, more, joint, dimension)
    if not _is_part_of(more, amount.measure):
        return None
    return Addend(more.rows[0][0], of_unit=False, stop=more.stop)


def _plus(amount: Amount, addend: Addend) -> Amount:
    """Return an amount and its addend as one, for every size that the unit may have."""
    sizes = amount.measure.sizes if amount.measure else ()
    rows = tuple(
        tuple(value + addend.value * (size if addend.of_unit else 1) for value in row)
        for row, size in zip(amount.rows, sizes, strict=True)
    )
    return Amount(amount.atoms, amount.measure, rows, addend.stop, compound=True)


def amount_at(tokens: Tokens, index: int, dimension: Dimension) -> Amount | None:
    """Read a number with its unit and any smaller units added to it: "13 ft 6 in"."""
    amount = _single(tokens, index, dimension)
    while amount and (addend := _addend(tokens, amount, dimension)):
        amount = _plus(amount, addend)
        if addend.of_unit:
            break
    return amount

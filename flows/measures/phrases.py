"""Read one quantity phrase: an amount, a range, a choice, or numbers with a pause between."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import chain, product
from operator import gt, lt
from typing import Final, NamedTuple

from flows.measures.amounts import (
    Amount,
    after_tail,
    amount_at,
    before_lead,
    foreign,
    label_before,
)
from flows.measures.numbers import read, rows_of
from flows.measures.segments import Tokens, after_all, token_at
from flows.measures.units import Dimension, Measure
from flows.measures.words import (
    APPROXIMATE,
    APPROXIMATE_TAIL,
    EITHER,
    HUNDRED,
    LABELS,
    MINUS,
    NOT,
    OH,
    PAUSE,
    RANGE,
    SOUNDS_LIKE_DIGIT,
    THOUSAND,
    Atom,
    Value,
)

Span = tuple[Value, Value]
"""Lower and upper end in the declared unit, not yet rounded."""

Rows = Sequence[Sequence[Value]]
"""Values in the declared unit, a row for every size the unit may mean."""

_LINKS: Final = RANGE | EITHER | PAUSE
_FIRM_LINKS: Final = RANGE | {"or"}
"""Links that always tie two numbers together, as "and" or a pause may not."""
_LOOSE: Final = APPROXIMATE | {words[-1] for words in APPROXIMATE_TAIL} | {"couple"}
_MOST_CHOICES: Final = 5


class Phrase(NamedTuple):
    """A quantity phrase: its meanings, and its span of tokens."""

    spans: tuple[Span, ...]
    measure: Measure | None
    start: int
    stop: int
    approx: bool


class Pair(NamedTuple):
    """Two amounts, the word between them, and the measure that both are read in."""

    first: Amount
    link: str
    second: Amount
    measure: Measure

    def joined(self) -> list[Value]:
        """Return the meanings of both as one number, if the link is a pause, a hyphen or a two."""
        if self.first.measure is not None:
            return []
        two: list[Atom] = [2] if self.link == "to" else []
        values = read([*self.first.atoms, *two, *self.second.atoms], self.measure.style)
        return _sized(values, self.measure)


def _sized(values: Iterable[Value], measure: Measure) -> list[Value]:
    """Return values in the declared unit, for every size the measure may mean."""
    return [value * size for value in values for size in measure.sizes]


def _points(values: Iterable[Value]) -> list[Span]:
    """Return values as spans of no width."""
    return [(value, value) for value in values]


def _multiplier(atoms: list[Atom]) -> list[Atom]:
    """Return the hundred or thousand at the end of a number: a range says it only once."""
    return atoms[-1:] if atoms[-1] in (HUNDRED, THOUSAND) else []


def _multiplied(amount: Amount, other: Amount, pair: Pair) -> tuple[Value, ...]:
    """Read an end as the other end's hundreds or thousands, as long as the range still rises."""
    shared = _multiplier(other.atoms)
    if not shared or HUNDRED in amount.atoms or THOUSAND in amount.atoms:
        return ()
    rises = lt if amount is pair.first else gt
    ends = read(other.atoms, pair.measure.style)
    values = read(amount.atoms + shared, pair.measure.style)
    return tuple(value for value in values if any(rises(value, end) for end in ends))


def _values(amount: Amount, other: Amount, pair: Pair) -> tuple[Value, ...]:
    """Read an end without a unit, with the other end's multiplier if it may share that."""
    return _multiplied(amount, other, pair) or read(amount.atoms, pair.measure.style)


def _rows(amount: Amount, other: Amount, pair: Pair) -> Rows:
    """Return an end's values in the declared unit, for each size of the pair's measure."""
    if amount.measure is not None:
        return amount.rows
    values = _values(amount, other, pair)
    return [[value * size for value in values] for size in pair.measure.sizes]


def _ends(lows: Rows, highs: Rows) -> list[Span]:
    """Pair the values of two ends: size by size if both have as many, otherwise each with each."""
    if len(lows) == len(highs):
        return [
            ends for row, other in zip(lows, highs, strict=True) for ends in product(row, other)
        ]
    return [*product(chain.from_iterable(lows), chain.from_iterable(highs))]


def _rising(lows: Rows, highs: Rows) -> list[Span]:
    """Return the pairs of ends that rise, only those within ten times of each other if any are."""
    rising = [(low, high) for low, high in _ends(lows, highs) if low < high]
    return [(low, high) for low, high in rising if high <= 10 * low] or rising


def _digits_only(atoms: list[Atom]) -> bool:
    """Tell whether a number was said digit by digit."""
    return all(
        len(atom) == 1 if isinstance(atom, str) else isinstance(atom, int) and atom < 10
        for atom in atoms
    )


def _hyphenated(pair: Pair, spans: list[Span]) -> list[Span]:
    """Return the ranges that a hyphen may mean, besides a number in pairs.

    With a unit, any within ten times: "40-50 lb" may be 4,050 too. Without, "52-90" is the number
    5,290; only whole tens may still be a range.
    """
    near = [(low, high) for low, high in spans if high <= 10 * low]
    if pair.first.measure or pair.second.measure:
        return near
    return [span for span in near if all(end % 10 == 0 for end in span)]


def _range(pair: Pair, lows: Rows, highs: Rows) -> list[Span]:
    """Tell a range from a number written with a hyphen, and "to" from a two."""
    spans, join = _rising(lows, highs), _points(pair.joined())
    if pair.measure.style == "pairs":
        return _range_in_pairs(pair, spans, join)
    return spans or ([] if pair.link == "to" else join)


def _range_in_pairs(pair: Pair, spans: list[Span], join: list[Span]) -> list[Span]:
    """Choose between a range and one number, where numbers are said in pairs."""
    if _multiplier(pair.second.atoms):
        return spans or join
    if pair.link == "-":
        return [*join, *_hyphenated(pair, spans)] or spans
    unsure = _digits_only(pair.first.atoms + pair.second.atoms) or _multiplier(pair.first.atoms)
    return [*spans, *join] if unsure else spans or join


def _paused(pair: Pair, firsts: list[Value], seconds: list[Value]) -> list[Span]:
    """Read numbers with a pause between: one number said in two breaths, or two numbers."""
    join = pair.joined()
    if join:
        return _points([*join, *(seconds if _may_be_two(pair) else ())])
    if pair.second.measure is None:
        return _points([*firsts, *seconds])
    near = [one for one in firsts if any(_within_ten_times(one, two) for two in seconds)]
    return _points([*seconds, *near])


def _may_be_two(pair: Pair) -> bool:
    """Tell whether a pause may separate two numbers: with a unit, and not "four thousand, six"."""
    goes_on = pair.link == "," and _multiplier(pair.first.atoms)
    return pair.second.measure is not None and not goes_on


def _within_ten_times(one: Value, two: Value) -> bool:
    return one <= 10 * two and two <= 10 * one


def _linked(pair: Pair) -> list[Span]:
    """Return every meaning of two linked amounts together."""
    lows = _rows(pair.first, pair.second, pair)
    highs = _rows(pair.second, pair.first, pair)
    firsts, seconds = [*chain.from_iterable(lows)], [*chain.from_iterable(highs)]
    if pair.link in RANGE:
        spans = _range(pair, lows, highs)
        if pair.first.measure is None or pair.second.measure is not None:
            return spans
        return [*_points(firsts), *spans]
    if pair.link in EITHER:
        return _points([*firsts, *seconds])
    return _paused(pair, firsts, seconds)


def _pair_at(tokens: Tokens, index: int, first: Amount, dimension: Dimension) -> Pair | None:
    """Return a first amount together with the amount linked to it; None if no other follows."""
    link_index = after_tail(tokens, first.stop)
    link = token_at(tokens, link_index)
    if link not in (_LINKS if first.measure is None else _FIRM_LINKS):
        return None
    second = amount_at(tokens, after_all(tokens, link_index + 1, APPROXIMATE), dimension)
    if second is None:
        return None
    if link == "and" and token_at(tokens, before_lead(tokens, index) - 1) == "between":
        link = "to"
    return Pair(first, link, second, second.measure or first.measure or dimension.bare)


def _rising_digits(first: Amount, measure: Measure, dimension: Dimension) -> list[Span]:
    """Return two rising numbers as a range, if the dimension has those: "two three minutes"."""
    rows = rows_of(first.atoms) if dimension.rising and not first.compound else None
    if not rows or len(rows) != 2 or int(rows[0]) >= int(rows[1]):
        return []
    return [(int(rows[0]) * size, int(rows[1]) * size) for size in measure.sizes]


def _alone(first: Amount, dimension: Dimension) -> list[Span]:
    """Return every meaning of an amount with nothing linked to it."""
    measure = first.measure or dimension.bare
    if first.measure is None:
        values = _sized(read(first.atoms, measure.style), measure)
    else:
        values = [*chain.from_iterable(first.rows)]
    return _rising_digits(first, measure, dimension) + _points(values)


def _with_oh(tokens: Tokens, first: Amount) -> list[list[Atom]]:
    """Return a number with the "oh" after it as its last digit."""
    ends_in_oh = first.measure is None and token_at(tokens, first.stop) in OH
    return [[*first.atoms, 0]] if ends_in_oh else []


def _with_sounding(tokens: Tokens, index: int, first: Amount) -> Iterator[list[Atom]]:
    """Yield digits with a word before or after them that sounds like another digit."""
    if len(first.atoms) < 2 or not _digits_only(first.atoms):
        return
    before = SOUNDS_LIKE_DIGIT.get(token_at(tokens, index - 1))
    after = SOUNDS_LIKE_DIGIT.get(token_at(tokens, first.stop))
    if before is not None:
        yield [before, *first.atoms]
    if after is not None and first.measure is None and first.stop + 1 == len(tokens):
        yield [*first.atoms, after]


def _digits_around(tokens: Tokens, index: int, first: Amount, dimension: Dimension) -> list[Span]:
    """Return readings with another digit before or after, written as it sounds."""
    measure = first.measure or dimension.bare
    if measure.style != "pairs":
        return []
    rows = [*_with_oh(tokens, first), *_with_sounding(tokens, index, first)]
    values = [value for row in rows for value in read(row, "pairs")]
    return _points(_sized(values, measure))


def _is_foreign(tokens: Tokens, amount: Amount) -> bool:
    """Tell whether an amount has no unit of this dimension but some other kind of unit."""
    return amount.measure is None and foreign(tokens, amount.stop)


def _next_choice(tokens: Tokens, pair: Pair, last: Amount, dimension: Dimension) -> Amount | None:
    """Return the amount joined to the last choice by "or", "and" or a pause, if there is one."""
    if pair.link in RANGE or token_at(tokens, last.stop) not in EITHER | PAUSE:
        return None
    more = amount_at(tokens, last.stop + 1, dimension)
    return None if more is None or _is_foreign(tokens, more) else more


def _choices(tokens: Tokens, pair: Pair, dimension: Dimension) -> tuple[list[Span], Amount] | None:
    """Read three or more amounts with "or", "and" or a pause between, and return the last."""
    amounts = [pair.first, pair.second]
    while amounts[-1].measure is None and len(amounts) < _MOST_CHOICES:
        more = _next_choice(tokens, pair, amounts[-1], dimension)
        if more is None:
            break
        amounts.append(more)
    if len(amounts) < 3:
        return None
    last = amounts[-1]
    measure = last.measure or dimension.bare
    values = [value for amount in amounts[:-1] for value in read(amount.atoms, measure.style)]
    return _points(_sized(values, measure)) + _alone(last, dimension), last


def _sayable(spans: list[Span], measure: Measure | None) -> list[Span]:
    """Leave out parts without a unit: nobody says "a quarter" for a quarter of a pound."""
    return [span for span in spans if measure or not 0 < span[0] < 1]


def _is_denied(before: str, measure: Measure | None) -> bool:
    """Tell whether the word before a number says that it is not the quantity."""
    return before in NOT or (measure is None and before in LABELS)


def _phrase(
    tokens: Tokens, index: int, spans: list[Span], measure: Measure | None, stop: int
) -> Phrase | None:
    """Return a phrase with the words around it that belong to it; None if it is denied."""
    start = before_lead(tokens, index)
    end = after_tail(tokens, stop)
    approx = start < index or end > stop or not _LOOSE.isdisjoint(tokens[index:end])
    before = token_at(tokens, start - 1)
    spans = _sayable(spans, measure)
    if not spans or _is_denied(before, measure):
        return None
    if before in MINUS:
        start -= 1
        spans = [(-high, -low) for low, high in spans]
    return Phrase(tuple(dict.fromkeys(spans)), measure, start, end, approx)


def _paired_phrase(
    tokens: Tokens, index: int, pair: Pair, label: Measure | None, dimension: Dimension
) -> tuple[Phrase | None, int]:
    """Read two or more linked amounts as one phrase."""
    spans, last = _choices(tokens, pair, dimension) or (_linked(pair), pair.second)
    measure = last.measure or pair.first.measure or label
    phrase = _phrase(tokens, index, spans, measure, last.stop)
    if phrase is None and pair.link in RANGE:
        return None, pair.second.stop
    return _with_stop(phrase, index, pair.first)


def _single_phrase(
    tokens: Tokens, index: int, first: Amount, label: Measure | None, dimension: Dimension
) -> tuple[Phrase | None, int]:
    """Read an amount with nothing linked to it as a phrase."""
    if first.measure is None and foreign(tokens, after_tail(tokens, first.stop)):
        return None, first.stop
    spans = [*_alone(first, dimension), *_digits_around(tokens, index, first, dimension)]
    phrase = _phrase(tokens, index, spans, first.measure or label, first.stop)
    return _with_stop(phrase, index, first)


def _with_stop(phrase: Phrase | None, index: int, first: Amount) -> tuple[Phrase | None, int]:
    """Return a phrase with the index after it; without a phrase, after the first amount."""
    return phrase, phrase.stop if phrase else max(first.stop, index + 1)


def phrase_at(tokens: Tokens, index: int, dimension: Dimension) -> tuple[Phrase | None, int]:
    """Read the phrase that begins at a token.

    Parameters
    ----------
    tokens
        As returned by `flows.measures.tokens`.
    index
        Where to begin.
    dimension
        Which units count.

    Returns
    -------
    Phrase or None, int
        The phrase, if it makes a quantity of this dimension, and the index to continue from.
    """
    first = amount_at(tokens, index, dimension)
    if first is None:
        return None, index + 1
    label = None if first.measure else label_before(tokens, index, dimension)
    if label:
        dimension = replace(dimension, bare=label)
    pair = _pair_at(tokens, index, first, dimension)
    if pair is None:
        return _single_phrase(tokens, index, first, label, dimension)
    if not _is_foreign(tokens, pair.second):
        return _paired_phrase(tokens, index, pair, label, dimension)
    if first.measure is None and pair.link in _FIRM_LINKS:
        return None, pair.second.stop
    return _single_phrase(tokens, index, first, label, dimension)

"""Read one quantity phrase: an amount, a range, a choice, or numbers with a pause between."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
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
from flows.measures.segments import Tokens, token_at
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
_MEASURED_LINKS: Final = RANGE | {"or"}
_LOOSE: Final = APPROXIMATE | {words[-1] for words in APPROXIMATE_TAIL} | {"couple"}
_MOST_CHOICES: Final = 5


class Phrase(NamedTuple):
    """A quantity phrase: what it may mean, and where it stands."""

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
        """Return what both mean as one number, the link being a pause, a hyphen or a two."""
        if self.first.measure is not None:
            return []
        two: list[Atom] = [2] if self.link == "to" else []
        values = read([*self.first.atoms, *two, *self.second.atoms], self.measure.style)
        return [value * size for value in values for size in self.measure.sizes]


def _points(values: Iterable[Value]) -> list[Span]:
    """Return values as spans of no width."""
    return [(value, value) for value in values]


def _multiplier(atoms: list[Atom]) -> list[Atom]:
    """Return the hundred or thousand that ends a number: a range says it only once."""
    return atoms[-1:] if atoms[-1] in (HUNDRED, THOUSAND) else []


def _values(amount: Amount, other: Amount, pair: Pair) -> tuple[Value, ...]:
    """Read an end without a unit, as the other end's hundreds or thousands where they rise."""
    style = pair.measure.style
    shared = _multiplier(other.atoms)
    if shared and HUNDRED not in amount.atoms and THOUSAND not in amount.atoms:
        others = read(other.atoms, style)
        values = read(amount.atoms + shared, style)
        lower = amount is pair.first
        rising = tuple(
            value
            for value in values
            if any(value < end if lower else value > end for end in others)
        )
        if rising:
            return rising
    return read(amount.atoms, style)


def _rows(amount: Amount, other: Amount, pair: Pair) -> Rows:
    """Return an end's values in the declared unit, for each size of the pair's measure."""
    if amount.measure is not None:
        return amount.rows
    values = _values(amount, other, pair)
    return [[value * size for value in values] for size in pair.measure.sizes]


def _rising(lows: Rows, highs: Rows) -> list[Span]:
    """Pair ends that rise, those within ten times of one another where there are any."""
    if len(lows) == len(highs):
        ends = [
            (low, high)
            for row, other in zip(lows, highs, strict=True)
            for low in row
            for high in other
        ]
    else:
        ends = [(low, high) for row in lows for low in row for other in highs for high in other]
    rising = [(low, high) for low, high in ends if low < high]
    return [(low, high) for low, high in rising if high <= 10 * low] or rising


def _digits_only(atoms: list[Atom]) -> bool:
    """Tell whether a number was said digit by digit."""
    return all(
        len(atom) == 1 if isinstance(atom, str) else isinstance(atom, int) and atom < 10
        for atom in atoms
    )


def _hyphenated(pair: Pair, spans: list[Span]) -> list[Span]:
    """Return the ranges that a hyphen may mean beside a number in pairs.

    Any within ten times, where a unit was said: "40-50 lb" may be 4,050 too. Alone "52-90" is
    the number 5,290; only whole tens may still be a range.
    """
    near = [(low, high) for low, high in spans if high <= 10 * low]
    if pair.first.measure or pair.second.measure:
        return near
    return [span for span in near if all(end % 10 == 0 for end in span)]


def _range(pair: Pair, lows: Rows, highs: Rows) -> list[Span]:
    """Tell a range from a pair written with a hyphen, and "to" from a two."""
    spans = _rising(lows, highs)
    join = _points(pair.joined())
    if pair.measure.style != "pairs":
        return spans or ([] if pair.link == "to" else join)
    if _multiplier(pair.second.atoms):
        return spans or join
    if pair.link == "-":
        return [*join, *_hyphenated(pair, spans)] or spans
    unsure = _digits_only(pair.first.atoms + pair.second.atoms) or _multiplier(pair.first.atoms)
    return [*spans, *join] if unsure else spans or join


def _paused(pair: Pair, firsts: list[Value], seconds: list[Value]) -> list[Span]:
    """Read numbers with a pause between: one number said in two breaths, or two numbers."""
    measured = pair.second.measure is not None
    join = pair.joined()
    if join:
        apart = measured and not (pair.link == "," and _multiplier(pair.first.atoms))
        return _points([*join, *(seconds if apart else ())])
    if not measured:
        return _points([*firsts, *seconds])
    near = [one for one in firsts if any(one <= 10 * two and two <= 10 * one for two in seconds)]
    return _points([*seconds, *near])


def _linked(pair: Pair) -> list[Span]:
    """Return what two linked amounts may mean together."""
    lows = _rows(pair.first, pair.second, pair)
    highs = _rows(pair.second, pair.first, pair)
    firsts = [value for row in lows for value in row]
    seconds = [value for row in highs for value in row]
    if pair.link in RANGE:
        spans = _range(pair, lows, highs)
        if pair.first.measure is None or pair.second.measure is not None:
            return spans
        return [*_points(firsts), *spans]
    if pair.link in EITHER:
        return _points([*firsts, *seconds])
    return _paused(pair, firsts, seconds)


def _pair_at(tokens: Tokens, place: int, first: Amount, dimension: Dimension) -> Pair | None:
    """Return a first amount with the one linked to it, if another follows."""
    link_place = after_tail(tokens, first.stop)
    link = token_at(tokens, link_place)
    if link not in (_LINKS if first.measure is None else _MEASURED_LINKS):
        return None
    second_place = link_place + 1
    while token_at(tokens, second_place) in APPROXIMATE:
        second_place += 1
    second = amount_at(tokens, second_place, dimension)
    if second is None:
        return None
    if link == "and" and token_at(tokens, before_lead(tokens, place) - 1) == "between":
        link = "to"
    return Pair(first, link, second, second.measure or first.measure or dimension.bare)


def _alone(first: Amount, dimension: Dimension) -> list[Span]:
    """Return what an amount may mean with nothing linked to it."""
    measure = first.measure or dimension.bare
    rows = rows_of(first.atoms) if dimension.rising and not first.compound else None
    rising: list[Span] = []
    if rows and len(rows) == 2 and int(rows[0]) < int(rows[1]):
        rising = [(int(rows[0]) * size, int(rows[1]) * size) for size in measure.sizes]
    if first.measure is not None:
        return rising + _points(value for row in first.rows for value in row)
    values = read(first.atoms, measure.style)
    return rising + _points(value * size for value in values for size in measure.sizes)


def _digits_around(tokens: Tokens, place: int, first: Amount, dimension: Dimension) -> list[Span]:
    """Return readings with a digit before or after that was written as it sounds."""
    measure = first.measure or dimension.bare
    if measure.style != "pairs":
        return []
    atoms, follower = first.atoms, token_at(tokens, first.stop)
    rows: list[list[Atom]] = [[*atoms, 0]] if follower in OH and not first.measure else []
    if len(atoms) > 1 and _digits_only(atoms):
        before = SOUNDS_LIKE_DIGIT.get(token_at(tokens, place - 1))
        after = SOUNDS_LIKE_DIGIT.get(follower)
        if before is not None:
            rows.append([before, *atoms])
        if after is not None and first.measure is None and first.stop + 1 == len(tokens):
            rows.append([*atoms, after])
    values = [value for row in rows for value in read(row, "pairs")]
    return _points(value * size for value in values for size in measure.sizes)


def _choices(tokens: Tokens, pair: Pair, dimension: Dimension) -> tuple[list[Span], Amount] | None:
    """Read three and more amounts with "or", "and" or a pause between, and return the last."""
    amounts = [pair.first, pair.second]
    while amounts[-1].measure is None and len(amounts) < _MOST_CHOICES:
        stop = amounts[-1].stop
        more = amount_at(tokens, stop + 1, dimension)
        joined = pair.link not in RANGE and token_at(tokens, stop) in EITHER | PAUSE
        if not joined or more is None or (more.measure is None and foreign(tokens, more.stop)):
            break
        amounts.append(more)
    if len(amounts) < 3:
        return None
    last = amounts[-1]
    measure = last.measure or dimension.bare
    values = [value for amount in amounts[:-1] for value in read(amount.atoms, measure.style)]
    spans = _points(value * size for value in values for size in measure.sizes)
    return spans + _alone(last, dimension), last


def _phrase(
    tokens: Tokens, place: int, spans: list[Span], measure: Measure | None, stop: int
) -> Phrase | None:
    """Return a phrase with the words round it that belong to it; None where it is denied."""
    start = before_lead(tokens, place)
    end = after_tail(tokens, stop)
    approx = start < place or end > stop or not _LOOSE.isdisjoint(tokens[place:end])
    before = token_at(tokens, start - 1)
    if measure is None:  # nobody says "a quarter" of a pound or a minute
        spans = [span for span in spans if not 0 < span[0] < 1]
    if not spans or before in NOT or (measure is None and before in LABELS):
        return None
    if before in MINUS:
        start -= 1
        spans = [(-high, -low) for low, high in spans]
    return Phrase(tuple(dict.fromkeys(spans)), measure, start, end, approx)


def phrase_at(tokens: Tokens, place: int, dimension: Dimension) -> tuple[Phrase | None, int]:
    """Read the phrase that begins at a token.

    Parameters
    ----------
    tokens
        What `flows.measures.tokens` returned.
    place
        Where to begin.
    dimension
        Which units count.

    Returns
    -------
    Phrase or None, int
        The phrase, if it makes a quantity of this dimension, and where to look on.
    """
    first = amount_at(tokens, place, dimension)
    if first is None:
        return None, place + 1
    label = None if first.measure else label_before(tokens, place, dimension)
    if label:
        dimension = replace(dimension, bare=label)
    pair = _pair_at(tokens, place, first, dimension)
    if pair and pair.second.measure is None and foreign(tokens, pair.second.stop):
        if first.measure is None and (pair.link in RANGE or pair.link == "or"):
            return None, pair.second.stop
        pair = None
    if pair:
        spans, last = _choices(tokens, pair, dimension) or (_linked(pair), pair.second)
        phrase = _phrase(tokens, place, spans, last.measure or first.measure or label, last.stop)
    elif first.measure is None and foreign(tokens, after_tail(tokens, first.stop)):
        return None, first.stop
    else:
        spans = [*_alone(first, dimension), *_digits_around(tokens, place, first, dimension)]
        phrase = _phrase(tokens, place, spans, first.measure or label, first.stop)
    if phrase:
        return phrase, phrase.stop
    return None, pair.second.stop if pair and pair.link in RANGE else max(first.stop, place + 1)

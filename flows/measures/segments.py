"""Collect the pieces of a number: which words belong to it, and where it ends."""

from collections.abc import Callable
from fractions import Fraction
from typing import Final

from flows.measures.words import (
    AFTER_A,
    AND,
    HALF,
    HUNDRED,
    HUNDRED_SAID,
    NUMBER,
    OH,
    PARTS,
    POINT,
    POINT_SAID,
    SMALL,
    SOUNDS_LIKE_DIGIT,
    STARTS,
    THOUSAND,
    THOUSAND_SAID,
    TIMES,
    UNREADABLE,
    Atom,
)

Tokens = tuple[str, ...]

MOST_DIGITS: Final = 9
"""A longer row of digits is an identifier, not a quantity."""

_SIZES: Final = (HUNDRED, THOUSAND)


def token_at(tokens: Tokens, index: int) -> str:
    """Return a token, or an empty string past either end."""
    return tokens[index] if 0 <= index < len(tokens) else ""


def starts_number(tokens: Tokens, index: int) -> bool:
    """Tell whether a number can begin at a token.

    Examples
    --------
    >>> starts_number(("for", "thousand"), 0), starts_number(("for", "now"), 0)
    (True, False)
    """
    word = token_at(tokens, index)
    if word in STARTS or word[:1].isdecimal():
        return True
    follower = token_at(tokens, index + 1)
    if word in ("a", "an"):
        return follower in AFTER_A
    if word in SOUNDS_LIKE_DIGIT:
        return follower in (HUNDRED_SAID, THOUSAND_SAID)
    if word in TIMES:
        return digit_atom(follower) is not None
    return _starts_with_point(tokens, index)


def _starts_with_point(tokens: Tokens, index: int) -> bool:
    """Tell whether a number can begin with "point six" or "oh point six" at a token."""
    word, follower = token_at(tokens, index), token_at(tokens, index + 1)
    return (word == POINT_SAID and _goes_on(tokens, index + 1)) or (
        word in OH and follower == POINT_SAID
    )


def after_all(tokens: Tokens, index: int, words: frozenset[str]) -> int:
    """Return the index after a run of some words, which may be empty."""
    while token_at(tokens, index) in words:
        index += 1
    return index


def digit_atom(word: str) -> Atom | None:
    """Return the atom of a single digit, said or written."""
    if word in OH:
        return 0
    if word in SMALL:
        return SMALL[word] if SMALL[word] < 10 else None
    return word if len(word) == 1 and word.isdecimal() else None


def _goes_on(tokens: Tokens, index: int) -> bool:
    """Tell whether the next token is part of a number, skipping three that sound like digits."""
    for word in tokens[index : index + 4]:
        if word not in SOUNDS_LIKE_DIGIT and word not in OH:
            return word in NUMBER or word[0].isdecimal() or word == POINT_SAID
    return False


def _written(token: str) -> tuple[Atom, ...]:
    """Return the atoms of a token that begins with a figure."""
    if token.isdecimal():
        return (token,) if len(token) <= MOST_DIGITS else (UNREADABLE,)
    mark = "/" if "/" in token else POINT
    above, _, below = token.partition(mark)
    if not all(map(str.isdecimal, (above, below))) or len(token) > MOST_DIGITS + 1:
        return (UNREADABLE,)
    if mark == POINT:
        return (above, POINT, below)
    return (above, Fraction(1, int(below))) if int(below) else (UNREADABLE,)


def _part(atoms: list[Atom], part: Fraction) -> None:
    """Append a fraction's lower part, making a single part of "sixty fourths"."""
    if part == PARTS["fourth"] and len(atoms) > 1 and atoms[-1] == 60:
        atoms[-1] = Fraction(1, 64)
    else:
        atoms.append(part)


def _article(tokens: Tokens, index: int, atoms: list[Atom]) -> int:
    """Take "a" before a hundred, a half and the like."""
    return int(token_at(tokens, index + 1) in AFTER_A and (not atoms or atoms[-1] == AND))


def _and(tokens: Tokens, index: int, atoms: list[Atom]) -> int:
    """Take "and" inside "two hundred and six" and "two and three eighths"."""
    if not atoms or atoms[-1] in (AND, POINT):
        return 0
    follower, after = token_at(tokens, index + 1), token_at(tokens, index + 2)
    if atoms[-1] in _SIZES:
        joins = follower in SMALL or follower.isdecimal()
    else:
        joins = _is_part(follower, after)
    if joins:
        atoms.append(AND)
    return int(joins)


def _is_part(word: str, after: str) -> bool:
    """Tell whether two words begin with a fraction: "3/8", "half", "three eighths"."""
    counted = word in SMALL or word in ("a", "an")
    return "/" in word or word == HALF or (counted and after in PARTS)


def _point(tokens: Tokens, index: int, atoms: list[Atom]) -> int:
    """Take "point" if a number follows."""
    if not _goes_on(tokens, index + 1):
        return 0
    atoms.append(POINT)
    return 1


def _couple(tokens: Tokens, index: int, atoms: list[Atom]) -> int:
    """Take "couple of" as two."""
    atoms.append(2)
    return 2 if token_at(tokens, index + 1) == "of" else 1


def _times(tokens: Tokens, index: int, atoms: list[Atom]) -> int:
    """Take "double five" and "triple zero"."""
    digit = digit_atom(token_at(tokens, index + 1))
    if digit is None:
        return 0
    atoms.extend([digit] * TIMES[tokens[index]])
    return 2


def _thirty_seconds(tokens: Tokens, index: int, atoms: list[Atom]) -> int:
    """Take "three thirty seconds" as a fraction, only of an inch: nobody says it of a minute."""
    following = tokens[index + 1 : index + 3]
    of_inch = following[:1] in (("in",), ("inch",), ("inches",)) or following == ("of", "an")
    if not of_inch or len(atoms) < 2 or atoms[-1] != 30:
        return 0
    atoms[-1] = Fraction(1, 32)
    return 1


def _oh(tokens: Tokens, index: int, atoms: list[Atom]) -> int:
    """Take "oh" as zero inside a number, or at its end if no other word follows."""
    follower = token_at(tokens, index + 1)
    ends = bool(atoms) and (follower in OH or not follower[:1].isalpha())
    if not ends and not _goes_on(tokens, index + 1):
        return 0
    atoms.append(0)
    return 1


def _sounding(tokens: Tokens, index: int, atoms: list[Atom]) -> int:
    """Take a digit written as it sounds, but leave "to" for the phrase: it may be a range."""
    if not _goes_on(tokens, index + 1) or (tokens[index] == "to" and atoms):
        return 0
    atoms.append(SOUNDS_LIKE_DIGIT[tokens[index]])
    return 1


_JOINING: Final[dict[str, Callable[[Tokens, int, list[Atom]], int]]] = {
    "a": _article,
    "an": _article,
    AND: _and,
    POINT_SAID: _point,
    "couple": _couple,
    "second": _thirty_seconds,
    "seconds": _thirty_seconds,
    **dict.fromkeys(TIMES, _times),
    **dict.fromkeys(OH, _oh),
    **dict.fromkeys(SOUNDS_LIKE_DIGIT, _sounding),
}
"""Handlers of words that only sometimes belong to a number: how many tokens each takes."""


def segment(tokens: Tokens, index: int) -> tuple[list[Atom], int]:
    """Collect the atoms of the longest number that begins at a token.

    Parameters
    ----------
    tokens
        As returned by `flows.measures.tokens`.
    index
        Where to begin; if `starts_number` is true there, at least one token is taken.

    Returns
    -------
    list of atoms, int
        The atoms and the index after them.

    Examples
    --------
    >>> segment(("two", "hundred", "and", "six", "lb"), 0)
    ([2, 100, 'and', 6], 4)
    """
    atoms: list[Atom] = []
    while index < len(tokens):
        word = tokens[index]
        atom = NUMBER.get(word)
        taken = 1
        if isinstance(atom, Fraction):
            _part(atoms, atom)
        elif atom is not None:
            atoms.append(atom)
        elif word[0].isdecimal():
            atoms.extend(_written(word))
        else:
            join = _JOINING.get(word)
            taken = join(tokens, index, atoms) if join else 0
        if not taken:
            break
        index += taken
    return atoms, index

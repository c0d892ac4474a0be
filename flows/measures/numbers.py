"""Read numbers: pairs, digit by digit, hundreds and thousands, decimals and fractions."""

from collections.abc import Sequence
from fractions import Fraction
from typing import Literal

from flows.measures.segments import MOST_DIGITS
from flows.measures.words import AND, HUNDRED, POINT, THOUSAND, UNREADABLE, Atom, Value

Style = Literal["plain", "pairs", "volts"]
"""How a row of small numbers is read: as one number, in trade pairs, or with a silent point."""


def rows_of(atoms: Sequence[Atom]) -> list[str] | None:
    """Return the rows of digits that atoms make; None if they are more than digits.

    Examples
    --------
    >>> rows_of([20, 5, 9])
    ['25', '9']
    """
    rows: list[str] = []
    tens = False
    for atom in atoms:
        if isinstance(atom, int) and atom < HUNDRED:
            if tens and 0 < atom < 10:
                rows[-1] = rows[-1][0] + str(atom)
                tens = False
            else:
                rows.append(str(atom))
                tens = atom >= 20
        elif isinstance(atom, str) and atom.isdecimal():
            rows.append(atom)
            tens = False
        else:
            return None
    return rows


def _joined(rows: Sequence[str]) -> str | None:
    """Join rows the way people say them: one or two digits each, or groups of three."""
    if len(rows) == 1:
        return rows[0]
    grouped = False
    for row in rows:
        if len(row) > 3 or (grouped and len(row) != 3):
            return None
        grouped = len(row) == 3
    digits = "".join(rows)
    return digits if 0 < len(digits) <= MOST_DIGITS else None


def _is_one_number(rows: Sequence[str]) -> bool:
    """Tell whether rows make one number: single digits, groups of three, or "one twenty"."""
    sizes = [*map(len, rows)]
    return set(sizes) == {1} or set(sizes[1:]) <= {3} or sizes == [1, 2]


def _plain(rows: Sequence[str] | None) -> tuple[Value, ...]:
    """Read one row, digits one by one, "one twenty", or groups of three."""
    digits = _joined(rows) if rows else None
    return (int(digits),) if rows and digits and _is_one_number(rows) else ()


def _pairs(rows: Sequence[str]) -> tuple[Value, ...]:
    """Read rows the way weights are said; a single digit at the end may mean hundreds."""
    digits = _joined(rows)
    if digits is None:
        return ()
    head, last = rows[:-1], rows[-1]
    thousands = int("".join(head) or "0")
    thousands_said = len(rows) == 2 or [*map(len, rows)] == [1, 2, 1]
    if len(last) == 1 and last != "0" and thousands_said and 0 < thousands < 200:
        return (thousands * 1000 + int(last) * 100, int(digits))
    return (int(digits),)


def _volts(rows: Sequence[str]) -> tuple[Value, ...]:
    """Read "twelve six" as 12.6, and as 126."""
    digits = _joined(rows)
    if digits is None or len(rows) == 1:
        return (int(digits),) if digits else ()
    singles = len(rows) > 2 and all(len(row) == 1 for row in rows)
    places = len(digits) - (2 if singles else len(rows[0]))
    return (exact(Fraction(int(digits), 10**places)), int(digits))


def exact(value: Value) -> Value:
    """Return a whole fraction as an integer."""
    return value.numerator if value.denominator == 1 else value


def _thousands(atoms: list[Atom]) -> tuple[Value, ...]:
    """Read "twenty five thousand nine hundred", "four point six thousand"."""
    index = atoms.index(THOUSAND)
    before, after = atoms[:index], atoms[index + 1 :]
    if THOUSAND in after:
        return ()
    heads = read(before, "plain") if before else (1,)
    return tuple(exact(head * THOUSAND + tail) for head in heads for tail in _remainder(after))


def _remainder(atoms: list[Atom]) -> tuple[Value, ...]:
    """Read a number under a thousand after "thousand"; a single digit may mean hundreds."""
    said_and = atoms[:1] == [AND]
    atoms = atoms[said_and:]
    if HUNDRED in atoms:
        return tuple(value for value in _hundreds(atoms) if value < THOUSAND)
    if not atoms:
        return (0,)
    return _below_thousand(rows_of(atoms) or [], said_and=said_and)


def _below_thousand(rows: list[str], *, said_and: bool) -> tuple[Value, ...]:
    """Read one to three digits after "thousand", with or without an "and" before them."""
    digits = "".join(rows)
    if not 0 < len(digits) <= 3 or (said_and and len(rows) > 1):
        return ()
    if said_and or not _may_be_hundreds(rows):
        return (int(digits),) if int(digits) else ()
    return (int(digits) * 10 ** (3 - len(digits)), int(digits))


def _may_be_hundreds(rows: list[str]) -> bool:
    """Tell whether digits after "thousand" may be hundreds: "four thousand six", not "oh six"."""
    return len("".join(rows)) < 3 and len(rows[0]) == 1 and rows[0] != "0"


def _hundreds(atoms: list[Atom]) -> tuple[Value, ...]:
    """Read "twelve hundred", "two hundred and six", "twenty five nine hundred"."""
    index = atoms.index(HUNDRED)
    before, after = atoms[:index] or [1], atoms[index + 1 :]
    rows = rows_of(before)
    if rows is None and not after:
        return tuple(exact(100 * head) for head in read(before, "plain"))
    rest = _after_hundred(after)
    if not rows or rest is None or len(rows[-1]) > 2:
        return ()
    return _with_thousands(rows[:-1], int(rows[-1]) * 100 + rest)


def _after_hundred(atoms: list[Atom]) -> int | None:
    """Read one or two digits after "hundred", 0 if nothing follows; None for other words."""
    if not atoms:
        return 0
    digits = _digits(atoms[atoms[:1] == [AND] :])
    return int(digits) if 0 < len(digits) < 3 else None


def _with_thousands(rows: list[str], last: int) -> tuple[Value, ...]:
    """Return hundreds with the thousands said before them: "twenty five nine hundred"."""
    if not rows:
        return (last,) if last >= 100 else ()
    return tuple(head * 1000 + last for head in _plain(rows) if 100 <= last < 1000)


def _digits(atoms: Sequence[Atom]) -> str:
    """Return the digits that atoms make, joined; empty if they are more than digits."""
    return "".join(rows_of(atoms) or ())


def _decimal(atoms: list[Atom], style: Style) -> tuple[Value, ...]:
    """Read "four point six"; before pounds "12.000" may be twelve or twelve thousand."""
    index = atoms.index(POINT)
    before, digits = atoms[:index], _digits(atoms[index + 1 :])
    wholes = _plain(rows_of(before)) if before else (0,)
    if not digits or len(digits) > MOST_DIGITS or not wholes:
        return ()
    value = exact(Fraction(int(f"{wholes[0]}{digits}"), 10 ** len(digits)))
    if style == "pairs" and wholes[0] and _may_group_thousands(before, digits):
        return (value, wholes[0] * 1000 + int(digits))
    return (value,)


def _may_group_thousands(before: list[Atom], digits: str) -> bool:
    """Tell whether a point may separate thousands: three digits after one short figure."""
    figure = before[0] if len(before) == 1 else None
    return isinstance(figure, str) and len(figure) < 4 and len(digits) == 3


def _fraction(atoms: list[Atom], part: Fraction) -> tuple[Value, ...]:
    """Read "three eighths", "two and a half", "2 1/2"."""
    wholes, count = _whole_and_count(atoms[:-1])
    if count is None or len(count) > 1 or not wholes:
        return ()
    size = part * int(count[0] if count else 1)
    return (exact(wholes[0] + size),) if size < 1 or not wholes[0] else ()


def _whole_and_count(atoms: list[Atom]) -> tuple[tuple[Value, ...], list[str] | None]:
    """Split the atoms before a part: "two and three" eighths, "2 1" half, "three" eighths."""
    if AND in atoms:
        index = atoms.index(AND)
        return _plain(rows_of(atoms[:index])), rows_of(atoms[index + 1 :])
    rows = rows_of(atoms)
    if rows is None:
        return (), None
    return _plain(rows[:-1]) if len(rows) > 1 else (0,), rows[-1:]


def _rows(atoms: list[Atom], style: Style) -> tuple[Value, ...]:
    """Read small numbers in a row."""
    rows = rows_of(atoms)
    if not rows:
        return ()
    if style == "plain":
        return _plain(rows)
    return _pairs(rows) if style == "pairs" else _volts(rows)


def read(atoms: list[Atom], style: Style) -> tuple[Value, ...]:
    """Return every value that a number may mean, likeliest first.

    Parameters
    ----------
    atoms
        As collected by `segment`.
    style
        How to read a row of small numbers.

    Returns
    -------
    tuple of int or Fraction
        Empty if the words make no number. Never negative.

    Examples
    --------
    >>> read([50, 2, 90], "pairs"), read([10, 5], "pairs"), read([10, 5], "plain")
    ((5290,), (10500, 105), ())
    """
    if not atoms or UNREADABLE in atoms:
        return ()
    if THOUSAND in atoms:
        return _thousands(atoms)
    if HUNDRED in atoms:
        return _hundreds(atoms)
    if POINT in atoms:
        return _decimal(atoms, style)
    last = atoms[-1]
    return _fraction(atoms, last) if isinstance(last, Fraction) else _rows(atoms, style)

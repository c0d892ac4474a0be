"""Read numbers: pairs, digit by digit, hundreds and thousands, decimals and fractions."""

from collections.abc import Sequence
from fractions import Fraction
from typing import Literal

from flows.measures.segments import MOST_DIGITS
from flows.measures.words import AND, HUNDRED, POINT, THOUSAND, UNREADABLE, Atom, Value

Style = Literal["plain", "pairs", "volts"]
"""How a row of small numbers is read: as one number, in trade pairs, or with a silent point."""


def rows_of(atoms: Sequence[Atom]) -> list[str] | None:
    """Return the rows of digits that atoms stand for; None where there is more than digits.

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
    """Set rows side by side where people do: one or two digits each, or groups of three."""
    if len(rows) == 1:
        return rows[0]
    grouped = False
    for row in rows:
        if len(row) > 3 or (grouped and len(row) != 3):
            return None
        grouped = len(row) == 3
    digits = "".join(rows)
    return digits if 0 < len(digits) <= MOST_DIGITS else None


def _plain(rows: Sequence[str] | None) -> tuple[Value, ...]:
    """Read one row, digits one by one, "one twenty", or groups of three."""
    digits = _joined(rows) if rows else None
    if not rows or digits is None:
        return ()
    singles = all(len(row) == 1 for row in rows)
    groups = all(len(row) == 3 for row in rows[1:])
    return (int(digits),) if singles or groups or [*map(len, rows)] == [1, 2] else ()


def _pairs(rows: Sequence[str]) -> tuple[Value, ...]:
    """Read rows the way weights are said; a last single digit may mean hundreds."""
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
    place = atoms.index(THOUSAND)
    before, after = atoms[:place], atoms[place + 1 :]
    if THOUSAND in after:
        return ()
    heads = read(before, "plain") if before else (1,)
    return tuple(exact(head * THOUSAND + tail) for head in heads for tail in _remainder(after))


def _remainder(atoms: list[Atom]) -> tuple[Value, ...]:
    """Read what follows "thousand": less than that; a single digit may mean hundreds."""
    said_and = atoms[:1] == [AND]
    atoms = atoms[said_and:]
    if HUNDRED in atoms:
        return tuple(value for value in _hundreds(atoms) if value < THOUSAND)
    rows = rows_of(atoms)
    digits = "".join(rows or ())
    if not rows or len(digits) > 3 or (said_and and len(rows) > 1):
        return () if atoms else (0,)
    if said_and or len(digits) == 3 or digits[0] == "0" or len(rows[0]) == 2:
        return (int(digits),) if int(digits) else ()
    return (int(digits) * (100 if len(digits) == 1 else 10), int(digits))


def _hundreds(atoms: list[Atom]) -> tuple[Value, ...]:
    """Read "twelve hundred", "two hundred and six", "twenty five nine hundred"."""
    place = atoms.index(HUNDRED)
    before, after = atoms[:place], atoms[place + 1 :]
    if not after and before and rows_of(before) is None:
        return tuple(exact(100 * head) for head in read(before, "plain"))
    tail = rows_of(after[after[:1] == [AND] :])
    rest = "".join(tail or ()) or ("" if after else "0")
    rows = rows_of(before or [1])
    if not rows or not 0 < len(rest) < 3 or len(rows[-1]) > 2:
        return ()
    last = int(rows[-1]) * 100 + int(rest)
    if len(rows) == 1:
        return (last,) if last >= 100 else ()
    return tuple(head * 1000 + last for head in _plain(rows[:-1]) if 100 <= last < 1000)


def _decimal(atoms: list[Atom], style: Style) -> tuple[Value, ...]:
    """Read "four point six"; "12.000" before pounds is written by either custom."""
    place = atoms.index(POINT)
    before, after = atoms[:place], rows_of(atoms[place + 1 :])
    digits = "".join(after or ())
    wholes = _plain(rows_of(before)) if before else (0,)
    if not digits or len(digits) > MOST_DIGITS or not wholes:
        return ()
    value = exact(Fraction(int(f"{wholes[0]}{digits}"), 10 ** len(digits)))
    figures = len(before) == 1 and isinstance(before[0], str) and len(before[0]) < 4
    if style == "pairs" and figures and len(digits) == 3 and wholes[0]:
        return (value, wholes[0] * 1000 + int(digits))
    return (value,)


def _fraction(atoms: list[Atom], part: Fraction) -> tuple[Value, ...]:
    """Read "three eighths", "two and a half", "2 1/2"."""
    if AND in atoms:
        place = atoms.index(AND)
        wholes, count = _plain(rows_of(atoms[:place])), rows_of(atoms[place + 1 : -1])
    else:
        rows = rows_of(atoms[:-1])
        wholes = _plain(rows[:-1]) if rows and len(rows) > 1 else (0,)
        count = None if rows is None else rows[-1:]
    if count is None or len(count) > 1 or not wholes:
        return ()
    size = part * int(count[0] if count else 1)
    return (exact(wholes[0] + size),) if size < 1 or not wholes[0] else ()


def _rows(atoms: list[Atom], style: Style) -> tuple[Value, ...]:
    """Read small numbers in a row."""
    rows = rows_of(atoms)
    if not rows:
        return ()
    if style == "plain":
        return _plain(rows)
    return _pairs(rows) if style == "pairs" else _volts(rows)


def read(atoms: list[Atom], style: Style) -> tuple[Value, ...]:
    """Return every value that a number may mean, the likeliest first.

    Parameters
    ----------
    atoms
        What `segment` collected.
    style
        How a row of small numbers is read.

    Returns
    -------
    tuple of int or Fraction
        Empty where the words make no number. Never negative.

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

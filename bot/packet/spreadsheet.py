"""The record as a view for spreadsheets: one row an entry, nothing in it that a program runs."""

import csv
import io
from collections.abc import Iterable, Sequence

STARTERS = frozenset("=+-@\t\r\n\uff1d\uff0b\uff0d\uff20")
"""What a cell must not begin with: programs take the rest for a formula. With the full-width
forms, which some turn into the plain ones."""


def cell(value: object) -> str:
    """Return what stands in a cell: numbers as they are, texts so that none is a formula.

    Examples
    --------
    >>> cell(-2054), cell("=1+1"), cell("-5 degrees"), cell("level")
    ('-2054', "'=1+1", "'-5 degrees", 'level')
    """
    if isinstance(value, bool) or not isinstance(value, int):
        text = "" if value is None else str(value)
        return f"'{text}" if text[:1] in STARTERS else text
    return str(value)


def table(head: Sequence[str], rows: Iterable[Sequence[object]]) -> bytes:
    r"""Write rows as RFC 4180 asks: quoted where needed, lines ended by CR and LF.

    Examples
    --------
    >>> table(["a", "b"], [[1, "go, now"]])
    b'a,b\r\n1,"go, now"\r\n'
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(head)
    writer.writerows([cell(value) for value in row] for row in rows)
    return out.getvalue().encode("utf-8")

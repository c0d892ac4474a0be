"""The record as CSV for spreadsheets: a row per entry, and no cell that runs as a formula."""

import csv
import io
from collections.abc import Iterable, Sequence

STARTERS = frozenset("=+-@\t\r\n\uff1d\uff0b\uff0d\uff20")
"""Characters that a cell must not start with, because spreadsheet programs read the rest as a
formula; full-width forms too, because some programs convert them."""


def cell(value: object) -> str:
    """Return the text of a cell: numbers as they are, text escaped so that it is not a formula.

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
    r"""Write rows as in RFC 4180: quoted if needed, lines ended by CR and LF.

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

"""The record as CSV for spreadsheets: a row per entry, and no cell that runs as a formula."""

import csv
import io
from collections.abc import Iterable, Sequence

from bot.packet.remade import cell


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

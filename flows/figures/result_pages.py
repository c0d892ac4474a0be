"""The figures of pull, rigging and tie-downs as lines to read and as a spoken sentence."""

from collections.abc import Iterator
from fractions import Fraction

from flows.figures.pages import shown
from flows.figures.result import Check, Result, Step
from flows.measures.say import digits
from flows.texts import rigging_texts


def spoken(result: Result) -> str:
    """Return the answer as a spoken sentence, its numbers digit by digit.

    Examples
    --------
    >>> from flows.figures.pull import TRADE, pull
    >>> spoken(pull(4000, "hard", TRADE))
    'It takes about four zero zero pounds to pull. With reserve, four eight zero.'
    """
    text: str = rigging_texts()[result.figure]["spoken"]
    said = text.format(**{one.name: digits(one.value) for one in result.amounts})
    return said[0].upper() + said[1:]


def result_page(result: Result) -> list[str]:
    """Return a figure as lines: the answer, the inputs, the checks, the working.

    Examples
    --------
    >>> from flows.figures.pull import TRADE, pull
    >>> for line in result_page(pull(4000, "hard", TRADE))[:2]:
    ...     print(line)
    400 lb to pull, 480 lb with a fifth in reserve.
    It takes about four zero zero pounds to pull. With reserve, four eight zero.
    """
    said, page = rigging_texts()[result.figure], rigging_texts()["page"]
    lines = [shown_answer(result), spoken(result), *governs(result), *noted(result), ""]
    lines += [page["inputs"].format(name=_plain(name), value=value)
              for name, value in result.inputs]  # fmt: skip
    lines += ["", *_table(result.checks), page["working"]]
    lines += [f"  {_step(one, said['steps'][one.formula])}" for one in result.steps]
    return [*lines, "", page["source"].format(source=result.source), page["caution"]]


def shown_answer(result: Result) -> str:
    """Return the answer as a written sentence.

    Examples
    --------
    >>> from flows.figures.pull import TRADE, pull
    >>> shown_answer(pull(4000, "hard", TRADE))
    '400 lb to pull, 480 lb with a fifth in reserve.'
    """
    text: str = rigging_texts()[result.figure]["shown"]
    return text.format(**{one.name: one.value for one in result.amounts})


def governs(result: Result) -> Iterator[str]:
    """Yield the governing check and what is left of its bound, if there are checks."""
    one = result.governing
    if one is not None:
        key = "governs" if one.left >= 0 else "governs_over"
        name = one.name[0].upper() + one.name[1:]
        yield rigging_texts()["page"][key].format(name=name, left=abs(one.left), unit=one.unit)


def noted(result: Result) -> Iterator[str]:
    """Yield the remarks that go with the answer."""
    for name in result.notes:
        yield rigging_texts()[result.figure]["notes"][name]


def _plain(name: str) -> str:
    """Return the name of an input in words, its unit in brackets."""
    stem, _, unit = name.rpartition("_")
    units = {"lb", "in", "ft", "deg", "pct", "pm", "min", "mV", "F", "count", "mph"}
    return f"{stem.replace('_', ' ')} ({unit})" if unit in units else name.replace("_", " ")


def _table(checks: tuple[Check, ...]) -> Iterator[str]:
    if not checks:
        return
    heads = rigging_texts()["page"]["held_heads"]
    rows = [
        [one.name, f"{one.used:,}", f"{one.bound:,} {one.unit}", f"{one.left:,}", one.source]
        for one in checks
    ]
    widths = [max(len(row[at]) for row in [heads, *rows]) for at in range(len(heads))]
    for row in [heads, *rows]:
        cells = [
            cell.rjust(wide) if at in (1, 2, 3) else cell.ljust(wide)
            for at, (cell, wide) in enumerate(zip(row, widths, strict=True))
        ]
        yield "  ".join(cells).rstrip()
    yield ""


def _step(step: Step, said: str) -> str:
    values = {name: number(value, name) for name, value in step.put_in}
    text = said.format(result=number(step.result, step.unit), **values)
    return f"{text} [{step.source}]"


def number(value: Fraction, name: str) -> str:
    """Return a number as text: a factor to three decimals, everything else to a tenth.

    Examples
    --------
    >>> number(Fraction(1, 3), "surface_x"), number(Fraction(14_300), "lb")
    ('0.333', '14,300')
    """
    if name.rsplit("_", 1)[-1] == "x":
        return f"{float(value):.3f}".rstrip("0").rstrip(".")
    return shown(value)
